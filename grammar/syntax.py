"""The tree of a script: a small frozen class for each construct, what it holds in named fields.

A node that was read knows its place; one that was made has none. Words that every sentence of a kind has alike, such as
`height` and `over net`, are no fields unless they can be left out, chosen or spelt in more than one way.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Self, TypeVar, dataclass_transform

from .source import Span
from .terminals import KEYWORDS


@dataclass_transform(frozen_default=True)
class Node:
    """What dataclasses would do for these classes costs a tenth of a second at each start; this is the little needed:
    fields by place or name, equality without places, no assignment."""

    fields: tuple[str, ...] = ()

    def __init_subclass__(cls) -> None:
        cls.fields = tuple(cls.__annotations__)
        setattr(cls, "__match_args__", cls.fields)  # noqa: B010 - mypy takes it for its own

    def __init__(self, *values: object, **named: object) -> None:
        self.__dict__.update(zip(self.fields, values, strict=False), **named)

    def at(self, span: Span) -> Self:
        """The same node, read at this place; for whoever has just made it."""
        self.__dict__["_span"] = span
        return self

    @property
    def span(self) -> Span:
        return self.__dict__["_span"]

    @property
    def was_read(self) -> bool:
        """Whether the node stands in a source just as it is."""
        return "_span" in self.__dict__

    def values(self) -> tuple[object, ...]:
        return tuple(getattr(self, name) for name in self.fields)

    def nodes(self) -> Iterator[Node]:
        """The nodes it holds, in the order of its fields."""
        for value in self.values():
            for node in value if isinstance(value, tuple) else (value,):
                if isinstance(node, Node):
                    yield node

    def __setattr__(self, name: str, value: object) -> None:
        raise AttributeError(f"{type(self).__name__} is frozen")

    def __eq__(self, other: object) -> bool:
        return type(self) is type(other) and isinstance(other, Node) and self.values() == other.values()

    def __hash__(self) -> int:
        return hash((type(self), self.values()))

    def __deepcopy__(self, memo: object) -> Self:
        return self

    def __repr__(self) -> str:
        held = ", ".join(f"{name}={value!r}" for name, value in zip(self.fields, self.values(), strict=True))
        return f"{type(self).__name__}({held})"


N = TypeVar("N", bound=Node)


class Word(Node):
    """One token; `kind` is the name of its terminal in the grammar."""

    kind: str
    text: str

    @property
    def unquoted(self) -> str:
        """A title without its quotes."""
        return self.text[1:-1]


def keyword(kind: str) -> Word:
    return Word(kind, KEYWORDS[kind])


# ---- amounts


class Quantity(Node):
    number: Word
    unit: Word


class GivenAmount(Node):
    """An amount that the head gives this name."""

    name: Word


Amount = Quantity | GivenAmount


class Bounds(Node):
    """A range: 1 to 4 m."""

    low: Word
    high: Word
    unit: Word


Extent = Quantity | GivenAmount | Bounds


class Series(Node):
    """Numbers that share a unit."""

    numbers: tuple[Word, ...]
    unit: Word


class Ways(Node):
    number: Word


class Name(Node):
    """A name of the language's own where something else could stand: a depth, a part of the body, an amount of spin."""

    word: Word


# ---- places


class FromLine(Node):
    extent: Extent
    way: Word
    """INSIDE or BEHIND."""
    line: Word
    """BASELINE or SERVICE_LINE."""


class FromNet(Node):
    extent: Extent
    net: Word


class OnLine(Node):
    line: Word


Distance = FromLine | FromNet | OnLine
Place = Distance | Name


class FromSideline(Node):
    extent: Extent
    hand: Word


class FromCentre(Node):
    extent: Extent
    hand: Word
    centre: Word


class OnCentre(Node):
    centre: Word


Offset = FromSideline | FromCentre | OnCentre


class NamedSide(Node):
    """backhand wing, or middle alone."""

    words: tuple[Word, ...]


Lateral = Offset | NamedSide


# ---- spin


class Flat(Node):
    pass


class Topspin(Node):
    amount: Extent | Name


class Backspin(Node):
    amount: Extent | Name


class Sidespin(Node):
    amount: Extent | Name
    way: Word
    """TO_THE_LEFT or TO_THE_RIGHT."""


Turn = Flat | Topspin | Backspin | Sidespin


class Spins(Node):
    turns: tuple[Turn, ...]


# ---- sentences


class Sentence(Node):
    kind = ""
    """The rule of the grammar; but for blocks also the word that opens it."""

    @property
    def said(self) -> str:
        """What was written behind the word that opens it."""
        return self.span.text[len(self.kind) :].strip()


class Program(Sentence):
    kind = "program"
    title: Word


class Court(Sentence):
    kind = "court"
    name: Word
    net: Word | None = None
    """DOUBLES_POSTS or STICKS."""


class Ceiling(Sentence):
    kind = "ceiling"
    height: Amount


class Surface(Sentence):
    kind = "surface"


class SurfaceNamed(Surface):
    name: Word


class SurfacePace(Surface):
    name: Word


class SurfaceMeasured(Surface):
    friction: Word
    restitution: Word
    grip: Word | None = None


class Ball(Sentence):
    kind = "ball"
    sort: Word
    """TYPE or STAGE with a number, or HIGH_ALTITUDE."""
    number: Word | None
    states: tuple[Word, ...] = ()


class Hand(Node):
    word: Word
    """RIGHT_HANDED or LEFT_HANDED."""


class Tall(Node):
    stature: Amount


class Reach(Node):
    amount: Amount


class ReplyUpTo(Node):
    pace: Amount


class TwoBounces(Node):
    pass


class TakingTurns(Node):
    players: Word


class ChangingEvery(Node):
    number: Word
    balls: Word


Trait = Hand | Tall | Reach | ReplyUpTo | TwoBounces | TakingTurns | ChangingEvery


class Player(Sentence):
    kind = "player"
    traits: tuple[Trait, ...]


class BodyPart(Node):
    name: Word
    height: Amount


class Body(Sentence):
    kind = "body"
    parts: tuple[BodyPart, ...]


class PlayersSide(Node):
    words: Word


class Screen(Node):
    pass


Spot = Distance | Offset | PlayersSide | Screen


class Feeder(Sentence):
    kind = "feeder"
    sort: Word
    """MACHINE or PERSON."""
    name: Word
    spots: tuple[Spot, ...] = ()


class Temperature(Node):
    amount: Amount


class Altitude(Node):
    amount: Amount


class Humidity(Node):
    amount: Amount


class Wind(Node):
    speed: Amount
    origin: Word


Weather = Temperature | Altitude | Humidity | Wind


class Air(Sentence):
    kind = "air"
    weather: tuple[Weather, ...]


class Seed(Sentence):
    kind = "seed"
    number: Word


class Given(Sentence):
    kind = "given"
    name: Word
    amount: Amount


class Use(Sentence):
    kind = "use"
    title: Word


class Allow(Sentence):
    kind = "allow"
    name: Word


class Zone(Sentence):
    kind = "zone"
    name: Word


class Variation(Sentence):
    kind = "variation"
    name: Word
    title: Word


class When(Sentence):
    kind = "when"
    words: Word


class Clearance(Node):
    height: Amount
    net: Word


class Toward(Node):
    lateral: Lateral


class Into(Sentence):
    """Of a feed a sentence, of a reply a wish."""

    kind = "into"
    zone: Word


Wish = Clearance | Spins | Extent | Toward | Place | Into


class Reply(Sentence):
    kind = "reply"
    wishes: tuple[Wish, ...]


class Goal(Sentence):
    kind = "goal"
    number: Word


class Feed(Sentence):
    kind = "feed"
    name: Word
    aims: Word | None = None
    like: Word | None = None


class Side(Sentence):
    kind = "side"
    choices: tuple[Lateral, ...]
    ways: Ways | None = None


class Depth(Sentence):
    kind = "depth"
    choices: tuple[Place, ...]
    ways: Ways | None = None


class Stance(Sentence):
    kind = "stance"
    place: Place


class TopOfBounce(Node):
    words: Word


Level = Name | Extent | Series | TopOfBounce


class Phase(Node):
    word: Word
    """RISING, FALLING or ON_THE_FULL."""

    @property
    def on_the_full(self) -> bool:
        return self.word.kind == "ON_THE_FULL"


class Height(Sentence):
    kind = "height"
    choices: tuple[Level, ...]
    net: Word | None = None
    """OVER_NET, where the height is one over the net."""
    ways: Ways | None = None
    phase: Phase | None = None


class Spin(Sentence):
    kind = "spin"
    choices: tuple[Spins, ...]


class Pace(Sentence):
    kind = "pace"
    choices: tuple[Extent | Series, ...]
    ways: Ways | None = None


class Time(Sentence):
    kind = "time"
    amount: Amount


class Interval(Sentence):
    kind = "interval"
    amount: Amount
    between: Word | None = None
    """BETWEEN_CONTACTS."""


class Arc(Sentence):
    kind = "arc"
    word: Word


class Note(Sentence):
    kind = "note"
    title: Word


class Session(Sentence):
    kind = "session"
    title: Word
    lasts: Amount | None = None


class Share(Node):
    number: Word | None
    name: Word


class AtMost(Node):
    words: Word
    number: Word


class Cycle(Node):
    shares: tuple[Share, ...]
    limit: AtMost | None = None


class Mix(Node):
    shares: tuple[Share, ...]
    limit: AtMost | None = None


Order = Share | Cycle | Mix


class Timed(Sentence):
    kind = "timed"
    amount: Amount
    order: Order


class Counted(Sentence):
    kind = "counted"
    number: Word
    balls: Word
    order: Order


class Rounds(Sentence):
    kind = "rounds"
    number: Word
    rounds: Word


class Rest(Sentence):
    kind = "rest"
    amount: Amount


class Collect(Sentence):
    kind = "collect"
    amount: Amount | None = None


Rungs = Pace | Height | Spin | Depth


class Ladder(Sentence):
    kind = "ladder"
    feed: Word
    most: Word
    balls: Word
    rungs: Rungs


class Up(Sentence):
    kind = "up"
    number: Word


class Down(Sentence):
    kind = "down"
    number: Word
    misses: Word
    within: Word


# ---- lines


@dataclass(frozen=True, slots=True)
class Line:
    """A sentence and the lines indented under it. `sentence` is None where it could not be read."""

    sentence: Sentence | None
    children: tuple[Line, ...] = ()
    comment: str = ""
    above: tuple[str, ...] = field(default=(), compare=False)
    """Lines above it that hold no sentence of the tree, as written: blank ones and comments."""
    indent: str | None = field(default=None, compare=False)
    """What stands before the sentence; None where the line was made and is indented as deep as it stands."""
    gap: str = field(default="  ", compare=False)
    """What stands between sentence and comment, or behind the sentence."""
    trail: str = field(default="", compare=False)
    """Blanks behind the comment."""
    place: Span | None = field(default=None, compare=False)

    @property
    def span(self) -> Span:
        """The sentence without indentation and comment, where the line was read."""
        assert self.place
        return self.place

    @property
    def kind(self) -> str:
        return self.sentence.kind if self.sentence else ""


@dataclass(frozen=True, slots=True)
class Tree:
    lines: tuple[Line, ...]
    end: tuple[str, ...] = field(default=("",), compare=False)
    """Lines below the last sentence, as written; the last of them is what follows the last line end."""
    place: Span | None = field(default=None, compare=False)

    @property
    def span(self) -> Span:
        assert self.place
        return self.place

    def of(self, kind: type[N]) -> Iterator[tuple[Line, N]]:
        """The lines at the margin whose sentence is of this class, with it."""
        return sentences(self.lines, kind)


def sentences(lines: tuple[Line, ...], kind: type[N]) -> Iterator[tuple[Line, N]]:
    return ((line, line.sentence) for line in lines if isinstance(line.sentence, kind))
