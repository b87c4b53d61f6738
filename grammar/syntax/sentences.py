"""The sentences of the language, one class each, with the parts that only one sentence has."""

from __future__ import annotations

from ..terminals import OPENED_BY
from .node import Node, Word, keyword
from .parts import (
    Amount,
    Distance,
    Extent,
    Lateral,
    Name,
    Offset,
    Place,
    Series,
    Spins,
    Steps,
    Until,
    Utmost,
)


class Sentence(Node):
    kind = ""
    """The rule of the grammar and, except for blocks, the word that opens it."""

    @property
    def said(self) -> str:
        """What was written after the word that opens it."""
        return self.span.text[len(self.kind) :].strip()

    @property
    def opens(self) -> str:
        """The keyword that opens it, of a sentence that one opens."""
        return OPENED_BY.get(self.kind, self.kind)


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


class Accept(Sentence):
    kind = "accept"
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
    """A sentence of a feed; a wish in a reply."""

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
    steps: Steps | None = None


class Depth(Sentence):
    kind = "depth"
    choices: tuple[Place, ...]
    steps: Steps | None = None


class Where(Node):
    """The line where the ball is at a height."""

    level: Name | Amount
    way: Word | None = None
    """RISING or FALLING."""


class Stance(Sentence):
    kind = "stance"
    place: Place | Where


class TopOfBounce(Node):
    words: Word


Level = Name | Extent | Series | TopOfBounce | Utmost


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
    """OVER_NET if the height is over the net."""
    steps: Steps | None = None
    phase: Phase | None = None


class Spin(Sentence):
    kind = "spin"
    choices: tuple[Spins, ...]


class Pace(Sentence):
    kind = "pace"
    choices: tuple[Extent | Series | Utmost, ...]
    steps: Steps | None = None


class Time(Sentence):
    kind = "time"
    choices: tuple[Extent | Series | Utmost, ...]
    end: Word | None = None
    """TO_CONTACT, which the most and the least can do without."""
    steps: Steps | None = None


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
    walk: Word | None = None
    """IN_ORDER or THERE_AND_BACK: how it goes through a family, which is else at random."""
    percent: Word | None = None
    """PERCENT if the number is one of a hundred."""


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


class For(Sentence):
    """Who plays: a head of blocks, or the end of one."""

    kind = "for"
    names: tuple[Word, ...]


class Timed(Sentence):
    kind = "timed"
    amount: Amount
    order: Order
    whom: For | None = None
    until: Until | None = None


class Counted(Sentence):
    kind = "counted"
    number: Word
    balls: Word
    """BALLS or POINTS."""
    order: Order
    whom: For | None = None
    until: Until | None = None


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


class Refill(Sentence):
    """A collect wherever the hopper is empty."""

    kind = "refill"
    amount: Amount | None = None
    empty: Word = keyword("WHEN_EMPTY")


Rungs = Pace | Height | Spin | Depth


class Ladder(Sentence):
    kind = "ladder"
    feed: Word
    most: Word
    balls: Word
    rungs: Rungs


class Begin(Sentence):
    kind = "begin"
    rung: Word
    """As the ladder's line has it."""


class Up(Sentence):
    kind = "up"
    word: Word
    """UP or HARDER."""
    number: Word


class Down(Sentence):
    kind = "down"
    word: Word
    """DOWN or EASIER."""
    number: Word
    misses: Word
    within: Word
