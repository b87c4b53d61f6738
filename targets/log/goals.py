"""Goals beyond one variation in one block: how far a practice is with each, from the balls of its blocks.

Pure: the same function counts during play and finds in a record whether a goal was reached. A ball that was not judged
changes nothing.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from ...compiler.model.takers import called
from ...compiler.printable import plural
from .points import PointBall, course
from .progress import Tally, Verdict

if TYPE_CHECKING:
    from ...compiler.model.plan import Block, BroadGoalRecord
    from ...compiler.model.takers import Places


@dataclass(frozen=True, slots=True)
class GoalSoFar:
    goal: BroadGoalRecord
    tally: Tally
    points: bool
    """Whether it counts points."""
    who: str = ""
    """Whose count it is, where each has their own: a name, or the place in the line."""

    @property
    def best(self) -> int:
        """The hits of all, or in a row, or among so many balls."""
        return self.tally.hits if self.goal.in_all else self.tally.best

    @property
    def now(self) -> int:
        """The same up to the last ball."""
        return self.tally.hits if self.goal.in_all else self.tally.now

    @property
    def judged(self) -> int:
        return self.tally.hits + self.tally.misses

    @property
    def met(self) -> bool:
        return self.best >= self.goal.hits

    def __str__(self) -> str:
        """`goal 12 of 20: 7`, `go, goal 35 of 50 in all: reached`."""
        return f"{self._said}: {'reached' if self.met else self.now}"

    @property
    def told(self) -> str:
        """`goal 12 of 20: 13 hits among 20 balls at best, reached`."""
        hits = f"{plural(self.best, 'point')} won" if self.points else plural(self.best, "hit")
        if self.goal.in_all:
            counted = f"{hits} of {self.judged} judged"
        elif self.goal.hits == self.goal.among:
            counted = f"{hits} in a row at best"
        else:
            counted = f"{hits} among {plural(self.goal.among or 0, 'point' if self.points else 'ball')} at best"
        return f"{self._said}: {counted}{', reached' * self.met}"

    @property
    def _said(self) -> str:
        of = self.goal.variation or "the whole session" * self.goal.whole
        said = f"{of}, goal {self.goal.words}" if of else f"goal {self.goal.words}"
        return f"{said}, {called(self.who)}" if self.who else said


def so_far(
    goal: BroadGoalRecord, blocks: Mapping[int, Block], balls: Mapping[int, Sequence[PointBall]],
    variations: Mapping[str, str | None], who: str = "", theirs: Places | None = None,
) -> GoalSoFar:  # fmt: skip
    """`balls`: of each block those that were thrown, in their order; `variations`: at which one each shot aims;
    `theirs`: the balls that count for `who`, None for all."""
    mine = [blocks[index] for index in goal.blocks]
    points = goal.variation is None and any(block.points for block in mine)
    found = Tally(None if goal.in_all or goal.hits == goal.among else goal.among)
    for block in mine:
        for place, verdict in _results(goal, block, balls.get(block.index, ()), variations):
            if theirs is None or (block.index, place) in theirs:
                found = found.after(verdict)
    return GoalSoFar(goal, found, points, who)


def _results(
    goal: BroadGoalRecord, block: Block, balls: Sequence[PointBall], variations: Mapping[str, str | None]
) -> Iterator[tuple[int, Verdict]]:
    """Of each ball that counts, or each point that is over, with how many balls of the block come before it."""
    if block.points and goal.variation is None:
        now = course(block, balls)
        yield from zip(now.firsts, now.results, strict=True)
    else:
        yield from ((one.index, one.verdict) for one in balls if goal.variation in (None, variations.get(one.shot)))
