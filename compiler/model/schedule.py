"""Which ball when: the sequence of the session, and its schedule of launches."""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from ...grammar.source import Span
from .program import LadderRules

Indices = NDArray[np.intp]
Times = NDArray[np.float64]


class Round(NamedTuple):
    number: int
    of: int


@dataclass(frozen=True, slots=True, eq=False)
class Block:
    """One block as it is played: rounds are unrolled."""

    kind: str
    words: str
    span: Span
    seconds: float | None
    """How long it lasts; None for a block of balls, which lasts until its last ball's interval is over."""
    round: Round | None
    order: str | None
    feeds: tuple[str, ...]
    """The distinct balls in the order the script names them; of a ladder its rungs."""
    draws: Indices
    """Which feed of the sequence each ball is, (balls,); in a ladder the first rung."""
    ladder: LadderRules | None
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Sequence:
    feeds: tuple[str, ...]
    blocks: tuple[Block, ...]


@dataclass(frozen=True, slots=True)
class Totals:
    """Balls, time, and `variety`: the share of consecutive balls that differ."""

    balls: int
    duration_s: float
    stretches: int
    distinct_shots: int
    variety: float


@dataclass(frozen=True, slots=True, eq=False)
class Schedule:
    """All launches in order, (n,) each: which feed, on the session's clock, since the start of the stretch, since the
    last launch (NaN for the first of a stretch), in which block and stretch. Of each block, (blocks,): its start on the
    session's clock, rests and collects counted, its duration, and its stretch."""

    sequence: Sequence
    feed: Indices
    clock: Times
    at: Times
    gap: Times
    block: Indices
    stretch: Indices
    start: Times
    duration: Times
    stretch_of_block: Indices

    @property
    def total(self) -> float:
        return float(self.start[-1] + self.duration[-1]) if len(self.start) else 0.0

    def totals(self) -> Totals:
        follow = self.feed[1:] != self.feed[:-1]
        drawn = {self.sequence.feeds[i] for i in set(self.feed.tolist())}
        rungs = {name for block in self.sequence.blocks if block.ladder for name in block.feeds}
        return Totals(
            balls=self.balls,
            duration_s=round(self.total, 4),
            stretches=len(set(self.stretch.tolist())),
            distinct_shots=len(drawn | rungs),
            variety=round(float(follow.mean()), 3) if len(follow) else 0.0,
        )

    @property
    def balls(self) -> int:
        return len(self.feed)
