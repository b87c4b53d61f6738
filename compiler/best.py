"""The best ball there is: the fastest, lowest, most spun that keeps what a feed asks, and what a feed leaves open.

For a place and a spin each elevation has one launch, so a scan of elevations, and of the depths and spins that are left
open, finds about where the best is; a closer one follows it. Then the settings of the device around it are flown, every
combination, and those around the best of them, until none is better: what a machine cannot be set to is no ball.
"""

import dataclasses
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product
from math import inf

import numpy as np

from ..grammar.frozen import Frozen, replace
from .fit import COARSE, KINDS, Demand, Fault, bounded
from .kept import Kept
from .model.feeder import AXES, Axis
from .model.program import BOUNDED, Feed, FixedBy, Program, Range
from .physics import launches
from .physics.flight import Array
from .physics.launches import Wanted, measure
from .physics.outcome import Conditions, Release
from .rounding import Rounded
from .worth import AIMED_M, INSET_M, Tried, Worth

SCANNED, CLOSER, OPEN_SCANNED, OPEN_CLOSER = 64, 9, 9, 5
REGIONS = 3  # most launches that are looked at closely, of arcs that differ by more than `APART`
NEARLY = 8.0  # how much worse one may be than the best to be looked at closely, in widths of `HELD`
APART = np.radians(8.0)
AROUND = {"speed": 10, "elevation": 8, "azimuth": 1, "topspin": 2, "sidespin": 0}
"""How many settings to either side of the best of each axis are flown, every combination."""
SMOOTH = {"speed": 0.1, "elevation": 0.002, "azimuth": 0.004, "topspin": 4.0, "sidespin": 4.0}
"""SI, how far apart they are at first for an axis without steps."""
FARTHER = 3
"""So many times as wide is the window around a ball that lacks something: a higher or lower arc may lack less."""
MOVES, FINER = 12, 3


class Chosen(Frozen):
    """What came of a feed: with all that its lines left open, its settings flown, and what is in the way of more."""

    feed: Feed
    rounded: Rounded | None
    binds: tuple[str, ...] = ()
    lacking: tuple[FixedBy, float, float] | None = None
    """What its lines fix that no ball has beside the rest: asked and given, SI."""
    bare: float | None = None
    """What the best would be, SI, if it kept no margin inside its bounds; None where that is the same."""


CHOSEN: Kept[Chosen] = Kept()
"""By the conditions and all that is asked: the best ball."""


@dataclass(frozen=True, slots=True)
class _Quest:
    """One feed. `wanted` holds it alone."""

    worth: Worth
    wanted: Wanted
    program: Program
    conditions: Conditions

    @property
    def feed(self) -> Feed:
        return self.worth.feed

    # ---- where the best is, before any rounding

    def ideals(self) -> Iterator[tuple[Release, int]]:
        """The best launches as they are, of some arcs that differ."""
        feed = self.feed
        depth = (
            np.linspace(feed.depth.low + AIMED_M, feed.depth.high - INSET_M, OPEN_SCANNED)
            if feed.depth and "depth" in feed.free
            else self.wanted.point[1]
        )
        spin = self._spins(OPEN_SCANNED) if "spin" in feed.free else self.wanted.topspin
        wanted = self._requests(spin, depth)
        if self._solvable:
            roots, _ = launches.solve(wanted, self.conditions)
            release = wanted.at(roots.request).release(roots.speed, roots.elevation, roots.azimuth)
        else:
            elevations = launches.elevations(wanted, self.conditions)
            fine = np.linspace(0, elevations.shape[1] - 1, SCANNED)
            each = np.stack([np.interp(fine, np.arange(elevations.shape[1]), row) for row in elevations])
            release = self._through(wanted, each)
        if not len(release.speed):
            return
        tried, starts = self.worth.tried(release), list[int]()
        for k in tried.order():
            near = not starts or (
                tried.lacks[k] <= tried.lacks[starts[0]] + 1.0 and tried.gain[k] >= tried.gain[starts[0]] - NEARLY
            )
            if near and all(abs(release.elevation[k] - release.elevation[j]) > APART for j in starts):
                starts.append(int(k))
            if len(starts) == REGIONS:
                break
        for start in starts:
            yield self._closer(release, start, _gap(spin), _gap(depth))

    def _closer(self, release: Release, at: int, spin: float, depth: float) -> tuple[Release, int]:
        """The best launch near one, looked for ever closer."""
        steep = np.radians(2.5)
        for _ in range(FINER):
            x = release.at(np.array([at]))
            lands = self.worth.tried(x).flown.landing.position[1]
            wanted = self._requests(
                x.topspin + spin * np.linspace(-1, 1, OPEN_CLOSER) if spin else x.topspin,
                lands + depth * np.linspace(-1, 1, OPEN_CLOSER) if depth else self.wanted.point[1],
            )
            if self._solvable:
                starts = np.repeat(np.stack([x.speed, x.elevation, x.azimuth]), len(wanted.value), axis=1)
                roots = launches.refined(wanted, np.arange(len(wanted.value)), starts, self.conditions)
                found = wanted.at(roots.request).release(roots.speed, roots.elevation, roots.azimuth)
            else:
                line = x.elevation + steep * np.linspace(-1, 1, CLOSER)
                found = self._through(wanted, np.repeat(line[None], len(wanted.value), axis=0))
            both = _joined(x, found)
            release, at = both, int(self.worth.tried(both).order()[0])
            spin, depth, steep = spin / 3, depth / 3, steep / 3
        return release, at

    @property
    def _solvable(self) -> bool:
        """Whether a line fixes the flight by something that does not hang on an open stance."""
        first = self.worth.flight[0][0] if self.worth.flight else None
        return first is not None and ("stance" not in self.feed.free or first in (FixedBy.OVER_NET, FixedBy.PACE))

    def _spins(self, count: int) -> Array:
        axis, best = self.program.feeder.topspin, self.feed.best
        low, high = axis.low_si, axis.high_si
        if best and best.what is FixedBy.SPIN and best.sign:
            low, high = (max(low, 0.0), high) if best.sign > 0 else (low, min(high, 0.0))
        most = min((bound.high for bound in self.feed.bounds if bound.what is FixedBy.SPIN), default=inf)
        return np.linspace(max(low, -most), min(high, most), count)

    def _requests(self, spin: Array, depth: Array) -> Wanted:
        spins, depths = (each.ravel() for each in np.meshgrid(spin, depth, indexing="ij"))
        each = self.wanted.at(np.zeros(len(spins), np.intp))
        point = np.stack([each.point[0], depths, each.point[2]])
        kind, value = each.kind, each.value
        if self._solvable:
            what, asked = self.worth.flight[0]
            kind, value = np.full(len(spins), KINDS[what]), np.full(len(spins), asked)
        return replace(each, point=point, topspin=spins, kind=kind, value=value)

    def _through(self, wanted: Wanted, elevations: Array) -> Release:
        """Launches through the points of requests at elevations (n, e), those that there are."""
        plain = replace(wanted, kind=np.full(len(wanted.kind), launches.CLEARANCE))
        with np.errstate(invalid="ignore", divide="ignore", over="ignore"):  # not a number stands for no launch
            scan = launches.through(plain, elevations, self.conditions)
        row, column = np.nonzero(np.isfinite(scan.speed))
        return wanted.at(row).release(scan.speed[row, column], elevations[row, column], scan.azimuth[row, column])

    # ---- as the device can be set

    def settled(self, release: Release, at: int) -> tuple[Tried, int, list[tuple[float, ...]]]:
        """The best settings near a launch: flown all around it, and around the best of them, until none is better."""
        axes = self.program.feeder.axes()
        now = {name: float(getattr(release, name)[at]) for name in axes}
        if "spin" not in self.feed.free:
            now["topspin"] = self.feed.topspin
        if "sidespin" in axes:
            now["sidespin"] = self.feed.sidespin
        width, wide, far, worth = 1.0, False, 1, self.worth.near(release, at)
        smooth = any(axis.step is None and axis.dial is None and axis.low < axis.high for axis in axes.values())
        for _ in range(MOVES):
            counts = AROUND | {
                "speed": AROUND["speed"] * far,
                "elevation": AROUND["elevation"] * far,
                "azimuth": AROUND["azimuth"] * wide,
                "topspin": AROUND["topspin"] * ("spin" in self.feed.free),
            }
            around = [_around(axis, now[name], counts[name], SMOOTH[name] * width) for name, axis in axes.items()]
            settings = list(product(*around))
            given = ([axis.value(one) for one in line] for axis, line in zip(axes.values(), around, strict=True))
            grid = np.meshgrid(*given, indexing="ij")
            values = {name: of.ravel() for name, of in zip(axes, grid, strict=True)}
            none = np.zeros(len(settings))
            origin = np.repeat(self.wanted.origin, len(settings), axis=1)
            speed, elevation, azimuth, *spins = (values.get(name, none) for name in AXES)
            turned = self.program.feeder.measured.rolled(*spins)
            tried = worth.tried(Release(origin, speed, elevation, azimuth, *turned))
            first = int(tried.order()[0])
            worth = worth.near(tried.release, first)
            moved = any(abs(values[name][first] - now[name]) > 1e-9 for name in axes)
            now = {name: float(values[name][first]) for name in axes}
            if smooth and width > 1 / 4**FINER:
                width /= 4 if not moved else 2
            elif not moved and wide:
                if far > 1 or worth.careful or tried.lacks[first] <= 0:
                    break
                far = FARTHER
            wide = wide or not moved
        return tried, first, settings

    def chosen(self) -> Chosen:
        """The best that keeps a margin inside its bounds, where one does."""
        first = self._chosen()
        if first.rounded is None or first.lacking:
            return first
        release = first.rounded.release.at(np.array([first.rounded.at]))
        careful = dataclasses.replace(self.worth, careful=True)
        bare = careful.tried(release)
        if bare.lacks[0] <= self.worth.tried(release).lacks[0] + 1e-9:
            return first
        safer = dataclasses.replace(self, worth=careful)._chosen()
        if safer.rounded is None or safer.lacking:
            return first
        what = self.feed.best and self.feed.best.what
        values = bounded(first.rounded.release, first.rounded.flown)[:, first.rounded.at]
        value = float(values[BOUNDED.index(what)]) if what in BOUNDED else None
        binds = safer.binds or tuple(name for name, lack in bare.missing.items() if lack[0] > 1e-9)
        return replace(safer, bare=value, binds=binds if what else ())

    def _chosen(self) -> Chosen:
        found = [self.settled(*ideal) for ideal in self.ideals()]
        if not found:
            return Chosen(self.feed, None)
        ranked = [(round(t.lacks[k], 9), -t.gain[k], t.off[k]) for t, k, _ in found]
        tried, first, settings = found[ranked.index(min(ranked))]
        stance = tried.stance[first]
        rounded = Rounded((0, 0, 0.0), settings[first], tried.release, tried.flown, first, int(tried.faults[first]))
        if not np.isfinite(stance) or int(tried.faults[first]) & Fault.LIMIT:
            return Chosen(self.feed, None)
        feed, flown = self.feed, tried.flown
        decided: dict[str, object] = {}
        if "stance" in feed.free:
            decided["stance"] = float(stance)
        if feed.depth and "depth" in feed.free:
            decided["depth"] = Range(feed.depth.low, feed.depth.high, float(flown.landing.position[1, first]))
        if "spin" in feed.free:
            axes = self.program.feeder.axes()
            decided["topspin"] = axes["topspin"].value(settings[first][list(axes).index("topspin")])
        if not self.worth.flight:
            kind = np.full(len(settings), KINDS[feed.fixed_by])
            decided["value"] = float(measure(flown, tried.release.speed, kind)[first])
        lacking = next(
            (
                (what, value, given)
                for what, value in self.worth.flight
                if not abs((given := self._given(tried, first, what)) - value) <= COARSE[what]
            ),
            None,
        )
        return Chosen(replace(feed, **decided), rounded, self._binds(tried, first, settings), lacking)

    def _given(self, tried: Tried, at: int, what: FixedBy) -> float:
        kind = np.full(len(tried.stance), KINDS[what])
        return float(measure(tried.flown, tried.release.speed, kind)[at])

    def _binds(self, tried: Tried, at: int, settings: list[tuple[float, ...]]) -> tuple[str, ...]:
        """What is in the way of more: what better settings break, each of them one thing alone where there are such;
        else the ends of the feeder's ranges."""
        if self.feed.best is None:
            return ()
        better = np.flatnonzero((tried.gain > tried.gain[at] + 1e-9) & (tried.missing["place"] <= 1e-9))
        names = [name for name in tried.missing if name != "place"]
        broken = np.array([tried.missing[name][better] > 1e-9 for name in names]).reshape(len(names), len(better))
        count = broken.sum(axis=0)
        fewest = np.atleast_1d(broken[:, count == count.min(initial=len(names))].any(axis=1))
        found = [name for k, name in enumerate(names) if fewest[k]]
        for k, (name, axis) in enumerate(self.program.feeder.axes().items()):
            ends = [axis.low_si, axis.high_si]
            value = axis.value(settings[at][k])
            moves = name in ("speed", "elevation") or (name == "topspin" and "spin" in self.feed.free)
            if moves and not found and axis.low < axis.high and min(abs(value - end) for end in ends) < 1e-9:
                found.append(f"the range of the feeder's {name}")
        return tuple(found)


def choose(feed: Feed, asked: Demand, wanted: Wanted, program: Program, conditions: Conditions) -> Chosen:
    """The best ball of one feed; `asked` and `wanted` hold this feed alone."""
    worth = Worth(feed, asked, wanted, program, conditions)
    return _Quest(worth, wanted, program, conditions).chosen()


def _gap(values: Array) -> float:
    """The distance of neighbours of a grid; 0 of a single value."""
    return float(values[1] - values[0]) if len(values) > 1 else 0.0


def _joined(one: Release, other: Release) -> Release:
    return Release(*(np.concatenate(pair, axis=-1) for pair in zip(one.values(), other.values(), strict=True)))


def _around(axis: Axis, value: float, count: int, apart: float) -> list[float]:
    """Settings to either side of the one nearest to a value in SI."""
    if axis.dial is not None:
        nearest = min(range(len(axis.dial)), key=lambda i: abs(axis.value(i + 1) - value))
        return [float(i + 1) for i in range(max(nearest - count, 0), min(nearest + count + 1, len(axis.dial)))]
    middle = axis.told(value)
    if axis.step is not None:
        last = round((axis.high - axis.low) / axis.step)
        nearest = min(max(round((middle - axis.low) / axis.step), 0), last)
        return [
            round(axis.low + i * axis.step, 9) for i in range(max(nearest - count, 0), min(nearest + count, last) + 1)
        ]
    step = abs(axis.told(value + apart) - middle)
    return sorted({min(max(middle + i * step, axis.low), axis.high) for i in range(-count, count + 1)})
