"""Points: several balls that are played as one."""

from collections.abc import Iterable, Mapping
from itertools import pairwise

from ...grammar import syntax as s
from ...grammar.edits import changed, counted, instead, left_out
from ...grammar.facts import Names
from ...grammar.finding import Finding
from ...grammar.syntax import Line
from ..findings.names import Duplicate
from ..findings.points import WonAndMissed, WonOfOther
from ..findings.session import PointEmpty, ServesAlone
from ..findings.turns import NobodysTurn
from ..model.program import Point
from .amounts import Rejected, Rejections, hits_among, one_of, quantity
from .turns import Known, whose_shares


def read_points(lines: Iterable[tuple[Line, s.Point]], rejections: Rejections, known: Known) -> dict[str, Point | None]:
    """The points by name, None for one that could not be read. The name of a feed is no name for a point."""
    found: dict[str, Point | None] = {}
    for line, said in lines:
        name = said.name
        if name.text in known.feeds:
            rejections.add(Finding(Duplicate(name.text), name.span))
            continue
        found[name.text] = rejections.read(lambda: _point(line, said, rejections, known))  # noqa: B023 - read at once
        rejections.whole = rejections.whole and found[name.text] is not None
    return found


def _point(line: Line, node: s.Point, rejections: Rejections, known: Known) -> Point | None:
    said: dict[str, s.Sentence] = {}
    after_miss = "goes on"
    for child in line.children:
        if child.sentence is None:
            return None
        if isinstance(child.sentence, s.Note):
            continue
        if child.kind in said:
            raise Rejected(Duplicate(child.sentence.opens), child.span, (("first here", said[child.kind].span),))
        said[child.kind] = child.sentence
        if isinstance(child.sentence, s.Missed):
            after_miss = "from the start" if child.sentence.then.kind == "FROM_THE_START" else "next point"
    plays, serves = said.get("plays"), said.get("serves")
    if not isinstance(plays, s.Plays):
        raise Rejected(PointEmpty(node.name.text), line.span, hint=ServesAlone() if serves else None)
    delay = None
    if isinstance(serves, s.Serves):
        delay = quantity(serves.delay, "time after the serve")
    else:
        serves = None
    names = [ball.name for ball in plays.balls]
    read = [name for name in names if rejections.read(lambda: _fed(name, plays, known))]  # noqa: B023 - read at once
    if len(read) < len(names) or any(known.feeds[name.text] is None for name in names):
        return None
    won_with = _won_with(said, node.name.text, len(names))
    whose = tuple(who for (who,) in whose_shares(plays.balls, None, known))
    return Point(
        node.name.text,
        tuple(name.text for name in names),
        delay,
        after_miss,
        line.notes,
        line.span,
        serves,
        said.get("missed"),
        whose,
        won_with,
    )


def _won_with(said: Mapping[str, s.Sentence], name: str, balls: int) -> int | None:
    """How many hits win the point, where a line says it."""
    won, missed = said.get("won"), said.get("missed")
    if not isinstance(won, s.Won):
        return None
    hits, among = hits_among(won.hits, won.among)
    if among != balls:
        remedies = () if hits > balls else (instead(won, changed(won, among=counted(balls))),)
        raise Rejected(WonOfOther(name, among, balls), won.span, remedies=remedies)
    if missed:
        both = (("here", won.span),)
        raise Rejected(WonAndMissed(name), missed.span, both, remedies=(left_out(missed), left_out(won)))
    return None if hits == among else hits


def _fed(name: s.Word, plays: s.Plays, known: Known) -> str:
    """The feed of this name. After `for anna` and the word `and` it may have been meant as a second player."""
    before = next((b for b, ball in pairwise(plays.balls) if ball.name is name), None)
    if before and before.whom and name.text not in known.feeds and name.text in known.readers:
        raise Rejected(NobodysTurn(Names((before.whom.names[0].text, name.text))), name.span)
    return one_of(name.text, name.span, known.feeds, "feed")
