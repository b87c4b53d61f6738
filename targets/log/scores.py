"""Scores: how far a block, or rounds, are with a count that hits and misses move.

Pure: the same functions end a block during play and find in a record that it had ended. A ball that was not judged
changes nothing.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from ...compiler.model.score import ScoreStanding, end_of, moved
from ...compiler.model.takers import Places, called
from ..outputs.sheet.words import score_ends
from .points import PointBall, course
from .progress import Verdict

if TYPE_CHECKING:
    from ...compiler.model.plan import Block, ScoreRecord


@dataclass(frozen=True, slots=True)
class ScoreSoFar:
    score: ScoreRecord
    now: int
    """After the last judged ball, or the one that ended the block."""
    end: int | None
    """Which of its ends it has reached; what comes afterwards changes nothing."""
    judged: int
    """How many balls or points moved it."""
    who: str = ""
    """Whose it is, where each has their own: a name, or the place in the line."""

    @property
    def met(self) -> bool:
        """Whether it is now what its goal asks for."""
        return self.score.goal is not None and self.now >= self.score.goal

    def __str__(self) -> str:
        """`score 14 of 60`, `score 3, until 0, goal 1 or more`; `anna: score 3` where each has one."""
        ends, goal = self.score.ends, self.score.goal
        up = len(ends) == 1 and ends[0] > self.score.start
        told = f"{self._whose}score {self.now}" + (
            f" of {ends[0]}" if up else f", until {score_ends(self.score)}" if ends else ""
        )
        told += "" if goal is None else f", goal {goal} or more"
        return told if self.end is None else f"{told}: over"

    @property
    def told(self) -> str:
        """`score 60, until 60: reached`, `score 4, goal 6 or more: not reached`."""
        ends, goal = self.score.ends, self.score.goal
        reached = {True: "reached", False: "not reached"}
        told = [f", until {score_ends(self.score)}: {reached[self.end is not None]}"] if ends else []
        told += [] if goal is None else [f", goal {goal} or more: {reached[self.met]}"]
        return f"{self._whose}score {self.now}{''.join(told)}"

    @property
    def _whose(self) -> str:
        return f"{called(self.who)}: " if self.who else ""


def score_of(
    blocks: Mapping[int, Block], index: int, balls: Mapping[int, Sequence[PointBall]],
    who: str = "", theirs: Places | None = None,
) -> ScoreSoFar | None:  # fmt: skip
    """The score of a block, with that of those before from which it goes on; None where there is none, or where it has
    other results than hits and misses, of which a person keeps the count. `balls` has of each block those that were
    thrown, in their order; `theirs` are the balls that count for `who`, None for all."""
    score = blocks[index].score
    if score is None or score.results:
        return None
    now, end, judged = ScoreStanding(score.start), None, 0
    for block in _counted(blocks, index):
        for place, name, verdict in _results(block, balls.get(block.index, ())):
            mine = theirs is None or (block.index, place) in theirs
            if not mine or verdict is Verdict.NOT_JUDGED or end is not None or block.score is None:
                continue
            hit = verdict is Verdict.HIT
            now, judged = moved(score, now, block.score.adds(name, hit), hit), judged + 1
            end = end_of(score, now.score)
    return ScoreSoFar(score, now.score, end, judged, who)


def counted_with(blocks: Mapping[int, Block], index: int) -> list[Block]:
    """All blocks that the score of a block counts, before and after it, in their order."""
    found = _counted(blocks, index)
    for later in sorted(one for one in blocks if one > index):
        score = blocks[later].score
        if score and not score.goes_on:
            break
        if score:
            found.append(blocks[later])
    return found


def _counted(blocks: Mapping[int, Block], index: int) -> list[Block]:
    """The blocks that a score counts up to this one, in their order."""
    found = [blocks[index]]
    for before in sorted((one for one in blocks if one < index), reverse=True):
        if found[-1].score is None or not found[-1].score.goes_on:
            break
        if blocks[before].score:
            found.append(blocks[before])
    return found[::-1]


def _results(block: Block, balls: Sequence[PointBall]) -> Iterator[tuple[int, str, Verdict]]:
    """Each ball, or each point that is over: how many balls of the block come before it, and its name in the score."""
    if block.points:
        now = course(block, balls)
        yield from zip(now.firsts, now.names, now.results, strict=True)
    else:
        yield from ((ball.index, ball.shot, ball.verdict) for ball in balls)
