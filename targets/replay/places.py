"""What a run plays: its places in order, each with the checked shots that may be thrown there; ladders stepped."""

from collections import deque
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from ...compiler.model.device import Settings, settings_of
from ...compiler.model.plan import Block, Ladder, Plan, Shot
from ..clock import blocks_by_index

LONGEST_PAUSE_S = 115.0
"""Between two launches of one arming; a device lets go after 120 s."""


@dataclass(frozen=True, slots=True)
class Place:
    """`number` counts the run's balls from 1; `at_s` counts from the start of `stretch`."""

    number: int
    at_s: float
    shots: tuple[str, ...]
    block: int
    stretch: int


@dataclass(frozen=True, slots=True)
class Shelf:
    """The plan's shots as they go over the line, and its blocks."""

    shots: Mapping[str, Shot]
    settings: Mapping[str, Settings]
    blocks: Mapping[int, Block]


def shelf(plan: Plan) -> Shelf:
    return Shelf(
        {s.id: s for s in plan.shots}, {s.id: settings_of(s.launch) for s in plan.shots}, blocks_by_index(plan)
    )


def places(plan: Plan, first: int = 1, last: int | None = None) -> tuple[Place, ...]:
    """Balls `first` to `last` of the plan, both included."""
    blocks = blocks_by_index(plan)
    return tuple(
        Place(number, ball.at_s, ball.any_of or (ball.first,), ball.block, blocks[ball.block].stretch)
        for number, ball in enumerate(plan.launches, start=1)
        if first <= number <= (last if last is not None else len(plan.launches))
    )


def sighters(plan: Plan, balls: int = 3) -> tuple[Place, ...]:
    """The plan's first ball a few times over, to see where it goes with nobody in front."""
    ball = plan.launches[0]
    shot = next(shot for shot in plan.shots if shot.id == ball.first)
    return tuple(Place(n + 1, n * shot.interval_s, (shot.id,), ball.block, 0) for n in range(balls))


def arming(run: Iterable[Place]) -> tuple[Place, ...]:
    """The places from the first on that one arming covers: one stretch, without a long pause."""
    taken: list[Place] = []
    for place in run:
        if taken and (place.stretch != taken[-1].stretch or place.at_s - taken[-1].at_s > LONGEST_PAUSE_S):
            break
        taken.append(place)
    return tuple(taken)


@dataclass(slots=True)
class _Rung:
    at: int = 0
    in_a_row: int = 0
    recent: deque[bool] = field(default_factory=deque)


class Ladders:
    """On which rung each ladder stands. A hit or a miss steps what is chosen after it, never a ball on its way."""

    def __init__(self, blocks: Mapping[int, Block]) -> None:
        self._blocks = blocks
        self._rungs: dict[int, _Rung] = {}

    def choose(self, place: Place) -> str:
        """A shot that the plan allows in this place, and no other."""
        ladder = self._blocks[place.block].ladder
        if ladder is None:
            return place.shots[0]
        wanted = ladder.rungs[self._rungs.setdefault(place.block, _Rung()).at]
        return wanted if wanted in place.shots else place.shots[0]

    def label(self, block: int) -> str | None:
        ladder = self._blocks[block].ladder
        return ladder.labels[self._rungs.setdefault(block, _Rung()).at] if ladder else None

    def mark(self, block: int, hit: bool) -> None:
        ladder = self._blocks[block].ladder
        if ladder is None:
            return
        rung = self._rungs.setdefault(block, _Rung())
        rung.in_a_row = rung.in_a_row + 1 if hit else 0
        rung.recent.append(hit)
        if rung.in_a_row >= ladder.up_in_a_row:
            self._to(block, min(rung.at + 1, len(ladder.rungs) - 1))
        elif _falls(ladder, rung.recent):
            self._to(block, max(rung.at - 1, 0))

    def _to(self, block: int, rung: int) -> None:
        self._rungs[block] = _Rung(rung)


def _falls(ladder: Ladder, recent: deque[bool]) -> bool:
    if ladder.down_misses is None or ladder.down_in is None:
        return False
    while len(recent) > ladder.down_in:
        recent.popleft()
    return sum(not hit for hit in recent) >= ladder.down_misses
