"""Several players: each gets the feeds and variations as they read for this player's hand and body."""

from collections.abc import Mapping
from typing import NamedTuple

from ...grammar.frozen import replace
from ..model.program import Feed, Point, Session, Variation
from .feeds import FeedReader
from .members import Family


class ReadFor(NamedTuple):
    """What the script says, read for one player; None for a feed that could not be read."""

    reader: FeedReader
    variations: Mapping[str, Variation]
    feeds: Mapping[str, Family | None]

    @property
    def player(self) -> str:
        return self.reader.ground.player.name


class Parts(NamedTuple):
    """What of a program depends on who plays, see `Program`."""

    feeds: dict[str, Feed]
    families: dict[str, tuple[str, ...]]
    versions: dict[tuple[str, str], str]
    variations: dict[str, Variation]


def parts(readings: tuple[ReadFor, ...], rungs: Mapping[str, Feed], played: Mapping[str, set[str]]) -> Parts:
    """Every ball once for each player who gets it, by what each plays; a ball that nobody plays is the first player's.
    A ball or a variation that is not the same for all has the player in its name."""
    first, *_ = readings
    variations, renamed = dict(first.variations), dict[tuple[str, str], str]()
    for other in readings[1:]:
        for name, variation in other.variations.items():
            if variation != first.variations[name]:
                renamed[other.player, name] = own = f"{name} for {other.player}"
                variations[own] = replace(variation, name=own)
    feeds, families, versions = dict[str, Feed](), dict[str, tuple[str, ...]](), dict[tuple[str, str], str]()
    for name in dict.fromkeys((*first.feeds, *first.reader.read)):
        of = takers(readings, played, name)
        said = [(one.player, family) for one in of if (family := one.reader.read.get(name))]
        for player, family in said:
            own_names = [f"{feed.name} for {player}" if len(of) > 1 else feed.name for feed in family.members]
            named = zip(own_names, family.members, strict=True)
            feeds |= {own: feed if own == feed.name else replace(feed, name=own) for own, feed in named}
            canonical = families.setdefault(name, tuple(own_names))
            versions |= {(ball, player): own for ball, own in zip(canonical, own_names, strict=False)}
    feeds |= rungs
    for name, feed in feeds.items():
        if aims := renamed.get((feed.player, feed.variation or "")):
            feeds[name] = replace(feed, variation=aims)
    return Parts(feeds, families, versions, variations)


def takers(readings: tuple[ReadFor, ...], played: Mapping[str, set[str]], feed: str) -> list[ReadFor]:
    """The players who get a feed; a feed that nobody plays is the first player's."""
    return [one for one in readings if one.player in played.get(feed, ())] or [readings[0]]


def who_plays(session: Session | None, points: Mapping[str, Point]) -> dict[str, set[str]]:
    """The players of each feed."""
    found: dict[str, set[str]] = {}
    for play in session.plays if session else ():
        for share, players in play.shared:
            for feed, who in points[share].fed(players) if share in points else ((share, players),):
                found.setdefault(feed, set()).update(who)
    return found
