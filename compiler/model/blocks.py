"""The blocks of a plan: the lines of the session as they are played, rounds unrolled."""

from itertools import accumulate
from typing import Literal

from . import bounds
from .by_marks import GoalRecord, HoldRecord, Ladder, PointRecord, ScoreRecord
from .record import Record


class BlockRestRecord(Record):
    """The rest after every so many balls of a block, or between two sets of a ladder; in a block with points after
    every so many of those. It comes on top of the interval."""

    rest_s: bounds.BlockRest
    every: bounds.RestEvery
    notes: tuple[bounds.Words, ...] = ()


class OwnServesRecord(Record):
    """The player's own serves in a rest, after which no ball is fed."""

    number: bounds.Serves
    every_s: bounds.Interval
    goal: GoalRecord | None = None


class Block(Record):
    index: bounds.Count
    kind: Literal["balls", "rest", "collect"]
    words: bounds.Words
    """The line of the script."""
    part: bounds.Count
    start_s: bounds.Clock
    end_s: bounds.Clock
    """The next block starts there."""
    balls: bounds.Count
    order: Literal["same", "cycle", "mix", "ladder"] | None
    shots: tuple[bounds.Name, ...]
    """The distinct shots of the block in the order the script names them."""
    round: tuple[bounds.Round, bounds.Round] | None
    """Which round of how many."""
    notes: tuple[bounds.Words, ...]
    ladder: Ladder | None = None
    points: tuple[PointRecord, ...] = ()
    first_to: bounds.Goal | None = None
    """All that is drawn, in order: while no ball is missed, its launches. So many points, won or lost, may end it."""
    until: tuple[HoldRecord, ...] = ()
    """These hits end it before its last ball, once all of them came."""
    score: ScoreRecord | None = None
    rest: BlockRestRecord | None = None
    serves: OwnServesRecord | None = None
    """What the player does in a rest; it is as long as they take."""
    record: bounds.BroadGoal | None = None
    """The balls, or points, that it should outlast, or where hits end it, need less than."""
    hit_if: tuple[bounds.Words, ...] = ()
    """What else decides a hit of its balls, which no figure counts."""

    @property
    def begins_again(self) -> bool:
        """Whether a missed ball changes which balls come next."""
        return any(point.after_miss == "from the start" for point in self.points)

    @property
    def leaves_out(self) -> bool:
        """Whether a missed ball leaves out the rest of its point; the others keep their times."""
        return not self.begins_again and any(point.after_miss == "next point" for point in self.points)

    @property
    def ends_early(self) -> bool:
        """Whether marks may end it before its last ball."""
        return bool(
            self.first_to or self.until or (self.score and self.score.ends) or (self.ladder and self.ladder.ends)
        )

    @property
    def longer_beats(self) -> bool:
        """Whether a longer block beats its record: misses end it, or a score that goes down."""
        downwards = self.score and any(end < self.score.start for end in self.score.ends)
        return bool(downwards or any(hold.counts == "misses" for hold in self.until))

    @property
    def sets(self) -> int | None:
        """How many balls, or points, are counted by themselves; None where none are."""
        return self.ladder.sets if self.ladder else next((hold.among for hold in self.until if hold.in_sets), None)

    @property
    def rested(self) -> tuple[int, ...]:
        """Which of its launches, from zero, come after a rest inside it."""
        if self.rest is None:
            return ()
        points = accumulate((len(point.shots) for point in self.points), initial=0)
        begin = tuple(points)[:-1] if self.points else tuple(range(self.balls))
        return begin[self.rest.every :: self.rest.every]

    @property
    def duration_s(self) -> float:
        return round(self.end_s - self.start_s, 4)  # both are given to 0.1 ms

    def check(self) -> None:
        if {self.kind == "balls"} != {self.order is not None, bool(self.shots), self.balls > 0}:
            raise ValueError("a block of balls has balls, shots and an order, and no other block has any")
        if len(set(self.shots)) != len(self.shots):
            raise ValueError("a block names each shot once")
        if (self.order == "ladder") != (self.ladder is not None) or (self.ladder and self.ladder.shots != self.shots):
            raise ValueError("the rungs of a ladder are the shots of its block")
        drawn = [shot for point in self.points for shot in point.shots]
        whole = not self.points or (len(drawn) == self.balls and set(drawn) <= set(self.shots) and not self.ladder)
        if not whole or (self.first_to or 0) > len(self.points):
            raise ValueError("the points of a block hold its balls, and are enough for its score")
        if self.until and (self.ladder or self.kind != "balls" or self.first_to):
            raise ValueError("only a block of balls or points without a score has hits that end it")
        if self.points and any(hold.variation is not None or hold.hits > len(self.points) for hold in self.until):
            raise ValueError("what ends a block of points counts its points")
        names = {point.name for point in self.points} or set(self.shots)
        if self.score and (self.score.worth.keys() != names or (self.score.ends and (self.first_to or self.until))):
            raise ValueError("a score counts the balls or points of its block, and is the only thing that ends it")
        if self.record and (self.first_to or not self.ends_early):
            raise ValueError("a block with a record ends early, and is no game")
        if self.rest and (self.kind != "balls" or self.begins_again):
            raise ValueError("only a block of balls, or of points that do not begin again, rests inside")
        if self.rest and self.ladder and self.rest.every != self.ladder.sets:
            raise ValueError("a ladder rests between its sets")
        takes_s = self.serves.number * self.serves.every_s if self.serves else 0.0
        if self.serves and (self.kind != "rest" or abs(takes_s - self.duration_s) > 0.01):
            raise ValueError("the player serves in a rest that is as long as that takes")
        if self.round and self.round[0] > self.round[1]:
            raise ValueError("a round has a number from 1 to the number of rounds")
