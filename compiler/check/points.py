"""Points: what becomes of the rhythm of their balls."""

from collections.abc import Iterable

from ...grammar.edits import Remedy, amount, changed, instead, left_out
from ...grammar.facts import BallName, Seconds
from ...grammar.finding import Finding
from ...grammar.syntax import Missed, Sentence, keyword
from ..findings.session import PointSlower
from ..model.evaluation import Evaluation
from ..model.program import Feed, Program
from ..model.schedule import Schedule
from ..model.shots import Shots
from .figures import place

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
                again = {point.name for point in block.points if point.after_miss == "from the start"}
                missed = {name: program.points[name].missed for name in program.points if name in again}
                message = PointSlower(BallName(name), Seconds(block.even), Seconds(written), len(missed) > 1)
                more = *_goes_on(missed.values()), *_as_it_comes(feed, block.even - served.get(name, 0.0))
                found[name] = Finding(message, place(feed, "interval"), (("in this block", block.span),), remedies=more)
    return list(found.values())


def _goes_on(missed: Iterable[Sentence | None]) -> tuple[Remedy, ...]:
    """Remedies of the one line that says how a point goes on after a miss; of several each alone mends nothing."""
    lines = [line for line in missed if isinstance(line, Missed)]
    if len(lines) != 1:
        return ()
    (line,) = lines
    return left_out(line), instead(line, changed(line, then=keyword("NEXT_POINT")))


def _as_it_comes(feed: Feed, seconds: float) -> tuple[Remedy, ...]:
    """A remedy that writes the interval at which the ball comes anyway."""
    said = feed.said["interval"]
    return (instead(said, changed(said, amount=amount(seconds, 1, "s"))),)
