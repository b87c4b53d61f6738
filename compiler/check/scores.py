"""Scores: can they come where the script wants them, and have they some chance?"""

from collections.abc import Iterator
from itertools import cycle, islice

from ...grammar.edits import Remedy, changed, counted, instead, launches
from ...grammar.facts import Portion
from ...grammar.finding import Finding
from ...grammar.source import Span
from ...grammar.syntax import Counted
from ..findings.goals import EachForOne
from ..findings.scores import ResultsByHand, ScoreFar, ScoreTooFar
from ..model.enough import SELDOM
from ..model.evaluation import Evaluation
from ..model.program import Program, Score
from ..model.schedule import Schedule
from ..model.score import farthest
from ..model.shots import Shots
from ..scores import CountedScore, counted_scores
from .practice import FAR

LONGER = 6
"""So many times as many balls are tried. Own choice."""


def scores(program: Program, shots: Shots, schedule: Schedule | None, evaluation: Evaluation) -> list[Finding]:
    """Once where rounds repeat a score."""
    found: dict[Span, Finding] = {}
    for one in counted_scores(program, schedule, evaluation) if schedule else ():
        for finding in _told(program, one):
            found.setdefault(finding.span, finding)
    return list(found.values())


def _told(program: Program, one: CountedScore) -> Iterator[Finding]:
    if one.score.results and one.score.sentence:
        machine = program.feeder.kind == "machine"
        yield Finding(ResultsByHand(len(one.score.results), machine), one.score.sentence.span)
    each = next((said for said in (one.score.asked, one.score.until) if said and said.each), None)
    if each and len(one.counts) < 2:
        yield Finding(EachForOne(), each.span, remedies=(instead(each, changed(each, each=None)),))
    score, adds = one.score, [(hit, miss) for _, hit, miss in one.units]
    *_, (least, most) = farthest(score, adds)
    for end in score.ends:
        up = end > score.start
        if score.until and (end > most if up else end < least) and not one.open:
            best = most if up else least
            message = ScoreTooFar(end, best, len(adds), points=one.points)
            yield Finding(message, score.until.span, remedies=(*_nearer(score, end, best), *_longer(program, one, end)))
        elif score.until and up and (far := _far(one, end, one.chance_of(end))):
            yield Finding(far, score.until.span)
    if score.goal is not None and score.asked:
        if score.goal > most and not one.open:
            nearer = instead(score.asked, changed(score.asked, number=counted(most)))
            message = ScoreTooFar(score.goal, most, len(adds), goal=True, points=one.points)
            yield Finding(message, score.asked.span, remedies=(nearer, *_longer(program, one, score.goal)))
        elif far := _far(one, score.goal, one.chance_of_goal, goal=True):
            yield Finding(far, score.asked.span)


def _far(one: CountedScore, score: int, chance: float | None, goal: bool = False) -> ScoreFar | None:
    if chance is None or chance >= FAR or one.points or one.share < SELDOM:
        return None
    return ScoreFar(score, Portion(one.share), Portion(chance), goal)


def _nearer(score: Score, end: int, best: int) -> tuple[Remedy, ...]:
    """As far as it can come, or without this end where there is another."""
    said, others = score.until, [one for one in score.ends if one != end]
    assert said
    ends = [counted(one) for one in (best, *others) if one != score.start]
    return (instead(said, changed(said, ends=tuple(ends))),) if ends else ()


def _longer(program: Program, one: CountedScore, wanted: int) -> Iterator[Remedy]:
    """The block with as many balls as bring it so far."""
    session, score = program.session, one.score
    play = next((play for play in session.plays if play.score and play.score.until is score.until
                 and play.score.asked is score.asked), None) if session else None  # fmt: skip
    said = play.sentence if play else None
    if not isinstance(said, Counted):
        return
    adds = [(hit, miss) for _, hit, miss in one.units]
    for balls, (least, most) in enumerate(farthest(score, islice(cycle(adds), LONGER * len(adds)))):
        if wanted <= most if wanted > score.start else wanted >= least:
            yield instead(said, changed(said, number=counted(balls), balls=launches(said.balls.kind, balls)))
            return
