"""The player's jobs, and zones of the coach's own."""

from collections.abc import Mapping

from ...grammar.source import Span
from ...grammar.syntax import Line, Node
from ..model.program import Range, Reply, Variation, Zone
from ..report.finding import Finding
from .amounts import Desk, Slip, count, extent, one_of, quantity
from .head import notes
from .places import Ground
from .spins import spin_of

_WISHES = {"x": "side", "y": "depth", "over_net": "height over net", "spin": "spin", "pace": "pace"}


def read_zone(line: Line, desk: Desk, ground: Ground) -> Zone | None:
    """The zone, or None where a line of it could not be read."""
    found: dict[str, Node] = {}
    for child in line.children:
        if child.node is None:
            return None
        if child.kind in found:
            also = (("first here", found[child.kind].span),)
            raise Slip("said-twice", child.span, also, what=child.kind)
        if len(child.node.parts) != 2:  # a list, or so many ways
            raise Slip("zone-incomplete", child.span)
        found[child.kind] = child.node
    if len(found) != 2:
        raise Slip("zone-incomplete", line.span)
    side = desk.read(lambda: ground.side(found["side"].nodes("lateral")[0]))
    depth = desk.read(lambda: ground.depth(found["depth"].nodes("place")[0]))
    return Zone(side, depth) if side and depth else None


def read_variation(line: Line, desk: Desk, ground: Ground, zones: Mapping[str, Zone | None]) -> Variation:
    assert line.node
    name, title = line.node.words("NAME")[0], line.node.words("TITLE")[0]
    when, goal, reply = None, None, None
    seen: dict[str, Line] = {}
    for child in line.children:
        if child.kind in seen and child.kind in ("when", "reply", "goal"):
            desk.add(Finding("said-twice", child.span, {"what": child.kind}, (("first here", seen[child.kind].span),)))
            continue
        seen[child.kind] = child
        node = child.node
        if node is None:
            desk.whole = False
        elif child.kind == "when":
            when = node.words("FREE_TEXT")[0].text
        elif child.kind == "goal":
            goal_node = node
            goal = desk.read(lambda: count(goal_node.words("NUMBER")[0], "goal"))  # noqa: B023 - read at once
        elif child.kind == "reply":
            reply_node = node
            reply = desk.read(lambda: _reply(reply_node, ground, zones))  # noqa: B023 - read at once
    return Variation(name.text, title.text[1:-1], when, reply, goal, notes(line), line.span)


def _reply(node: Node, ground: Ground, zones: Mapping[str, Zone | None]) -> Reply:
    found: dict[str, object] = {}
    spans: dict[str, Span] = {}
    for wish in node.nodes("wish"):
        for key, value in _wish(wish, ground, zones).items():
            if key in found:
                raise Slip("said-twice", wish.span, (("first here", spans[key]),), what=f"the reply's {_WISHES[key]}")
            found[key], spans[key] = value, wish.span
    spin = found.pop("spin", (None, None))
    assert isinstance(spin, tuple)
    blank = dict.fromkeys(("x", "y", "over_net", "pace"))
    words = node.span.text.split(None, 1)[1]
    return Reply(words, **{**blank, **found}, topspin=spin[0], sidespin=spin[1], span=node.span, spans=spans)  # type: ignore[arg-type]


def _wish(wish: Node, ground: Ground, zones: Mapping[str, Zone | None]) -> dict[str, object]:
    """A reply lands in the feeder's half: depths are counted from its net and its baseline, left and right are still
    the player's."""
    if wish.has("AT_LEAST"):
        return {"over_net": quantity(wish.nodes("quantity")[0], "height over net")}
    spins, pace, lateral, place, zone = (
        wish.node("spins"), wish.node("extent"), wish.node("lateral"), wish.node("place"), wish.word("NAME"),
    )  # fmt: skip
    if spins:
        return {"spin": spin_of(spins)}
    if pace:
        speed = extent(pace, "pace")
        if speed.low != speed.high:
            raise Slip("range-not-here", pace.span, what="the reply's pace")
        return {"pace": speed.aim}
    if lateral:
        text = lateral.span.text
        if "hand" in text:
            raise Slip("reply-side", lateral.span)
        return {"x": ground.side(lateral)}
    if place:
        return {"y": _across(ground.depth(place))}
    assert zone
    into = zones[one_of(zone.text, zone.span, zones, "zone")]
    return {"x": into.x, "y": _across(into.y)} if into else {}


def _across(depth: Range) -> Range:
    return Range(-depth.high, -depth.low, -depth.aim)
