"""Goals: of a variation within each block or in all, and those under a block or rounds, which end nothing; and
what else decides a hit."""

from collections.abc import Mapping

from ...grammar import syntax as s
from ...grammar.edits import Edit, changed, counted, instead
from ...grammar.print import text
from ...grammar.source import Span
from ...grammar.syntax import Line, sentences
from ..findings.goals import GoalEndsNothing, GoalsInBlock
from ..findings.names import Duplicate
from ..findings.session import MoreHitsThanBalls
from ..model.program import BroadGoal, Goal, HitIf, Play
from .amounts import Rejected, count, hits_among


def goal_of(node: s.Goal) -> Goal | BroadGoal:
    """The goal of a variation."""
    return _broad(node) if node.in_all or node.each else hits_among(node.hits, node.among)


def goal_under(line: Line) -> BroadGoal | None:
    """The goal that a line under a block or under rounds asks for."""
    said = [sentence for _, sentence in sentences(line.children, s.Goal)]
    if said[1:]:
        raise Rejected(Duplicate("goal"), said[1].span, (("first here", said[0].span),))
    return _broad(said[0]) if said else None


def _broad(node: s.Goal) -> BroadGoal:
    each = node.each is not None
    if not node.in_all:
        return BroadGoal(*hits_among(node.hits, node.among), False, each, node)
    hits, among = count(node.hits, "balls"), count(node.among, "balls") if node.among else None
    if among is not None and node.among and hits > among:
        span = Span(node.span.source, node.hits.span.start, node.among.span.end)
        raise Rejected(MoreHitsThanBalls(hits, among), span)
    return BroadGoal(hits, among, True, each, node)


def hit_if(line: Line) -> tuple[HitIf, ...]:
    """What the lines under a line say that else decides a hit."""
    return tuple(HitIf(said.title.unquoted, said) for said in line.hit_if)


def ends_nothing(goals: Mapping[str, object], balls: Mapping[str, int], play: Play, until: s.Until) -> Rejected | None:
    """What is wrong with a block that ends at goals some of which count all balls; `balls` says how many of each
    variation it has, 0 if that is not known. It ends as soon as its own balls are as good as such a goal asks; where it
    plays others too, the goal has to be one within the block."""
    broad = {name: goal for name in balls if isinstance(goal := goals.get(name), BroadGoal)}
    if not broad:
        return None
    hint, remedies = None, tuple[Edit, ...]()
    first = next(iter(broad))
    within = {name: said for name, goal in broad.items() if (said := _within(goal, balls[name]))}
    if len(within) == len(broad):
        if balls[first] == play.count:
            remedies = (instead(until, changed(until, hits=within[first].hits, among=within[first].among)),)
        elif len(broad) == 1:
            remedies = (instead(broad[first].sentence, within[first]),)
        else:
            alike = {said: [name for name in within if within[name] == said] for said in within.values()}
            hint = GoalsInBlock("; ".join(f"`{text(said)}` for {' and '.join(names)}" for said, names in alike.items()))
    message = GoalEndsNothing(first, "when this block ends", broad[first].each)
    return Rejected(message, until.span, hint=hint, remedies=remedies)


def _within(goal: BroadGoal, balls: int) -> s.Goal | None:
    """The same among so many balls of a block, if it has as many."""
    among = min(balls, goal.among or balls)
    hits = max(1, round(goal.hits * among / goal.among)) if goal.among else goal.hits
    return (
        changed(goal.sentence, hits=counted(hits), among=counted(among), in_all=None, each=None)
        if hits <= among
        else None
    )
