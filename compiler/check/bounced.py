"""Does a ball bounce as far in front of the player as its lines ask?"""

from ...grammar.facts import BallName, Metres
from ...grammar.finding import Finding
from ..findings.bounce import BounceMoved
from ..model.evaluation import Evaluation
from ..model.program import Feed, Program
from ..model.schedule import Schedule
from ..model.shots import Shots, SolvedShot
from ..remedy import remedies
from .figures import place
from .proposals import proposable, proposed

FULL_M, MOVED_M, LEAST_M = 11.885, 0.5, 0.25
"""Half the length of a full court; on it a bounce that is so far off is told, on a smaller one less in proportion, but
no less than this. Own choice."""


def bounced(program: Program, shots: Shots, schedule: Schedule | None, evaluation: Evaluation) -> list[Finding]:
    """Of each ball whose lines say how far that is."""
    return [
        Finding(BounceMoved(BallName(name), *(Metres(one) for one in off)), place(program.feeds[name], "depth"))
        for name, shot in shots.shots.items()
        if (off := bounce_moved(program, program.feeds[name], shot))
    ]


def bounce_moved(program: Program, feed: Feed, shot: SolvedShot) -> tuple[float, float] | None:
    """How far in front of the stance a ball bounces and how far is asked, m, if the one is not the other."""
    asked = _asked(feed)
    if asked is None or shot.predicted.landing is None or shot.predicted.bounces != 1:
        return None
    given = feed.stance - shot.predicted.landing[1]
    return (given, asked) if abs(given - asked) >= _least(program) else None


def _asked(feed: Feed) -> float | None:
    """None where no line says it: a zone has room, and what is left open moves with the ball."""
    if feed.depth is None or not feed.depth.alone or feed.free & {"depth", "stance"}:
        return None
    return feed.stance - feed.depth.aim if feed.stance > feed.depth.aim else None


def _least(program: Program) -> float:
    return max(LEAST_M, MOVED_M * program.court.half_length / FULL_M)


def bouncing(program: Program, shots: Shots, found: list[Finding]) -> list[Finding]:
    """The findings, of such a ball with lines that leave the bounce as far in front of the player as asked, then with
    those that bring the place that is asked to where it bounces."""
    moved = [f for f in found if isinstance(f.message, BounceMoved)]
    balls: list[str] = [f.message.ball for f in moved if isinstance(f.message, BounceMoved)]
    if not balls:
        return found
    asked = {program.feeds[name].family: _asked(program.feeds[name]) for name in balls}

    def as_far(program: Program, feed: Feed, shot: SolvedShot) -> bool:
        there, wanted = _asked(feed), asked[feed.family]
        return (
            there is not None
            and wanted is not None
            and abs(there - wanted) < _least(program)
            and anyhow(program, feed, shot)
        )

    def anyhow(program: Program, feed: Feed, shot: SolvedShot) -> bool:
        return bounce_moved(program, feed, shot) is None and proposable(program, feed, shot)

    first, then = (remedies(program, balls, {}, suits) for suits in (as_far, anyhow))
    wrong = frozenset(balls)
    return [
        proposed(program, f, ball, (*first[ball], *(one for one in then[ball] if one not in first[ball])), wrong)
        if isinstance(f.message, BounceMoved) and (ball := f.message.ball)
        else f
        for f in found
    ]
