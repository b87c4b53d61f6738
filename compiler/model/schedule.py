"""What is played, rounds unrolled, and its schedule: the seconds of every launch, block and part."""

from collections.abc import Mapping
from itertools import pairwise
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from ...grammar.frozen import Frozen, aside, replace
from ...grammar.source import Span
from .program import BlockRest, Hold, LadderRules, OwnServes, Pause, Play, Score

Indices = NDArray[np.intp]
Times = NDArray[np.float64]


class RoundNumber(NamedTuple):
    number: int
    of: int


class Entry(NamedTuple):
    """One line of the session as it is played."""

    item: Play | Pause
    round: RoundNumber | None


class Sequence(Frozen):
    entries: tuple[Entry, ...]


class DrawnPoint(Frozen):
    """One point of a block as it was drawn, or a single ball beside points."""

    name: str
    feeds: tuple[str, ...]
    """The distinct balls in their order."""
    serve: float | None
    after_miss: str
    won_with: int | None = None
    """How many of its balls have to be hits; None for all."""


class Climb(Frozen):
    """The balls of a ladder. A ball comes its rung's interval after the one before, or as long as the rung of that one
    asks, if that is longer."""

    rungs: tuple[tuple[str, ...], ...]
    """Of each rung; several of a family."""
    intervals: tuple[float, ...]
    """Of each rung. The times of the schedule are those of the longest."""
    order: tuple[tuple[str, ...], ...]
    """For each ball of the block what comes on each rung."""

    def early(self, one: int, then: int) -> float:
        """How much sooner than in the schedule a ball comes that is on a rung after one on that or another rung."""
        return max(self.intervals) - max(self.intervals[one], self.intervals[then])

    def steps(self) -> dict[tuple[str, str], float]:
        """Each ball with each other that may follow it, on its rung or one up or down, and the seconds between."""
        return {
            (a, b): max(self.intervals) - self.early(rung, then)
            for one, two in pairwise(self.order)
            for rung, a in enumerate(one)
            for then, b in enumerate(two)
            if abs(then - rung) < 2 and a != b
        }


class BlockTimes(Frozen):
    """One entry with its seconds on the session's clock. Its launches lie in start <= at < end."""

    kind: str
    words: str
    span: Span = aside()
    round: RoundNumber | None
    order: str | None
    feeds: tuple[str, ...]
    """The distinct balls in the order the script names them; of a ladder its rungs."""
    ladder: LadderRules | None
    notes: tuple[str, ...]
    part: int
    start: float
    end: float
    balls: int
    added: bool = False
    """Whether it is a collect for which the script has no line."""
    rested: bool = False
    """Whether it is a collect for which the script has a rest."""
    first_to: int | None = None
    """The points, won or lost, that end it before its last ball."""
    until: tuple[Hold, ...] = ()
    """The good replies that do, once all of them came."""
    score: Score | None = None
    """Its own, or that of the rounds around it."""
    points: tuple[DrawnPoint, ...] = ()
    """In a block with points all that is drawn for it, in order: the balls of its launches."""
    even: float | None = None
    """Seconds between two launches of a block in which a point begins again after a missed ball; else None."""
    rest: BlockRest | None = None
    serves: OwnServes | None = None
    record: int | None = None
    """The balls, or points, that it should outlast, or where hits end it, need less than."""
    hit_if: tuple[str, ...] = ()
    """What else decides a hit of its balls, in words."""
    entry: int = 0
    """Which entry of the sequence it is, or a part or a collect of."""
    climb: Climb | None = None
    """Of a ladder."""

    @property
    def ends_early(self) -> bool:
        """Whether marks may end it before its last ball."""
        return bool(
            self.first_to or self.until or (self.score and self.score.ends) or (self.ladder and self.ladder.ends)
        )


class PartTimes(NamedTuple):
    """What a person arms at once: from its first block to the end of its last, a collect or long rest, or to
    where a machine is moved."""

    start: float
    end: float


class PlayerLoad(NamedTuple):
    """What one of several players gets: balls, and the seconds from each of them to the next ball, or to the end of its
    block."""

    player: str
    balls: int
    duration_s: float


class ScheduleTotals(Frozen):
    """Balls, time, and `variety`: the share of consecutive balls that differ."""

    balls: int
    duration_s: float
    parts: int
    distinct_shots: int
    variety: float
    points: int = 0
    """Of all blocks that have some."""
    ladders: int = 0
    """Blocks whose changes depend on the player, and are not in `variety`."""
    loads: tuple[PlayerLoad, ...] = ()
    """Of several players with names, in their order."""


class Schedule(Frozen):
    """All times in seconds on the session's clock, which starts at 0 and counts rests and collects. Blocks follow each
    other without a gap, and so do parts. For each launch in order, (n,): which of `feeds` (in a ladder the first rung),
    when it leaves, and in which block."""

    feeds: tuple[str, ...]
    players: tuple[str, ...]
    """Who plays each of `feeds`."""
    called: tuple[str, ...]
    """The players with names."""
    same: tuple[int, ...]
    """For each of `feeds` the first that is the same ball: a rung of a ladder may equal the feed."""
    blocks: tuple[BlockTimes, ...]
    parts: tuple[PartTimes, ...]
    feed: Indices
    at: Times
    block: Indices

    def at_places(self, places: Mapping[int, Span]) -> "Schedule":
        """The same with other places in the script, by the identity of those."""
        blocks = tuple([replace(block, span=places[id(block.span)]) for block in self.blocks])
        return replace(self, blocks=blocks)

    @property
    def said(self) -> tuple[object, ...]:
        """All of it but the places in the script, to be compared."""
        names = self.feeds, self.players, self.called, self.same, self.blocks, self.parts
        return (*names, *(column.tobytes() for column in (self.feed, self.at, self.block)))

    @property
    def total(self) -> float:
        return self.blocks[-1].end if self.blocks else 0.0

    @property
    def balls(self) -> int:
        return len(self.feed)

    def loads(self) -> tuple[PlayerLoad, ...]:
        if len(self.called) < 2:
            return ()
        ends = np.array([block.end for block in self.blocks])[self.block]
        spent = np.minimum(np.append(self.at[1:], np.inf), ends) - self.at
        whose = np.array([self.called.index(player) for player in self.players])[self.feed]
        return tuple(
            PlayerLoad(name, int((whose == i).sum()), round(float(spent[whose == i].sum()), 4))
            for i, name in enumerate(self.called)
        )

    def each(self) -> dict[str, int]:
        """How many of each ball come, but for those of ladders."""
        climbing = np.array([block.ladder is not None for block in self.blocks], bool)[self.block]
        counted = np.bincount(self.feed[~climbing], minlength=len(self.feeds)).tolist()
        return {name: many for name, many in zip(self.feeds, counted, strict=True) if many}

    def totals(self) -> ScheduleTotals:
        same = np.array(self.same, np.intp)
        follow = same[self.feed[1:]] != same[self.feed[:-1]]
        drawn = {self.same[i] for i in set(self.feed.tolist())}
        index = {name: i for i, name in enumerate(self.feeds)}
        rungs = {self.same[index[name]] for block in self.blocks if block.ladder for name in block.feeds}
        return ScheduleTotals(
            balls=self.balls,
            duration_s=round(self.total, 4),
            parts=len(self.parts),
            distinct_shots=len(drawn | rungs),
            variety=round(float(follow.mean()), 3) if len(follow) else 0.0,
            ladders=sum(block.ladder is not None for block in self.blocks),
            points=sum(len(block.points) for block in self.blocks),
            loads=self.loads(),
        )
