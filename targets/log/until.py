"""Blocks that hits or misses end before their last ball, or points before the last point.

Pure: the same functions end a block during play and find in a record that it had ended. A ball that was not judged
changes nothing: it is none of the last balls and does not end a streak.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from ..outputs.sheet.words import until
from .points import PointBall, course
from .progress import Verdict

if TYPE_CHECKING:
    from ...compiler.model.plan import Block, HoldRecord


@dataclass(frozen=True, slots=True)
class HoldSoFar:
    """How far a block is with one of the things that it goes on for."""

    hold: HoldRecord
    now: int
    """The streak up to the last ball, or how many are among the last judged balls."""
    met: bool
    """Whether there were ever enough; what comes afterwards changes nothing."""

    def __str__(self) -> str:
        """`until 4 in a row: 3`."""
        return f"{until(self.hold)}: {'reached' if self.met else self.now}"


def holding(block: Block, balls: Iterable[PointBall], variations: Mapping[str, str | None]) -> tuple[HoldSoFar, ...]:
    """Each thing for which a block goes on, after these balls in their order; `variations` says at which one each shot
    aims. In a block with points these count, won or lost."""
    if not block.until:
        return ()
    played: list[tuple[str | None, Verdict]]
    if block.points:
        played = [(None, result) for result in course(block, balls).results]
    else:
        played = [(variations.get(ball.shot), ball.verdict) for ball in balls]
    return tuple(_after(hold, played) for hold in block.until)


def over(holdings: Iterable[HoldSoFar]) -> bool:
    """Whether a block has all for which it goes on; False for one that goes on for nothing."""
    met = [holding.met for holding in holdings]
    return bool(met) and all(met)


def _after(hold: HoldRecord, balls: Iterable[tuple[str | None, Verdict]]) -> HoldSoFar:
    recent, met = deque[Verdict](maxlen=hold.among), False
    streak, counted = hold.window is None, Verdict.HIT if hold.counts == "hits" else Verdict.MISS
    for variation, verdict in balls:
        if verdict is Verdict.NOT_JUDGED or hold.variation not in (None, variation):
            continue
        if streak and verdict is not counted:
            recent.clear()
        else:
            recent.append(verdict)
        met |= recent.count(counted) >= hold.hits
    return HoldSoFar(hold, recent.count(counted), met)
