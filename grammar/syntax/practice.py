"""The sentences of a session: which ball comes when."""

from __future__ import annotations

from .node import Node, Word, keyword
from .parts import Amount
from .sentences import Depth, Height, Pace, Sentence, Spin, Time


class Session(Sentence):
    kind = "session"
    title: Word
    lasts: Amount | None = None
    most: Word | None = None
    """AT_MOST where it may be shorter."""


class Share(Node):
    number: Word | None
    name: Word
    walk: Word | None = None
    """IN_ORDER or THERE_AND_BACK: how it goes through a family, which is else at random."""
    percent: Word | None = None
    """PERCENT if the number is one of a hundred."""
    whom: For | None = None
    """Who plays it, where the shares are for different players."""
    each: Word | None = None
    """How many of each member of a family come before the next one, in order."""


class AtMost(Node):
    """How many balls in a row may be alike, or of one feed or point, or to one side."""

    words: Word
    number: Word
    of: Word | None = None
    """A name, or ONE_SIDE."""


class Cycle(Node):
    shares: tuple[Share, ...]
    limits: tuple[AtMost, ...] = ()


class Mix(Node):
    shares: tuple[Share, ...]
    limits: tuple[AtMost, ...] = ()


Order = Share | Cycle | Mix


class For(Sentence):
    """Who plays: a head of blocks, or the end of one."""

    kind = "for"
    names: tuple[Word, ...]


class Until(Sentence):
    """What ends a block before its last ball: `hits` in a row, or among so many; the goals, if it says no number. The
    end of a block's line, or a line under it."""

    kind = "until"
    hits: Word | None = None
    among: Word | None = None
    misses: Word | None = None
    """MISSES where so many misses end it, in place of hits."""
    every: Word | None = None
    """EVERY where each so many balls are counted by themselves, and the last of them decides."""
    ends: tuple[Word, ...] = ()
    """The scores that end it, one or two, in place of all these."""
    each: Word | None = None
    """EACH where each of those who take turns has a score: the first to reach it ends the block."""


class Worth(Node):
    """A part of a score."""

    what: Word
    """FROM, HIT, MISSES, AT_MOST, AT_LEAST, IN_A_ROW, the name whose hits count so, or the TITLE of another result."""
    number: Word
    row: Word | None = None
    """So many hits in a row, of IN_A_ROW."""
    misses: Word | None = None
    """MISSES where it is the misses of a name."""


class Score(Sentence):
    """A count of a block, which hits and misses move."""

    kind = "score"
    parts: tuple[Worth, ...]


class ScoreGoal(Sentence):
    """The score that a block should end with, or a higher one."""

    kind = "scoregoal"
    number: Word
    score: Word = keyword("SCORE")
    each: Word | None = None
    """EACH where each of those who take turns has a score."""


class ToBeat(Sentence):
    """How many balls, or points, a block that ends early should outlast, or need less than."""

    kind = "record"
    number: Word
    balls: Word
    """BALLS or POINTS."""


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


class Game(Sentence):
    """A game: its block ends when one side has so many points."""

    kind = "game"
    word: Word
    number: Word


class Rounds(Sentence):
    kind = "rounds"
    number: Word
    rounds: Word


class OwnServes(Sentence):
    """The player's own serves, after which no ball is fed."""

    kind = "ownserves"
    number: Word
    serves: Word
    every: Amount


class Rest(Sentence):
    kind = "rest"
    amount: Amount
    between: Word | None = None
    """BETWEEN_ROUNDS where it does not follow the last of the rounds."""


class Collect(Sentence):
    kind = "collect"
    amount: Amount | None = None
    between: Word | None = None
    """As of a rest."""


class Refill(Sentence):
    """A collect wherever the hopper is empty."""

    kind = "refill"
    amount: Amount | None = None
    empty: Word = keyword("WHEN_EMPTY")


Rungs = Pace | Time | Height | Spin | Depth


class Ladder(Sentence):
    kind = "ladder"
    feeds: tuple[Word, ...]
    """The one whose rungs follow, or those that are its rungs."""
    most: Word
    balls: Word
    rungs: Rungs | None
    """None where each rung is a feed."""


class Begin(Sentence):
    kind = "begin"
    rung: Word
    """As the ladder's line has it."""


class Up(Sentence):
    kind = "up"
    word: Word
    """UP or HARDER."""
    hits: Word | None = None
    """In a row, or among so many; None for the goal of the feed's variation."""
    among: Word | None = None
    every: Word | None = None
    """EVERY where the count begins afresh after so many balls."""


class Down(Sentence):
    kind = "down"
    word: Word
    """DOWN or EASIER."""
    number: Word
    misses: Word
    within: Word
    every: Word | None = None
    """As of `up`."""


class MostSets(Sentence):
    """After how many sets on a rung the player goes up whatever they were."""

    kind = "mostsets"
    number: Word


class DownSets(Sentence):
    """After how many sets on a rung, none of which led up, the player goes down."""

    kind = "downsets"
    word: Word
    """As of `down`."""
    number: Word


class LastWon(Sentence):
    """A ladder that is over once the last rung is won."""

    kind = "lastwon"
    rung: Word = keyword("LAST_RUNG")


class SetRest(Sentence):
    """What a ladder that counts in sets waits after each of them but the last."""

    kind = "setrest"
    amount: Amount
    between: Word = keyword("BETWEEN_SETS")


class BlockRest(Sentence):
    """What a block waits after each so many of its balls or points, but after the last."""

    kind = "blockrest"
    amount: Amount
    every: Word
    balls: Word
    """BALLS or POINTS."""
    after: Word = keyword("AFTER_EVERY")
