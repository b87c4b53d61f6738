"""Which ball when: the sequence of the session, and its schedule of launches."""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from ..source import Span

Indices = NDArray[np.intp]
Times = NDArray[np.float64]


class Round(NamedTuple):
    number: int
    of: int


@dataclass(frozen=True, slots=True, eq=False)
class Block:
    """One block as it is played: rounds are unrolled. Times in s on the session's clock, rests and collects counted."""

    kind: str
    words: str
    span: Span
    start: float
    duration: float
    round: Round | None
    order: str | None
    feeds: tuple[str, ...]
    """The distinct feeds in the order the script names them."""
    draws: Indices
    """Which feed of the sequence each ball is, (balls,)."""
    times: Times
    """When each ball is launched, (balls,)."""
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Sequence:
    feeds: tuple[str, ...]
    blocks: tuple[Block, ...]
    duration: float


@dataclass(frozen=True, slots=True, eq=False)
class Schedule:
    """All launches in order, (n,) each: which feed, on the session's clock, since the start of the stretch, since the
    last launch (NaN for the first of a stretch), in which block and stretch."""

    sequence: Sequence
    feed: Indices
    clock: Times
    at: Times
    gap: Times
    block: Indices
    stretch: Indices
    stretch_of_block: Indices

    @property
    def balls(self) -> int:
        return len(self.feed)
