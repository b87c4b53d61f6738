"""Who plays a block, or each share of it."""

from collections.abc import Mapping
from itertools import pairwise
from typing import NamedTuple

from ...grammar import syntax as s
from ...grammar.edits import Edit
from ...grammar.facts import BallName, Names
from ...grammar.source import Span
from ...grammar.syntax import Line
from ..findings.names import Duplicate, UnknownName
from ..findings.turns import NobodyCalled, NobodysTurn, ShareForNobody
from ..model.player import Rotation
from .amounts import Rejected, one_of
from .feeds import FeedReader


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


def whose_shares(order: s.Order, whom: s.For | None, known: Known) -> tuple[str, ...]:
    """Who plays each share, where they are for different players; empty where the whole block is for all of its own.
    Raises Rejected where one share does not say it, or is for several."""
    shares = () if isinstance(order, s.Share) else order.shares
    said = [share.whom for share in shares]
    if not any(said):
        return ()
    found: list[str] = []
    for share, own in zip(shares, said, strict=True):
        if own is None:
            raise Rejected(ShareForNobody(BallName(share.name.text)), share.name.span)
        players = named(own, known)
        if whom:
            raise Rejected(Duplicate("for"), whom.span, (("first here", own.span),))
        if len(players) > 1:
            raise Rejected(NobodysTurn(Names(players)), own.span)
        found += players
    return tuple(found)
