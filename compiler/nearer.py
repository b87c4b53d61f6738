"""The aim of a ball whose way has a bound: as near to the middle of its zone as keeps that."""

from collections.abc import Iterable
from math import isfinite, radians, sqrt

from ..grammar.frozen import replace
from .model.program import Bound, Feed, Program
from .model.way import Wait

FAR_M = 100.0  # beyond any court
SURE = 2.0  # standard deviations that a ball passes above the cord and keeps inside its bounds, where it can
MOSTLY = 0.75  # of those deviations, which 93 of 100 balls keep, where the zone leaves no room for two
Spot = tuple[float, float]


def across(wait: Wait, ways: Iterable[Bound], met: Spot, spare: float = 0.0) -> tuple[float, float, bool]:
    """Between which x a ball is to be met, as far back as `met`, for its way to keep its bounds, and `spare` metres
    more; on that side of the player where the way has a least. And whether it can, or the way along the court alone is
    too long."""
    low, high, able = -FAR_M, FAR_M, True
    along = 0.0 if wait.y is None else met[1] - wait.y
    for bound in ways:
        if isfinite(bound.high):
            able = able and bound.high >= abs(along)
            out = sqrt(max(bound.high**2 - along**2, 0.0)) - spare
            low, high = max(low, wait.x - wait.less - out), min(high, wait.x + wait.more + out)
        if bound.low > abs(along):
            out = sqrt(bound.low**2 - along**2) + spare
            low, high = (
                (max(low, wait.x + wait.more + out), high)
                if met[0] >= wait.x
                else (low, min(high, wait.x - wait.less - out))
            )
    return (low, high, able) if low <= high else ((low + high) / 2, (low + high) / 2, able)


def aimed(program: Program, feed: Feed, lands: Spot, met: Spot) -> Feed:
    """The feed, whose ball lands and is met there, itself where two standard deviations of its balls and half a step of
    the feeder keep the bounds of the way; else with its aim so far aside, where its zone has room for as much."""
    place = program.place_of(feed)
    if not feed.ways or feed.wait is None or met[1] == place.y:  # no turn of the feeder moves a ball beside it
        return feed
    nearer = (lands[1] - place.y) / (met[1] - place.y)
    turn, angle = program.feeder.axes().get("azimuth"), radians(program.feeder.repeatability.azimuth_deg)
    spare = (SURE * angle + (turn.step_si(0.0) / 2 if turn else 0.0)) * abs(met[1] - place.y)
    (low, high, able), (least, most, _) = (across(feed.wait, feed.ways, met, share * spare) for share in (1.0, MOSTLY))
    x = _between(met[0], low, high)
    if able and x == met[0]:
        return feed
    near, far = feed.side.part
    inside = min(spare * nearer, (far - near) / 2)
    wanted, least, most = (lands[0] + (to - met[0]) * nearer for to in (x, least, most))
    # Surely in the zone, if it has room for that; most balls within the bound, if it has not; and in the zone.
    aim = _between(_between(_between(wanted, near + inside, far - inside), least, most), near, far)
    return replace(feed, side=replace(feed.side, aim=aim))


def _between(value: float, low: float, high: float) -> float:
    return min(max(value, low), high)


def aimed_before(program: Program, feed: Feed) -> Feed:
    """The same of a feed that leaves nothing open, before it is flown: on the straight line through its aim."""
    if not feed.ways:
        return feed
    place, across_, along = program.place_of(feed), feed.side.aim, feed.depth.aim if feed.depth else feed.stance
    if along == place.y:
        return feed
    straight = place.x + (across_ - place.x) * (feed.stance - place.y) / (along - place.y)
    return aimed(program, feed, (across_, along), (straight, feed.stance))
