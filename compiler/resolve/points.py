"""Points: several balls that are played as one."""

from collections.abc import Iterable
from itertools import pairwise

from ...grammar import syntax as s
from ...grammar.facts import Names
from ...grammar.finding import Finding
from ...grammar.syntax import Line
from ..findings.names import Duplicate
from ..findings.session import PointEmpty, ServesAlone
from ..findings.turns import NobodysTurn
from ..model.program import Point
from .amounts import Rejected, Rejections, one_of, quantity
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
    )


def _fed(name: s.Word, plays: s.Plays, known: Known) -> str:
    """The feed of this name. After `for anna` and the word `and` it may have been meant as a second player."""
    before = next((b for b, ball in pairwise(plays.balls) if ball.name is name), None)
    if before and before.whom and name.text not in known.feeds and name.text in known.readers:
        raise Rejected(NobodysTurn(Names((before.whom.names[0].text, name.text))), name.span)
    return one_of(name.text, name.span, known.feeds, "feed")
