"""The session of a program: blocks of balls, ladders, rounds and pauses, in their order."""

from collections.abc import Iterator
from itertools import repeat
from typing import NamedTuple

from ...grammar import syntax as s
from ...grammar.frozen import Frozen, aside
from ...grammar.source import Span
from ...grammar.units import hits_of
from .chance import Goal


class LadderRules(Frozen):
    """The first ball is on the rung `start`, from zero. One rung up after the hits of `up`, one down after `down`
    misses among the last `within` balls on the rung; None if the ladder only goes up. In sets the count begins afresh
    after each `up.among` balls, the last of which decides."""

    quantity: str
    """What the rungs of a feed differ in; "" where each rung is a feed."""
    labels: tuple[str, ...]
    up: Goal
    down: int | None
    within: int | None
    start: int = 0
    in_sets: bool = False
    most_sets: int | None = None
    """After so many sets on a rung it goes up whatever they were; None for never."""
    down_sets: int | None = None
    """After so many sets on a rung, of which none led up, it goes down; None for never."""
    ends: bool = False
    """Whether it is over once the last rung is won."""


PART_REST_S = 120.0
"""A rest longer than this ends a part, like a collect: a machine does not stay ready to launch for longer."""
LONGEST_PAUSE_S = 115.0
"""Longest pause between two launches of one arming; a device disarms itself after 120 s."""
TEST_BALLS = 3
"""Thrown at a machine with nobody in front, to see where they go: common practice, no source."""


class BlockRest(Frozen):
    """The seconds of rest after every so many balls of a block, or after each set of a ladder; in a block with points
    after every so many of those."""

    seconds: float
    every: int
    sentence: s.Sentence = aside()
    notes: tuple[str, ...] = ()

    def before(self, drawn: int) -> float:
        """How much longer than its interval a ball or point waits that comes after so many others."""
        return self.seconds if drawn and drawn % self.every == 0 else 0.0


class Hold(Frozen):
    """A goal that ends a block: of one variation, or of all balls of the block together if that is None."""

    variation: str | None
    hits: int
    among: int
    counts: str = "hits"
    """"hits", or "misses" of which there are so many."""
    in_sets: bool = False
    """Whether each `among` balls are counted by themselves, and the last of them decides."""


class BroadGoal(Frozen):
    """A goal beyond one variation in one block, which ends nothing: so many hits of all balls, or points, of a block or
    of rounds, whichever variation they are of; or of all balls of one variation in the whole session. Or what each of
    those who take turns counts, also of one variation in one block."""

    hits: int
    among: int | None
    """Of the last balls; with `in_all` how many there should be, None where that is not said."""
    in_all: bool
    """Whether every ball counts."""
    each: bool
    """Whether each of those who take turns has a count of their own."""
    sentence: s.Goal = aside()

    def __str__(self) -> str:
        return hits_of(self.hits, self.among, in_all=self.in_all, each=self.each)


class Score(Frozen):
    """A count of a block or of rounds, which hits and misses move; in a block with points, those won or lost."""

    start: int = 0
    hit: int = 1
    """What a hit adds whose ball has no number of its own."""
    miss: int = 0
    named: tuple[tuple[str, int], ...] = ()
    """What a hit of these feeds, points and variations adds."""
    missed: tuple[tuple[str, int], ...] = ()
    """What a miss of these adds, in place of `miss`."""
    results: tuple[tuple[str, int], ...] = ()
    """What other results than hit and miss add, by their words: only a person tells which one a ball has."""
    row: int | None = None
    """After each so many hits in a row it adds `bonus`, too."""
    bonus: int = 0
    least: int | None = None
    most: int | None = None
    ends: tuple[int, ...] = ()
    """What ends the block once it is reached: from the start upwards, downwards, or either."""
    goal: int | None = None
    """The block, or all rounds, should end with so many or more."""
    each: bool = False
    """Whether each of those who take turns has a score; the first to reach an end then ends the block."""
    worth: tuple[tuple[str, int], ...] = ()
    """What a hit of each ball of a block adds, or each of its points that is won; known once it is scheduled."""
    misses: tuple[tuple[str, int], ...] = ()
    """The same of those whose miss, or loss, adds another number than `miss`."""
    goes_on: bool = False
    """Whether it begins with what the block before ended with: in rounds, and after a collect inside a block."""
    sentence: s.Score | None = aside(default=None)
    until: s.Until | None = aside(default=None)
    asked: s.ScoreGoal | None = aside(default=None)


class HitIf(Frozen):
    """What else decides a hit, in words. No figure counts it."""

    words: str
    sentence: s.HitIf = aside()


class InARow(Frozen):
    """At most so many balls in a row of some shares of a mix, by their indices."""

    most: int
    shares: frozenset[int]
    limit: s.AtMost = aside()
    """What says it."""


class Play(Frozen):
    """A block of balls: for a time or a number of balls or points, in an order. A share is a feed or a point."""

    seconds: float | None
    count: int | None
    """Of points, if a share is one; a single ball then counts as one, too."""
    order: str
    shares: tuple[tuple[int, str], ...]
    runs: tuple[InARow, ...]
    ladder: LadderRules | None
    """For the order "ladder": the shares are then its rungs, and `count` the most balls."""
    words: str
    notes: tuple[str, ...]
    span: Span = aside()
    walks: tuple[str, ...] = ()
    """How each share goes through its family: "in order", "there and back", or "" for a random order."""
    each: int = 1
    """How many of each member of a family come before the next one."""
    players: tuple[str, ...] = ()
    """Who plays it, of players with names; several take turns, or get the shares that are theirs."""
    first_to: int | None = None
    """The points that end it, won or lost."""
    until: tuple[Hold, ...] = ()
    """What ends it, once all of them are met."""
    goal: BroadGoal | None = None
    """What a line under it asks for; it ends nothing."""
    score: Score | None = None
    rest: BlockRest | None = None
    record: int | None = None
    """The balls, or points, that the block should outlast, or where hits end it, need less than."""
    hit_if: tuple[HitIf, ...] = ()
    """Of all its balls; also what lines above say of several blocks."""
    continued: bool = False
    """Whether a collect has interrupted it."""
    sentence: s.Sentence | None = aside(default=None)
    whose: tuple[tuple[str, ...], ...] = ()
    """Who plays each share, where they are for different players: one, or those of a point. The draw then says whose
    ball comes."""

    @property
    def shared(self) -> tuple[tuple[str, tuple[str, ...]], ...]:
        """Each share, and who plays it."""
        each = self.whose or repeat(self.players)
        return tuple((name, players) for (_, name), players in zip(self.shares, each, strict=False))

    @property
    def ends_early(self) -> bool:
        """Whether marks may end it before its last ball."""
        return bool(
            self.first_to or self.until or (self.score and self.score.ends) or (self.ladder and self.ladder.ends)
        )


COLLECT_S = 120.0
"""A collect without a time counts as two minutes: common practice, no source."""


class OwnServes(NamedTuple):
    """The player's own serves, after which no ball is fed."""

    number: int
    every: float
    """Seconds from one to the next."""
    goal: Goal | None


class Pause(Frozen):
    """A rest, also one in which the player serves, or a collect."""

    kind: str
    seconds: float
    words: str
    span: Span = aside()
    added: bool = False
    """Whether the script has no line for it."""
    notes: tuple[str, ...] = ()
    between: bool = False
    """Whether it does not follow the last of its rounds."""
    serves: OwnServes | None = None


class Rounds(Frozen):
    count: int
    items: "tuple[Play | Pause | Rounds, ...]"
    span: Span = aside()
    goal: BroadGoal | None = None
    """Over all rounds."""
    score: Score | None = None
    """The same."""

    def played(self, number: int) -> "tuple[Play | Pause | Rounds, ...]":
        """What one of its rounds plays, counted from one: what is only between them does not follow the last."""
        last = number == self.count
        return tuple(item for item in self.items if not (last and isinstance(item, Pause) and item.between))


Item = Play | Pause | Rounds


def played(items: tuple[Item, ...], at: int = 0) -> Iterator[tuple[Item, range]]:
    """Each item with the entries of the sequence that it plays, once for each time that rounds repeat it; rounds after
    what they play."""
    for item in items:
        begins = at
        if isinstance(item, Rounds):
            for number in range(1, item.count + 1):
                for inner, entries in played(item.played(number), at):
                    at = max(at, entries.stop)
                    yield inner, entries
        else:
            at += 1
        yield item, range(begins, at)


class Session(Frozen):
    title: str
    lasts: float | None
    items: tuple[Item, ...]
    notes: tuple[str, ...]
    span: Span = aside()
    refill: Pause | None = None
    """The collect that the script wants wherever the hopper is empty. Without one, a plain collect comes there."""
    sentence: s.Session | None = aside(default=None)
    at_most: bool = False
    """Whether it may be shorter than `lasts`."""
    goal: BroadGoal | None = None
    """Over all its balls."""

    @property
    def plays(self) -> tuple[Play, ...]:
        """Every block of balls, those in rounds once."""
        items, found = list(self.items), []
        for item in items:
            if isinstance(item, Rounds):
                items += item.items
            elif isinstance(item, Play):
                found.append(item)
        return tuple(found)
