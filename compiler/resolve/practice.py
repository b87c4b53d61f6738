"""The session: blocks of balls, rounds, rests, collects."""

from collections.abc import Mapping

from ..model.program import Item, Pause, Rounds, Serve, Session
from ..model.tree import Line, Node
from ..report.finding import Finding
from ..source import Span
from .amounts import Desk, Slip, count, one_of, quantity
from .head import notes

COLLECT_S = 120.0
"""A collect without a time counts as two minutes: common practice, no source."""


def read_session(line: Line, desk: Desk, feeds: Mapping[str, object]) -> Session | None:
    """The session; a feed that is named but could not be settled keeps its place out of it."""
    assert line.node
    lasts_node = line.node.node("quantity")
    lasts = desk.read(lambda: quantity(lasts_node, "session length")) if lasts_node else None
    items = _items(line, desk, feeds)
    if not line.children:
        desk.add(Finding("session-empty", line.span))
        return None
    title = line.node.words("TITLE")[0].text[1:-1]
    return Session(title, lasts, items, notes(line), line.span)


def _items(line: Line, desk: Desk, feeds: Mapping[str, object]) -> tuple[Item, ...]:
    found = []
    for child in line.children:
        if child.node is None:
            desk.whole = False
        elif child.kind != "note":
            item = desk.read(lambda: _item(child, desk, feeds))  # noqa: B023 - read at once
            if item is None:
                desk.whole = False
            else:
                found.append(item)
    return tuple(found)


def _item(line: Line, desk: Desk, feeds: Mapping[str, object]) -> Item | None:
    node = line.node
    assert node
    words = node.span.text
    if node.kind == "ladder":
        raise Slip("not-yet", node.span, what="a ladder")
    if node.kind == "rest":
        return Pause("rest", quantity(node.nodes("quantity")[0], "rest"), words, node.span)
    if node.kind == "collect":
        amount = node.node("quantity")
        return Pause("collect", quantity(amount, "collect") if amount else COLLECT_S, words, node.span)
    if node.kind == "rounds":
        number = count(node.words("NUMBER")[0], "rounds")
        if not line.children:
            raise Slip("rounds-empty", node.span)
        items = _items(line, desk, feeds)
        return Rounds(number, items, node.span) if items else None
    return _serve(line, node, words, feeds)


def _serve(line: Line, node: Node, words: str, feeds: Mapping[str, object]) -> Serve | None:
    amount, number, order = node.node("quantity"), node.word("NUMBER"), node.nodes("order")[0]
    seconds = quantity(amount, "block") if amount else None
    balls = count(number, "balls") if number else None
    kind = "cycle" if order.has("CYCLE") else "mix" if order.has("MIX") else "same"
    shares: list[tuple[int, str]] = []
    spans: dict[str, Span] = {}
    for share in order.nodes("share") or [order]:
        name, weight = share.words("NAME")[0], share.word("NUMBER") if share.kind == "share" else None
        if feeds:  # otherwise told once, of the whole script
            one_of(name.text, name.span, feeds, "feed")
        if kind == "mix" and name.text in spans:
            raise Slip("said-twice", name.span, (("first here", spans[name.text]),), what=name.text)
        spans[name.text] = name.span
        shares.append((count(weight, "share") if weight else 1, name.text))
    limit = order.word("NUMBER")
    at_most = count(limit, "number alike") if limit else None
    if at_most is not None and kind != "mix":
        raise Slip("at-most-here", order.words("AT_MOST")[0].span)
    if at_most is not None and len(shares) == 1:
        raise Slip("mix-of-one", order.words("AT_MOST")[0].span, name=shares[0][1])
    if any(feeds.get(name) is None for _, name in shares):
        return None
    return Serve(seconds, balls, kind, tuple(shares), at_most, words, notes(line), node.span)
