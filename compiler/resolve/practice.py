"""The session: blocks of balls, ladders, rounds, rests, collects."""

from collections.abc import Mapping
from itertools import chain
from math import gcd

from ...grammar import syntax as s
from ...grammar.edits import changed, instead, launches
from ...grammar.facts import Names
from ...grammar.finding import Finding
from ...grammar.frozen import replace
from ...grammar.print import text
from ...grammar.source import Span
from ...grammar.syntax import Line, sentences
from ..findings.names import Duplicate
from ..findings.session import (
    BetweenNoRounds,
    CountedAs,
    InOrderForOne,
    PercentOf,
    RoundsEmpty,
    SessionEmpty,
    TurnsOfPoints,
)
from ..findings.turns import ForNothing, OneByMarks
from ..model.player import Rotation
from ..model.program import COLLECT_S, Item, OwnServes, Pause, Play, Rounds, Session
from .amounts import Rejected, Rejections, count, hits_among, one_of, quantity, within
from .ends import ended, first_to, record, together
from .feeds import FeedReader
from .goals import goal_under, hit_if
from .in_a_row import runs_of
from .ladders import read_ladder
from .members import Family
from .paced import paced
from .rested import rested
from .scores import score_under, scored
from .stands import HeadFeeder, own_place
from .turns import Known, named, players_of, whose_shares, words_for

UNPLAYED = (s.Note, s.HitIf, s.Stands, s.Goal, s.Score, s.ScoreGoal)
"""What stands under a line and is no block."""


def read_session(
    line: Line,
    node: s.Session,
    rejections: Rejections,
    feeds: Mapping[str, object],
    points: Mapping[str, object],
    readers: Mapping[str, FeedReader],
    rotation: Rotation,
    feeder: HeadFeeder | None,
) -> Session | None:
    """The session, without the blocks of feeds and points that could not be resolved."""
    lasting = node.lasts
    lasts = rejections.read(lambda: quantity(lasting, "session length")) if lasting else None
    items = _items(line, rejections, Known(feeds, points, readers, rotation, hit_if=hit_if(line), feeder=feeder))
    if not _holds_blocks(line):
        rejections.add(Finding(SessionEmpty(), line.span))
        return None
    refill, most = _refill(line, rejections), node.most is not None
    goal = rejections.read(lambda: goal_under(line))
    session = Session(node.title.unquoted, lasts, items, line.notes, line.span, refill, node, most, goal)
    shares = {name for play in session.plays for _, name in play.shares}
    said = next(iter(readers.values())).ground.player.sentence
    line_of = [trait for trait in said.traits if isinstance(trait, s.ChangingEvery)] if said else []
    turns = next((one for one in (rotation.sentence, *line_of) if one and one.balls), None)
    if rejections.whole and turns and turns.balls and turns.balls.kind == "POINTS" and not shares & points.keys():
        every = turns.every if isinstance(turns, s.Rotation) else turns.number
        balls = instead(turns, changed(turns, balls=launches("BALLS", float(every.text) if every else 1)))
        rejections.add(Finding(TurnsOfPoints(), turns.span, remedies=(balls,)))
    return session


def _refill(line: Line, rejections: Rejections) -> Pause | None:
    """The line that says to collect when the hopper is empty."""
    said = list(sentences(line.children, s.Refill))
    for _, again in said[1:]:
        rejections.add(Finding(Duplicate("collect when empty"), again.span, (("first here", said[0][1].span),)))
    return rejections.read(lambda: _collect(*said[0])) if said else None


def _collect(line: Line, node: s.Collect | s.Refill) -> Pause:
    seconds = quantity(node.amount, "collect") if node.amount else COLLECT_S
    return Pause("collect", seconds, node.span.text, node.span, notes=line.notes)


def _own_serves(line: Line, node: s.OwnServes) -> Pause:
    """A rest of whoever feeds, as long as the serves take."""
    number, every = count(node.number, "serves"), quantity(node.every, "time between serves")
    said = [sentence for _, sentence in sentences(line.children, s.Goal)]
    if said[1:]:
        raise Rejected(Duplicate("goal"), said[1].span, (("first here", said[0].span),))
    goal = hits_among(said[0].hits, said[0].among) if said else None
    if goal:
        within(said[0].among or said[0].hits, "serves of the goal", 1, number)
    serves = OwnServes(number, every, goal)
    return Pause("rest", number * every, node.span.text, node.span, notes=line.notes, serves=serves)


def _between(node: s.Rest | s.Collect, pause: Pause, known: Known) -> Pause:
    if node.between and not known.rounds:
        raise Rejected(BetweenNoRounds(), node.between.span, remedies=(instead(node, changed(node, between=None)),))
    return replace(pause, between=node.between is not None)


def _holds_blocks(line: Line) -> bool:
    return any(not isinstance(child.sentence, UNPLAYED) for child in line.children)


def _noted(items: tuple[Item, ...], notes: tuple[str, ...]) -> tuple[Item, ...]:
    """The blocks under a line, the first of them with the notes of that line."""
    if not (items and notes):
        return items
    first, *others = items
    if isinstance(first, Rounds):
        return (replace(first, items=_noted(first.items, notes)), *others)
    return (replace(first, notes=notes + first.notes), *others)


def _items(line: Line, rejections: Rejections, known: Known) -> tuple[Item, ...]:
    found: list[Item] = []
    for child in line.children:
        sentence = child.sentence
        if sentence is None:
            rejections.whole = False
        elif not isinstance(sentence, UNPLAYED):
            items = rejections.read(lambda: _item(child, sentence, rejections, known))  # noqa: B023 - read at once
            if items is None:
                rejections.whole = False
            else:
                found += items if isinstance(items, tuple) else (items,)
    return tuple(found)


def _item(line: Line, node: s.Sentence, rejections: Rejections, known: Known) -> Item | tuple[Item, ...] | None:
    """What a line plays; of a line that says who plays, all the lines under it."""
    words, inside = node.span.text, known._replace(hit_if=known.hit_if + hit_if(line))
    match node:
        case s.Ladder():
            return read_ladder(line, node, words, known, rejections)
        case s.For():
            if not _holds_blocks(line):
                raise Rejected(ForNothing(), node.span)
            items = _items(line, rejections, inside._replace(players=named(node, known), said=node))
            return _noted(items, line.notes) or None
        case s.Rest(amount):
            rest = Pause("rest", quantity(amount, "rest"), words, node.span, notes=line.notes)
            return _between(node, rest, known)
        case s.OwnServes():
            return _own_serves(line, node)
        case s.Collect():
            return _between(node, _collect(line, node), known)
        case s.Refill():
            return ()  # it holds for the whole session
        case s.Rounds(number):
            rounds = count(number, "rounds")
            if not _holds_blocks(line):
                raise Rejected(RoundsEmpty(), node.span)
            stands = own_place(line.children, known.feeder) or known.stands
            inside = inside._replace(rounds=True, scored=known.scored or scored(line), stands=stands)
            items = _items(line, rejections, inside)
            # What comes between rounds ends all but the last of them, wherever its line stands.
            items = tuple(sorted(items, key=lambda item: isinstance(item, Pause) and item.between))
            # Where a line could not be read, not all is known that a score may name.
            score = score_under(line, items, known) if rejections.whole else None
            noted = _noted(items, line.notes)
            return Rounds(rounds, noted, node.span, goal_under(line), score) if items else None
        case s.Timed(amount, order, whom, until):
            play = _serve(line, order, whom, quantity(amount, "block"), None, words, known, rejections)
            return _under(line, replace(play, sentence=node), until, known) if play else None
        case s.Counted(number, unit, order, whom, until):
            play = _serve(line, order, whom, None, count(number, unit.kind.lower()), words, known, rejections)
            points = [name for _, name in play.shares if name in known.points] if play else []
            if play and (unit.kind == "POINTS") != bool(points):
                raise Rejected(CountedAs(*((points[0], True) if points else (play.shares[0][1], False))), unit.span)
            if play is None:
                return None
            to = first_to(line, play, bool(points))
            play = replace(play, first_to=to, words=f"{play.words}, first to {to}") if to else play
            return _under(line, replace(play, sentence=node), until, known)
    raise AssertionError(node)


def _under(line: Line, play: Play, until: s.Until | None, known: Known) -> Play:
    """A block, with what the lines under it say of its end, its goal, its score, its interval and its rests."""
    play = replace(ended(line, play, until, known), goal=goal_under(line))
    play = record(line, replace(play, score=score_under(line, (play,), known)), known)
    return rested(line, paced(line, play, known), known)


def _serve(
    line: Line,
    order: s.Order,
    whom: s.For | None,
    seconds: float | None,
    balls: int | None,
    words: str,
    known: Known,
    rejections: Rejections,
) -> Play | None:
    said = (order,) if isinstance(order, s.Share) else order.shares
    if any(known.points.get(share.name.text, share) is None for share in said):
        return None  # who plays it is not known
    whose = whose_shares(said, whom, known)
    players = tuple(dict.fromkeys(chain(*whose))) or players_of(line, whom, known)
    kind = {s.Share: "same", s.Cycle: "cycle", s.Mix: "mix"}[type(order)]
    shares: list[tuple[int, str]] = []
    walks: list[str] = []
    spans: dict[str, Span] = {}
    for share in said:
        name = share.name
        if known.feeds:  # otherwise reported once, for the whole script
            one_of(name.text, name.span, (*known.feeds, *known.points), "feed")
        own = name.text + (f" {text(share.whom)}" if share.whom else "")
        if kind == "mix" and own in spans:
            raise Rejected(Duplicate(own), name.span, (("first here", spans[own]),))
        spans[own] = name.span
        walk = "IN_ORDER" if share.each and not share.walk else share.walk.kind if share.walk else ""
        walks.append({"IN_ORDER": "in order", "THERE_AND_BACK": "there and back"}.get(walk, ""))
        shares.append((count(share.number, "share") if share.number else 1, name.text))
    if isinstance(order, s.Mix) and order.shares[0].percent:
        shares = _of_a_hundred(order, shares)
    runs = runs_of(order, [name for _, name in shares], whose or (players,) * len(shares), known)
    if any(known.points.get(name, known.feeds.get(name)) is None for _, name in shares):
        return None
    if (
        len(players) > 1
        and not together(shares, known)
        and any(getattr(known.points.get(name), "after_miss", "") == "from the start" for _, name in shares)
    ):
        raise Rejected(OneByMarks(Names(players)), line.span)
    if isinstance(order, s.Cycle | s.Mix):
        _walked(order, known, rejections)
    words = words if whose else words_for(words, whom, players, known)
    each = count(order.each, "share") if isinstance(order, s.Share) and order.each else 1
    return Play(
        seconds,
        balls,
        kind,
        tuple(shares),
        runs,
        None,
        words,
        line.notes,
        line.span,
        tuple(walks),
        each,
        players,
        whose=whose,
        hit_if=known.hit_if + hit_if(line),
    )


def _of_a_hundred(order: s.Mix, shares: list[tuple[int, str]]) -> list[tuple[int, str]]:
    """Shares in percent, as the smallest whole numbers."""
    whole = sum(number for number, _ in shares)
    if whole != 100:
        raise Rejected(PercentOf(whole), order.shares[0].span.to(order.shares[-1].span))
    part = gcd(*(number for number, _ in shares))
    return [(number // part, name) for number, name in shares]


def _walked(order: s.Cycle | s.Mix, known: Known, rejections: Rejections) -> None:
    """Warns where one family goes in order and another at random: most often the words were meant for both."""
    walk = next((share.walk for share in order.shares if share.walk), None)
    random = [
        share
        for share in order.shares
        if not share.walk and isinstance(family := known.feeds.get(share.name.text), Family) and family.several
    ]
    if walk is None or not random:
        return
    each = tuple(changed(share, walk=walk) if share in random else share for share in order.shares)
    one = next(share for share in order.shares if share.walk)
    message = InOrderForOne(one.name.text, walk.text, Names(share.name.text for share in random))
    remedy = instead(order, changed(order, shares=each))
    rejections.add(Finding(message, walk.span, remedies=(remedy,)), breaks=False)
