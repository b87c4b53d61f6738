"""Tree -> text: the one place that knows how to write a sentence.

A node that was read and not changed prints byte for byte as it was written. A node that was made or changed prints with
one space between its words.
"""

from collections.abc import Iterable, Iterator
from itertools import chain
from typing import assert_never

from . import syntax as s
from .syntax import Line, Node, Tree, Word

INDENT, COLUMN = 4, 10
"""Blanks for each step of depth, and where the second part of a line stands under its head."""

Piece = str | Node | None
AnyNode = (
    s.Quantity | s.GivenAmount | s.Bounds | s.Series | s.Steps | s.Name | s.FromLine | s.FromNet | s.Row | s.OnLine
    | s.FromSideline | s.FromCentre | s.OnCentre | s.Across | s.Within | s.NamedSide
    | s.Flat | s.Topspin | s.Backspin | s.Sidespin | s.Spins
    | s.Hand | s.Tall | s.Reach | s.ReplyUpTo | s.TwoBounces | s.TwoHandedBackhand | s.TakingTurns | s.ChangingEvery
    | s.Changeover | s.Called | s.Rotation | s.For
    | s.ScatterLevel | s.Deviation | s.ScatterStated
    | s.BodyPart | s.PlayersSide | s.Screen | s.Hopper | s.Raised | s.Temperature | s.Altitude | s.SeaLevel | s.Humidity
    | s.Wind | s.Clearance | s.PaceWithin | s.Toward | s.Landing
    | s.TopOfBounce | s.Phase | s.Share | s.AtMost | s.Cycle | s.Mix | s.Program | s.Court | s.Ceiling | s.SurfaceNamed
    | s.SurfacePace | s.SurfaceMeasured | s.Ball | s.Player | s.Body | s.Feeder | s.Air | s.Seed | s.Given | s.Use
    | s.Accept | s.Zone | s.Variation | s.When | s.Into | s.Reply | s.Goal | s.Feed | s.Side | s.Depth | s.Stance
    | s.Utmost | s.MostSpin | s.SomeSpin | s.OneOf | s.Where | s.HeightBound | s.PaceBound | s.SpinBound | s.TimeBound
    | s.StanceBound | s.WayBound | s.Nothing | s.Limit
    | s.Height | s.Spin | s.Pace | s.Time | s.Interval | s.Arc | s.Starts | s.Stroke | s.Note | s.HitIf | s.Session
    | s.Timed | s.Counted | s.Rounds | s.Game | s.Rest | s.Collect | s.Refill | s.Ladder | s.Begin | s.Up | s.Down
    | s.SetRest | s.OwnServes | s.BlockRest | s.MostSets | s.DownSets | s.LastWon | s.Score | s.Worth | s.ScoreGoal
    | s.ToBeat | s.Stands
    | s.Same | s.BehindBounce | s.Point | s.Serves | s.Plays | s.Missed | s.Won | s.Until | s.Way | s.Together
)  # fmt: skip


def text(node: Node) -> str:
    """The node in words, one space between them."""
    return _joined(_words(node))


def columns(sentence: s.Sentence) -> tuple[str, str]:
    """The two parts of a line under a head: what opens it, and the rest."""
    match sentence:
        case s.Timed(amount, order, whom, until):
            return text(amount), _block(order, whom, until)
        case s.Counted(number, balls, order, whom, until):
            return _joined([number.text, balls.text]), _block(order, whom, until)
        case s.OwnServes(number, serves, every):
            return _joined([number.text, serves.text]), _joined(["every", text(every)])
        case s.Rounds() | s.Game() | s.Missed() | s.Won() | s.MostSets() | s.For():
            return text(sentence), ""
    first, *rest = _words(sentence)
    return first, _joined(rest)


def _block(order: s.Order, whom: s.For | None, until: s.Until | None) -> str:
    """What a block plays."""
    return _joined(_of_pieces((order, whom, *_after(",", until))))


def _of_so_many(among: s.Word | None, every: s.Word | None = None) -> tuple[Piece, ...]:
    """What follows a number of hits."""
    return ("of", every, among) if among else ("in a row",)


def _sets_on_a_rung(number: s.Word) -> str:
    return "set on a rung" if float(number.text) == 1 else "sets on a rung"


def in_columns(sentence: s.Sentence) -> str:
    key, rest = columns(sentence)
    return (f"{key:<{COLUMN}}{rest}" if len(key) < COLUMN else f"{key} {rest}").rstrip()


def printed(tree: Tree) -> str:
    return "\n".join([*_rows(tree.lines, 0), *tree.end])


def _rows(lines: Iterable[Line], depth: int) -> Iterator[str]:
    for line in lines:
        yield from line.above
        sentence, indent = line.sentence, line.indent
        if sentence is None or sentence.was_read:
            shown = line.span.text
        else:
            shown = in_columns(sentence) if depth else text(sentence)
        gap = line.gap if line.comment or line.indent is not None else ""
        yield (" " * (INDENT * depth) if indent is None else indent) + shown + gap + line.comment + line.trail
        yield from _rows(line.children, depth + 1)


def _joined(words: Iterable[str]) -> str:
    return "".join(("" if word == "," else " ") + word for word in words).strip(" ")


def _words(node: Node) -> Iterator[str]:
    yield from _of_pieces(_pieces(node))  # type: ignore[arg-type]


def _of_pieces(pieces: Iterable[Piece]) -> Iterator[str]:
    for piece in pieces:
        if isinstance(piece, str):
            yield piece
        elif isinstance(piece, Word):
            yield piece.text
        elif piece is not None:
            yield from _words(piece)


def _listed(nodes: Iterable[Node]) -> Iterator[Piece]:
    for i, node in enumerate(nodes):
        if i:
            yield ","
        yield node


def _after(comma: str, *pieces: Piece) -> tuple[Piece, ...]:
    """An optional part at the end of a sentence; nothing if it is missing."""
    return (comma, *pieces) if pieces[-1] is not None else ()


def _pieces(node: AnyNode) -> Iterable[Piece]:
    match node:
        # amounts
        case s.Quantity(number, unit):
            return number, unit
        case s.GivenAmount(name):
            return "given", name
        case s.Bounds(low, high, unit):
            return low, "to", high, unit
        case s.Series(numbers, unit):
            return *_listed(numbers), unit
        case s.Steps(number):
            return "in", number, "steps"
        # places
        case s.FromLine(extent, way, line):
            return extent, way, line
        case s.FromNet(extent, net) | s.BehindBounce(extent, net):
            return extent, net
        case s.Row(distances, way, line):
            return *_listed(distances if isinstance(distances, tuple) else (distances,)), way, line
        case s.OnLine(line):
            return "on", line
        case s.FromSideline(extent, hand):
            return extent, "inside", hand, "sideline"
        case s.FromCentre(extent, named, centre):
            return extent, named, centre
        case s.Across(one, other):
            return one, "to", other
        case s.Within(amount, centre):
            return "within", amount, centre
        case s.OnCentre(centre):
            return "on", centre
        case s.NamedSide(words):
            return words
        # spin
        case s.Flat():
            return ("flat",)
        case s.SomeSpin(way):
            return (way,)
        case s.MostSpin(way):
            return "most", way
        case s.Topspin(amount):
            return "topspin", amount
        case s.Backspin(amount):
            return "backspin", amount
        case s.Sidespin(amount, way):
            return "sidespin", amount, way
        case s.Spins(turns):
            return [piece for turn in turns for piece in ("and", turn)][1:]
        # the head
        case s.Program(title):
            return "program", title
        case s.Court(name, net):
            return "court", name, *_after(",", "net on", net)
        case s.Ceiling(height):
            return "ceiling", height
        case s.SurfaceNamed(name):
            return "surface", name
        case s.SurfacePace(name):
            return "surface", "pace", name
        case s.SurfaceMeasured(friction, restitution, grip):
            return "surface", "friction", friction, ",", "restitution", restitution, *_after(",", "grip", grip)
        case s.Ball(None, _, states):
            return "ball", *_listed(states)
        case s.Ball(sort, number, states):
            return "ball", sort, number, *(piece for state in states for piece in (",", state))
        case s.Player(traits):
            return "player", *_listed(traits)
        case s.Called(name):
            return "called", name
        case (
            s.Hand(word)
            | s.SeaLevel(word)
            | s.PlayersSide(word)
            | s.TopOfBounce(word)
            | s.Phase(word)
            | s.Name(word)
            | s.Utmost(word)
        ):
            return (word,)
        case s.Tall(stature):
            return stature, "tall"
        case s.Reach(amount):
            return "reach", amount
        case s.ReplyUpTo(pace):
            return "reply", "up to", pace
        case s.TwoBounces():
            return ("two bounces",)
        case s.TwoHandedBackhand():
            return ("two-handed backhand",)
        case s.TakingTurns(players):
            return players, "taking turns"
        case s.Changeover(time):
            return "changeover", time
        case s.ChangingEvery(number, balls):
            return "changing every", *((number,) if number else ()), balls
        case s.ScatterLevel(level):
            return "scatter", level
        case s.ScatterStated(parts):
            return "scatter", *[piece for part in parts for piece in ("and", part)][1:]
        case s.Deviation(amount, of):
            return amount, "in", of
        case s.Body(parts, of):
            return "body", *((of, ",") if of else ()), *_listed(parts)
        case s.Rotation(every, balls, changeover):
            often = ("changing every", *((every,) if every else ()), balls) if balls else ()
            return "rotation", *often, *((",",) if balls and changeover else ()), *_after("changeover", changeover)
        case s.BodyPart(name, height):
            return name, height
        case s.Feeder(sort, name, spots):
            return "feeder", sort, name, *(piece for spot in spots for piece in (",", spot))
        case s.Stands(spots):
            return "feeder", *[piece for spot in spots for piece in (",", spot)][1:]
        case s.Screen():
            return ("behind a screen",)
        case s.Hopper(number, balls):
            return "hopper", number, balls
        case s.Raised(way, height):
            return "raised to" if way.kind == "RAISED_TO" else "lets go at", height
        case s.Air(weather):
            return "air", *_listed(weather)
        case s.Temperature(amount):
            return (amount,)
        case s.Altitude(amount):
            return "altitude", amount
        case s.Humidity(amount):
            return "humidity", amount
        case s.Wind(speed, origin):
            return "wind", speed, "from", origin
        case s.Given(name, amount):
            return "given", name, amount
        case s.Limit(bound):
            return "limit", bound
        case s.Nothing(way, bar):
            return "nothing", way, bar
        # heads at the margin, and one line of each
        case s.Seed(word) | s.Use(word) | s.Accept(word) | s.Zone(word) | s.When(word) | s.Into(word):
            return node.kind, word
        case s.Starts(spots):
            return "starts", *_listed(spots)
        case s.Arc(word) | s.Note(word) | s.Stroke(word):
            return node.kind, word
        case s.HitIf(title):
            return "hit if", title
        case s.Variation(name, title):
            return "variation", name, title
        case s.Reply(wishes):
            return "reply", *_listed(wishes)
        case s.Clearance(way, height, net):
            return way, height, net
        case s.PaceWithin(way, pace):
            return way, pace
        case s.Landing(where):
            return (where,)
        case s.OneOf(places):
            return chain(*(("or", place) if i else (place,) for i, place in enumerate(places)))
        case s.Toward(lateral):
            return None if isinstance(lateral, s.Within) else "to", lateral
        case s.Goal(hits, among, in_all, each):
            row = () if in_all and among is None else _of_so_many(among)
            return "goal", hits, *row, in_all, each
        case s.Feed(name, aims, like):
            return "feed", name, *_after("aims", aims), *_after(",", "like", like)
        # one kind of ball
        case s.Side(choices, steps) | s.Depth(choices, steps) | s.Pace(choices, steps):
            return node.kind, *_listed(choices), *_after(",", steps)
        case s.Stance(choices, steps, after):
            return "stance", *_listed(choices), *_after(",", steps), *_after(",", after)
        case s.Way(first, last):
            return first, "to", last
        case s.Together(lines):
            return "together", *_listed(lines)
        case s.Where(level, way):
            return "where it is", level, "high" if isinstance(level, s.Name) else "above ground", *_after(",", way)
        case s.Height(choices, at, steps, phase, after):
            return "height", *_listed(choices), at, *_after(",", steps), *_after(",", phase), *_after(",", after)
        case s.Spin(choices):
            return "spin", *_listed(choices)
        case s.Time(choices, end, steps):
            return "time", *_listed(choices), end, *_after(",", steps)
        case s.HeightBound(way, bar, end) if node.on_the_full or node.met:
            return node.kind, way, bar, ",", end
        case s.HeightBound(way, bar, end) | s.PaceBound(way, bar, end):
            return node.kind, way, bar, end
        case s.SpinBound(way, bar, _, turn):
            return node.kind, turn, way, bar
        case s.TimeBound(way, bar, end) | s.StanceBound(way, bar, end) | s.WayBound(way, bar, end):
            return node.kind, way, bar, end
        case s.Same(feed):
            return "ball", "same as", feed
        case s.Interval(amount, between, rally):
            return "interval", amount, between, *(("after a rally of", rally) if rally else ())
        # several balls that belong together
        case s.Point(name):
            return "point", name
        case s.Serves(delay, every):
            return "player", "serves", *(("every", every) if every else ()), ",", "then", delay
        case s.Plays(balls):
            return "plays", *[piece for ball in balls for piece in (",", "then", ball)][2:]
        case s.Missed(missed, then):
            return missed, ",", then
        case s.Won(hits, among):
            return "won with", hits, "of", among
        # the practice
        case s.Session(title, lasts, most):
            return "session", title, *_after(",", "lasts", most, lasts)
        case s.Timed(amount, order, whom, until):
            return amount, order, whom, *_after(",", until)
        case s.Counted(number, balls, order, whom, until):
            return number, balls, order, whom, *_after(",", until)
        case s.Until(ends=(first, *others), each=each):
            return "until", "score", first, *[piece for end in others for piece in ("or", end)], each
        case s.Until(hits, among, misses, every):
            if hits is None:
                return "until", "the goal"
            if misses and among:
                return "until", hits, misses, "in", every, among
            return "until", hits, misses, *_of_so_many(among, every)
        case s.ToBeat(number, balls):
            return "record", number, balls
        case s.Score(parts):
            return "score", *_listed(parts)
        case s.Worth(what, number, row, misses):
            return row, what, misses, number
        case s.ScoreGoal(number, score, each):
            return "goal", score, number, each
        case s.For(names):
            return "for", *[piece for name in names for piece in ("and", name)][1:]
        case s.Share(number, name, walk, percent, whom, each):
            return number, percent and "%", name, walk, whom, *((",", each, "of each") if each else ())
        case s.Cycle(shares, limits):
            return "cycle", *_listed((*shares, *limits))
        case s.Mix(shares, limits):
            return "mix", *_listed((*shares, *limits))
        case s.AtMost(words, number, of):
            return words, number, *((of, "in a row") if of else ("alike",))
        case s.Rounds(number, rounds):
            return number, rounds
        case s.Game(word, number):
            return word, number
        case s.Rest(amount, between) | s.Collect(amount, between):
            return node.kind, amount, between
        case s.OwnServes(number, serves, every):
            return number, serves, ",", "every", every
        case s.Refill(amount, empty):
            return "collect", amount, empty
        case s.Ladder(feeds, most, balls, rungs):
            return "ladder", *_listed(feeds), ",", "up to", most, balls, *((",", rungs) if rungs else ())
        case s.Begin(rung):
            return "from", rung
        case s.Up(word, hits, among, every):
            return word, *((hits, *_of_so_many(among, every)) if hits else ("the goal",))
        case s.Down(word, number, misses, within, every):
            return word, number, misses, "in", every, within
        case s.MostSets(number):
            return "at most", number, _sets_on_a_rung(number)
        case s.DownSets(word, number):
            return word, "after", number, _sets_on_a_rung(number)
        case s.LastWon():
            return "until", "the last rung is won"
        case s.SetRest(amount, between):
            return "rest", amount, between
        case s.BlockRest(amount, every, balls, after):
            return "rest", amount, after, every, balls
    assert_never(node)
