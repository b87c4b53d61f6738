"""Goals: of a variation within each block or in all, and those under a block or rounds, which end nothing."""

from ...grammar import syntax as s
from ...grammar.edits import Edit, changed, counted, instead
from ...grammar.source import Span
from ...grammar.syntax import Line, sentences
from ..findings.names import Duplicate
from ..findings.session import MoreHitsThanBalls
from ..model.program import BroadGoal, Goal, Play
from .amounts import Rejected, count, hits_among


def goal_of(node: s.Goal) -> Goal | BroadGoal:
    """The goal of a variation."""
    return _broad(node) if node.in_all else hits_among(node.hits, node.among)


def goal_under(line: Line) -> BroadGoal | None:
    """The goal that a line under a block or under rounds asks for."""
    said = [sentence for _, sentence in sentences(line.children, s.Goal)]
    if said[1:]:
        raise Rejected(Duplicate("goal"), said[1].span, (("first here", said[0].span),))
    return _broad(said[0]) if said else None


def _broad(node: s.Goal) -> BroadGoal:
    if not node.in_all:
        return BroadGoal(*hits_among(node.hits, node.among), False, node)
    hits, among = count(node.hits, "balls"), count(node.among, "balls") if node.among else None
    if among is not None and node.among and hits > among:
        span = Span(node.span.source, node.hits.span.start, node.among.span.end)
        raise Rejected(MoreHitsThanBalls(hits, among), span)
    return BroadGoal(hits, among, True, node)


def as_far(asked: object, play: Play, until: s.Until) -> tuple[Edit, ...]:
    """What ends a block as soon as its own balls are as good as a goal over all balls asks."""
    if not isinstance(asked, BroadGoal) or asked.among is None or not play.count:
        return ()
    among = min(play.count, asked.among)
    hits = max(1, round(asked.hits * among / asked.among))
    return (instead(until, changed(until, hits=counted(hits), among=counted(among))),)
