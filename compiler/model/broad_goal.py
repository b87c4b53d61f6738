"""A goal beyond one variation in one block, in a plan."""

from collections.abc import Iterator, Sequence, Set
from typing import Annotated

from ...grammar.units import hits_of
from . import bounds
from .record import Listed, Record


class BroadGoalRecord(Record):
    """So many hits of all balls of some blocks, of one variation or of whichever; in a block with points, points that
    are won. It ends no block."""

    hits: bounds.BroadGoal
    among: bounds.BroadGoal | None
    """Among as many of the last judged balls, in a row if the two numbers are equal; with `in_all` how many balls there
    are, None where nobody says it."""
    in_all: bool
    """Whether every ball counts."""
    each: bool
    """Whether each of those who take turns in the blocks has a count of their own."""
    variation: bounds.Name | None
    """The only one whose balls count; None if all balls of the blocks count together, or their points."""
    blocks: Annotated[tuple[bounds.Count, ...], Listed(1, 2000)]
    """In their order; the count goes on from one to the next."""
    whole: bool = False
    """Whether it stands under the session, and counts all its balls."""

    @property
    def words(self) -> str:
        """`35 of 50 in all`, `15 in all`, `12 of 20`, `4 in a row`."""
        return hits_of(self.hits, self.among, in_all=self.in_all, each=self.each)

    def check(self) -> None:
        if self.among is None and not self.in_all:
            raise ValueError("a goal counts among so many balls, or among all")
        if self.among is not None and self.hits > self.among:
            raise ValueError("a goal has no more hits than balls")
        if self.whole and self.variation is not None:
            raise ValueError("a goal of the whole session is of no variation")
        if list(self.blocks) != sorted(set(self.blocks)):
            raise ValueError("a goal names each of its blocks once, in their order")


def loose_goals(goals: Sequence[BroadGoalRecord], fed: Set[int], aims: Set[tuple[int, str | None]]) -> Iterator[str]:
    """The goals that count other blocks than they can. `fed`: the blocks of balls; `aims`: each with a variation of
    its balls."""
    for goal in goals:
        if goal.variation is not None and goal.each and not goal.in_all:
            # Each block of the variation is counted by itself.
            mine = {block for block, variation in aims if variation == goal.variation and block == goal.blocks[0]}
        elif goal.variation is not None:
            mine = {block for block, variation in aims if variation == goal.variation}
        elif goal.whole:
            mine = set(fed)
        else:
            mine = {block for block in fed if goal.blocks[0] <= block <= goal.blocks[-1]}
        if mine != set(goal.blocks):
            yield "a goal counts a block without its balls, or leaves one out"
