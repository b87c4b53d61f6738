"""Blocks that hits or misses end before their last ball, or points before the last point.

Pure: the same functions end a block during play and find in a record that it had ended. A ball that was not judged
changes nothing: it is none of the last balls and does not end a streak. In sets it is one of its set, because whoever
feeds counts balls.
"""

from __future__ import annotations

from collections import Counter, deque
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from ..outputs.sheet.words import until
from .points import PointBall, course
from .progress import Verdict

if TYPE_CHECKING:
    from ...compiler.model.plan import Block, HoldRecord

_COUNTED = {"hits": Verdict.HIT, "misses": Verdict.MISS}


@dataclass(frozen=True, slots=True)
class HoldSoFar:
    """How far a block is with one of the things that it goes on for."""

    hold: HoldRecord
    now: int
    """The streak up to the last ball, or how many are among the last judged balls, or in the set of the last ball."""
    met: bool
    """Whether there were ever enough; what comes afterwards changes nothing."""
    in_set: int | None = None
    """How many balls of the last one's set came, where sets are counted."""

    def __str__(self) -> str:
        """`until 4 in a row: 3`, `until 12 of every 16: 5 of 9 in the set`."""
        far = f"{self.now} of {self.in_set} in the set" if self.in_set else f"{self.now}"
        return f"{until(self.hold)}: {'reached' if self.met else far}"


def holding(block: Block, balls: Iterable[PointBall], variations: Mapping[str, str | None]) -> tuple[HoldSoFar, ...]:
    """Each thing for which a block goes on, after these balls in their order; `variations` says at which one each shot
    aims. In a block with points these count, won or lost."""
    if not block.until:
        return ()
    played: list[tuple[int, str | None, Verdict]]
    if block.points:
        played = [(n, None, result) for n, result in enumerate(course(block, balls).results)]
    else:
        played = [(ball.index, variations.get(ball.shot), ball.verdict) for ball in balls]
    return tuple((_in_sets if hold.in_sets else _after)(hold, played) for hold in block.until)


def over(holdings: Iterable[HoldSoFar]) -> bool:
    """Whether a block has all for which it goes on; False for one that goes on for nothing."""
    met = [holding.met for holding in holdings]
    return bool(met) and all(met)


def _in_sets(hold: HoldRecord, balls: Sequence[tuple[int, str | None, Verdict]]) -> HoldSoFar:
    """Each ball belongs to the set of its place, even if one before it was not thrown; the last of a set decides."""
    counted = _COUNTED[hold.counts]
    found = Counter(at // hold.among for at, _, verdict in balls if verdict is counted)
    came = max((at for at, *_ in balls), default=-1) + 1
    met = any(number >= hold.hits for place, number in found.items() if (place + 1) * hold.among <= came)
    last = max(came - 1, 0) // hold.among
    return HoldSoFar(hold, found[last], met, came - last * hold.among)


def _after(hold: HoldRecord, balls: Iterable[tuple[int, str | None, Verdict]]) -> HoldSoFar:
    recent, met = deque[Verdict](maxlen=hold.among), False
    streak, counted = hold.window is None, _COUNTED[hold.counts]
    for _, variation, verdict in balls:
        if verdict is Verdict.NOT_JUDGED or hold.variation not in (None, variation):
            continue
        if streak and verdict is not counted:
            recent.clear()
        else:
            recent.append(verdict)
        met |= recent.count(counted) >= hold.hits
    return HoldSoFar(hold, recent.count(counted), met)
