"""Why a ball cannot be had, and the nearest value that can."""

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from ..grammar import units
from ..grammar.facts import BallName, Between, Measured, Metres, Speed, SpinRate, read_in
from ..grammar.syntax import Name, Spins
from .findings.bounds import ComesUp, NotTogether
from .findings.feeder import OverTheCap
from .findings.flight import (
    AlsoLimited,
    AskedOfFlight,
    BehindTheFeeder,
    BouncesNotThere,
    FeederLimit,
    NoFlight,
    NotMet,
    OneBounceOnly,
    OutOfCourt,
    OutOfReach,
    PhaseNotThere,
)
from .fit import COARSE, REFUSED, SLACK, Fault, Index
from .model.feeder import Axis
from .model.program import Feed, FixedBy, Program
from .model.shots import Miss
from .physics.flight import Array
from .possible import Had
from .rounding import Ideal, Rounded

UNITS_SHOWN = {
    FixedBy.OVER_NET: "m",
    FixedBy.AT_PLAYER: "m",
    FixedBy.TOP_OF_BOUNCE: "m/s",
    FixedBy.PACE: "km/h",
    FixedBy.TIME: "s",
    FixedBy.AT_TOP: "m",
    FixedBy.SPIN: "rpm",
    FixedBy.STANCE: "m",
    FixedBy.WAY: "m",
}
ASKED = {
    FixedBy.OVER_NET: "height over net",
    FixedBy.AT_PLAYER: "height at the player",
    FixedBy.TOP_OF_BOUNCE: "rise at the stance",
    FixedBy.PACE: "pace",
    FixedBy.TIME: "time to contact",
    FixedBy.AT_TOP: "height at the top",
    FixedBy.SPIN: "spin",
    FixedBy.STANCE: "stance",
    FixedBy.WAY: "way",
}
_UNITS = {"speed": "km/h", "elevation": "deg", "azimuth": "deg", "topspin": "rpm", "sidespin": "rpm"}
LOWER_M = 0.02  # so little below the height asked, nobody minds. Own choice


class Limit(NamedTuple):
    """A limit of the feeder that a launch breaks."""

    what: str
    asked: Measured
    possible: Between | None


def missed(
    feed: Feed,
    program: Program,
    ideal: Ideal,
    mine: Index,
    aimed: NDArray[np.bool_],
    found: Rounded | None,
    had: Had | None,
    values: Array,
) -> Miss | None:
    """Why a feed has no shot, from its launches (`mine` of `ideal`, `aimed` those to its aim), the best settings for
    it, the ranges that can be had to its aim and all values that were scanned; None where the ball is flown and its
    faults are reported.

    A limit of the feeder is the reason only where the ball could be had without that limit, all else as it is.
    """
    ball, unit = BallName(feed.name), UNITS_SHOWN[feed.fixed_by]
    if outside := outside_court(feed, program):
        return Miss(feed.name, outside)
    nearest, possible = _nearest(feed.value, _joined(had or (), COARSE[feed.fixed_by]), unit)
    wanted = AskedOfFlight(ASKED[feed.fixed_by], read_in(feed.value, unit), possible)
    faults = ideal.judged.faults[mine] & REFUSED
    there = mine[(faults & Fault.LIMIT == 0) & aimed]
    if found and found.there and (faults == 0).any():
        return None  # the steps alone are at fault, and what they do is reported
    turned = mine[(faults == Fault.PHASE) & aimed]
    if feed.phase and len(turned):
        other = "rising" if ideal.rises[turned[0]] else "falling"
        return Miss(feed.name, PhaseNotThere(ball, feed.phase, other), nearest)
    low, high = feed.bounces
    if low > high or (faults == Fault.BOUNCES)[aimed].any():
        return Miss(feed.name, no_bounces(feed), nearest if low <= high else None)
    if len(there) and found and found.there:
        return None
    limited = mine[faults == Fault.LIMIT]
    if len(limited):
        excess = np.array([of[limited] for of in ideal.judged.limits.values()])
        # The fewest limits, and of those the least beyond.
        least = limited[np.lexsort((excess.sum(axis=0), (excess > 0).sum(axis=0)))[0]]
        first, *others = _limits(feed, program, ideal, int(least))
        also = tuple(AlsoLimited(other.what, other.asked, other.possible) for other in others)
        return Miss(feed.name, FeederLimit(ball, first.what, first.asked, first.possible, wanted, also), nearest)
    if not possible and feed.fixed_by is FixedBy.AT_PLAYER and not (values > program.ball.radius_m).any():
        return Miss(feed.name, not_met(feed))
    if np.isfinite(values).any():
        return Miss(feed.name, OutOfReach(ball, wanted), nearest)
    return Miss(feed.name, _no_flight(feed))


def _joined(had: Had, off: float) -> Had:
    """The ranges, those as one between which the settings of their ends are off by no more than is let pass."""
    joined: list[tuple[float, float]] = []
    for low, high in had:
        if joined and low - joined[-1][1] <= off:
            joined[-1] = (joined[-1][0], high)
        else:
            joined.append((low, high))
    return tuple(joined)


def _nearest(value: float, had: Had, unit: str) -> tuple[float | None, Between | None]:
    """The nearest value that can be had, and the range it is in, told no wider than it is."""
    if not had:
        return None, None
    low, high = min(had, key=lambda ends: max(ends[0] - value, value - ends[1]))
    fine = 10.0 ** units.DECIMALS[unit]
    inside = [
        math.ceil(units.from_si(low, unit) * fine - 1e-6) / fine,
        math.floor(units.from_si(high, unit) * fine + 1e-6) / fine,
    ]
    if inside[0] >= inside[1]:
        return min(max(value, low), high), None
    low, high = (units.to_si(end, unit) for end in inside)
    return min(max(value, low), high), Between(read_in(low, unit), read_in(high, unit))


def no_bounces(feed: Feed) -> OneBounceOnly | BouncesNotThere | NotMet:
    """Of a feed whose ball is not met after as many bounces as asked."""
    ball, (low, high) = BallName(feed.name), feed.bounces
    if low > high:
        return OneBounceOnly(ball)
    return BouncesNotThere(ball, high, 3 - high) if low == high else not_met(feed)


def not_met(feed: Feed) -> NotMet:
    """Of a feed whose ball bounces once too often before the stance, or passes it before it lands."""
    open_ = feed.depth is None or feed.free & {"depth", "stance"}
    behind = 0.0 if open_ or feed.depth is None else feed.depth.aim - feed.stance
    return NotMet(BallName(feed.name), feed.bounces[1] + 1, Metres(behind) if behind > 0 else None)


def no_spin(feed: Feed, program: Program) -> Miss | None:
    """Of a feed that leaves something open: its spin is beyond the feeder's range, or all of the kind that it asks."""
    axes, kind = program.feeder.axes(), [bound for bound in feed.bounds if isinstance(bound.sentence, Spins)]
    topspin = sum(bound.turn * bound.low for bound in kind) if "spin" in feed.free else feed.topspin
    for name, value in (("topspin", topspin), ("sidespin", feed.sidespin)):
        axis = axes.get(name)
        low, high = (axis.low_si, axis.high_si) if axis else (0.0, 0.0)
        if not low - SLACK <= value <= high + SLACK:
            limit = _spin_limit(name, value, axis)
            return Miss(feed.name, FeederLimit(BallName(feed.name), limit.what, limit.asked, limit.possible))
    return None


def no_best(
    feed: Feed, program: Program, lacking: tuple[FixedBy, float, float] | None, top: float | None = None
) -> Miss:
    """Why a feed that leaves something open has no ball: its pace is beyond the feeder's range, or what else a line
    fixes, and no ball has beside the rest; with all else it comes up to `top` only, if that is known."""
    ball, pace = BallName(feed.name), dict(feed.fixes).get(FixedBy.PACE)
    what, asked, given = lacking or (None, 0.0, math.inf)
    speed = program.feeder.axes()["speed"]
    if pace is not None and not speed.low_si <= pace <= speed.high_si:
        end = min(max(pace, speed.low_si), speed.high_si)
        limit = _limit("speed", pace, speed.low_si, speed.high_si, "km/h")
        wanted = AskedOfFlight(ASKED[FixedBy.PACE], limit.asked)
        near = end if what is FixedBy.PACE and abs(given - end) < abs(pace - end) else None
        return Miss(feed.name, FeederLimit(ball, limit.what, limit.asked, limit.possible, wanted), near)
    device = program.feeder.device
    if pace is not None and device and pace > device.cap_mps:
        near = device.cap_mps if what is FixedBy.PACE else None
        return Miss(feed.name, OverTheCap(ball, Speed(pace), Speed(device.cap_mps)), near)
    comes = None if top is None else comes_up(feed, top)
    if comes:
        return Miss(feed.name, NotTogether(ball, ASKED[FixedBy.AT_PLAYER], comes.asked, comes.top, comes))
    if what is None or math.isnan(given):
        return Miss(feed.name, _no_flight(feed))
    unit = UNITS_SHOWN[what]
    return Miss(feed.name, NotTogether(ball, ASKED[what], read_in(asked, unit), read_in(given, unit)))


def comes_up(feed: Feed, top: float) -> ComesUp | None:
    """Of a feed whose ball comes up to `top` at most, what its line asks instead; None if the ball comes so high."""
    asked = dict(feed.fixes).get(FixedBy.AT_PLAYER)
    if feed.where is None or "stance" not in feed.free or asked is None or asked - top < LOWER_M:
        return None
    level = feed.where.level
    return ComesUp(Metres(top), Metres(asked), level.word.text if isinstance(level, Name) else "")


def _no_flight(feed: Feed) -> NoFlight:
    depth = feed.depth.aim if feed.depth else feed.stance
    return NoFlight(BallName(feed.name), Metres(depth), Metres(abs(feed.side.aim)), feed.depth is None)


def outside_court(feed: Feed, program: Program) -> OutOfCourt | BehindTheFeeder | None:
    """Does the zone lie outside the lines altogether, or behind a feeder who stands in front of the player?"""
    court, radius = program.court, program.ball.radius_m
    if feed.depth is None:
        return None
    if program.place.players_side and "depth" not in feed.free and feed.depth.aim <= program.place.y:
        return BehindTheFeeder(BallName(feed.name), Metres(feed.depth.aim), Metres(program.place.y))
    beyond = {
        "sideline": max(feed.side.low, -feed.side.high) - court.half_width,
        "baseline": feed.depth.part[0] - court.half_length,
    }
    line = max(beyond, key=lambda name: beyond[name])
    aims = {"sideline": abs(feed.side.aim) - court.half_width, "baseline": feed.depth.aim - court.half_length}
    return OutOfCourt(BallName(feed.name), Metres(aims[line]), line) if beyond[line] > radius else None


def _limits(feed: Feed, program: Program, ideal: Ideal, k: int) -> list[Limit]:
    """The limits that launch `k` breaks, the one it breaks most first."""
    feeder, broken = program.feeder, []
    axes = feeder.axes()
    values = {
        "speed": float(ideal.speed[k]), "elevation": float(ideal.elevation[k]), "azimuth": float(ideal.azimuth[k]),
        "topspin": feed.topspin, "sidespin": feed.sidespin,
    }  # fmt: skip
    for name, beyond in sorted(ideal.judged.limits.items(), key=lambda pair: -pair[1][k]):
        if not beyond[k] > 0:
            continue
        if name == "wheel speed":
            assert feeder.wheels
            low, high = feeder.wheels.low_mps, feeder.wheels.high_mps
            rims = feeder.rims(values["speed"], feed.topspin, feed.sidespin, program.ball.diameter_m)
            rim = max(rims, key=lambda rim: max(low - rim, rim - high))
            broken.append(_limit(name, rim, low, high, "m/s"))
        elif name not in axes or name == "topspin":
            broken.append(_spin_limit(name, values[name], axes.get(name)))
        else:
            broken.append(_limit(name, values[name], axes[name].low_si, axes[name].high_si, _UNITS[name]))
    return broken


def _spin_limit(name: str, value: float, axis: Axis | None) -> Limit:
    if axis is None:
        return Limit(name, SpinRate(abs(value)), None)
    if name == "topspin" and value < 0:
        most = Between(None, SpinRate(-axis.low_si)) if axis.low_si < 0 else None
        return Limit("backspin", SpinRate(-value), most)
    if name == "sidespin" and axis.low_si == -axis.high_si:
        return Limit(name, SpinRate(abs(value)), Between(None, SpinRate(axis.high_si)))
    return _limit(name, value, axis.low_si, axis.high_si, _UNITS[name])


def _limit(what: str, value: float, low: float, high: float, unit: str) -> Limit:
    return Limit(what, read_in(value, unit), Between(read_in(low, unit), read_in(high, unit)))
