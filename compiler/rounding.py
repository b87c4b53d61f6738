"""The settings of a device near launches, flown and judged: the combination that comes closest is the ball."""

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import product

import numpy as np
from numpy.typing import NDArray

from ..grammar.frozen import Frozen
from .fit import REFUSED, Demand, Fault, Index, Judged, judged
from .model.feeder import AXES, Axis, Feeder
from .model.program import Feed, FixedBy, Program, Range
from .model.shots import Prediction, SolvedShot
from .physics import launches
from .physics.flight import Array
from .physics.launches import Wanted
from .physics.moments import finite
from .physics.outcome import Conditions, Outcome, Release, outcome

# How far off counts as one, when rounded settings are compared: metres, m/s of rise, m/s of pace, s. Own choice.
_TOLERANCE = {
    FixedBy.OVER_NET: 0.3,
    FixedBy.AT_PLAYER: 0.2,
    FixedBy.TOP_OF_BOUNCE: 0.8,
    FixedBy.PACE: 1.0,
    FixedBy.TIME: 0.1,
    FixedBy.AT_TOP: 0.3,
}
TOP_MPS = 0.3
"""Rising or falling slower than this a ball is met at the top, within half a centimetre (v^2 / 2g). Own choice."""
MOST_TRIALS = 400
BETWEEN = {"speed": 14, "elevation": 18, "azimuth": 7, "topspin": 1, "sidespin": 1}
"""The most settings of each axis that are tried between launches."""
BESIDE = math.radians(3.0)
"""So much lower and higher elevations are tried too where the speed has few positions: between two of them no launch
has its speed, and the one beside it needs another elevation. Own choice."""
OFF_AIM = 0.5
"""Settings that send a ball farther from its aim, in half widths of its zone, count as coarse. Own choice."""
_CLEAN, _COARSE, _REFUSED, _NOT_THERE = range(4)

Trial = tuple[int, int, tuple[float, ...]]
"""Which feed, the place of its arc in the order in which arcs are wanted, and the settings of each axis."""


class Ideal(Frozen):
    """Launches that give what is asked before any rounding, (m,) each: of which feed, how its arc stands in the order
    in which arcs are wanted, where in its zone it goes (2, m), speed, elevation and azimuth, whether the ball rises
    where it is met, and what speaks against it."""

    feed: Index
    arc: Index
    share: Array
    speed: Array
    elevation: Array
    azimuth: Array
    rises: NDArray[np.bool_]
    judged: Judged

    def with_(self, more: "Ideal") -> "Ideal":
        """These and others."""
        *ours, judged = self.values()
        *theirs, also = more.values()
        feed, arc, share, speed, elevation, azimuth, rises = (
            np.concatenate(pair, axis=-1) for pair in zip(ours, theirs, strict=True)
        )
        return Ideal(feed, arc, share, speed, elevation, azimuth, rises, judged.with_(also))


class Rounded(Frozen):
    """The best settings of a feed, flown: place `at` in `release` and `flown`. `rank` compares them, less is better:
    whether it is refused, coarse or far from its aim, or none of them; the order of arcs; how far off."""

    rank: tuple[int, int, float]
    settings: tuple[float, ...]
    release: Release
    flown: Outcome
    at: int
    faults: int

    @property
    def clean(self) -> bool:
        return self.rank[0] == _CLEAN

    @property
    def refused(self) -> bool:
        return self.rank[0] >= _REFUSED

    @property
    def there(self) -> bool:
        """Whether the feeder has these settings at all."""
        return self.rank[0] != _NOT_THERE

    def shot(self, feed: Feed, feeder: Feeder) -> SolvedShot:
        """What leaves and what it does, for the feed of these settings."""
        release, flown, i = self.release, self.flown, self.at
        settings = dict(zip(feeder.axes(), self.settings, strict=True)) if feeder.kind == "machine" else {}

        def maybe(value: np.floating) -> float | None:
            return float(value) if np.isfinite(value) else None

        contact, landing = flown.contact, flown.landing
        landed = bool(np.isfinite(landing.time[i]))
        rise = float(contact.velocity[2, i])
        way = "rising" if rise > 0 else "falling"
        # A ball that is met on its way up or down as asked is reported so, however close to the top that is.
        phase = "on the full" if not landed else way if way == feed.phase or abs(rise) >= TOP_MPS else "top"
        predicted = Prediction(
            clearance=maybe(flown.clearance[i]),
            net_x=maybe(flown.net_x[i]),
            landing=(float(landing.position[0, i]), float(landing.position[1, i])) if landed else None,
            landing_time=maybe(landing.time[i]),
            landing_speed=maybe(np.linalg.norm(landing.velocity[:, i])),
            contact=tuple(float(c) for c in contact.position[:, i]),  # type: ignore[arg-type]
            contact_time=float(contact.time[i]),
            contact_speed=float(np.linalg.norm(contact.velocity[:, i])),
            phase=phase,
            bounces=int(flown.bounces[i]),
            peak=float(flown.peak[i]),
        )
        return SolvedShot(
            feed.name, settings, tuple(float(c) for c in release.origin[:, i]),  # type: ignore[arg-type]
            float(release.speed[i]), float(release.elevation[i]), float(release.azimuth[i]),
            float(release.topspin[i]), float(release.sidespin[i]), predicted,
        )  # fmt: skip


def near(feeds: Sequence[Feed], feeder: Feeder, ideal: Ideal, some: Iterable[int]) -> list[Trial]:
    """The steps around some launches, or every position of a dial."""
    spins = ideal.judged.limits["topspin"] + ideal.judged.limits["sidespin"]
    return [
        (int(ideal.feed[k]), int(ideal.arc[k]), settings)
        for k in some
        if spins[k] == 0  # another spin is another ball
        for settings in beside(feeds[ideal.feed[k]], feeder, ideal.speed[k], ideal.elevation[k], ideal.azimuth[k])
    ]


def beside(feed: Feed, feeder: Feeder, speed: float, elevation: float, azimuth: float) -> Iterator[tuple[float, ...]]:
    """The settings around one launch of a feed, whose spin the feeder has."""
    axes = feeder.axes()
    wanted = {
        "speed": float(speed), "elevation": float(elevation), "azimuth": float(azimuth),
        "topspin": feed.topspin, "sidespin": feed.sidespin,
    }  # fmt: skip
    return product(*(_nearest(axes[name].settings_near(wanted[name]), name, axes, wanted) for name in axes))


def settings_beside(axis: Axis, value: float, count: int, apart: float, every: int = 1) -> list[float]:
    """Settings to either side of the one nearest to a value in SI, or `every` so many of them."""
    some = range(-count * every, count * every + 1, every)
    if axis.dial is not None:
        nearest = min(range(len(axis.dial)), key=lambda i: abs(axis.value(i + 1) - value))
        return [float(nearest + i + 1) for i in some if 0 <= nearest + i < len(axis.dial)]
    middle = axis.told(value)
    if axis.step is not None:
        last = round((axis.high - axis.low) / axis.step)
        nearest = min(max(round((middle - axis.low) / axis.step), 0), last)
        return [round(axis.low + (nearest + i) * axis.step, 9) for i in some if 0 <= nearest + i <= last]
    step = abs(axis.told(value + apart) - middle)
    return sorted({min(max(middle + i * step, axis.low), axis.high) for i in some})


def between(feeds: Sequence[Feed], feeder: Feeder, ideal: Ideal, some: Sequence[int]) -> list[Trial]:
    """Settings all over the range of some launches of one arc of one feed, whose spin the feeder has."""
    axes, feed = feeder.axes(), feeds[ideal.feed[some[0]]]
    spins = {"topspin": (feed.topspin, feed.topspin), "sidespin": (feed.sidespin, feed.sidespin)}
    tried = []
    for name, axis in axes.items():
        if name in spins:
            tried.append(_nearest(axis.settings_near(spins[name][0]), name, axes, {name: spins[name][0]}))
        else:
            values = getattr(ideal, name)[list(some)]
            wide = BESIDE if name == "elevation" and axes["speed"].dial else 0.0
            low, high = float(values.min()) - wide, float(values.max()) + wide
            tried.append(axis.settings_between(low, high, BETWEEN[name]))
    which, arc = int(ideal.feed[some[0]]), int(ideal.arc[some[0]])
    return [(which, arc, settings) for settings in product(*tried)]


def _nearest(
    settings: tuple[float, ...], name: str, axes: Mapping[str, Axis], ideal: Mapping[str, float]
) -> tuple[float, ...]:
    """Azimuth and spin only where nearest; speed and elevation, which trade against each other, all of them."""
    if name in ("speed", "elevation") and len(settings) <= int(MOST_TRIALS**0.5):
        return settings
    axis = axes[name]
    return tuple(sorted(settings, key=lambda s: abs(axis.value(s) - ideal[name]))[: 1 if name != "azimuth" else 2])


def released(trials: list[Trial], wanted: Wanted, feeder: Feeder) -> tuple[Wanted, Release]:
    """What each trial is for, and its launch."""
    owner = np.array([i for i, _, _ in trials], np.intp)
    values = {
        name: np.array(axis.each_value([settings[k] for _, _, settings in trials]))
        for k, (name, axis) in enumerate(feeder.axes().items())
    }
    lanes, none = wanted.at(owner), np.zeros(len(owner))
    speed, elevation, azimuth, *spins = (values.get(name, none) for name in AXES)
    return lanes, Release(lanes.origin, speed, elevation, azimuth, *feeder.measured.rolled(*spins))


def tried(
    trials: list[Trial],
    feeds: Sequence[Feed],
    asked: Demand,
    wanted: Wanted,
    program: Program,
    conditions: Conditions,
) -> dict[int, Rounded]:
    """Of each feed's trials the best one."""
    if not trials:
        return {}
    lanes, release = released(trials, wanted, program.feeder)
    flown = outcome(release, lanes.stance, lanes.full, conditions)
    faults = judged(asked.at(np.array([i for i, _, _ in trials])), release, flown, program).faults
    return best(trials, feeds, asked, release, flown, faults)


def best(
    trials: list[Trial], feeds: Sequence[Feed], asked: Demand, release: Release, flown: Outcome,
    faults: NDArray[np.int64],
) -> dict[int, Rounded]:  # fmt: skip
    """The same of trials that were flown and judged."""
    if not trials:
        return {}
    owner, arc = np.array([i for i, _, _ in trials]), np.array([a for _, a, _ in trials])
    aside, off = _off([feeds[i] for i in owner], asked.at(owner), flown, release.speed)
    score = finite((aside**2).sum(axis=0) + off**2, 1e9)
    coarse = (faults & Fault.COARSE != 0) | (aside > OFF_AIM).any(axis=0)
    told = np.where(faults & REFUSED != 0, _REFUSED, np.where(coarse, _COARSE, _CLEAN))
    told = np.where(faults & Fault.LIMIT != 0, _NOT_THERE, told)
    found: dict[int, Rounded] = {}
    for k in np.lexsort((score, arc, told, owner)):
        if int(owner[k]) not in found:
            rank = int(told[k]), int(arc[k]), float(score[k])
            found[int(owner[k])] = Rounded(rank, trials[k][2], release, flown, int(k), int(faults[k]))
    return found


def _off(feeds: list[Feed], asked: Demand, flown: Outcome, speed: Array) -> tuple[Array, Array]:
    """How far each trial is from what was asked, in widths that still count as met: from the aim, across and along
    (2, n), and from what fixes the flight (n,)."""
    full = asked.full
    x = np.where(full, flown.contact.position[0], flown.landing.position[0])
    side = (x - [feed.side.aim for feed in feeds]) / [_half(feed.side) for feed in feeds]
    along = np.where(
        full,
        (flown.contact.position[2] - [feed.contact_height or 0.0 for feed in feeds]) / 0.2,
        (flown.landing.position[1] - [feed.depth.aim if feed.depth else 0.0 for feed in feeds])
        / [_half(feed.depth) if feed.depth else 1.0 for feed in feeds],
    )
    off = launches.measure(flown, speed, asked.kind) - asked.value
    return np.abs([side, along]), off / [_TOLERANCE[feed.fixed_by] for feed in feeds]


def _half(zone: Range) -> float:
    return max((zone.high - zone.low) / 2, 0.2)
