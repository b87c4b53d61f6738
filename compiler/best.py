"""The best ball there is: the fastest, lowest, most spun that keeps what a feed asks, and what a feed leaves open.

For a place and a spin each elevation has one launch, so a scan of elevations, and of the depths and spins that are left
open, finds about where the best is; a closer one follows it. Then the settings of the device around it are flown, every
combination, and those around the best of them, until none is better: what a machine cannot be set to is no ball.
"""

import dataclasses
from collections.abc import Mapping
from dataclasses import dataclass
from itertools import product

import numpy as np

from ..grammar.frozen import Frozen, replace
from .chosen import Chosen
from .fit import KINDS, Fault, bounded, let_pass, spins_tried
from .flown_settings import FlownSettings
from .model.feeder import AXES
from .model.program import BOUNDED, Feed, FixedBy, Program, Range
from .nearer import SURE
from .physics import launches
from .physics.flight import Array
from .physics.launches import Wanted, measure
from .physics.outcome import Conditions, Release
from .rounding import Rounded, settings_beside
from .together import Search, Unflown, every_launch, joined, near_launch, taken
from .worth import AIMED_M, BENT, EDGE_M, HARD, INSET_M, MOSTLY, Flight, Tried, Worth

SCANNED, CLOSER, OPEN_SCANNED, OPEN_CLOSER = 64, 9, 9, 5
FEWER_SCANNED, FEWER_CLOSER = 4, 3  # of each, where depth and spin are both looked for
REGIONS = 3  # most launches that are looked at closely, of arcs that differ by more than `APART`
NEARLY = 8.0  # how much worse one may be than the best to be looked at closely, in widths of `HELD`
APART = np.radians(8.0)
AROUND = {"speed": 10, "elevation": 8, "azimuth": 1, "topspin": 2, "sidespin": 0}
"""How many settings to either side of the best of each axis are flown, every combination."""
SMOOTH = {"speed": 0.1, "elevation": 0.004, "azimuth": 0.004, "topspin": 4.0, "sidespin": 4.0}
"""SI, how far apart they are at first for an axis without steps."""
AROUND_SMOOTH = {"speed": 3, "elevation": 4}  # how many of such an axis are flown: fewer, as they come ever closer
SPIN_STRIDE = 6  # settings between the spins that are flown first, where no line says the spin
FARTHER = 3  # times as wide is the window around a ball that lacks something: a higher or lower arc may lack less
VALLEY = 6.0
"""By how much more than the least, in widths of `HELD`, a ball may lack for one between it and the next third setting
to lack least: by so much a ball moves over two such. Own choice."""
Lines = list[list[float]]
HOPELESS, LOST = 20.0, 1.5 * HARD
"""How much the best launch that has what a line fixes may lack before any rounding, in widths of `HELD`: settings
farther away make up for rounding, not for more than that, so only those close by are flown. Where no line fixes it
and a launch is metres away, no setting beside it is a ball, nor one to another part of its zone. Own choices."""
MOVES, FINER = 12, 3


class _Scanned(Frozen):
    """Launches all over what a feed leaves open, (n,) each, flown; `spin` and `depth` are how far apart its spins and
    depths are, 0 where they are given."""

    release: Release
    flight: Flight
    spin: float
    depth: float


@dataclass(frozen=True, slots=True)
class Quest:
    """One feed. `wanted` holds it alone."""

    worth: Worth
    wanted: Wanted
    program: Program
    conditions: Conditions
    known: FlownSettings
    nearly: bool = False
    """Whether what a line fixes may be missed a little, because no launch has it."""

    @property
    def feed(self) -> Feed:
        return self.worth.feed

    # ---- where the best is, before any rounding

    def scanned(self, everywhere: bool) -> Search[_Scanned]:
        """`everywhere`: all over its zone, not only at its middle."""
        feed, depth = self.feed, self._place
        both = "spin" in feed.free and (everywhere or feed.between)
        count = FEWER_SCANNED if both else OPEN_SCANNED
        if feed.depth and "depth" in feed.free:
            depth = np.linspace(feed.depth.low + AIMED_M, feed.depth.high - INSET_M, count)
        elif feed.depth and everywhere:
            (low, high), inside = feed.depth.part, min(EDGE_M, (feed.depth.high - feed.depth.low) / 4)
            depth = np.linspace(low + inside, high - inside, count)
        elif feed.between:
            depth = np.linspace(feed.between.low, feed.between.high, count)
        spin = spins_tried(self.program.feeder, feed, count) if "spin" in feed.free else self.wanted.topspin
        wanted = self._requests(spin, depth)
        if self._solvable:
            roots = yield Unflown(every_launch, (wanted,))
            release = wanted.at(roots.request).release(roots.speed, roots.elevation, roots.azimuth)
        else:
            elevations = launches.elevations(wanted, self.conditions)
            fine = np.linspace(0, elevations.shape[1] - 1, SCANNED)
            each = np.stack([np.interp(fine, np.arange(elevations.shape[1]), row) for row in elevations])
            release = yield from self._through(wanted, each)
        return _Scanned(release, (yield from self.worth.flight(release)), _gap(spin), _gap(depth))

    def ideals(self, scanned: _Scanned) -> Search[list[tuple[Release, int, float]]]:
        """The best launches as they are, of arcs that differ, and what each lacks; of lost ones the nearest alone."""
        release = scanned.release
        if not len(release.speed):
            return []
        tried, starts = (yield from self.worth.tried(release, scanned.flight)), list[int]()
        for k in tried.order():
            near = not starts or (
                tried.lacks[k] <= tried.lacks[starts[0]] + 1.0 and tried.gain[k] >= tried.gain[starts[0]] - NEARLY
            )
            if near and all(abs(release.elevation[k] - release.elevation[j]) > APART for j in starts):
                starts.append(int(k))
            if len(starts) == REGIONS:
                break
        found = list[tuple[Release, int, float]]()
        for start in starts:
            found.append((yield from self._closer(scanned, start)))
        lost = all(self._lost(lacks) for *_, lacks in found)
        return [found[int(np.argmin(tried.off[starts]))]] if lost else found

    def _closer(self, scanned: _Scanned, at: int) -> Search[tuple[Release, int, float]]:
        """The best launch near one, looked for ever closer, and what it lacks."""
        release, flight, spin, depth = scanned.values()
        steep = np.radians(2.5)
        for _ in range(FINER):
            x, known = release.at(np.array([at])), taken(flight, np.array([at]))
            lands = known.flown.contact.position[2] if self.feed.between else known.flown.landing.position[1]
            few = spin and depth and (self.worth.everywhere or self.feed.between)
            line = np.linspace(-1, 1, FEWER_CLOSER if few else OPEN_CLOSER)
            wanted = self._requests(
                x.topspin + spin * line if spin else x.topspin,
                lands + depth * line if depth else self._place,
            )
            if self._solvable:
                starts = np.repeat(np.stack([x.speed, x.elevation, x.azimuth]), len(wanted.value), axis=1)
                roots = yield Unflown(near_launch, (wanted, starts))
                found = wanted.at(roots.request).release(roots.speed, roots.elevation, roots.azimuth)
            else:
                ways = x.elevation + steep * np.linspace(-1, 1, CLOSER)
                found = yield from self._through(wanted, np.repeat(ways[None], len(wanted.value), axis=0))
            release, flight = x, known
            if len(found.speed):
                release, flight = joined([x, found]), joined([known, (yield from self.worth.flight(found))])
            tried = yield from self.worth.tried(release, flight)
            at = int(tried.order()[0])
            spin, depth, steep = spin / 3, depth / 3, steep / 3
        return release, at, float(tried.lacks[at])

    @property
    def _place(self) -> Array:
        """How far from the net it lands, or on the full how high it is met."""
        return self.wanted.point[2 if self.feed.between else 1]

    def _lost(self, lacks: float) -> bool:
        return lacks > LOST and not self._solvable

    @property
    def _solvable(self) -> bool:
        """Whether a line fixes the flight by something that does not depend on an open stance."""
        first = self.worth.fixes[0][0] if self.worth.fixes else None
        bars = [*self.feed.stands, *(bound for bound in self.feed.bounds if bound.what is FixedBy.OVER_NET)]
        if self.nearly or ("height over net" in self.feed.free and bars):  # an ordinary one may be beyond them
            return False
        return first is not None and ("stance" not in self.feed.free or first in (FixedBy.OVER_NET, FixedBy.PACE))

    def _requests(self, spin: Array, depth: Array) -> Wanted:
        spins, depths = (each.ravel() for each in np.meshgrid(spin, depth, indexing="ij"))
        each = self.wanted.at(np.zeros(len(spins), np.intp))
        at = [each.point[1], depths] if self.feed.between else [depths, each.point[2]]
        point = np.stack([each.point[0], *at])
        kind, value = each.kind, each.value
        if self._solvable:
            what, asked = self.worth.fixes[0]
            kind, value = np.full(len(spins), KINDS[what]), np.full(len(spins), asked)
        return replace(each, point=point, topspin=spins, kind=kind, value=value)

    def _through(self, wanted: Wanted, elevations: Array) -> Search[Release]:
        """Launches through the points of requests at elevations (n, e), those that there are."""
        lanes, elevation = wanted.at(np.repeat(np.arange(len(elevations)), elevations.shape[1])), elevations.ravel()
        speed, azimuth = yield Unflown(launches.pointed, (lanes, elevation))
        some = np.flatnonzero(np.isfinite(speed))
        return lanes.at(some).release(speed[some], elevation[some], azimuth[some])

    # ---- as the device can be set

    def settled(self, release: Release, at: int, lacks: float) -> Search[tuple[Tried, int, list[tuple[float, ...]]]]:
        """The best settings near a launch: flown all around it, and around the best of them, until none is better."""
        axes, hopeless = self.program.feeder.axes(), self._solvable and lacks > HOPELESS
        now = {name: float(getattr(release, name)[at]) for name in axes}
        if "spin" not in self.feed.free:
            now["topspin"] = self.feed.topspin
        if "sidespin" in axes:
            now["sidespin"] = self.feed.sidespin
        width, wide, looked, worth = 1.0, False, False, (yield from self.worth.near(release, at))
        smooth = [
            name for name, axis in axes.items() if axis.step is None and axis.dial is None and axis.low < axis.high
        ]
        around = AROUND | {name: count for name, count in AROUND_SMOOTH.items() if name in smooth}
        for _ in range(MOVES):
            counts = around | {
                "azimuth": AROUND["azimuth"] * wide,
                "topspin": AROUND["topspin"] * ("spin" in self.feed.free),
            }
            settings = list(product(*self._around(now, counts, width, spins=1 if wide else self._stride)))
            tried = yield from self._set(settings, worth)
            first = int(tried.order()[0])
            moved, now = self._moved(now, settings[first])
            ends = hopeless or (wide and (looked or bool(worth.careful) or bool(tried.lacks[first] <= 0)))
            if finer := bool(smooth) and width > 1 / 4**FINER:
                width /= 4 if not moved else 2
            elif not moved and ends:
                break
            worth = yield from worth.near(tried.release, first)
            if wide and not (moved or finer):
                looked = True
                beside = yield from self._far(now, counts, width, worth)
                other = yield from self._set(beside, worth)
                best = int(other.order()[0])
                moved, now = self._moved(now, beside[best])
                if not moved:
                    break
            wide = wide or not moved
        return tried, first, settings

    @property
    def _stride(self) -> int:
        return SPIN_STRIDE if "spin" in self.feed.free and self.feed.best is None else 1

    def _around(
        self, now: Mapping[str, float], counts: Mapping[str, int], width: float, every: int = 1, spins: int = 1
    ) -> Lines:
        """Of each axis the settings to either side of a launch, or `every` so many of speed and elevation, and every
        `spins`th spin."""
        apart = {"speed": every, "elevation": every, "topspin": spins}
        return [
            settings_beside(axis, now[name], counts[name], SMOOTH[name] * width, apart.get(name, 1))
            for name, axis in self.program.feeder.axes().items()
        ]

    def _far(
        self, now: Mapping[str, float], counts: Mapping[str, int], width: float, worth: Worth
    ) -> Search[list[tuple[float, ...]]]:
        """The settings of a window that is `FARTHER` times as wide which may lack least: those around such of every
        third speed and elevation as lack little more than the least."""
        wide = {name: count * FARTHER if name in ("speed", "elevation") else count for name, count in counts.items()}
        speeds, elevations, *others = self._around(now, wide, width)
        coarse = list(product(*self._around(now, counts, width, FARTHER)))
        tried = yield from self._set(coarse, worth)
        few = np.flatnonzero(tried.lacks <= tried.lacks.min() + VALLEY)
        wanted = np.zeros((len(speeds), len(elevations)), bool)
        for speed, elevation in {coarse[k][:2] for k in few}:
            i, j = (max(line.index(one) - 1, 0) for line, one in ((speeds, speed), (elevations, elevation)))
            wanted[i : i + FARTHER, j : j + FARTHER] = True
        pairs = np.argwhere(wanted).tolist()
        return [(speeds[i], elevations[j], *rest) for i, j in pairs for rest in product(*others)]

    def _moved(self, now: Mapping[str, float], settings: tuple[float, ...]) -> tuple[bool, dict[str, float]]:
        """Whether settings are others than those of a launch, and the launch that they are."""
        axes = self.program.feeder.axes()
        then = {name: axis.value(one) for (name, axis), one in zip(axes.items(), settings, strict=True)}
        return any(abs(then[name] - now[name]) > 1e-9 for name in then), then

    def _set(self, settings: list[tuple[float, ...]], worth: Worth) -> Search[Tried]:
        """What comes of settings, flown and judged."""
        axes, none = self.program.feeder.axes(), np.zeros(len(settings))
        told = zip(axes.items(), zip(*settings, strict=True), strict=True)
        values = {name: np.array(axis.each_value(mine)) for (name, axis), mine in told}
        origin = np.repeat(self.wanted.origin, len(settings), axis=1)
        speed, elevation, azimuth, *spins = (values.get(name, none) for name in AXES)
        release = Release(origin, speed, elevation, azimuth, *self.program.feeder.measured.rolled(*spins))
        return (yield from worth.tried(release, (yield from self.known.flight(settings, release, worth))))

    def chosen(self) -> Search[Chosen]:
        """The best that keeps a margin inside its bounds, where one does."""
        if self.worth.ordinary_spin:
            flat = replace(self.feed, free=self.feed.free - {"spin"})
            flattest = yield from dataclasses.replace(self, worth=dataclasses.replace(self.worth, feed=flat)).chosen()
            if flattest.rounded is not None and not flattest.lacking and flattest.lacks <= 0:
                return flattest
        scanned = yield from self.scanned(self.worth.everywhere)
        first = yield from self._chosen(scanned)
        if self._lost(first.lacks):
            return first
        if first.close and self.worth.roams and not self.feed.best:
            self, scanned, first = yield from self._elsewhere(False, scanned, first)
        if self.worth.seeks_flat and (first.rounded is None or first.lacking or first.lobbed):
            self, scanned, first = yield from self._elsewhere(True, scanned, first)
        if self._out_of_room(first):
            anywhere = dataclasses.replace(self, worth=dataclasses.replace(self.worth, anywhere=True))
            again = yield from anywhere._chosen(scanned)
            self, first = (anywhere, again) if again.rounded and not again.lacking else (self, first)
        if first.rounded is None or first.lacking:
            return first
        release = first.rounded.release.at(np.array([first.rounded.at]))
        flight = yield from self.known.flight([first.rounded.settings], release, self.worth)
        plainly = yield from self.worth.near(release, 0)
        careful = dataclasses.replace(plainly, careful=SURE)
        bare, plain = (yield from careful.tried(release, flight)), (yield from plainly.tried(release, flight))
        barely = replace(first, lacks=float(bare.lacks[0]), beyond=float(bare.beyond[0]))
        if bare.lacks[0] <= plain.lacks[0] + 1e-9:
            return barely
        safer = yield from self._inside(SURE, scanned)
        if self.worth.bent(safer.rounded) > BENT >= self.worth.bent(first.rounded):
            mostly = yield from self._inside(MOSTLY, scanned)
            safer = safer if self.worth.bent(mostly.rounded) > BENT else mostly
        if safer.rounded is None or safer.lacking:
            return barely
        what = self.feed.best and self.feed.best.what
        values = bounded(self.worth.asked, first.rounded.release, first.rounded.flown)[:, first.rounded.at]
        value = float(values[BOUNDED.index(what)]) if what in BOUNDED else None
        binds = safer.binds or tuple(name for name, lack in bare.missing.items() if lack[0] > 1e-9)
        return replace(safer, bare=value, binds=binds if what else ())

    def _inside(self, deviations: float, scanned: _Scanned) -> Search[Chosen]:
        """The best that keeps so many deviations inside its bounds."""
        worth = dataclasses.replace(self.worth, careful=deviations)
        return (yield from dataclasses.replace(self, worth=worth)._chosen(scanned))

    def _out_of_room(self, found: Chosen) -> bool:
        """Whether a ball to the middle of its zone is met where there mostly is no room, or misses what lines state so
        as to be met at the edge of the room: then the zone and the lines go first."""
        (nearest, farthest), stance = self.worth.room, found.feed.stance
        least = -AIMED_M if self.worth.bent(found.rounded) > BENT else AIMED_M / 2
        return self.worth.finds_place and max(nearest - stance, stance - farthest) >= least

    def _elsewhere(self, flat: bool, scanned: _Scanned, first: Chosen) -> "Search[tuple[Quest, _Scanned, Chosen]]":
        """The same from all over its zone, where there is such a ball; `flat`: one that is no lob."""
        worth = dataclasses.replace(self.worth, flat=flat)
        other = dataclasses.replace(self, worth=worth, nearly=first.rounded is None)
        everywhere = yield from other.scanned(True)
        again = yield from other._chosen(everywhere)
        if again.rounded is None or again.lacking or (flat and again.lobbed):
            return self, scanned, first
        return other, everywhere, again

    def _chosen(self, scanned: _Scanned) -> Search[Chosen]:
        found = list[tuple[Tried, int, list[tuple[float, ...]]]]()
        for ideal in (yield from self.ideals(scanned)):
            found.append((yield from self.settled(*ideal)))
        if not found:
            return Chosen(self.feed, None)
        ranked = [(round(t.lacks[k], 9), -t.gain[k], t.off[k]) for t, k, _ in found]
        tried, first, settings = found[ranked.index(min(ranked))]
        stance = tried.stance[first]
        own = taken(tried.release, np.array([first])), taken(tried.flown, np.array([first]))  # it is kept for long
        rounded = Rounded((0, 0, 0.0), settings[first], *own, 0, int(tried.faults[first]))
        if not np.isfinite(stance) or int(tried.faults[first]) & Fault.LIMIT:
            return Chosen(self.feed, None)
        feed, flown, decided = self.feed, tried.flown, dict[str, object]()
        if "stance" in feed.free:
            decided["stance"] = float(stance)
        if feed.depth and "depth" in feed.free:
            decided["depth"] = Range(feed.depth.low, feed.depth.high, float(flown.landing.position[1, first]))
        if "spin" in feed.free:
            axes = self.program.feeder.axes()
            decided["topspin"] = axes["topspin"].value(settings[first][list(axes).index("topspin")])
        if not self.worth.fixes:
            kind = np.full(len(settings), KINDS[feed.fixed_by])
            decided["value"] = float(measure(flown, tried.release.speed, kind)[first])
        fixes = self.worth.fixes
        if "height over net" in feed.free:  # an ordinary one, or the nearest to it
            decided["value"], fixes = self._given(tried, first, FixedBy.OVER_NET), []
        if feed.between:
            decided["contact_height"] = float(flown.contact.position[2, first])
        elif feed.contact_height is not None:
            fixes = [*fixes, (FixedBy.AT_PLAYER, feed.contact_height)]
        given = [(what, value, self._given(tried, first, what)) for what, value in fixes]
        lacking = next((one for one in given if not abs(one[2] - one[1]) <= let_pass(feed, *one[:2])), None)
        binds, lacks = self._binds(tried, first, settings), float(tried.lacks[first])
        return Chosen(replace(feed, **decided), rounded, binds, lacking, lacks=lacks, beyond=float(tried.beyond[first]))

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
        fewest = np.atleast_1d(broken[:, (n := broken.sum(axis=0)) == n.min(initial=len(names))].any(axis=1))
        found = [name for k, name in enumerate(names) if fewest[k]]
        for k, (name, axis) in enumerate(self.program.feeder.axes().items()):
            ends, value = [axis.low_si, axis.high_si], axis.value(settings[at][k])
            moves = name in ("speed", "elevation") or (name == "topspin" and "spin" in self.feed.free)
            if moves and not found and axis.low < axis.high and min(abs(value - end) for end in ends) < 1e-9:
                found.append(f"the range of the feeder's {name}")
        return tuple(found)


def _gap(values: Array) -> float:
    """The distance of neighbours of a grid; 0 of a single value."""
    return float(values[1] - values[0]) if len(values) > 1 else 0.0
