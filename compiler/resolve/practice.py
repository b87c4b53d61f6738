"""The session: blocks of balls, ladders, rounds, rests, collects."""

from collections.abc import Mapping
from dataclasses import replace

from ...grammar.source import Span
from ...grammar.syntax import Line, Node
from ..model.program import Item, LadderRules, Pause, Rounds, Serve, Session
from ..report.finding import Finding
from .amounts import Desk, Slip, count, one_of, quantity
from .feeds import FeedReader
from .head import notes

COLLECT_S = 120.0
"""A collect without a time counts as two minutes: common practice, no source."""


def read_session(line: Line, desk: Desk, feeds: Mapping[str, object], reader: FeedReader) -> Session | None:
    """The session; a feed that is named but could not be settled keeps its place out of it."""
    assert line.node
    lasts_node = line.node.node("quantity")
    lasts = desk.read(lambda: quantity(lasts_node, "session length")) if lasts_node else None
    items = _items(line, desk, feeds, reader)
    if not line.children:
        desk.add(Finding("session-empty", line.span))
        return None
    title = line.node.words("TITLE")[0].text[1:-1]
    return Session(title, lasts, items, notes(line), line.span)


def _items(line: Line, desk: Desk, feeds: Mapping[str, object], reader: FeedReader) -> tuple[Item, ...]:
    found = []
    for child in line.children:
        if child.node is None:
            desk.whole = False
        elif child.kind != "note":
            item = desk.read(lambda: _item(child, desk, feeds, reader))  # noqa: B023 - read at once
            if item is None:
                desk.whole = False
            else:
                found.append(item)
    return tuple(found)


def _item(line: Line, desk: Desk, feeds: Mapping[str, object], reader: FeedReader) -> Item | None:
    node = line.node
    assert node
    words = node.span.text
    if node.kind == "ladder":
        return _ladder(line, node, words, reader)
    if node.kind == "rest":
        return Pause("rest", quantity(node.nodes("quantity")[0], "rest"), words, node.span)
    if node.kind == "collect":
        amount = node.node("quantity")
        return Pause("collect", quantity(amount, "collect") if amount else COLLECT_S, words, node.span)
    if node.kind == "rounds":
        number = count(node.words("NUMBER")[0], "rounds")
        if not line.children:
            raise Slip("rounds-empty", node.span)
        items = _items(line, desk, feeds, reader)
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
    return Serve(seconds, balls, kind, tuple(shares), at_most, None, words, notes(line), node.span)


def _ladder(line: Line, node: Node, words: str, reader: FeedReader) -> Serve | None:
    """The rungs become balls of the program; without an `up` line the goal of the feed's variation is the rule."""
    name, most, rungs = node.words("NAME")[0], node.words("NUMBER")[0], node.nodes("rungs")[0]
    one_of(name.text, name.span, reader.known, "feed")
    balls = count(most, "balls")
    rules: dict[str, Node] = {}
    for child in line.children:
        if child.node is None:
            return None
        if child.kind in rules:
            raise Slip("said-twice", child.span, (("first here", rules[child.kind].span),), what=child.kind)
        rules[child.kind] = child.node
    if reader.read.get(name.text) is None:
        return None
    quantity_, feeds, labels = reader.rungs(rungs, name.text)
    goal = reader.goals.get(feeds[0].variation or "")
    up = count(rules["up"].words("NUMBER")[0], "goal") if "up" in rules else goal
    if up is None:
        raise Slip("ladder-without-up", node.span)
    down = within = None
    if "down" in rules:
        numbers = rules["down"].words("NUMBER")
        down, within = count(numbers[0], "misses"), count(numbers[1], "misses")
        if down > within:
            raise Slip("down-never", rules["down"].span, down=str(down), within=str(within))
    reader.ladders[name.text] = reader.ladders.get(name.text, 0) + 1
    if reader.ladders[name.text] > 1:  # a second ladder of the same feed has rungs of its own
        feeds = tuple(replace(f, name=f"{f.name}, ladder {reader.ladders[name.text]}") for f in feeds)
    reader.extra.update({feed.name: feed for feed in feeds})
    shares = tuple((1, feed.name) for feed in feeds)
    ladder = LadderRules(quantity_, labels, up, down, within)
    return Serve(None, balls, "ladder", shares, None, ladder, words, (), node.span)
