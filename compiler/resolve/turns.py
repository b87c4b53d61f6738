"""Who plays a block, or each share of it."""

from collections.abc import Mapping
from itertools import pairwise
from typing import NamedTuple

from ...grammar import syntax as s
from ...grammar.edits import Edit
from ...grammar.facts import BallName, Names
from ...grammar.frozen import replace
from ...grammar.source import Span
from ...grammar.syntax import Line
from ..findings.names import Duplicate, UnknownName
from ..findings.turns import NobodyCalled, NobodysTurn, ShareForNobody
from ..model.player import Rotation
from ..model.program import FeederPlace, HitIf, Point
from .amounts import Rejected, one_of
from .feeds import FeedReader
from .stands import HeadFeeder


class Known(NamedTuple):
    """What a block can play, by name; None is one that could not be read."""

    feeds: Mapping[str, object]
    points: Mapping[str, object]
    readers: Mapping[str, FeedReader]
    """By the name of the player; "" if the only one has none."""
    rotation: Rotation
    players: tuple[str, ...] = ()
    """Who plays, if a line above says it."""
    said: s.For | None = None
    """That line."""
    rounds: bool = False
    """Whether it stands in rounds."""
    scored: bool = False
    """Whether these, or rounds around them, have a score."""
    hit_if: tuple[HitIf, ...] = ()
    """What lines above say that else decides a hit."""
    feeder: HeadFeeder | None = None
    """Where the feeder stands, if the head says it."""
    stands: tuple[s.Stands, FeederPlace] | None = None
    """Where it stands here, if rounds around it say so."""


def named(node: s.For, known: Known) -> tuple[str, ...]:
    """The players of a line that says who plays, each once; under another such line, some of those there."""
    called = [name for name in known.readers if name]
    if not called:
        raise Rejected(NobodyCalled(node.names[0].text), node.names[0].span)
    for before, name in pairwise((node.names[0], *node.names)):
        if name.text not in called and (name.text in known.feeds or name.text in known.points):
            comma = Edit(
                Span(name.span.source, before.span.end, name.span.start), ", "
            )  # the next share, joined by and
            unknown = UnknownName(near=Names(), kind="player", name=name.text, known=Names(called))
            raise Rejected(unknown, name.span, remedies=(comma,) if before is not name else ())
        one_of(name.text, name.span, called, "player")
        if known.said and name.text not in known.players:
            raise Rejected(Duplicate("for"), node.span, (("first here", known.said.span),))
    return tuple(dict.fromkeys(name.text for name in node.names))


def players_of(line: Line, whom: s.For | None, known: Known) -> tuple[str, ...]:
    """Who plays a block: who it is for, or all. Several have to know when they change."""
    found = named(whom, known) if whom else known.players or tuple(name for name in known.readers if name)
    if len(found) > 1 and known.rotation.every is None:
        raise Rejected(NobodysTurn(Names(found)), line.span)
    return found


def words_for(words: str, whom: s.For | None, players: tuple[str, ...], known: Known) -> str:
    """The words of a block, with those who play it where another line says so."""
    return f"{words} for {' and '.join(players)}" if known.players and not whom else words


def whose_shares(shares: tuple[s.Share, ...], whom: s.For | None, known: Known) -> tuple[tuple[str, ...], ...]:
    """Who plays each share of a block or each ball of a point, where they are for different players: one, or those of a
    point that says it of its own balls. Empty where the whole block is for all of its own.
    Raises Rejected where one share does not say it, or is for several."""
    points = [known.points.get(share.name.text) for share in shares]
    inside = [tuple(dict.fromkeys(point.whose)) if isinstance(point, Point) else () for point in points]
    if not any(inside) and not any(share.whom for share in shares):
        return ()
    if whom and any(inside) and not inside[-1]:  # where the others say it, too, the last is that of its share
        shares, whom = (*shares[:-1], replace(shares[-1], whom=whom).at(shares[-1].span)), None
    above = named(whom, known) if whom else known.players
    found: list[tuple[str, ...]] = []
    for share, point, players in zip(shares, points, inside, strict=True):
        own = share.whom
        if players and isinstance(point, Point):
            fits = not above or set(players) <= set(above)
            if again := own or (None if fits else whom):
                start = (share.name if own else shares[-1]).span.end
                only = Edit(Span(again.span.source, start, again.span.end), "")
                raise Rejected(Duplicate("for"), again.span, (("first here", point.span),), remedies=(only,))
            if not fits and known.said:
                raise Rejected(Duplicate("for"), share.span, (("first here", known.said.span),))
        elif own is None:
            raise Rejected(ShareForNobody(BallName(share.name.text)), share.name.span)
        else:
            players = named(own, known)
        if whom and own:
            raise Rejected(Duplicate("for"), whom.span, (("first here", own.span),))
        if own and len(players) > 1:
            raise Rejected(NobodysTurn(Names(players)), own.span)
        found.append(players)
    return tuple(found)
