"""What launches are worth as the ball of a feed that asks for the best: what each lacks of being what is asked, and how
good it is."""

import dataclasses
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import inf

import numpy as np

from ..grammar.frozen import Frozen, replace
from ..grammar.syntax import Spins
from ..grammar.units import RPM
from .chosen import LOBBED_M
from .fit import COARSE, KINDS, REFUSED, Demand, Fault, Index, bounded, judged, kept
from .model.program import BOUNDED, FLOWN_HIGH, Best, Bound, Feed, FixedBy, Program, Range
from .nearer import SURE
from .physics.flight import Array
from .physics.launches import Wanted, measure
from .physics.moments import finite
from .physics.outcome import Outcome, Release, landed, met_behind, met_either_way, met_where, outcome
from .rounding import Rounded
from .together import Search, Unflown, joined, taken

HELD = {
    FixedBy.OVER_NET: 0.1,
    FixedBy.AT_PLAYER: 0.05,
    FixedBy.TOP_OF_BOUNCE: 0.5,
    FixedBy.PACE: 1 / 3.6,
    FixedBy.TIME: 0.03,
    FixedBy.AT_TOP: 0.1,
    FixedBy.SPIN: 2.0,
    FixedBy.STANCE: 0.2,
    FixedBy.WAY: 0.1,
}
"""So far from what a line fixes, SI, a ball is still what it says, where another thing is to be most. Own choice."""
PLAIN = 200 * RPM  # with less spin a ball is still flat, where no line says its spin. Own choice
AIMED_M = 0.2
"""The same of its aim, to either side and along the court; half the zone where that is less."""
INSET_M = 1.0  # where the depth is left open, no ball is meant for the last metre before the baseline. Own choice
RUN_OFF_M = 5.48  # behind the baseline, no farther if it can, is an open stance: the ITF's run-off for clubs
FLAT = (Best(FixedBy.PACE, 1), Best(FixedBy.OVER_NET, -1), Best(FixedBy.TIME, -1))
LIGHTLY, ASIDE = 0.03, 0.3
"""What a height over the net lacks that no line asks for counts as so much of what lines ask for; and a landing beside
the middle of its zone, where two standard deviations of the balls and half of those of any make still land in it, or a
spin that no line asks for. Own choice."""
BENT = 0.75  # widths of `HELD` by which a ball may miss what lines state for what they leave open. Own choice
MOSTLY = 1.3  # deviations inside its bounds, where two would bend what lines state: nine balls of ten keep one of them
ROOMY = 0.5
"""What a stance that follows from the place of the ball lacks of room counts as so much of what that lacks of landing
surely in its zone. Own choice."""
EDGE_M = 0.5  # so far inside its zone a ball is meant before it is known how it scatters
SPARE = 0.25  # deviations more than the drag takes: at least half of the balls of any make have to land in the zone
SURELY = 3.0
"""What it lacks inside a bound, in widths of `HELD`, counts as so much of one from the aim: a bound that half of the
balls break is a fault, and an aim that is missed within the zone is none. Own choice."""
HARD = 100.0  # a metre outside of what is refused counts as much as this many times what is held


class Flight(Frozen):
    """Where n balls are met along the court (n,), m, NaN where nowhere, and what they do until then."""

    stance: Array
    flown: Outcome


class Tried(Frozen):
    """Launches flown, (m,) each: what each lacks of being what is asked, 0 if nothing, and how good it is; `missing`
    has what it lacks by what it breaks."""

    release: Release
    stance: Array
    flown: Outcome
    faults: np.ndarray
    missing: Mapping[str, Array]
    lacks: Array
    beyond: Array
    """What of that each lacks inside its bounds."""
    gain: Array
    off: Array

    def order(self) -> Index:
        """The best first."""
        return np.lexsort((self.off, np.round(-self.gain, 9), np.round(self.lacks, 9)))


@dataclass(frozen=True, slots=True)
class Worth:
    """Of one feed; `asked` and `wanted` hold it alone."""

    feed: Feed
    asked: Demand
    wanted: Wanted
    program: Program
    careful: float = 0.0
    """How many standard deviations a ball keeps inside its bounds, where it can."""
    margins: Mapping[FixedBy, Array] | None = None
    """How far inside that is, SI, if it is known."""
    inset: tuple[float, float] | None = None
    """How far from the near and the far edge of its zone a ball is meant, m, if it is known."""
    flat: bool = False
    """Whether a lob is none of them."""
    anywhere: bool = False
    """Whether the player stands wherever the ball is met, since no room that there mostly is has such a ball."""
    topped: bool = False
    """Whether a ball that never comes as high as the player stands for is met at the top of its bounce."""

    @property
    def fixes(self) -> list[tuple[FixedBy, float]]:
        """What its lines fix of the flight; where the stance is open, a height at the player says that."""
        return [fix for fix in self.feed.fixes if not (self.feed.met_at_height and fix[0] is FixedBy.AT_PLAYER)]

    @property
    def height(self) -> float:
        """At which the player stands for the ball, m, where the stance is open."""
        return next(value for what, value in self.feed.fixes if what is FixedBy.AT_PLAYER)

    @property
    def one_way(self) -> bool:
        """Whether a ball is met at that height on one of its ways through it alone."""
        return self.topped or self.feed.phase is not None or not self.feed.stands

    def flight(self, release: Release) -> Search[Flight]:
        """Launches flown to the stance; where it is open, to the height asked, or so far behind their bounce."""
        feed, n = self.feed, len(release.speed)
        if "stance" not in feed.free:
            stance = np.full(n, feed.stance)
            return Flight(stance, (yield Unflown(outcome, (release, stance, np.repeat(self.wanted.full, n)))))
        if feed.behind is not None:
            lanes = np.full(n, feed.behind), np.full(n, feed.stance), np.repeat(self.wanted.full, n)
            return Flight(*(yield Unflown(met_behind, (release, *lanes))))
        rising, twice = feed.phase == "rising", feed.bounces == (2, 2)
        asked = np.full(n, self.height), np.full(n, rising), np.full(n, feed.stance), np.full(n, twice)
        if self.one_way:
            return Flight(*(yield Unflown(met_where, (release, *asked, np.full(n, self.topped)))))
        either = yield Unflown(met_either_way, (release, *asked))
        off, less = (sum(_beyond(bound, 0.0, stance) for bound in feed.stands) for stance, _ in either)
        return taken(joined([Flight(*way) for way in either]), np.arange(n) + np.where(less < off, n, 0))

    def tried(self, release: Release, flight: Flight | None = None) -> Search[Tried]:
        """Launches judged; `flight` if they are flown already."""
        if flight is None:
            flight = yield from self.flight(release)
        stance, flown = flight.stance, flight.flown
        known, asked = np.isfinite(stance), self.asked.at(np.zeros(len(stance), np.intp))
        found = judged(asked, release, flown, self.program)
        faults = np.where(known, found.faults & REFUSED, found.faults & REFUSED | Fault.NOT_MET)
        place, off = self._off(release, flown, stance)
        zone = self._zone(flown)
        refused = np.where(faults != 0, found.off * HARD + np.where(known, 0.0, HARD), 0.0) + self._elsewhere(flown)
        margins = self.margins
        if margins is None:
            margins = (yield from self._margins(release, stance)) if self.careful else {}
        bounds = self._bounds(release, flown, margins)
        missing = {"place": place, **self._named(faults, refused), "the zone": zone, **bounds}
        sure = self._over_cord(release, flown)
        missing["the net"] = missing["the net"] + sure
        beyond = np.zeros(len(stance)) + SURELY * sum(bounds.values())
        lacks = place + zone + refused + sure + beyond + self._dug(flown)
        lacks = lacks + np.where(self.flat & (flown.clearance > LOBBED_M), HARD, 0.0)
        return Tried(release, stance, flown, faults, missing, lacks, beyond, self._gain(release, flown, off), off)

    def _off(self, release: Release, flown: Outcome, stance: Array) -> tuple[Array, Array]:
        """What launches lack of the place and of what is fixed, beyond what is held; and all of it, squared."""
        feed, low, high = self.feed, self.feed.side.low, self.feed.side.high
        across = flown.contact.position[0] if feed.depth is None else flown.landing.position[0]
        misses, weights = [abs(across - feed.side.aim) / min(AIMED_M, max((high - low) / 2, 0.05))], [1.0]
        beside = []
        if feed.depth is None:
            aside = abs(flown.contact.position[2] - (feed.contact_height or 0.0)) / HELD[FixedBy.AT_PLAYER]
            misses.append(aside * LIGHTLY if feed.between else aside)  # where it is open, of two good ones the middle
            weights.append(0.0 if feed.between else 1.0)
        elif "depth" in feed.free:
            y = flown.landing.position[1]
            beside.append(np.maximum(feed.depth.low - y, y - feed.depth.high + INSET_M) / AIMED_M)
        else:
            misses.append(abs(flown.landing.position[1] - feed.depth.aim) / _aimed(feed.depth))
            weights.append(0.0 if self.everywhere else 1.0 if feed.best or feed.depth.alone else ASIDE)
        if "stance" in feed.free:
            nearest, farthest = self.room
            beside.append(
                np.maximum(nearest - stance, stance - farthest) / AIMED_M * (ROOMY if self.finds_place else 1.0)
            )
        if self.ordinary_spin:
            misses.append(abs(release.topspin - feed.topspin) / PLAIN)
            weights.append(ASIDE)
        given, ordinary = np.full(len(release.speed), 0), "height over net" in feed.free
        for what, value in self.fixes:
            miss = abs(measure(flown, release.speed, given + KINDS[what]) - value)
            misses.append(miss / HELD[what])
            weights.append(LIGHTLY if ordinary else 1.0)
        clean = [finite(miss, 50.0) for miss in misses]
        place = np.zeros(len(stance))
        place += sum(weight * np.maximum(miss - 1.0, 0.0) for weight, miss in zip(weights, clean, strict=True))
        place += sum(np.maximum(finite(miss, 50.0), 0.0) for miss in beside)
        return place, np.asarray(sum(miss**2 for miss in clean))

    def bent(self, one: Rounded | None) -> float:
        """By how much a ball misses what lines state and most, in widths of `HELD`: a distance that stands alone, and
        what they fix of the flight."""
        if one is None:
            return inf
        feed, kind, misses = self.feed, np.zeros(1, int), [0.0]
        if feed.depth and feed.depth.alone:
            misses.append(abs(float(one.flown.landing.position[1, 0]) - feed.depth.aim) / AIMED_M)
        for what, value in [] if "height over net" in feed.free else self.fixes:
            misses.append(abs(float(measure(one.flown, one.release.speed, kind + KINDS[what])[0]) - value) / HELD[what])
        return float(np.max(finite(np.array(misses), 50.0)))

    @property
    def room(self) -> tuple[float, float]:
        """Between which places the player stands where it is open, m from the net. A bound beyond them says itself how
        near or how far."""
        court, said = self.program.court, [edge for bound in self.feed.stands for edge in (bound.low, bound.high)]
        nearest, farthest = court.service, court.half_length + RUN_OFF_M
        anywhere = self.anywhere or (self.feed.behind is not None and "depth" not in self.feed.free)  # a line says it
        nearer = anywhere or any(0.0 < edge < nearest for edge in said)
        farther = anywhere or any(farthest < edge < inf for edge in said)
        return 0.0 if nearer else nearest, inf if farther else farthest

    @property
    def ordinary_spin(self) -> bool:
        """Whether no line says or decides how much spin, so that a ball is as flat as it may be, or as light."""
        free = self.feed.free
        decided = len(self.fixes) >= 2 + ("depth" in free) + ("height over net" in free) + ("height" in free)
        return "spin" in free and self.feed.best is None and not decided

    @property
    def everywhere(self) -> bool:
        """Whether the best of a whole zone is looked for, which is a flat ball. Of the others it would be a lob that
        comes down at the edge, so they keep to the middle. A distance that stands alone is no zone."""
        depth = self.feed.depth
        return self.roams and self.feed.best in FLAT and depth is not None and not depth.alone

    @property
    def roams(self) -> bool:
        """Whether a ball may come down beside the middle of its zone, along the court."""
        return self.feed.depth is not None and "depth" not in self.feed.free

    @property
    def finds_place(self) -> bool:
        """Whether its stance follows from where in its zone it comes down."""
        return self.roams and "stance" in self.feed.free and not self.feed.best

    @property
    def seeks_flat(self) -> bool:
        """Whether it says how fast the ball comes and nothing of how high it flies: all over its zone a flat one comes
        before a lob at its middle."""
        feed, fixed = self.feed, {what for what, _ in self.fixes}
        high = any(bound.what in FLOWN_HIGH and bound.low > 0 for bound in feed.bounds)
        fast = fixed & {FixedBy.PACE, FixedBy.TIME}
        return self.roams and not (feed.best or feed.arc or high or fixed & set(FLOWN_HIGH)) and bool(fast)

    def _zone(self, flown: Outcome) -> Array:
        """What launches lack of landing so far inside their zone as to be sure of it; at its middle, where it is too
        short for that."""
        if not self.roams:
            return np.zeros(len(flown.clearance))
        depth = self.feed.depth
        assert depth
        (near, far), half = self.inset or (EDGE_M, EDGE_M), _aimed(depth)
        low = min(max(depth.low + near, depth.part[0]), depth.aim - half)
        high = max(min(depth.high - far, depth.part[1]), depth.aim + half)
        y = flown.landing.position[1]
        return np.maximum(finite(np.maximum(low - y, y - high), 50.0), 0.0) / half

    def _inset(self, one: Release) -> Search[tuple[float, float]]:
        """How far inside its zone a launch has to come down, m: two standard deviations, and what the least and the
        most drag that balls may have moves it."""
        every = self._scattered(one).and_(one.at(np.zeros(2, np.intp)))
        here, *moved = yield Unflown(landed, (every, np.append(np.zeros(6), [-1.0, 1.0])))
        away = np.array(moved) - here
        deviation, ends = float(np.sqrt((away[:5] ** 2).sum())), away[5:]
        found = (max(SURE * deviation, float(way) + SPARE * deviation) for way in (-ends.min(), ends.max()))
        near, far = (end if np.isfinite(end) else EDGE_M for end in found)
        return near, far

    def _gain(self, release: Release, flown: Outcome, off: Array) -> Array:
        best = self.feed.best
        if best is None:
            return -off
        if best.what is FixedBy.SPIN:
            turn = release.topspin
            return (abs(turn) if best.sign == 0 else best.sign * turn) / HELD[FixedBy.SPIN]
        value = measure(flown, release.speed, np.full(len(release.speed), KINDS[best.what]))
        return finite(best.sign * value / HELD[best.what], -1e6)

    def _elsewhere(self, flown: Outcome) -> Array:
        """What launches on the full lack of the height asked: it is a part of the place, as the zone is of a ball that
        bounces."""
        if self.feed.depth is not None or self.feed.contact_height is None or self.feed.between:
            return np.zeros(len(flown.clearance))
        off = abs(flown.contact.position[2] - self.feed.contact_height) - COARSE[FixedBy.AT_PLAYER]
        return HARD * np.maximum(finite(off, HARD), 0.0)

    def _named(self, faults: np.ndarray, refused: Array) -> dict[str, Array]:
        named = {
            "the net": Fault.NET,
            "the ceiling": Fault.CEILING,
            "the feeder's limits": Fault.LIMIT | Fault.CAP,
            f"{self.feed.phase}": Fault.PHASE,
            "the zone or the second bounce": Fault.POST | Fault.ZONE | Fault.NOT_MET | Fault.BOUNCES,
        }
        return {name: np.where(faults & of != 0, refused, 0.0) for name, of in named.items()}

    def _bounds(self, release: Release, flown: Outcome, margins: Mapping[FixedBy, Array]) -> dict[str, Array]:
        feed, values = self.feed, bounded(self.asked, release, flown)
        found = {}
        for bound in feed.bounds:
            slack = -margins[bound.what] if bound.what in margins else kept(feed, bound)
            lack = _beyond(bound, slack, values[BOUNDED.index(bound.what)]) / HELD[bound.what]
            wrong = np.maximum(-bound.turn * release.topspin, 0.0) / HELD[bound.what]
            found[bound.words] = finite(lack, 0.0) + wrong
        return found

    def _dug(self, flown: Outcome) -> Array:
        """What launches lack of more than a ball to be dug out, unless that is what is asked."""
        best, asked = self.feed.best, [value for what, value in self.feed.fixes if what is FixedBy.AT_PLAYER]
        least = min([self.program.player.lowest_on(self.program.court.name), *asked])
        if (best and best.what is FixedBy.AT_PLAYER) or self.feed.depth is None:
            return np.zeros(len(flown.clearance))
        lack = (least - flown.contact.position[2]) / HELD[FixedBy.AT_PLAYER]
        return np.maximum(finite(lack, 0.0), 0.0)

    def _over_cord(self, release: Release, flown: Outcome) -> Array:
        """What launches lack of passing surely above the cord: so many standard deviations, or half of what the ball
        may pass at most.

        With the distance D to the net, the clearance moves by D / cos^2 for an elevation, and by twice the drop for a
        share of the speed: the drop of a parabola falls with its square.
        """
        scatter = self.program.feeder.repeatability
        ahead = -release.origin[1] / np.maximum(np.cos(release.azimuth), 0.1)
        drop = release.origin[2] + ahead * np.tan(release.elevation) - flown.clearance - self.program.court.net_centre
        deviation = np.hypot(
            np.radians(scatter.elevation_deg) * ahead / np.cos(release.elevation) ** 2,
            2 * drop * scatter.speed_percent / 100,
        )
        most = min((bound.high / 2 for bound in self.feed.bounds if bound.what is FixedBy.OVER_NET), default=inf)
        lack = np.minimum(SURE * deviation, most) - flown.clearance
        return np.maximum(finite(lack, 0.0), 0.0) / HELD[FixedBy.OVER_NET]

    def near(self, release: Release, at: int) -> "Search[Worth]":
        """The same for launches near one: they take the margins of that one, which cost no flights each."""
        one, inset, margins = release.at(np.array([at])), None, None
        if self.roams:
            inset = yield from self._inset(one)
        if self.careful:
            stance = (yield from self.flight(one)).stance
            margins = yield from self._margins(one, stance)
        return dataclasses.replace(self, inset=inset, margins=margins)

    def _scattered(self, release: Release) -> Release:
        """Launches as they are, and then with one standard deviation of each thing that scatters, (6 n,)."""
        known, n = self.program.feeder.repeatability, len(release.speed)
        every = release.at(np.tile(np.arange(n), 6))
        speed, steep, aside, *spins = np.repeat(np.eye(5, 6, 1), n, axis=1) * np.array([
            [known.speed_percent / 100], [np.radians(known.elevation_deg)], [np.radians(known.azimuth_deg)],
            *([turn * RPM] for turn in self.program.feeder.spin_scatter_rpm),
        ])  # fmt: skip
        moved = every.with_(every.speed * (1 + speed), every.elevation + steep, every.azimuth + aside)
        return replace(moved, topspin=moved.topspin + spins[0], sidespin=moved.sidespin + spins[1])

    def _margins(self, release: Release, stance: Array) -> Search[Mapping[FixedBy, Array]]:
        """How far inside their bounds launches have to be, SI, so that so many standard deviations of them keep these:
        what each thing that scatters makes of them, flown. No more than a quarter of what lies between two bounds; none
        of what a line fixes, nor of the way, for which the aim leaves it."""
        ordinary = {FixedBy.OVER_NET} if "height over net" in self.feed.free else set()
        bounds, fixed = self.feed.bounds, {what for what, _ in self.feed.fixes} - ordinary
        if self.feed.contact_height is not None and not self.feed.between:
            fixed.add(FixedBy.AT_PLAYER)
        kinds = (
            {bound.what for bound in bounds if not isinstance(bound.sentence, Spins)}
            - fixed
            - {FixedBy.STANCE, FixedBy.WAY}
        )
        if not kinds:
            return {}
        n, moved = len(release.speed), self._scattered(release)
        where = np.tile(np.where(np.isfinite(stance), stance, self.feed.stance), 6)
        flown = yield Unflown(outcome, (moved, where, np.repeat(self.wanted.full, 6 * n)))
        values = bounded(self.asked, moved, flown).reshape(len(BOUNDED), 6, n)
        deviation = np.sqrt((finite(values[:, 1:] - values[:, :1], 0.0) ** 2).sum(axis=1))
        every = self.careful * deviation
        return {what: np.minimum(every[BOUNDED.index(what)], _between(bounds, what) / 4) for what in kinds}


def _aimed(depth: Range) -> float:
    """So far from its middle a ball is still at it, m."""
    return min(AIMED_M, max((depth.high - depth.low) / 2, 0.05))


def _between(bounds: Sequence[Bound], what: FixedBy) -> float:
    """What lies between the bounds of one thing, SI."""
    mine = [bound for bound in bounds if bound.what is what]
    return min(bound.high for bound in mine) - max(bound.low for bound in mine)


def _beyond(bound: Bound, slack: Array | float, value: Array) -> Array:
    return np.maximum(np.maximum(bound.low - value, value - bound.high) - slack, 0.0)
