"""Lists, series and so many ways: what one line of a feed offers, one option a member of the family."""

from collections.abc import Callable
from typing import Any, NamedTuple, TypeVar

from ...grammar.source import Span
from ...grammar.syntax import Node
from ...grammar.units import from_si, number
from ..model.player import BODY_SHARES
from ..model.program import Aim, Range
from .amounts import Slip, count, extent, of_series, one_of
from .places import Ground
from .spins import spin_of

T = TypeVar("T")


class Option(NamedTuple):
    """One value of a line, in the coach's words, and the words' place. `alone` where the words are the whole line."""

    value: Any
    words: str
    span: Span
    alone: bool


def sides(node: Node, ground: Ground) -> list[Option]:
    return _zones(node, node.nodes("lateral"), ground.side)


def depths(node: Node, ground: Ground) -> list[Option]:
    return _zones(node, node.nodes("place"), ground.depth)


def spins(node: Node) -> list[Option]:
    return _each(node, node.nodes("spins"), spin_of)


def paces(node: Node) -> list[Option]:
    """(Aim, m/s)."""
    return [
        option._replace(value=(Aim.PACE, option.value))
        for option in _amounts(node, node.nodes("extent", "series"), "pace")
    ]


def heights(node: Node, ground: Ground) -> list[Option]:
    """(Aim, m): over the net, at the player, or the top of the bounce."""
    levels = node.nodes("level")
    if node.has("OVER_NET"):
        for level in levels:
            if not level.nodes("extent", "series"):
                raise Slip("height-over-net", level.span)
        found = _amounts(node, [inner for level in levels for inner in level.nodes()], "height over net")
        return [option._replace(value=(Aim.OVER_NET, option.value)) for option in found]
    top = [level for level in levels if level.has("TOP_OF_BOUNCE")]
    if top:
        if len(levels) > 1:
            raise Slip("top-in-a-list", top[0].span)
        return [Option((Aim.TOP_OF_BOUNCE, 0.0), node.span.text.split(None, 1)[1], node.span, True)]
    found = []
    for level in levels:
        word = level.word("NAME")
        if word:
            name = one_of(word.text, word.span, BODY_SHARES, "body height", ("rising", "falling"))
            height = ground.player.height_of(name)
            if height is None:
                raise Slip("stature-missing", word.span, part=name)
            found.append(Option(height, name, level.span, len(levels) == 1))
        else:
            found += _amounts(node, level.nodes(), "height at the player", len(levels) == 1)
    return [option._replace(value=(Aim.AT_PLAYER, option.value)) for option in found]


def _zones(node: Node, parts: list[Node], reader: Callable[[Node], Range]) -> list[Option]:
    """Each place, or one place aimed at in so many ways: the zone stays whole, the aim moves through it."""
    ways = _ways(node, len(parts))
    if ways is None:
        return _each(node, parts, reader)
    zone = reader(parts[0])
    extents = [e for inner in parts[0].nodes() for e in inner.nodes("extent")]
    if extents and not extents[0].has("TO"):
        raise Slip("ways-of-one", parts[0].span)
    # The middles of so many equal parts: an aim at the zone's very edge would miss it every other time.
    aims = [zone.low + (zone.high - zone.low) * (i + 0.5) / ways for i in range(ways)]
    if _backwards(parts[0], zone):
        aims.reverse()
    return [Option(Range(zone.low, zone.high, aim), parts[0].span.text, node.span, False) for aim in aims]


def _backwards(part: Node, zone: Range) -> bool:
    """Whether the first number of a range is its higher coordinate: ways go through it as it is written."""
    if part.kind == "lateral":
        offset = part.node("offset")
        left = zone.low + zone.high > 0
        return offset is not None and left == offset.has("SIDELINE")
    distance = part.node("distance")
    return distance is not None and distance.has("INSIDE")


def _each(node: Node, parts: list[Node], reader: Callable[[Node], T]) -> list[Option]:
    return [Option(reader(part), part.span.text, part.span, len(parts) == 1) for part in parts]


def _amounts(node: Node, parts: list[Node], what: str, alone: bool = True) -> list[Option]:
    """SI values of extents and series: one each, or so many ways through a single range."""
    ways = _ways(node, len(parts))
    found = []
    for part in parts:
        if part.kind == "series":
            found += [Option(value, words, part.span, False) for value, words in of_series(part, what)]
            continue
        range_ = extent(part, what)
        if ways is not None:
            if range_.low == range_.high:
                raise Slip("ways-of-one", part.span)
            unit = part.words("UNIT")[0].text if part.word("UNIT") else "m"
            found += [
                Option(value, f"{number(from_si(value, unit), 2)} {unit}", node.span, False)
                for value in (range_.low + (range_.high - range_.low) * i / (ways - 1) for i in range(ways))
            ]
        elif range_.low != range_.high:
            raise Slip("range-not-here", part.span, what=what)
        else:
            found.append(Option(range_.aim, part.span.text, part.span, alone and len(parts) == 1))
    return found


def _ways(node: Node, parts: int) -> int | None:
    ways = node.node("ways")
    if ways is None:
        return None
    if parts != 1 or any(level.node("series") for level in node.nodes("level")):
        raise Slip("ways-of-a-list", ways.span)
    return count(ways.words("NUMBER")[0], "ways")
