"""What a feeder can reach: which limit a launch breaks, and the nearest value if nothing fits."""

from typing import NamedTuple

import numpy as np

from ..grammar.facts import BallName, Between, Measured, Metres, SpinRate, read_in
from .findings.flight import (
    AskedOfFlight,
    BehindTheFeeder,
    FeederLimit,
    NoFlight,
    NotMet,
    OutOfReach,
    PhaseNotThere,
)
from .model.feeder import Feeder
from .model.program import Feed, FixedBy, Program
from .model.shots import Miss
from .physics.flight import Array
from .physics.launches import Roots, Scan
from .physics.wheels import rim_speeds

UNITS_SHOWN = {
    FixedBy.OVER_NET: "m",
    FixedBy.AT_PLAYER: "m",
    FixedBy.TOP_OF_BOUNCE: "m/s",
    FixedBy.PACE: "km/h",
    FixedBy.TIME: "s",
}
ASKED = {
    FixedBy.OVER_NET: "height over net",
    FixedBy.AT_PLAYER: "height at the player",
    FixedBy.TOP_OF_BOUNCE: "rise at the stance",
    FixedBy.PACE: "pace",
    FixedBy.TIME: "time to contact",
}
SLACK = 1e-9  # SI, what rounding may put a launch beyond a limit


class Limit(NamedTuple):
    """A limit of the feeder that a launch breaks; `excess` is in widths of the range, so limits compare."""

    what: str
    asked: Measured
    possible: Between | None
    excess: float


def spin_limit(feed: Feed, feeder: Feeder) -> Limit | None:
    for name, value in (("topspin", feed.topspin), ("sidespin", feed.sidespin)):
        axis = feeder.axes().get(name)
        if axis is None:
            if value:
                return Limit(name, SpinRate(abs(value)), None, 1.0)
        elif not axis.low_si - SLACK <= value <= axis.high_si + SLACK:
            if name == "topspin" and value < 0:
                most = Between(None, SpinRate(-axis.low_si)) if axis.low_si < 0 else None
                return Limit("backspin", SpinRate(-value), most, 1.0)
            return _limit(name, value, axis.low_si, axis.high_si, "rpm")
    return None


def broken_limit(
    speed: float, elevation: float, azimuth: float, feed: Feed, feeder: Feeder, diameter: float
) -> Limit | None:
    """The limit that a launch breaks most, or None."""
    found = []
    for name, value, axis, unit in (
        ("speed", speed, feeder.speed, "km/h"),
        ("elevation", elevation, feeder.elevation, "deg"),
        ("azimuth", azimuth, feeder.azimuth, "deg"),
    ):
        if not axis.low_si - SLACK <= value <= axis.high_si + SLACK:
            found.append(_limit(name, value, axis.low_si, axis.high_si, unit))
    if feeder.wheels:
        rims = rim_speeds(speed, float(np.hypot(feed.topspin, feed.sidespin)), *feeder.wheels.squeeze(diameter))
        low, high = feeder.wheels.low_mps, feeder.wheels.high_mps
        found += [
            _limit("wheel speed", rim, low, high, "m/s") for rim in rims if not low - SLACK <= rim <= high + SLACK
        ]
    return max(found, key=lambda limit: limit.excess, default=None)


def _excess(speed: Array, elevation: Array, azimuth: Array, feed: Feed, feeder: Feeder, diameter: float) -> Array:
    """By how much each launch, (n,), breaks the limit that it breaks most, as in `broken_limit`; -1 for none."""
    ranges = [(value, axis.low_si, axis.high_si) for value, axis in (
        (speed, feeder.speed), (elevation, feeder.elevation), (azimuth, feeder.azimuth)
    )]  # fmt: skip
    if feeder.wheels:
        turn = float(np.hypot(feed.topspin, feed.sidespin))
        low, high = feeder.wheels.low_mps, feeder.wheels.high_mps
        ranges += [(rim, low, high) for rim in rim_speeds(speed, turn, *feeder.wheels.squeeze(diameter))]
    most = np.full(len(speed), -1.0)
    for value, low, high in ranges:
        outside = ~((low - SLACK <= value) & (value <= high + SLACK))
        beyond = np.maximum(low - value, value - high) / max(high - low, 1e-9)
        most = np.where(outside, np.maximum(most, beyond), most)
    return most


def limits_broken(roots: Roots, feeds: list[Feed], feeder: Feeder, diameter: float) -> list[Limit | None]:
    """For each root the limit it breaks most, or None."""
    return [
        broken_limit(float(v), float(e), float(a), feeds[i], feeder, diameter)
        for i, v, e, a in zip(roots.request, roots.speed, roots.elevation, roots.azimuth, strict=True)
    ]


def unreachable(
    feed: Feed, program: Program, scan: Scan, i: int, broken: list[Limit | None], phases: list[str]
) -> Miss:
    """Why request `i` has no launch: the limit that stops it, and the nearest value that can be had."""
    feeder, ball = program.feeder, BallName(feed.name)
    spin = spin_limit(feed, feeder)
    if spin:
        return Miss(feed.name, FeederLimit(ball, spin.what, spin.asked, spin.possible))
    flown = np.isfinite(scan.measure[i])
    excess = _excess(scan.speed[i], scan.elevation[i], scan.azimuth[i], feed, feeder, program.ball.diameter_m)
    values = scan.measure[i][flown & (excess < 0)]
    unit = UNITS_SHOWN[feed.fixed_by]
    asked, nearest, possible = read_in(feed.value, unit), None, None
    if len(values):
        # Heights below the ground belong to flights that continue beneath it.
        low = float(values.min()) if feed.fixed_by is FixedBy.TOP_OF_BOUNCE else max(float(values.min()), 0.0)
        high = max(float(values.max()), low)
        if feed.fixed_by is FixedBy.AT_PLAYER and high <= program.ball.radius_m:
            return Miss(feed.name, NotMet(ball, 3 if program.player.two_bounces else 2))
        nearest = min(max(feed.value, low), high)
        if nearest != feed.value:
            possible = Between(read_in(low, unit), read_in(high, unit))
    wanted = AskedOfFlight(ASKED[feed.fixed_by], asked, possible)
    if feed.phase and None in broken:
        other = phases[broken.index(None)]
        return Miss(feed.name, PhaseNotThere(ball, feed.phase, other), nearest)
    stopped = [limit for limit, phase in zip(broken, phases, strict=True) if limit and feed.phase in (None, phase)]
    if stopped:
        limit = min(stopped, key=lambda limit: limit.excess)
        return Miss(feed.name, FeederLimit(ball, limit.what, limit.asked, limit.possible, wanted), nearest)
    if possible:
        return Miss(feed.name, OutOfReach(ball, wanted), nearest)
    if program.place.players_side and feed.depth and feed.depth.aim <= program.place.y:
        return Miss(feed.name, BehindTheFeeder(ball, Metres(feed.depth.aim), Metres(program.place.y)))
    if flown.any():
        least = int(np.argmin(np.where(flown, excess, np.inf)))
        launch = float(scan.speed[i, least]), float(scan.elevation[i, least]), float(scan.azimuth[i, least])
        nearly = broken_limit(*launch, feed, feeder, program.ball.diameter_m)
        if nearly:
            return Miss(feed.name, FeederLimit(ball, nearly.what, nearly.asked, nearly.possible, wanted))
    return Miss(feed.name, NoFlight(ball))


def _limit(what: str, value: float, low: float, high: float, unit: str) -> Limit:
    excess = max(low - value, value - high) / max(high - low, 1e-9)
    return Limit(what, read_in(value, unit), Between(read_in(low, unit), read_in(high, unit)), excess)
