"""The rungs of a ladder: where it starts, and which way is harder."""

from collections.abc import Mapping
from itertools import pairwise
from math import hypot

from ...grammar import syntax as s
from ...grammar.edits import changed, counted, instead, launches, left_out
from ...grammar.edits import name as named
from ...grammar.facts import Names
from ...grammar.finding import Finding
from ...grammar.frozen import replace
from ...grammar.print import text
from ...grammar.syntax import keyword
from ..findings.ladders import BetweenNoSets, LadderOfFamily, LadderOrder, NoSuchRung, SetsBothWays, SetsCut, SetsUnlike
from ..model.player import BODY_SHARES
from ..model.program import FLOWN_HIGH, BlockRest, Feed, FixedBy
from .amounts import Rejected, Rejections, count, quantity
from .feeds import FeedReader
from .members import Family


def single(node: s.Ladder, family: Family | None, up: s.Sentence | None, rungs: int) -> None:
    """Raises Rejected for a family, with the blocks in which its balls come by turns, harder from one to the next."""
    if family is None or not family.several:
        return
    first = family.members[0]
    made = next((first.said[word].span for word in first.words if word in first.elements), first.span)
    until = s.Until(up.hits, up.among, every=up.every) if isinstance(up, s.Up) else s.Until()
    second = named(f"{family.name}-2")
    among = float((until.among or until.hits or counted(1)).text)
    each = max(float(node.most.text) // rungs, among)
    if until.every:
        each = max(each + -each % among, 2 * among)  # whole sets, of which a second can follow
    blocks = (
        text(s.Counted(counted(each), launches("BALLS", each), s.Share(None, one), None, until))
        for one in (node.feed, second)
    )
    climbs = LadderOfFamily(family.name, node.rungs.kind, text(s.Feed(second, None, node.feed)), *blocks)
    raise Rejected(climbs, node.rungs.span, (("this makes it a family", made),))


def ordered(
    rules: Mapping[str, s.Sentence],
    feeds: tuple[Feed, ...],
    labels: tuple[str, ...],
    name: str,
    reader: FeedReader,
    rejections: Rejections,
) -> tuple[int, tuple[Feed, ...], tuple[str, ...]]:
    """The rung on which the ladder starts, and its rungs: as written, or with a `harder` or `easier` line the easiest
    first. It starts on the rung that is written first, if no `from` line names another."""
    begin = 0
    match rules.get("begin"):
        case s.Begin(rung):
            words = " ".join(rung.text.split())
            words = words if words in labels else words.removesuffix(" to contact")
            if words not in labels:
                raise Rejected(NoSuchRung(words, Names(labels)), rung.span)
            begin = labels.index(words)
    hard = [_hardness(feed, reader) for feed in feeds]
    ways = [rule for rule in rules.values() if isinstance(rule, s.Up | s.Down)]
    if any(way.word.kind in ("HARDER", "EASIER") for way in ways):
        order = sorted(range(len(feeds)), key=lambda i: hard[i])
        renamed = tuple(replace(feeds[i], name=f"{name} rung {place}") for place, i in enumerate(order, start=1))
        return order.index(begin), renamed, tuple(labels[i] for i in order)
    slow = {FixedBy.PACE: "slower", FixedBy.TIME: "more time"}
    easier = slow.get(feeds[0].fixed_by) if {"pace", "time"} & feeds[0].elements else None
    easier = "less spin" if "spin" in feeds[0].elements else easier
    if easier and ways and all(one > other for one, other in pairwise(hard)):
        way = ways[0]
        other = changed(way, word=keyword("HARDER" if isinstance(way, s.Up) else "EASIER"))
        warning = Finding(LadderOrder(labels[0], labels[-1], easier), way.span, remedies=(instead(way, other),))
        rejections.add(warning, breaks=False)
    return begin, feeds, labels


def sets(rules: Mapping[str, s.Sentence], node: s.Ladder, balls: int) -> tuple[bool, int | None, BlockRest | None]:
    """Whether the ladder counts in sets, after how many of them on a rung it goes up anyway, and the rest between two
    of them."""
    up, down, rest = rules.get("up"), rules.get("down"), rules.get("setrest")
    among = up.among if isinstance(up, s.Up) and up.every else None
    each, hits = (int(float(word.text)) if word else 0 for word in (among, up.hits if isinstance(up, s.Up) else None))
    if isinstance(down, s.Down) and (among or down.every):
        misses = int(float(down.number.text))
        alike = among and down.every and float(down.within.text) == each
        if not alike or hits + misses <= each:
            number = counted(max(misses, each - hits + 1)) if among else down.number
            other = changed(down, number=number, within=among or down.within, every=keyword("EVERY") if among else None)
            unlike = SetsUnlike(text(up) if up else "up the goal", text(down))
            message = SetsBothWays(hits, misses, each) if alike else unlike
            fits = among is None or misses <= each
            raise Rejected(message, down.span, remedies=(instead(down, other),) if fits else ())
    if rest is not None and among is None:
        raise Rejected(BetweenNoSets(), rest.span, remedies=(left_out(rest),))
    most = rules.get("mostsets")
    if most is not None and among is None:
        raise Rejected(BetweenNoSets("sets on a rung"), most.span, remedies=(left_out(most),))
    if among is None:
        return False, None, None
    whole_sets(node, node.most, balls, each)
    held = count(most.number, "sets") if isinstance(most, s.MostSets) else None
    if not isinstance(rest, s.SetRest):
        return True, held, None
    return True, held, BlockRest(quantity(rest.amount, "rest between sets"), each, rest)


def whole_sets(node: s.Ladder | s.Counted, number: s.Word, balls: int, each: int) -> None:
    """Raises Rejected where a ladder or a block ends within a set."""
    if not balls % each:
        return
    whole, kind, ladder = balls + each - balls % each, node.balls.kind, isinstance(node, s.Ladder)
    whole = whole if ladder else max(2 * each, whole)  # a single set of a block decides nothing
    amount = {"most" if ladder else "number": counted(whole), "balls": launches(kind, whole)}
    cut = SetsCut(balls, each, kind == "POINTS")
    raise Rejected(cut, number.span, remedies=(instead(node, changed(node, **amount)),))


def _hardness(feed: Feed, reader: FeedReader) -> float:
    """Rises with how hard a rung is: a faster ball, one that leaves less time, one with more spin, one lower over the
    net, which comes sooner, one deeper, one met farther from the waist. Common practice, no source."""
    if "spin" in feed.elements:
        return hypot(feed.topspin, feed.sidespin)
    if "depth" in feed.elements:
        return feed.depth.aim if feed.depth else 0.0
    if feed.fixed_by is FixedBy.AT_PLAYER:
        waist = BODY_SHARES["waist"] * reader.ground.player.stature_on(reader.ground.court.name)
        return abs(feed.value - waist)
    return -feed.value if feed.fixed_by in (*FLOWN_HIGH, FixedBy.TIME) else feed.value
