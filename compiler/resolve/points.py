"""Points: several balls that are played as one."""

from collections.abc import Iterable, Mapping
from itertools import pairwise
from math import ceil

from ...grammar import syntax as s
from ...grammar.edits import amount, changed, counted, instead, left_out
from ...grammar.facts import Names, Seconds
from ...grammar.finding import Finding
from ...grammar.frozen import replace
from ...grammar.syntax import Line
from ..findings.names import Duplicate
from ..findings.points import ServesTooSoon, WonAndMissed, WonOfOther
from ..findings.session import PointEmpty, ServesAlone
from ..findings.turns import NobodysTurn
from ..model.program import Point
from .amounts import SENSE, Rejected, Rejections, hits_among, one_of, quantity
from .members import Family
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
    fed = tuple(name.text for name in names)
    if serves and serves.every and delay is not None:
        fed = (_from_serve_to_serve(serves, serves.every, delay, fed, known), *fed[1:])
    won_with = _won_with(said, node.name.text, len(names))
    whose = tuple(who for (who,) in whose_shares(plays.balls, None, known))
    return Point(
        node.name.text,
        fed,
        delay,
        after_miss,
        line.notes,
        line.span,
        serves,
        said.get("missed"),
        whose,
        won_with,
    )


def _from_serve_to_serve(serves: s.Serves, said: s.Amount, delay: float, fed: tuple[str, ...], known: Known) -> str:
    """The first ball of a point once more, with the interval that leaves so long from one serve to the next."""
    seconds, families = quantity(said, "time between serves"), [known.feeds[name] for name in fed]
    takes = delay + sum(family.members[0].interval for family in families[1:] if isinstance(family, Family))
    least = SENSE["interval"].low
    if seconds - takes < least:
        first = families[0].members[0].interval if isinstance(families[0], Family) else least
        later = instead(serves, changed(serves, every=amount(ceil(takes + first), 0, "s")))
        raise Rejected(ServesTooSoon(Seconds(seconds), Seconds(takes + least)), said.span, remedies=(later,))
    how = f"serve every {seconds:g} s"
    for reader in known.readers.values():
        if family := reader.read.get(fed[0]):
            members = [replace(ball, name=f"{ball.name} {how}", interval=seconds - takes) for ball in family.members]
            reader.read.setdefault(f"{fed[0]} {how}", Family(f"{fed[0]} {how}", tuple(members)))
    return f"{fed[0]} {how}"


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
