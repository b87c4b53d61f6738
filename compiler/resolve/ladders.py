"""A ladder: its rungs, where it starts, which way is harder, and what takes the player up and down."""

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
from ...grammar.syntax import Line, keyword
from ..findings.bounds import LadderOfOpen
from ..findings.goals import GoalEndsNothing
from ..findings.ladders import (
    BetweenNoSets,
    HarderOfFeeds,
    LadderOfFamily,
    LadderOfOne,
    LadderOnlyUp,
    LadderOnTheFull,
    LadderOrder,
    LadderWithoutUp,
    NoSuchRung,
    SetsBothWays,
    SetsCut,
    SetsUnlike,
)
from ..findings.names import Duplicate
from ..findings.same_ball import SameBallOnly
from ..findings.turns import OneByMarks
from ..model.player import BODY_SHARES
from ..model.program import FLOWN_HIGH, BlockRest, BroadGoal, Feed, FixedBy, Goal, LadderRules, Play
from ..said_from import said_from
from . import options
from .amounts import Rejected, Rejections, count, hits_among, launch_to_launch, one_of, quantity
from .feeds import FeedReader
from .goals import hit_if
from .members import freed, member, way_of
from .paced import every, fed_from, paced
from .slots import FIXING, slot_of, word_of
from .stands import own_place
from .turns import Known, words_for


def read_ladder(line: Line, node: s.Ladder, words: str, known: Known, rejections: Rejections) -> Play | None:
    """The rungs are balls of the program, or become some; without an `up` line the goal of their variation is the
    rule."""
    players = known.players or tuple(player for player in known.readers if player)
    if len(players) > 1:
        raise Rejected(OneByMarks(Names(players)), node.span)
    reader, first = known.readers[players[0] if players else ""], dict[str, s.Word]()
    for name in node.feeds:
        one_of(name.text, name.span, reader.known, "feed")
        if name.text in first:
            raise Rejected(Duplicate(name.text), name.span, (("first here", first[name.text].span),))
        first[name.text] = name
    rules, notes = dict[str, s.Sentence](), tuple[str, ...]()
    for child in line.children:
        if child.sentence is None:
            return None
        if isinstance(child.sentence, s.Note | s.HitIf):
            continue
        if child.kind in rules:
            raise Rejected(Duplicate(child.sentence.opens), child.span, (("first here", rules[child.kind].span),))
        rules[child.kind] = child.sentence
        notes = child.notes if child.kind == "setrest" else notes
    families = [reader.read.get(name) for name in first]
    if any(family is None for family in families):
        return None
    words = words_for(words, None, players, known)
    balls = most_balls(node, rules)
    in_sets, rest = sets(rules, node, balls)
    rest = replace(rest, notes=notes) if rest else None
    most_sets, down_sets = on_a_rung(rules, in_sets)
    down = rules.get("down")
    misses = (count(down.number, "misses"), count(down.within, "misses")) if isinstance(down, s.Down) else (None, None)
    if down is not None and misses[0] is not None and misses[1] is not None and misses[0] > misses[1]:
        raise Rejected(LadderOnlyUp(misses[0], misses[1]), down.span)
    play = Play(None, balls, "ladder", (), (), None, words, line.notes, node.span, players=players, rest=rest)
    play = replace(play, hit_if=known.hit_if + hit_if(line))
    if node.rungs is None:
        climbs, labels, start = "", tuple(first), _of_feeds(rules, tuple(first))
        play = paced(line, replace(play, shares=tuple((1, name) for name in first)), known)
        aims = [ball.variation or "" for family in families if family for ball in family.members]
    else:
        climbs, start, feeds, labels = _of_one(node, rules, reader, rejections)
        if isinstance(rule := rules.get("interval"), s.Interval):
            seconds = launch_to_launch(rule)
            feeds, play = (
                tuple(every(feed, rule, seconds) for feed in feeds),
                replace(play, words=f"{words}, {text(rule)}"),
            )
        if stands := own_place(line.children, known.feeder) or known.stands:
            feeds = tuple(fed_from(feed, *stands, known) for feed in feeds)
        feeds = _rung_feeds(node.feeds[0].text, feeds, reader)
        play, aims = replace(play, shares=tuple((1, feed.name) for feed in feeds)), [feeds[0].variation or ""]
    up = _up(rules, list(dict.fromkeys(aims)), node, reader)
    if up is None:
        return None
    ends = "lastwon" in rules
    counts = (*misses, start, in_sets, most_sets, down_sets, ends)
    return replace(play, ladder=LadderRules(climbs, labels, up, *counts))


def _up(rules: Mapping[str, s.Sentence], aims: list[str], node: s.Ladder, reader: FeedReader) -> Goal | None:
    """What takes the player up a rung; None where what could not be read may say it."""
    match rules.get("up"):
        case s.Up(hits=hits, among=among) if hits:
            return hits_among(hits, among)
    goals = [reader.goals.get(aim) for aim in aims]
    broad = next(((aim, goal) for aim, goal in zip(aims, goals, strict=True) if isinstance(goal, BroadGoal)), None)
    if broad:
        raise Rejected(GoalEndsNothing(broad[0], "when the ladder goes up", broad[1].each), node.span)
    if any(aim and aim not in reader.goals for aim in aims):
        return None
    if not isinstance(goals[0], Goal) or set(goals) != {goals[0]}:
        raise Rejected(LadderWithoutUp(len(set(goals)) > 1), node.span)
    return goals[0]


def _of_feeds(rules: Mapping[str, s.Sentence], names: tuple[str, ...]) -> int:
    """The rung on which a ladder starts whose rungs are feeds."""
    for rule in rules.values():
        if isinstance(rule, s.Up | s.Down | s.DownSets) and rule.word.kind in ("HARDER", "EASIER"):
            raise Rejected(HarderOfFeeds(), rule.span)
    return _begin(rules, names)


def _of_one(
    node: s.Ladder, rules: Mapping[str, s.Sentence], reader: FeedReader, rejections: Rejections
) -> tuple[str, int, tuple[Feed, ...], tuple[str, ...]]:
    """What the rungs of a feed differ in, the rung on which the ladder starts, the rungs, and the words of each."""
    name = node.feeds[0].text
    family = reader.read[name]
    if node.rungs and family and family.several:
        made = family.members[0]
        here = next((made.said[word].span for word in made.words if word in made.elements), made.span)
        second = named(f"{name}-2")
        ladder = text(changed(node, feeds=(*node.feeds, second), rungs=None))
        message = LadderOfFamily(name, node.rungs.kind, text(s.Feed(second, None, node.feeds[0])), ladder)
        raise Rejected(message, node.rungs.span, (("this makes it a family", here),))
    assert node.rungs
    climbs, feeds, labels = climbed(reader, node.rungs, name)
    return climbs, *ordered(rules, feeds, labels, name, reader, rejections)


def climbed(reader: FeedReader, node: s.Rungs, name: str) -> tuple[str, tuple[Feed, ...], tuple[str, ...]]:
    """What a ladder climbs in, the feed once for each rung, and each rung's words. The ladder's line replaces the
    feed's."""
    family = reader.read[name]
    assert family
    base = family.members[0]
    if base.same_as:
        raise Rejected(SameBallOnly(name, base.same_as.family, word_of(slot_of(node))), node.span)
    base = base if base.best else replace(base, free=base.free - {"spin"})  # its rungs are flat
    slot = slot_of(node)
    # The player goes with each rung to where the ball is at a height, or meets it on the full as high as it comes.
    left = base.free - {"height"} - ({"stance"} if slot != "bounce height" else set())
    if left:
        raise Rejected(LadderOfOpen(name, Names(sorted(left)), slot == "bounce height"), node.span)
    match node:
        case s.Pace():
            offered = options.paces(node)
        case s.Time():
            offered = options.times(node)
        case s.Spin():
            offered = options.spins(node)
        case s.Depth():
            offered = options.depths(node, reader.ground)
        case s.Height():
            offered = options.heights(node, reader.ground)
    if len(offered) < 2:
        raise Rejected(LadderOfOne(), node.span)
    if base.depth is None and slot in ("depth", "bounce height"):
        raise Rejected(LadderOnTheFull(name), node.span)
    if slot in FIXING:
        old = base.phase if slot == "bounce height" else None
        base = freed(base, way_of([node]) or old)
    rungs = [
        member(base, [(slot, option._replace(alone=False))], f"{name} rung {i}")
        for i, option in enumerate(offered, start=1)
    ]
    over = {"net height": " over net", "top height": " at the top"}.get(slot, "")
    labels = [option.words + over for option in offered]
    if slot == "depth" and len(set(labels)) < len(labels):  # steps through one zone: each is named by its aim
        labels = [text(said_from(rung, reader.ground.court, rung.depth.aim)) for rung in rungs if rung.depth]
    return word_of(slot), tuple(rungs), tuple(labels)


def _rung_feeds(name: str, feeds: tuple[Feed, ...], reader: FeedReader) -> tuple[Feed, ...]:
    """The rungs of a feed, noted as balls of the program; a second ladder of the same feed has rungs of its own."""
    reader.ladders[name] = reader.ladders.get(name, 0) + 1
    if reader.ladders[name] > 1:
        feeds = tuple(replace(f, name=f"{f.name}, ladder {reader.ladders[name]}") for f in feeds)
    reader.extra.update({feed.name: feed for feed in feeds})
    return feeds


def _begin(rules: Mapping[str, s.Sentence], labels: tuple[str, ...]) -> int:
    """The rung that the line `from` names, or the first."""
    match rules.get("begin"):
        case s.Begin(rung):
            words = " ".join(rung.text.split())
            words = words if words in labels else words.removesuffix(" to contact")
            if words not in labels:
                raise Rejected(NoSuchRung(words, Names(labels)), rung.span)
            return labels.index(words)
    return 0


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
    begin = _begin(rules, labels)
    hard = [_hardness(feed, reader) for feed in feeds]
    ways = [rule for rule in rules.values() if isinstance(rule, s.Up | s.Down | s.DownSets)]
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


def _set_of(rules: Mapping[str, s.Sentence]) -> s.Word | None:
    """How many balls a set has; None where the ladder counts none."""
    up = rules.get("up")
    return up.among if isinstance(up, s.Up) and up.every else None


def most_balls(node: s.Ladder, rules: Mapping[str, s.Sentence]) -> int:
    """The most balls of a ladder, whose line may say them in sets."""
    if node.balls.kind == "BALLS":
        return count(node.most, "balls")
    each = _set_of(rules)
    if each is None:
        number = int(float(node.most.text)) * 8
        in_balls = instead(node, changed(node, most=counted(number), balls=launches("BALLS", number)))
        raise Rejected(BetweenNoSets(f"up to {node.most.text} sets"), node.most.span, remedies=(in_balls,))
    return count(node.most, "sets") * int(float(each.text))


def on_a_rung(rules: Mapping[str, s.Sentence], in_sets: bool) -> tuple[int | None, int | None]:
    """After how many sets on a rung a ladder goes up whatever they were, and after how many of which none led up it
    goes down."""
    up, down = rules.get("mostsets"), rules.get("downsets")
    for said in (up, down):
        if said is not None and not in_sets:
            raise Rejected(BetweenNoSets("sets on a rung"), said.span, remedies=(left_out(said),))
    if up is not None and down is not None:
        raise Rejected(Duplicate("sets on a rung"), down.span, (("first here", up.span),), remedies=(left_out(down),))
    return (
        count(up.number, "sets") if isinstance(up, s.MostSets) else None,
        count(down.number, "sets") if isinstance(down, s.DownSets) else None,
    )


def sets(rules: Mapping[str, s.Sentence], node: s.Ladder, balls: int) -> tuple[bool, BlockRest | None]:
    """Whether the ladder counts in sets, and the rest between two of them."""
    up, down, rest, among = rules.get("up"), rules.get("down"), rules.get("setrest"), _set_of(rules)
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
    if among is None:
        return False, None
    whole_sets(node, node.most, balls, each)
    if not isinstance(rest, s.SetRest):
        return True, None
    return True, BlockRest(quantity(rest.amount, "rest between sets"), each, rest)


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
