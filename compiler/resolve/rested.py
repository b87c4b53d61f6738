"""A block that rests after every so many of its balls or points, and stays one block."""

from ...grammar import syntax as s
from ...grammar.edits import changed, counted, instead, launches, with_pauses
from ...grammar.facts import Seconds
from ...grammar.frozen import replace
from ...grammar.messages import LikelySlip
from ...grammar.print import text
from ...grammar.syntax import Line, sentences
from ..findings.names import Duplicate
from ..findings.session import CountedAs, RestInsideLong, RestWhereItBeginsAgain
from ..model.program import PART_REST_S, BlockRest, Play, Point
from .amounts import Rejected, count, quantity
from .turns import Known


def rested(line: Line, play: Play, known: Known) -> Play:
    """The block, with its rest if a line under it says one."""
    found = list(sentences(line.children, s.BlockRest))
    said = [sentence for _, sentence in found]
    if not said:
        return play
    one, what = said[0], said[0].balls.kind.lower()
    if said[1:]:
        raise Rejected(Duplicate("rest"), said[1].span, (("first here", one.span),))
    points = [point for _, name in play.shares if isinstance(point := known.points.get(name), Point)]
    if (what == "points") != bool(points):
        kind = "POINTS" if points else "BALLS"
        other = instead(one, changed(one, balls=launches(kind, float(one.every.text))))
        wrong = CountedAs(points[0].name if points else play.shares[0][1], bool(points))
        raise Rejected(wrong, one.balls.span, remedies=(other,))
    if again := next((point for point in points if point.after_miss == "from the start"), None):
        raise Rejected(RestWhereItBeginsAgain(again.name), one.span)
    every, seconds = count(one.every, what), quantity(one.amount, "rest")
    if seconds > PART_REST_S:
        block = line.sentence
        if not isinstance(block, s.Counted):
            balls = launches(one.balls.kind, every)
            block = s.Counted(counted(2 * every), balls, block.order, block.whom)  # type: ignore[union-attr]
        hint = LikelySlip(with_pauses(block, every, text(s.Rest(one.amount))))
        raise Rejected(RestInsideLong(Seconds(seconds), Seconds(PART_REST_S)), one.amount.span, hint=hint)
    return replace(play, rest=BlockRest(seconds, every, one, found[0][0].notes), words=f"{play.words}, {text(one)}")
