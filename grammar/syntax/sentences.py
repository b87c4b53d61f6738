"""The sentences of the language, one class each, with the parts that only one sentence has."""

from __future__ import annotations

from ..terminals import OPENED_BY
from .node import Node, Word
from .parts import (
    Amount,
    Distance,
    Extent,
    Landing,
    Lateral,
    Name,
    Offset,
    Place,
    Row,
    Series,
    Spins,
    Steps,
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
    """At least, or at most, how high a reply passes over the net."""

    way: Word
    """AT_LEAST or AT_MOST."""
    height: Amount
    net: Word


class PaceWithin(Node):
    """At least, or at most, how fast a reply is."""

    way: Word
    """AT_LEAST or AT_MOST."""
    pace: Amount


class Toward(Node):
    lateral: Lateral


class Into(Sentence):
    """A sentence of a feed; a wish in a reply."""

    kind = "into"
    zone: Word


class OneOf(Node):
    """Several places, of which a reply may land in any."""

    places: tuple[Toward | Place | Landing | Into, ...]


Wish = Clearance | PaceWithin | Spins | Extent | Toward | Place | Landing | Into | OneOf


class Reply(Sentence):
    kind = "reply"
    wishes: tuple[Wish, ...]


class Goal(Sentence):
    """Good replies in a row, or among so many; in a variation, or under a block or rounds."""

    kind = "goal"
    hits: Word
    among: Word | None = None
    in_all: Word | None = None
    """IN_ALL where all balls count, and not the last ones of a block."""
    each: Word | None = None
    """EACH where each of those who take turns has a count of their own."""


class Feed(Sentence):
    kind = "feed"
    name: Word
    aims: Word | None = None
    like: Word | None = None


class Side(Sentence):
    kind = "side"
    choices: tuple[Lateral, ...]
    steps: Steps | None = None


class Way(Node):
    """From one place to another."""

    first: Distance
    last: Distance


class Depth(Sentence):
    kind = "depth"
    choices: tuple[Place | Row | Way, ...]
    steps: Steps | None = None


class Where(Node):
    """The line where the ball is at a height."""

    level: Name | Amount
    way: Word | None = None
    """RISING or FALLING."""


class BehindBounce(Node):
    """So far behind where the ball bounces."""

    amount: Amount
    words: Word


class Stance(Sentence):
    kind = "stance"
    choices: tuple[Place | Row | Way | Where | BehindBounce, ...]
    steps: Steps | None = None
    after: Word | None = None
    """AFTER_ONE_BOUNCE or AFTER_TWO_BOUNCES."""

    @property
    def where(self) -> Where | None:
        """The height of the ball, if that says the place."""
        first = self.choices[0]
        return first if isinstance(first, Where) else None

    @property
    def found(self) -> bool:
        """Whether the ball says the place."""
        return isinstance(self.choices[0], Where | BehindBounce)

    @property
    def behind(self) -> BehindBounce | None:
        """How far behind the bounce, if that says the place."""
        first = self.choices[0]
        return first if isinstance(first, BehindBounce) else None


class Together(Sentence):
    """Lists that go through the family side by side."""

    kind = "together"
    lines: tuple[Name, ...]


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
    place: Word | None = None
    """OVER_NET or AT_THE_TOP, where the height is not that at the player."""
    steps: Steps | None = None
    phase: Phase | None = None
    after: Word | None = None
    """AFTER_ONE_BOUNCE or AFTER_TWO_BOUNCES."""


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


class Same(Sentence):
    """The ball of another feed."""

    kind = "same"
    feed: Word


class Interval(Sentence):
    kind = "interval"
    amount: Amount
    between: Word | None = None
    """BETWEEN_CONTACTS."""
    rally: Amount | None = None
    """How long the ball is in play, of a rally that is played out; the amount then begins where it ends."""


class Arc(Sentence):
    kind = "arc"
    word: Word


class Starts(Sentence):
    """Where the player waits for the ball."""

    kind = "starts"
    spots: tuple[Offset | Distance, ...]


class Stroke(Sentence):
    """With which stroke the player is to take the ball."""

    kind = "stroke"
    word: Word


class HitIf(Sentence):
    """What else decides a hit, which no flight tells."""

    kind = "hitif"
    title: Word


class Note(Sentence):
    kind = "note"
    title: Word
