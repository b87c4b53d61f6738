"""Goals beyond one variation in one block: do they count the balls that there are, and have they some chance?"""

from ...grammar.edits import changed, counted, instead
from ...grammar.facts import BallName, Portion
from ...grammar.finding import Finding
from ..broad_goals import CountedGoal, broad_goals
from ..findings.goals import EachForOne, GoalFar, GoalOtherNumber, PlaceAlone
from ..model.enough import SELDOM
from ..model.evaluation import Evaluation
from ..model.program import Program
from ..model.schedule import Schedule
from ..model.shots import Shots
from .practice import FAR, nearer


def place_alone(program: Program, shots: Shots, schedule: Schedule | None, evaluation: Evaluation) -> list[Finding]:
    """Are there lines that decide hits, and of which no forecast knows? Once for the script."""
    aimed = {program.feeds[name].variation or "" for name in evaluation.replies}
    said = [one for name, variation in program.variations.items() if name in aimed for one in variation.hit_if]
    plays = program.session.plays if program.session and aimed else ()
    under = [one for play in plays for one in play.hit_if]
    spans = list(dict.fromkeys(one.sentence.span for one in (*said, *under)))
    also = tuple(("and here", one) for one in spans[1:])
    return [Finding(PlaceAlone(len(spans)), spans[0], also)] if spans else []


def broad(program: Program, shots: Shots, schedule: Schedule | None, evaluation: Evaluation) -> list[Finding]:
    """Once where rounds repeat a goal, for the round that gives it the most."""
    found: dict[int, CountedGoal] = {}
    for one in broad_goals(program, schedule, evaluation) if schedule else ():
        before = found.get(id(one.goal))
        if before is None or (len(one.counts), len(one.fewest)) > (len(before.counts), len(before.fewest)):
            found[id(one.goal)] = one
    told: list[Finding] = []
    for one in found.values():
        assert schedule is not None
        if one.goal.each and len(one.counts) < 2:
            said = one.goal.sentence
            told.append(Finding(EachForOne(), said.span, remedies=(instead(said, changed(said, each=None)),)))
        if wrong := _number(one, "balls" if not one.points else _units(schedule, one)):
            told.append(wrong)
        elif (chance := one.chance) is not None and chance < FAR:
            share = sum(one.known) / len(one.known)
            if share >= SELDOM:
                first = program.feeds[_first(program, schedule, one)]
                goal, balls = one.goal, len(one.fewest)
                among = balls if goal.in_all or goal.among is None else goal.among
                figures = Portion(share), balls, Portion(chance), one.over
                who, ball = len(one.counts), BallName(first.name)
                message = GoalFar(ball, goal.hits, among, *figures, players=who, points=one.points)
                told.append(Finding(message, goal.sentence.span, hint=nearer(message)))
    return told


def _first(program: Program, schedule: Schedule, one: CountedGoal) -> str:
    """The first ball that it counts."""
    played = zip(schedule.feed.tolist(), schedule.block.tolist(), strict=True)
    names = (schedule.feeds[feed] for feed, block in played if block == one.blocks[0])
    return next(n for n in names if one.variation is None or program.feeds[n].variation == one.variation.name)


def _units(schedule: Schedule, one: CountedGoal) -> str:
    return "points" if all(schedule.blocks[b].points for b in one.blocks) else "points and balls"


def _number(one: CountedGoal, what: str) -> Finding | None:
    """Whether it counts among another number of balls than there are."""
    goal, balls = one.goal, len(one.fewest)
    fits = goal.among is None or (balls == goal.among if goal.in_all else balls >= goal.among)
    if fits and goal.hits <= balls:
        return None
    row = goal.hits == goal.among and not goal.in_all
    over = one.over
    if len(one.counts) > 1:
        over = "each" if len({len(mine) for mine in one.counts.values()}) == 1 else "fewest"
    message = GoalOtherNumber(goal.hits, None if row else goal.among, balls, over, what)
    said = goal.sentence
    remedies = () if goal.hits > balls else (instead(said, changed(said, among=counted(balls))),)
    return Finding(message, said.span, remedies=remedies)
