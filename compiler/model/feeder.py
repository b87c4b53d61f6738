"""What feeds the ball: a machine or a person, as its profile states. Checked when the file is read."""

import math
from collections.abc import Iterable, Mapping, Sequence
from functools import cached_property
from typing import Annotated, Literal, Protocol

from ...grammar import units
from .command import Template
from .device import KEYS, STEPS, Limits, scaled
from .measured import AS_STATED, Doubt, MeasuredFeeder, Number
from .record import Record, Spelled, Within

Positive = Annotated[float, Within(gt=0)]
Seconds = Annotated[float, Within(ge=0, le=30)]
LONGEST_FEED_S = 1.5
"""A launch is agreed up to 2 s ahead, and a ball is announced 0.4 s before its feed starts; the line gets 0.1 s."""
AXES = ("speed", "elevation", "azimuth", "topspin", "sidespin")
SQUEEZED = 0.85  # of a ball's diameter, between two wheels: own choice
_LINE_UNITS = {"speed": "m/s", "elevation": "deg", "azimuth": "deg", "topspin": "rpm", "sidespin": "rpm"}
_DIMENSIONS = {"speed": "speed", "elevation": "angle", "azimuth": "angle", "topspin": "spin", "sidespin": "spin"}
# What no feeder goes beyond, to catch typing errors: low, high, unit.
_SENSE = {
    "speed": (3.0, 260.0, "km/h"),
    "elevation": (-90.0, 90.0, "deg"),
    "azimuth": (-180.0, 180.0, "deg"),
    "topspin": (-6000.0, 6000.0, "rpm"),
    "sidespin": (-6000.0, 6000.0, "rpm"),
}


class Axis(Record):
    """One thing that can be set. Numbers are in `unit`; `dial` lists the value at each position, the first is 1."""

    unit: str
    low: float
    high: float
    step: Positive | None = None
    dial: tuple[float, ...] | None = None
    changes: Literal["between balls", "between blocks", "never"] = "between balls"
    rate: Positive | None = None
    """Units per second while it changes; None if the change takes no time to speak of."""
    true_scale: Annotated[float, Within(ge=0.3, le=3)] = 1.0
    true_offset: float = 0.0
    """What leaves is what is set × true_scale + true_offset, in `unit`: the machine's own figures stay as they are."""

    def check(self) -> None:
        if self.unit not in units.UNITS:
            known = [unit for unit, is_of in units.UNITS.items() if is_of.dimension in _DIMENSIONS.values()]
            raise ValueError(f"unit {self.unit!r} is not known; there are {', '.join(known)}")
        if not self.low <= self.high:
            raise ValueError(f"low is above high ({self.low:g} and {self.high:g})")
        if self.dial is not None and (
            len(self.dial) < 2 or list(self.dial) != sorted(set(self.dial)) or self.step is not None
        ):
            raise ValueError("a dial is a rising list of two or more values, and has no step beside it")
        if self.dial is not None and not (self.low <= self.dial[0] and self.dial[-1] <= self.high):
            raise ValueError("the dial's values lie outside low to high")
        if self.beyond_last_step:
            below, above = (f"{value:.6g}" for value in self.beyond_last_step)
            raise ValueError(
                f"steps of {self.step:g} from {self.low:g} reach {below} or {above}, not high = {self.high:g}"
            )

    @property
    def beyond_last_step(self) -> tuple[float, float] | None:
        """The steps below and above `high` if no step meets it."""
        count = 0.0 if self.step is None else round((self.high - self.low) / self.step, 6)
        if self.step is None or not math.isfinite(count):  # a step so small is no step
            return None
        below = self.low + math.floor(count) * self.step
        return None if count == math.floor(count) else (below, below + self.step)

    def si(self, value: float) -> float:
        return units.to_si(value, self.unit)

    def true(self, value: float) -> float:
        """What leaves, in SI, where the machine is told this value, in `unit`."""
        return self.si(value * self.true_scale + self.true_offset)

    def told(self, true_si: Number) -> Number:
        """What to tell the machine, in `unit`, for a ball to leave with this value, in SI."""
        known = units.UNITS[self.unit]
        return ((true_si - known.offset) / known.factor - self.true_offset) / self.true_scale

    def leaving(self, told_si: Number) -> Number:
        """With what value, in SI, a ball leaves of a machine that is told this one, in SI."""
        known = units.UNITS[self.unit]
        told = (told_si - known.offset) / known.factor
        return (told * self.true_scale + self.true_offset) * known.factor + known.offset

    def told_si(self, true_si: Number) -> Number:
        """The same in SI."""
        known = units.UNITS[self.unit]
        return self.told(true_si) * known.factor + known.offset

    @property
    def low_si(self) -> float:
        """The least that leaves."""
        return self.true(self.low)

    @property
    def high_si(self) -> float:
        return self.true(self.high)

    def settings_near(self, value_si: float) -> tuple[float, ...]:
        """Settings worth trying for this value: every position of a short dial, or the steps on both sides; at a limit
        for a value beyond it."""
        value = min(max(self.told(value_si), self.low), self.high)
        if self.dial is not None:
            return tuple(float(i + 1) for i in range(len(self.dial)))
        if self.step is None:
            return (value,)
        below = int((value - self.low) / self.step + 1e-9)
        both = (self.low + below * self.step, self.low + (below + 1) * self.step)
        return tuple(round(v, 9) for v in both if v <= self.high + 1e-9) or (self.high,)

    def settings_between(self, low_si: float, high_si: float, most: int) -> tuple[float, ...]:
        """Settings over this range and one step beyond it, evenly thinned to `most`."""
        ends = (min(max(self.told(v), self.low), self.high) for v in (low_si, high_si))
        low, high = sorted(ends)
        if self.dial is not None:
            inside = [i for i, value in enumerate(self.dial, start=1) if low <= value <= high] or [1]
            found = [float(i) for i in range(max(inside[0] - 1, 1), min(inside[-1] + 1, len(self.dial)) + 1)]
        elif self.step is None:
            return tuple(low + (high - low) * i / (most - 1) for i in range(most)) if high > low else (low,)
        else:
            last = math.floor((self.high - self.low) / self.step + 1e-6)
            first = max(math.floor((low - self.low) / self.step + 1e-9), 0)
            until = min(math.ceil((high - self.low) / self.step - 1e-9), last)
            found = [round(self.low + i * self.step, 9) for i in range(first, max(until, first) + 1)]
        every = max(1, math.ceil(len(found) / most))
        return tuple(found[(len(found) - 1) % every // 2 :: every])

    def stated(self, setting: float) -> float:
        """The value in `unit` that the machine is told with a setting."""
        return self.dial[int(setting) - 1] if self.dial is not None else setting

    def value(self, setting: float) -> float:
        """The value in SI with which the ball leaves at a setting."""
        return self.true(self.stated(setting))

    def each_value(self, settings: Sequence[float]) -> list[float]:
        """The same of settings, few of which differ."""
        known = {one: self.value(one) for one in set(settings)}
        return [known[one] for one in settings]

    def step_si(self, value_si: float) -> float:
        """How far apart the settings on both sides of a value are, SI; 0 of what is set without steps."""
        if self.dial is not None:
            told = self.told(value_si)
            below, above = ([v for v in self.dial if v <= told + 1e-9], [v for v in self.dial if v > told + 1e-9])
            ends = (below or self.dial)[-1], (above or self.dial)[0]
            return abs(self.true(ends[1]) - self.true(ends[0]))
        return abs(self.true(self.low + self.step) - self.true(self.low)) if self.step else 0.0

    def apart(self, one: float, other: float) -> float:
        """How far the machine has to move from one setting to another, in `unit`."""
        return abs(self.stated(one) - self.stated(other))


class Wheels(Record):
    """Two driven wheels: v = speed_efficiency (top + bottom) / 2, spin = spin_efficiency (top - bottom) / gap.

    The defaults are our own choice: a ball squeezed to 85 % of its diameter that slips as much, so that its spin is as
    though it rolled on its full diameter, and a speed 5 % below the rims'. A measured profile states its own.
    """

    low_mps: Annotated[float, Within(ge=-100, le=100)]
    high_mps: Annotated[float, Within(gt=0, le=100)]
    gap_m: Annotated[float, Within(ge=0.02, le=0.08)] | None = None
    """Between the rims, where they hold the ball; None for 85 % of the ball's diameter."""
    speed_efficiency: Annotated[float, Within(ge=0.3, le=1)] = 0.95
    spin_efficiency: Annotated[float, Within(ge=0.3, le=1)] = 0.85

    def squeeze(self, diameter: float) -> tuple[float, float, float]:
        """Gap, m, and both efficiencies, for a ball of that diameter."""
        return self.gap_m or SQUEEZED * diameter, self.speed_efficiency, self.spin_efficiency


class Repeatability(Record):
    """One standard deviation, normal and independent."""

    speed_percent: Annotated[float, Within(ge=0, le=30)]
    elevation_deg: Annotated[float, Within(ge=0, le=20)]
    azimuth_deg: Annotated[float, Within(ge=0, le=20)]
    spin_rpm: Annotated[float, Within(ge=0, le=2000)]


class Device(Record):
    """The machine as it describes itself on a line. Its other limits follow from the axes."""

    id: Annotated[str, Spelled(0, None, r"[a-z0-9.+-]{1,24}", "up to 24 small letters, digits, points, + and -")]
    cap_mps: Positive
    """Greatest speed it throws, whatever it is sent; may be less than the wheels could do."""
    gap_s: Annotated[float, Within(gt=0, le=60)]
    """Least time between two launches that it allows."""


HIGHEST_M = 3.5
"""The highest that a ball leaves a machine that stands on something: our own choice."""
BY_HAND_M = (0.2, 3.0)
"""Between which heights a ball leaves a person: one who kneels, or a tall one who serves. Own choice."""


class Feeder(Record):
    kind: Literal["machine", "person"]
    how: Literal["machine", "hand", "racket"]
    title: Annotated[str, Spelled(1, 120)]
    basis: Annotated[str, Spelled(1, 300)]
    release_height_m: Annotated[float, Within(gt=0, le=4)]
    shortest_interval_s: Annotated[float, Within(gt=0, le=120)]
    hopper: Annotated[int, Within(gt=0, le=2000)] | None = None
    feed_delay_s: Seconds = 0.0
    feed_jitter_s: Seconds = 0.0
    settle_s: Seconds = 0.0
    """Margin between the end of a change and the launch."""
    by_hand_s: Annotated[float, Within(ge=0, le=600)] = 20.0
    """Time somebody needs to walk to the machine and set what changes between blocks."""
    speed: Axis
    elevation: Axis
    azimuth: Axis
    topspin: Axis
    sidespin: Axis | None = None
    wheels: Wheels | None = None
    repeatability: Repeatability
    device: Device | None = None
    template: Template | None = None
    """Lines of its own, for a machine that does not speak the line protocol."""
    measured: MeasuredFeeder = AS_STATED
    doubt: Doubt = Doubt()
    name: str = ""

    def check(self) -> None:
        if (self.kind == "machine") != (self.how == "machine"):
            raise ValueError("a machine has how = machine, a person hand or racket")
        for name, axis in self.axes().items():
            if units.UNITS[axis.unit].dimension != _DIMENSIONS[name]:
                raise ValueError(f"{name} has the unit {axis.unit}")
            low, high, unit = _SENSE[name]
            if (
                not units.to_si(low, unit) - 1e-9
                <= axis.si(axis.low)
                <= axis.si(axis.high)
                <= units.to_si(high, unit) + 1e-9
            ):
                raise ValueError(f"{name} goes beyond {low:g} to {high:g} {unit}")
        if self.kind == "person" and any((a.true_scale, a.true_offset) != (1, 0) for a in self.axes().values()):
            raise ValueError("true_scale and true_offset are for machines, not for a person")
        if self.kind == "person" and (self.device or self.template):
            raise ValueError("a person has no device and no template")
        if self.device and self.template:
            raise ValueError(
                "a machine has [device], for the line protocol, or [template], for commands of its own; not both"
            )
        if self.template and self.slowest_feed_s + self.template.least_before_throw_s > self.least_interval_s + 1e-9:
            raise ValueError(
                f"a ball is inside for up to {self.slowest_feed_s:g} s (feed_delay_s + feed_jitter_s), and no line may "
                f"set the next one before; {self.least_interval_s:g} s (shortest_interval_s + feed_jitter_s) leaves "
                "no time"
            )
        if self.device and self.device.gap_s > self.shortest_interval_s - 0.06 + 1e-9:
            # Two launches may each be 30 ms off their moment on the line.
            raise ValueError("device.gap_s has to lie 0.06 s or more below shortest_interval_s")
        if self.device and self.slowest_feed_s > LONGEST_FEED_S:
            raise ValueError(
                f"a ball is inside for up to {self.slowest_feed_s:g} s (feed_delay_s + feed_jitter_s); on the line "
                f"protocol {LONGEST_FEED_S:g} s at most can be waited for"
            )
        for name, axis in self.axes().items() if self.template else ():
            told = name in self.template.fields or name in self.template.fixed  # type: ignore[union-attr]
            if axis.changes == "between balls" and axis.low < axis.high and not told:
                raise ValueError(f"the template lacks {name}: make it a field, or fixed")

    @property
    def least_interval_s(self) -> float:
        """Least time between two balls that a practice can rely on: the shortest interval, plus the jitter."""
        return round(self.shortest_interval_s + self.feed_jitter_s, 9)

    @property
    def slowest_feed_s(self) -> float:
        """Latest time from the command to the launch. Until then every setting applies to this ball."""
        return round(self.feed_delay_s + self.feed_jitter_s, 9)

    @property
    def spin_scatter_rpm(self) -> tuple[float, float]:
        """One standard deviation of topspin and of sidespin. How far a person's balls stray to a side, whatever makes
        them, is in the deviation of the azimuth, since it is measured where they land."""
        turn = self.repeatability.spin_rpm
        return turn, turn if self.sidespin and self.kind == "machine" else 0.0

    def rims(self, speed: Number, topspin: Number, sidespin: Number, diameter: float) -> tuple[Number, Number]:
        """Rim speeds (top, bottom), m/s, that the machine takes its wheels to for a ball of that diameter, m, which
        leaves so, spins about the axes of the head. It reckons with what it is told."""
        from ..physics.wheels import rim_speeds

        assert self.wheels is not None
        told = self.speed.told_si(speed), self.topspin.told_si(topspin)
        aside = self.sidespin.told_si(sidespin) if self.sidespin else sidespin
        return rim_speeds(told[0], (told[1] ** 2 + aside**2) ** 0.5, *self.wheels.squeeze(diameter))

    def throws(self, pace: float) -> bool:
        """Whether a pace, m/s, is within its range, and within the cap that a machine keeps."""
        cap = self.device.cap_mps if self.device else math.inf
        return self.speed.low_si - 1e-9 <= pace <= min(self.speed.high_si, cap) + 1e-9

    def axes(self) -> Mapping[str, Axis]:
        return self._axes

    @cached_property
    def _axes(self) -> Mapping[str, Axis]:
        found = {name: getattr(self, name) for name in AXES}
        return {name: axis for name, axis in found.items() if axis is not None}

    @cached_property
    def key(self) -> str:
        """All entries, as a part of the key of what depends on them."""
        return repr(self)

    def change_s(self, before: Mapping[str, float], after: Mapping[str, float]) -> dict[str, float]:
        """How long each axis takes from one ball's settings to another's, s; without those that take no time.

        Speed and spin share two wheels. A rim that would make each change at the axis' rate makes both in the sum of
        the times: one wheel gains what both ask of it. That sum is told of the one that takes longest.
        """
        taken = {
            name: axis.apart(after[name], before[name]) / axis.rate
            for name, axis in self.axes().items()
            if axis.rate and axis.changes == "between balls" and abs(after[name] - before[name]) > 1e-9
        }
        wheeled = [name for name in ("speed", "topspin", "sidespin") if name in taken and self.wheels]
        if wheeled:
            both = taken.get("speed", 0.0) + math.hypot(taken.get("topspin", 0.0), taken.get("sidespin", 0.0))
            taken[max(wheeled, key=lambda name: taken[name])] = both
        return taken

    @property
    def limits(self) -> Limits | None:
        """What the machine on the line must state to count as this profile's; None without a device."""
        if self.device is None:
            return None
        ranges = {}
        for letter, name in KEYS.items():
            axis, factor = getattr(self, name), units.UNITS[_LINE_UNITS[name]].factor
            low, high = (axis.si(axis.low) / factor, axis.si(axis.high) / factor) if axis else (0.0, 0.0)
            # To 1e-6 first, like a plan's launches, so both round the same way.
            ranges[letter] = scaled(round(low, 6), STEPS[letter]), scaled(round(high, 6), STEPS[letter])
        cap, gap = scaled(self.device.cap_mps, 1000), scaled(self.device.gap_s, 1000)
        return Limits(self.device.id, cap, gap, ranges)

    @cached_property
    def fingerprint(self) -> str:
        import hashlib  # only plans need it, and it loads slowly
        import json

        # The speed of a port changes no ball, so a plan stays valid when it changes.
        said = self.data()
        if self.template:
            del said["template"]["baud"]
        for key in ("unexplained_along", "unexplained_aside"):  # what says nothing leaves earlier plans valid
            if not said["doubt"][key]:
                del said["doubt"][key]
        text = json.dumps(said, sort_keys=True, separators=(",", ":"))
        return hashlib.sha256(text.encode()).hexdigest()[:16]


class ProfileProblem(Exception):
    """A profile that cannot be used, in one sentence."""


class Profiles(Protocol):
    """Where profiles come from; the command line hands one in."""

    def names(self) -> Iterable[str]: ...

    def load(self, name: str) -> Feeder | None:
        """The profile, or None if no profile has this name; ProfileProblem if it is broken."""
        ...
