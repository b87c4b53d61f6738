"""Each ball on its own: over the net, in its zone, in the lines, met by the player, and what rounding did to it."""

from collections.abc import Callable
from math import inf

from ...grammar.source import Span
from ..model.program import Feed, FixedBy, Program, Range
from ..model.shots import SolvedShot
from ..reach import ASKED, UNITS_SHOWN, shown
from ..report.finding import Finding

# More than this between what was asked and what the rounded settings give is told. Own choice.
COARSE = {
    FixedBy.OVER_NET: 0.25,
    FixedBy.AT_PLAYER: 0.15,
    FixedBy.TOP_OF_BOUNCE: 1.0,
    FixedBy.PACE: 2 / 3.6,
    FixedBy.TIME: 0.08,
}


OVER_HEAD_M = 0.1  # own choice


def check_ball(program: Program, feed: Feed, shot: SolvedShot) -> list[Finding]:
    """Every question asked of one ball."""
    return [finding for question in QUESTIONS if (finding := question(program, feed, shot))]


def place(feed: Feed, *attributes: str) -> Span:
    """The line of the first of the attributes that the feed has; its head otherwise."""
    return next((feed.said[a].span for a in attributes if a in feed.said), feed.span)


def fixing_line(feed: Feed) -> Span:
    """The line that fixes the flight."""
    names = {FixedBy.OVER_NET: "height over net", FixedBy.PACE: "pace", FixedBy.TIME: "time"}
    return place(feed, names.get(feed.fixed_by, "height"))


def net(program: Program, feed: Feed, shot: SolvedShot) -> Finding | None:
    """Does it clear the cord where it crosses, between the posts?"""
    clearance, x = shot.predicted.clearance, shot.predicted.net_x
    if clearance is None or x is None:
        return None
    if abs(x) > program.court.post_x:
        facts = {"name": feed.name, "asked": f"{abs(x):.2f} m", "possible": f"{program.court.post_x:.2f} m"}
        return Finding("around-the-post", place(feed, "side", "into"), facts)
    if clearance < 0:
        facts = {"name": feed.name, "under": f"{-clearance * 100:.0f} cm", "cord": f"{program.court.cord(x):.2f} m"}
        return Finding("net-hit", fixing_line(feed), facts)
    return None


def ceiling(program: Program, feed: Feed, shot: SolvedShot) -> Finding | None:
    """Does it stay under whatever is over the court?"""
    top, limit = shot.predicted.peak + program.ball.radius_m, program.court.ceiling
    if limit is None or top <= limit:
        return None
    return Finding(
        "ceiling-hit", fixing_line(feed), {"name": feed.name, "asked": f"{top:.2f} m", "possible": f"{limit:g} m"}
    )


def zone(program: Program, feed: Feed, shot: SolvedShot) -> Finding | None:
    """Does the ball as the device is really set land in the zone and inside the lines?"""
    landing = shot.predicted.landing
    if landing is None or feed.depth is None:
        return None
    x, y = landing
    radius = program.ball.radius_m  # in when the footprint touches the line; taken as one radius, our assumption
    if abs(x) > program.court.half_width + radius or not 0 < y <= program.court.half_length + radius:
        over = max(abs(x) - program.court.half_width, y - program.court.half_length)
        line = "sideline" if abs(x) - program.court.half_width >= over - 1e-9 else "baseline"
        facts = {"name": feed.name, "out": f"{over:.2f} m", "line": line}
        return Finding("out-of-court", place(feed, "side" if line == "sideline" else "depth", "into"), facts)
    for what, value, range_ in (("depth", y, feed.depth), ("side", x, feed.side)):
        off = _outside(value, range_)
        if off > 0.01:
            facts = {"name": feed.name, "what": what, "off": f"{off:.2f} m"}
            return Finding("zone-missed", place(feed, what, "into"), facts)
    return None


def met(program: Program, feed: Feed, shot: SolvedShot) -> Finding | None:
    """Does the ball come to the stance before it bounces once more?"""
    if shot.predicted.contact[2] >= program.ball.radius_m:
        return None
    often = "third" if program.player.two_bounces else "second"
    return Finding("not-met", place(feed, "stance"), {"name": feed.name, "often": often})


def rounding(program: Program, feed: Feed, shot: SolvedShot) -> Finding | None:
    """Do the settings that the device can take give what was asked?"""
    flown = shot.predicted
    given = {
        FixedBy.OVER_NET: flown.clearance,
        FixedBy.AT_PLAYER: flown.contact[2],
        FixedBy.PACE: shot.speed,
        FixedBy.TIME: flown.contact_time,
    }.get(feed.fixed_by)
    if given is None or abs(given - feed.value) <= COARSE[feed.fixed_by]:
        return None
    unit = UNITS_SHOWN[feed.fixed_by]
    facts = {
        "name": feed.name, "what": ASKED[feed.fixed_by], "asked": shown(feed.value, unit), "given": shown(given, unit),
        "feeder": program.feeder.title,
    }  # fmt: skip
    return Finding("coarse-settings", fixing_line(feed), facts)


def head(program: Program, feed: Feed, shot: SolvedShot) -> Finding | None:
    """Is a ball that bounces met over the player's head?"""
    if feed.depth is None or not over_head(program, feed, shot):
        return None
    facts = {
        "name": feed.name, "height": f"{shot.predicted.contact[2]:.2f} m", "stature": f"{program.player.stature:.2f} m",
    }  # fmt: skip
    return Finding("over-the-head", place(feed, "stance"), facts)


def over_head(program: Program, feed: Feed, shot: SolvedShot) -> bool:
    """Whether a ball is met higher than the player's head, and on the full than is asked for."""
    stature = program.player.stature
    limit = max(feed.contact_height or 0.0, stature + OVER_HEAD_M) if stature is not None else inf
    return shot.predicted.contact[2] > limit and "over-the-head" not in program.allowed


def _outside(value: float, range_: Range) -> float:
    return max(range_.low - value, value - range_.high, 0.0)


QUESTIONS: tuple[Callable[[Program, Feed, SolvedShot], Finding | None], ...] = (
    net,
    ceiling,
    zone,
    met,
    rounding,
    head,
)
