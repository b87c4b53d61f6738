"""Which flown launches are what a feed asks: over the net, in the zone, met as asked, within the feeder's limits.

The same bounds are asked of continuous launches, of rounded settings and of the finished ball.
"""

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from ..grammar.frozen import Frozen
from .kept import exactly
from .model.feeder import Feeder
from .model.program import BOUNDED, Bound, Feed, FixedBy, Program, Range
from .model.way import column, way
from .physics.flight import Array
from .physics.launches import CLEARANCE, CONTACT_HEIGHT, CONTACT_RISE, CONTACT_TIME, SPEED, TOP, Wanted, measure
from .physics.moments import finite
from .physics.outcome import Outcome, Release

Index = NDArray[np.intp]
KINDS = {
    FixedBy.OVER_NET: CLEARANCE,
    FixedBy.AT_PLAYER: CONTACT_HEIGHT,
    FixedBy.TOP_OF_BOUNCE: CONTACT_RISE,
    FixedBy.PACE: SPEED,
    FixedBy.TIME: CONTACT_TIME,
    FixedBy.AT_TOP: TOP,
}
COARSE = {
    FixedBy.OVER_NET: 0.25,
    FixedBy.AT_PLAYER: 0.15,
    FixedBy.TOP_OF_BOUNCE: 1.0,
    FixedBy.PACE: 2 / 3.6,
    FixedBy.TIME: 0.08,
    FixedBy.AT_TOP: 0.25,
}
"""A larger difference between what was asked and what the settings give is reported, SI. Own choice."""
UNSEEN = {FixedBy.OVER_NET: 0.1, FixedBy.AT_TOP: 0.1, FixedBy.PACE: 0.05}
"""By such a share of what it states, where that is more, a line of a feed that leaves something open may be missed for
the other lines: on court nobody sees it. It is told. Own choice."""
CLEAR_M = 0.001
"""What passes net, ground or line by less than this could as well not: a plan is rounded, and is flown again."""
BESIDE_M = 0.01
"""So far outside its zone a ball still counts as in it."""
KEPT, KEPT_ABOUT = 1e-6, 0.002
"""SI, how far beyond a bound counts as at it: computing leaves the one. Where a line of the feed fixes the same thing,
at the bound perhaps, it is the other, since launches for a line are found to less."""
SLACK = 1e-9  # SI, what rounding may put a launch beyond a limit


class Fault:
    """What speaks against a launch, a bit each: flags of `enum` take five times as long beside arrays."""

    LIMIT = 1
    NET = 2
    POST = 4
    CEILING = 8
    ZONE = 16
    NOT_MET = 32
    BOUNCES = 64
    """Met after more bounces, or fewer, than this player or the feed allows."""
    CAP = 128
    """Over the speed at which the machine stops itself."""
    PHASE = 256
    BOUND = 512
    """Beyond what the feed or the whole script allows."""
    COARSE = 1024
    """The rest refuses a ball; this one is reported beside it."""


REFUSED = ~Fault.COARSE


def let_pass(feed: Feed, what: FixedBy, asked: float) -> float:
    """How far from what a line fixes, SI, a ball may be that is no other one."""
    return max(COARSE[what], UNSEEN.get(what, 0.0) * asked if feed.open else 0.0)


class Demand(Frozen):
    """What n feeds ask, (n,) each, SI. `x` and `y` are where the ball lands or, on the full, where it is met; `rising`
    is 1 or -1 where the feed says which way the ball is met, else 0."""

    full: NDArray[np.bool_]
    x_low: Array
    x_high: Array
    y_low: Array
    y_high: Array
    height: Array
    kind: Index
    value: Array
    coarse: Array
    rising: Array
    fewest: Array
    most: Array
    """Bounces."""
    waits: Array
    """Where the player waits, (4, n), NaN where nobody asks."""
    low: Array
    high: Array
    """What each of `BOUNDED` may be at least and at most, (8, n); infinite where nothing is said."""

    def at(self, index: Index) -> "Demand":
        return Demand(*(column[..., index] for column in self.values()))


def all_asked(feed: Feed) -> tuple[object, ...]:
    """All that a shot depends on beside the conditions."""
    depth = (None,) * 6 if feed.depth is None else feed.depth.values()
    numbers = exactly(
        *feed.side.values(), *depth, feed.stance, feed.value, feed.contact_height, feed.topspin, feed.sidespin
    )
    beside = exactly(*(edge for bound in feed.bounds for edge in (bound.low, bound.high)))
    bounds = (
        tuple((bound.what.name, bound.words) for bound in feed.bounds),
        feed.wait if feed.ways or "stance" in feed.free else None,
    )
    open_ = (feed.best, feed.fixes, tuple(sorted(feed.free)), feed.between, feed.behind) if feed.open else ()
    return feed.depth is None, feed.fixed_by.name, feed.phase, feed.arc, feed.bounces, numbers, beside, bounds, open_


def asked_of(feeds: Sequence[Feed], program: Program) -> Demand:
    """What the feeds ask, of a step in its part of a zone; a zone ends where a ball no longer touches the lines."""
    court, radius = program.court, program.ball.radius_m
    wide = court.half_width + radius
    depths = [(feed.depth or Range(feed.stance, feed.stance, feed.stance)).part for feed in feeds]
    sides = [feed.side.part for feed in feeds]
    return Demand(
        np.array([feed.depth is None for feed in feeds]),
        np.array([low if feed.depth is None else max(low, -wide) for feed, (low, _) in zip(feeds, sides, strict=True)]),
        np.array(
            [high if feed.depth is None else min(high, wide) for feed, (_, high) in zip(feeds, sides, strict=True)]
        ),
        np.array([max(low, CLEAR_M) for low, _ in depths]),
        np.array([min(high, court.half_length + radius) for _, high in depths]),
        np.array(
            [np.nan if feed.contact_height is None or "height" in feed.free else feed.contact_height for feed in feeds]
        ),
        np.array([KINDS[feed.fixed_by] for feed in feeds]),
        np.array([feed.value for feed in feeds]),
        np.array([COARSE[feed.fixed_by] for feed in feeds]),
        np.array([{"rising": 1.0, "falling": -1.0}.get(feed.phase or "", 0.0) for feed in feeds]),
        np.array([feed.bounces[0] if feed.depth else 0 for feed in feeds]),
        np.array([feed.bounces[1] if feed.depth else 0 for feed in feeds]),
        np.array([column(feed.wait) for feed in feeds]).T,
        *bounds_of(feeds),
    )


def wanted_of(feeds: Sequence[Feed], program: Program) -> Wanted:
    """The launches that are looked for: to each feed's aim."""
    n, place, feeder, radius = len(feeds), program.place, program.feeder, program.ball.radius_m
    full = np.array([feed.depth is None for feed in feeds])
    y = [feed.depth.aim if feed.depth else feed.stance for feed in feeds]
    spins = [feeder.measured.rolled(feed.topspin, feed.sidespin) for feed in feeds]
    z = [radius if feed.contact_height is None else feed.contact_height for feed in feeds]
    return Wanted(
        origin=np.tile(np.array([[place.x], [place.y], [feeder.release_height_m]]), n),
        point=np.array([[feed.side.aim for feed in feeds], y, z]),
        stance=np.array([feed.stance for feed in feeds]),
        full=full,
        topspin=np.array([topspin for topspin, _ in spins]),
        sidespin=np.array([sidespin for _, sidespin in spins]),
        kind=np.array([KINDS[feed.fixed_by] for feed in feeds]),
        value=np.array([feed.value for feed in feeds]),
    )


def kept(feed: Feed, bound: Bound) -> float:
    """How far beyond a bound a ball of the feed counts as at it, SI."""
    return KEPT_ABOUT if any(what is bound.what for what, _ in feed.fixes) else KEPT


def bounds_of(feeds: Sequence[Feed]) -> tuple[Array, Array]:
    """What each of `BOUNDED` may be at least and at most, (8, n) each, with what counts as at it."""
    low, high = np.full((len(BOUNDED), len(feeds)), -np.inf), np.full((len(BOUNDED), len(feeds)), np.inf)
    for i, feed in enumerate(feeds):
        for bound in feed.bounds:
            k, slack = BOUNDED.index(bound.what), kept(feed, bound)
            low[k, i], high[k, i] = max(low[k, i], bound.low - slack), min(high[k, i], bound.high + slack)
    return low, high


def bounded(asked: Demand, launch: Release, flown: Outcome) -> Array:
    """What launches give of each of `BOUNDED`, (8, n) SI; NaN where there is none of it."""
    turn = np.hypot(launch.topspin, launch.sidespin)
    x, y, z = flown.contact.position
    gone = way(asked.waits, x, y)
    return np.stack([flown.clearance, z, launch.speed, flown.contact.time, turn, gone, flown.peak, y])


def beyond(feeder: Feeder, launch: Release, diameter: float) -> dict[str, Array]:
    """By how much launches lie outside each limit of the feeder, (n,) in widths of its range; 0 inside."""
    topspin, sidespin = feeder.measured.unrolled(launch.topspin, launch.sidespin)
    values = {"speed": launch.speed, "elevation": launch.elevation, "azimuth": launch.azimuth}
    found = _beyond_axes(feeder, {**values, "topspin": topspin, "sidespin": sidespin})
    if feeder.wheels:
        low, high = feeder.wheels.low_mps, feeder.wheels.high_mps
        rims = feeder.rims(launch.speed, topspin, sidespin, diameter)
        found["wheel speed"] = np.maximum(*(_outside(rim, low, high, high - low) for rim in rims))
    return found


def spins_had(feeder: Feeder, feeds: Sequence[Feed]) -> NDArray[np.bool_]:
    """Which feeds ask for a spin that the feeder has: whatever the flight, no launch with another can be had."""
    asked = {name: np.array([getattr(feed, name) for feed in feeds]) for name in ("topspin", "sidespin")}
    return np.add.reduce(list(_beyond_axes(feeder, asked).values())) <= SLACK


def spins_tried(feeder: Feeder, feed: Feed, count: int) -> Array:
    """So many spins all over what the feeder has and the feed leaves open."""
    axis, best = feeder.topspin, feed.best
    low, high = axis.low_si, axis.high_si
    turn = best.sign if best and best.what is FixedBy.SPIN else 0
    turn = turn or next((bound.turn for bound in feed.bounds if bound.turn), 0)
    if turn:
        low, high = (max(low, 0.0), high) if turn > 0 else (low, min(high, 0.0))
    most = min((bound.high for bound in feed.bounds if bound.what is FixedBy.SPIN), default=np.inf)
    return np.linspace(max(low, -most), min(high, most), count)


def _beyond_axes(feeder: Feeder, values: Mapping[str, Array]) -> dict[str, Array]:
    found, axes = {}, feeder.axes()
    for name, value in values.items():
        axis = axes.get(name)
        low, high = (axis.low_si, axis.high_si) if axis else (0.0, 0.0)
        found[name] = _outside(value, low, high, 1.0 if axis is None else high - low)
    return found


def _outside(value: Array, low: float, high: float, width: float) -> Array:
    off = np.maximum(low - value, value - high)
    return np.where(off > SLACK, off / max(width, 1e-9), 0.0)


class Judged(Frozen):
    """`faults` (n,) of each launch, `off` how far it is from having none (m, m/s, s and widths of a range, added up),
    and `limits` by how much it breaks each limit."""

    faults: NDArray[np.int64]
    off: Array
    limits: dict[str, Array]

    def at(self, index: Index) -> "Judged":
        limits = {name: of[index] for name, of in self.limits.items()}
        return Judged(self.faults[index], self.off[index], limits)

    def with_(self, more: "Judged") -> "Judged":
        """These and others."""
        limits = {name: np.concatenate([of, more.limits[name]]) for name, of in self.limits.items()}
        faults = np.concatenate([self.faults, more.faults])
        return Judged(faults, np.concatenate([self.off, more.off]), limits)


def _beyond_bounds(asked: Demand, values: Array) -> Array:
    """By how much launches lie outside what is allowed, SI added up; negative inside."""
    # Who has no number of it, such as a ball that crosses no net, keeps every bound of it.
    over = finite(np.maximum(asked.low - values, values - asked.high), -1.0)
    return np.where((over > 0).any(axis=0), np.maximum(over, 0.0).sum(axis=0), -1.0)


def judged(asked: Demand, launch: Release, flown: Outcome, program: Program) -> Judged:
    """What speaks against each of n launches as an answer to what is asked."""
    court, radius = program.court, program.ball.radius_m
    limits = beyond(program.feeder, launch, program.ball.diameter_m)
    contact, landing = flown.contact, flown.landing
    rise, count = contact.velocity[2], flown.bounces
    x = np.where(asked.full, contact.position[0], landing.position[0])
    off_x = np.maximum(asked.x_low - x, x - asked.x_high) - BESIDE_M
    off_y = np.where(
        asked.full, -1.0, np.maximum(asked.y_low - landing.position[1], landing.position[1] - asked.y_high) - BESIDE_M
    )
    lines = np.where(
        asked.full,
        -1.0,
        np.maximum.reduce([
            abs(landing.position[0]) - court.half_width - radius, landing.position[1] - court.half_length - radius,
            -landing.position[1],
        ]) + CLEAR_M,
    )  # fmt: skip
    feeder = program.feeder
    cap = feeder.device.cap_mps if feeder.device else np.inf
    fastest = np.maximum(launch.speed, feeder.speed.told_si(launch.speed))
    top = -1.0 if court.ceiling is None else flown.peak + radius - court.ceiling + CLEAR_M
    given = measure(flown, launch.speed, asked.kind)
    height = np.where(
        np.isfinite(asked.height), abs(contact.position[2] - asked.height) - COARSE[FixedBy.AT_PLAYER], -1.0
    )
    over = {
        Fault.LIMIT: np.add.reduce(list(limits.values())) - SLACK,
        Fault.NET: np.where(np.isnan(flown.clearance), -1.0, CLEAR_M - flown.clearance),
        Fault.POST: np.where(np.isnan(flown.net_x), -1.0, abs(flown.net_x) - court.post_x + CLEAR_M),
        Fault.CEILING: np.where(np.isnan(flown.peak), -1.0, top),
        Fault.ZONE: np.maximum(np.maximum(off_x, off_y), lines),
        Fault.NOT_MET: np.where(flown.met, radius + CLEAR_M - contact.position[2], 1.0),
        Fault.CAP: fastest - cap,
        Fault.BOUNCES: np.where(flown.met, np.maximum(asked.fewest - count, count - asked.most), -1.0),
        Fault.PHASE: np.where(asked.rising == 0, -1.0, -rise * asked.rising),
        Fault.BOUND: _beyond_bounds(asked, bounded(asked, launch, flown)),
        Fault.COARSE: np.maximum(abs(given - asked.value) - asked.coarse, height),
    }
    excess = np.empty((len(over), len(rise)))
    for row, of in zip(excess, over.values(), strict=True):
        row[:] = of
    # Not a number: it does not come so far.
    wrong = ~(excess <= 0)
    faults = np.where(wrong, np.array(list(over))[:, None], 0).sum(axis=0)
    *each, _ = np.where(wrong, finite(excess, 3.0), 0.0)
    return Judged(faults, sum(each), limits)
