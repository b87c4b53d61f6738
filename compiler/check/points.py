"""Points: what becomes of the rhythm of their balls."""

from ...grammar.edits import Remedy, amount, changed, instead, left_out
from ...grammar.facts import BallName, Seconds
from ...grammar.finding import Finding
from ..findings.session import PointSlower
from ..model.evaluation import Evaluation
from ..model.program import Feed, Program
from ..model.schedule import Schedule
from ..model.shots import Shots
from .ball import place

SLOWER_S = 1.0
"""From so much more than its interval on a player waits for the ball. Own choice."""


def slower(program: Program, shots: Shots, schedule: Schedule | None, evaluation: Evaluation) -> list[Finding]:
    """Do balls of a block in which a point begins again come much later than their interval says? The first ball of a
    served point has the time after the serve on top."""
    served: dict[str, float] = {}
    for point in program.points.values():
        for name in program.members(point.feeds[0]):
            served[name] = max(served.get(name, 0.0), point.serve or 0.0)
    found: dict[str, Finding] = {}
    for block in schedule.blocks if schedule else ():
        for name in block.feeds if block.even is not None else ():
            feed = program.feeds[name]
            written = feed.interval + served.get(name, 0.0)
            if block.even is not None and block.even - written >= SLOWER_S and name not in found:
                message = PointSlower(BallName(name), Seconds(block.even), Seconds(written))
                missed = [point.missed for point in program.points.values() if feed.family in point.feeds]
                out = tuple(left_out(one) for one in missed if one is not None)
                more = *out, *_as_it_comes(feed, block.even - served.get(name, 0.0))
                found[name] = Finding(message, place(feed, "interval"), (("in this block", block.span),), remedies=more)
    return list(found.values())


def _as_it_comes(feed: Feed, seconds: float) -> tuple[Remedy, ...]:
    """A remedy that writes the interval at which the ball comes anyway."""
    said = feed.said["interval"]
    return (instead(said, changed(said, amount=amount(seconds, 1, "s"))),)
