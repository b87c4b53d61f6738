"""The sentences of the head of a script, with the parts that only one sentence has: what holds for all of it."""

from __future__ import annotations

from .node import Node, Word
from .parts import Amount, Distance, Offset
from .sentences import Sentence


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
    sort: Word | None
    """TYPE or STAGE with a number, or HIGH_ALTITUDE; None is an ordinary ball, type 2."""
    number: Word | None
    states: tuple[Word, ...] = ()


class PlayersSide(Node):
    words: Word


class Screen(Node):
    pass


class Hopper(Node):
    """How many balls are in it, where they are fewer than it holds."""

    number: Word
    balls: Word


class Raised(Node):
    """How high above the ground the ball leaves, of a machine that stands on something or of a person."""

    way: Word
    """RAISED_TO or LETS_GO_AT."""
    height: Amount

    @property
    def by_hand(self) -> bool:
        """Whether it says so of a person."""
        return self.way.kind == "LETS_GO_AT"


Spot = Distance | Offset | PlayersSide | Screen | Hopper | Raised


class Feeder(Sentence):
    kind = "feeder"
    sort: Word
    """MACHINE or PERSON."""
    name: Word
    spots: tuple[Spot, ...] = ()


class Stands(Sentence):
    """Where the feeder stands for some balls, if not where the head says."""

    kind = "stands"
    spots: tuple[Spot, ...]


class Temperature(Node):
    amount: Amount


class SeaLevel(Node):
    words: Word


class Altitude(Node):
    amount: Amount


class Humidity(Node):
    amount: Amount


class Wind(Node):
    speed: Amount
    origin: Word


Weather = Temperature | Altitude | SeaLevel | Humidity | Wind


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
