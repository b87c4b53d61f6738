"""What the marks of a practice may decide: which ball a launch is, the rungs of a ladder, the points of a block, and
whether a block is over before its last ball."""

from collections.abc import Mapping
from typing import Annotated, Literal

from ...grammar.units import hits_of, misses_of
from . import bounds
from .record import Listed, Record


class LaunchTime(Record):
    """One launch: its shot, or in a ladder one for each rung. In a block in which a point begins again after a
    missed ball its shot while none is missed, and any of the block's shots."""

    at_s: bounds.Clock
    """On the session's clock; start_s <= at_s < end_s of its block."""
    shot: bounds.Name | None
    block: bounds.Count
    any_of: tuple[bounds.Name, ...] = ()

    @property
    def first(self) -> str:
        """The shot, or the first rung's."""
        return self.shot if self.shot is not None else self.any_of[0]

    def unmarked(self, ladder: "Ladder | None") -> str:
        """The shot before any mark: of its block's ladder, the one of the rung on which that starts."""
        return self.any_of[ladder.start] if ladder else self.first

    def check(self) -> None:
        if self.shot not in self.any_of if self.shot is not None and self.any_of else not (self.shot or self.any_of):
            raise ValueError("a ball names one shot, or the rungs of a ladder, or also the others that may come")


class GoalRecord(Record):
    """So many hits among as many of the last judged balls; in a row if the two numbers are equal."""

    hits: bounds.Goal
    among: bounds.Goal

    @property
    def words(self) -> str:
        return hits_of(self.hits, self.among)

    @property
    def window(self) -> int | None:
        """Among so many of the last balls; None for a row."""
        return self.among if self.hits < self.among else None

    def check(self) -> None:
        if self.hits > self.among:
            raise ValueError("hits are counted among at least as many balls")


class Ladder(Record):
    """Rungs in their order, each a checked shot; the first ball is on the rung `start`. One rung up after the hits of
    `up`, one down after a number of misses among the last balls on the rung."""

    quantity: bounds.Words
    """What the rungs of a feed differ in; empty where each rung is a feed."""
    rungs: Annotated[tuple[tuple[bounds.Name, ...], ...], Listed(2, 60)]
    """The shots of each: one, or those of a family, of which each launch has one for each rung."""
    labels: Annotated[tuple[bounds.Words, ...], Listed(2, 60)]
    """What each rung is, in the coach's words, such as "80 km/h"."""
    up: GoalRecord
    down_misses: bounds.Misses | None
    down_in: bounds.Misses | None
    start: bounds.Count = 0
    """The rung of the first ball, from zero, if no practice before ended on another."""
    in_sets: bool = False
    """Whether the count begins afresh after each `up.among` balls on the rung, the last of which decides."""
    most_sets: bounds.Misses | None = None
    """After so many sets on a rung the next is one up, whatever they were."""
    down_sets: bounds.Misses | None = None
    """After so many sets on a rung, of which none led up, the next is one down."""
    ends: bool = False
    """Whether what takes the player up ends the block on the last rung."""
    intervals_s: Annotated[tuple[bounds.Interval, ...], Listed(0, 60)] = ()
    """Of each rung, where they differ. A ball then comes as long after the one before as the longer of their rungs' two
    intervals, and the launches have the times of the longest of all."""

    @property
    def shots(self) -> tuple[str, ...]:
        """Those of all rungs."""
        return tuple([shot for rung in self.rungs for shot in rung])

    def at(self, shot: str) -> int | None:
        """The rung of a shot."""
        return next((at for at, shots in enumerate(self.rungs) if shot in shots), None)

    def early_s(self, one: int, then: int) -> float:
        """How much sooner than the plan's launches say a ball comes that is on a rung after one on that or another."""
        each = self.intervals_s
        return max(each) - max(each[one], each[then]) if each else 0.0

    @property
    def sets(self) -> int | None:
        """How many balls a set has; None where the last balls are counted."""
        return self.up.among if self.in_sets else None

    def check(self) -> None:
        if len(self.labels) != len(self.rungs) or len(set(self.shots)) != len(self.shots) or not all(self.rungs):
            raise ValueError("a ladder has a label for each rung, and no rung twice")
        if self.intervals_s and len(self.intervals_s) != len(self.rungs):
            raise ValueError("a ladder has an interval for each rung, or one for all")
        if (self.down_misses is None) != (self.down_in is None) or (self.down_misses or 0) > (self.down_in or 0):
            raise ValueError("a ladder goes down after a number of misses among at least as many balls")
        if self.start >= len(self.rungs):
            raise ValueError("a ladder starts on one of its rungs")
        if self.in_sets and self.down_in not in (None, self.up.among):
            raise ValueError("a ladder in sets counts hits and misses in the same ones")
        if (self.most_sets, self.down_sets) != (None, None) and not self.in_sets:
            raise ValueError("only a ladder in sets counts the sets on a rung")
        if self.most_sets is not None and self.down_sets is not None:
            raise ValueError("after so many sets on a rung a ladder goes up or down")
        if self.in_sets and self.up.hits + (self.down_misses or self.up.among) <= self.up.among:
            raise ValueError("no set of a ladder leads both up and down")


class HoldRecord(GoalRecord):
    """What ends a block: so many hits, or misses; in a block with points those that are won, or lost."""

    variation: bounds.Name | None
    """The only one whose balls count; None if all balls of the block count together, or its points."""
    counts: Literal["hits", "misses"] = "hits"
    """What `hits` is the number of."""
    in_sets: bool = False
    """Whether each `among` balls are counted by themselves, and the last of them decides."""

    @property
    def words(self) -> str:
        return (hits_of if self.counts == "hits" else misses_of)(self.hits, self.among, self.in_sets)

    def check(self) -> None:
        super().check()
        if self.in_sets and self.variation is not None:
            raise ValueError("what ends a block counts all its balls in sets")


class ScoreRecord(Record):
    """A count that hits and misses move; in a block with points those that are won, or lost."""

    start: bounds.Score
    worth: Mapping[bounds.Name, bounds.Adds]
    """What a hit of each shot of the block adds, or each of its points that is won, by the name of that."""
    miss: bounds.Adds
    misses: Mapping[bounds.Name, bounds.Adds] = {}
    """The same of those whose miss, or loss, adds another number."""
    results: Mapping[bounds.Words, bounds.Adds] = {}
    """What other results than hit and miss add, by their words. A person tells which one a ball has, so marks of hits
    and misses do not move such a score."""
    row: bounds.Goal | None = None
    """After each so many hits in a row it adds `bonus`, too."""
    bonus: bounds.Adds = 0
    least: bounds.Score | None = None
    most: bounds.Score | None = None
    """After each mark it is held between these two."""
    ends: Annotated[tuple[bounds.Score, ...], Listed(0, 2)] = ()
    """What ends the block: from the start upwards, downwards, or either."""
    goal: bounds.Score | None = None
    """It should be so much or more after the last block that it counts."""
    each: bool = False
    """Whether each of those who take turns has a score; the first to reach an end then ends the block."""
    goes_on: bool = False
    """Whether it begins with what it was after the block before that has one, in place of `start`."""

    def adds(self, name: str, hit: bool) -> int:
        """What a hit or a miss of a ball, or of a point, adds."""
        return self.worth[name] if hit else self.misses.get(name, self.miss)

    def range_of(self, name: str) -> tuple[int, int]:
        """The most and the least that a mark of a ball, or point, adds; without other results, its hit and miss."""
        both = self.adds(name, True), self.adds(name, False)
        return (max(*both, *self.results.values()), min(*both, *self.results.values())) if self.results else both

    def check(self) -> None:
        if (
            not (self.least if self.least is not None else self.start)
            <= self.start
            <= (self.most if self.most is not None else self.start)
        ):
            raise ValueError("a score begins within its bounds")
        if self.start in self.ends or len({end > self.start for end in self.ends}) < len(self.ends):
            raise ValueError("a score has one end above its start, one below it, or both")
        if self.ends and self.goes_on:
            raise ValueError("a score that goes on ends no block")
        if not self.misses.keys() <= self.worth.keys():
            raise ValueError("a score has a number for the misses of what it counts")
        if (self.row is None) != (self.bonus == 0):
            raise ValueError("a score has a bonus for hits in a row, or neither")


class PointRecord(Record):
    """Some balls that are played as one and count as one; a single ball beside points is one, too."""

    name: bounds.Name
    shots: Annotated[tuple[bounds.Name, ...], Listed(1, 100)]
    """In their order."""
    serve_s: bounds.AfterServe | None
    """Seconds from the player's serve to the launch of the first ball."""
    after_miss: Literal["goes on", "from the start", "next point"]
    """How it goes on after a missed ball. Before the next point the rest of its balls are left out."""
    won_with: bounds.Misses | None = None
    """How many of its balls have to be hits; None for all."""

    @property
    def needed(self) -> int:
        """So many hits win it."""
        return self.won_with or len(self.shots)

    def check(self) -> None:
        if self.needed > len(self.shots):
            raise ValueError("a point is won with no more hits than it has balls")
        if self.won_with is not None and self.after_miss != "goes on":
            raise ValueError("a point that a miss ends is won with all its balls")
