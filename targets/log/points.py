"""Points: which ball comes next, and how many points are won.

Pure: the same functions choose balls during play and count the points of a record. A point is won with hits enough of
its balls, where the plan says nothing with all of them, and lost once its misses leave too few. A point in which balls
that could still decide were not judged, or were not thrown, is neither.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from ...compiler.printable import plural
from .progress import Verdict

if TYPE_CHECKING:
    from ...compiler.model.plan import Block, Plan, PointRecord


@dataclass(frozen=True, slots=True)
class PointTally:
    """Points of one name that are over."""

    won: int = 0
    lost: int = 0
    open: int = 0
    """Neither won nor lost."""

    @property
    def played(self) -> int:
        return self.won + self.lost + self.open

    def __add__(self, other: PointTally) -> PointTally:
        return PointTally(self.won + other.won, self.lost + other.lost, self.open + other.open)


_COUNTED = {
    Verdict.HIT: PointTally(won=1), Verdict.MISS: PointTally(lost=1), Verdict.NOT_JUDGED: PointTally(open=1),
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class PointBall:
    """A thrown ball of a block: how many of the block's balls come before it, its shot, and its verdict."""

    index: int
    shot: str
    verdict: Verdict


@dataclass(frozen=True, slots=True)
class Course:
    """A block so far: the point and the ball of it that come next, and the points that are over, by name."""

    point: int
    step: int
    tallies: dict[str, PointTally]
    results: tuple[Verdict, ...] = ()
    """Of each point that is over, in their order: a hit if it was won, a miss if it was lost."""
    firsts: tuple[int, ...] = ()
    """Which ball of the block each of them began with, from zero."""
    names: tuple[str, ...] = ()
    """What each of them is called."""


@dataclass(frozen=True, slots=True)
class Game:
    """A block that ends when one side has `to` points. A single ball beside points counts as one."""

    tally: PointTally
    to: int

    @property
    def over(self) -> bool:
        return max(self.tally.won, self.tally.lost) >= self.to

    def __str__(self) -> str:
        """`game to 11: 7 to 5`, the player's points first."""
        ended = f", {'won' if self.tally.won > self.tally.lost else 'lost'}" if self.over else ""
        return f"game to {self.to}: {self.tally.won} to {self.tally.lost}{ended}"


def game_of(block: Block, now: Course) -> Game | None:
    """A block that is a game, after so many balls; None for another."""
    return None if block.first_to is None else Game(sum(now.tallies.values(), PointTally()), block.first_to)


def course(block: Block, balls: Iterable[PointBall]) -> Course:
    """The course of a block with points, after these balls in their order."""
    return _again(block.points, balls) if block.begins_again else _straight(block.points, balls)


def shot_of(block: Block, now: Course) -> str:
    """The ball that comes next where a missed ball changes the order; the points begin anew after the last."""
    return block.points[now.point].shots[now.step]


def in_point(points: Sequence[PointRecord], index: int) -> tuple[PointRecord, int] | None:
    """The point to which a ball of a block belongs, and how many balls of it come before, as the points were drawn."""
    for point in points:
        if index < len(point.shots):
            return point, index
        index -= len(point.shots)
    return None


def left_out(block: Block, balls: Iterable[PointBall], index: int) -> bool:
    """Whether a ball of a block is left out, because after a miss before it the next point comes."""
    found = in_point(block.points, index) if block.leaves_out else None
    if found is None or found[0].after_miss != "next point":
        return False
    return any(ball.verdict is Verdict.MISS and index - found[1] <= ball.index < index for ball in balls)


def _again(points: Sequence[PointRecord], balls: Iterable[PointBall]) -> Course:
    point = step = first = 0
    marks: list[Verdict] = []
    over: list[tuple[str, Verdict, int]] = []
    for ball in balls:
        one = points[point]
        if ball.shot != one.shots[step]:
            continue  # it was on its way when the ball before was marked a miss, and belongs to no point
        first = first if step else ball.index
        marks.append(ball.verdict)
        step += 1
        ended = one.after_miss != "goes on" and ball.verdict is Verdict.MISS
        if step == len(one.shots) or ended:
            over.append((one.name, _judged(one, marks), first))
            stays = ended and one.after_miss == "from the start"
            point = point if stays else (point + 1) % len(points)
            step, marks = 0, []
    return _course(point, step, over)


def _straight(points: Sequence[PointRecord], balls: Iterable[PointBall]) -> Course:
    """Each ball has its place, even if one before it was not thrown."""
    verdicts = {ball.index: ball.verdict for ball in balls}
    first, last = 0, max(verdicts, default=-1)
    over: list[tuple[str, Verdict, int]] = []
    for number, one in enumerate(points):
        if first > last:
            return _course(number, 0, over)
        marks = [verdicts.get(i, Verdict.NOT_JUDGED) for i in range(first, first + len(one.shots))]
        ended = one.after_miss == "next point" and Verdict.MISS in marks
        if first + len(one.shots) > last + 1 and not ended:
            return _course(number, last + 1 - first, over)
        if any(i in verdicts for i in range(first, first + len(one.shots))):
            over.append((one.name, _judged(one, marks), first))
        first += len(one.shots)
    return _course(0, 0, over)


def _judged(point: PointRecord, marks: Sequence[Verdict]) -> Verdict:
    """Of a point that is over, by the marks of its balls."""
    if marks.count(Verdict.HIT) >= point.needed:
        return Verdict.HIT
    return Verdict.MISS if marks.count(Verdict.MISS) > len(point.shots) - point.needed else Verdict.NOT_JUDGED


def _course(point: int, step: int, over: Sequence[tuple[str, Verdict, int]]) -> Course:
    tallies: dict[str, PointTally] = {}
    for name, result, _ in over:
        tallies[name] = tallies.get(name, PointTally()) + _COUNTED[result]
    names, results, firsts = zip(*over, strict=True) if over else ((), (), ())
    return Course(point, step, tallies, results, firsts, names)


def of_points(plan: Plan, tallies: dict[str, PointTally]) -> dict[str, PointTally]:
    """Without the single balls that stand beside points."""
    singles = {shot.feed for shot in plan.shots}
    return {name: tally for name, tally in tallies.items() if name not in singles}


def summed(tallies: Iterable[dict[str, PointTally]]) -> dict[str, PointTally]:
    total: dict[str, PointTally] = {}
    for one in tallies:
        for name, tally in one.items():
            total[name] = total.get(name, PointTally()) + tally
    return total


def told(tally: PointTally) -> str:
    """`5 of 8 points won, 1 not judged`."""
    undecided = f", {tally.open} not judged" if tally.open else ""
    return f"{tally.won} of {plural(tally.played, 'point')} won{undecided}"
