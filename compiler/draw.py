"""Which ball comes next: repeats cycles, draws mixes, walks through families; seeded, the same on every machine."""

from collections import deque
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import chain, cycle, repeat
from math import prod
from random import Random
from typing import NamedTuple

from .model.program import Play, Point, Program

BAG_COPIES = 3
"""A mix is drawn from a bag that holds each share this many times and is refilled when empty. So even a short block
keeps the shares, and nobody can count which ball is next."""
STREAMS = 2_000
"""Random streams of one seed: one for each block, counted up, and one for each family, counted down."""
POINTS = 10**9 * STREAMS
"""From here on are the streams of points, beyond those of the largest seed."""
MOST_COMBINED = 4_000
"""Of more combinations a practice plays too few to tell whether they come evenly; then each family walks alone."""


@dataclass(slots=True, eq=False)
class Walk:
    """The way through a family, over the whole session: every member once, then again in another random order, never
    the same one twice in a row. The next member stays the next until `step` moves on."""

    members: list[int]
    chance: Random
    coming: deque[int] = field(default_factory=deque)
    last: int = -1

    def ahead(self, turns: int) -> int:
        """The member whose turn comes after so many others; 0 is the next."""
        while len(self.coming) <= turns:
            drawn = sorted(self.members, key=lambda _: self.chance.random())
            if len(drawn) > 1 and drawn[-1] == self.last:
                drawn.insert(0, drawn.pop())
            self.coming.extend(reversed(drawn))
            self.last = drawn[0]
        return self.coming[turns]

    def step(self) -> None:
        self.ahead(0)
        self.coming.popleft()


@dataclass(slots=True, eq=False)
class OrderedWalk:
    """The way through a family from its first member to its last, and from the first again; those on the way back are
    members once more."""

    members: list[int]
    at: int = 0

    def ahead(self, turns: int) -> int:
        return self.members[(self.at + turns) % len(self.members)]

    def step(self) -> None:
        self.at = (self.at + 1) % len(self.members)


@dataclass(slots=True, eq=False)
class PlaceWalk:
    """What one place of a point plays. Its places walk through every combination of their families' members, each once,
    then again in another random order. Families that walked alone would go in step: two of two always in the same
    pairs."""

    combinations: Walk
    """Numbers of combinations."""
    members: list[int]
    weight: int
    """By how much the number of a combination grows from one member of this place to its next."""
    last: bool
    """Whether it is the point's last place, with which the walk moves on."""

    def ahead(self, turns: int) -> int:
        return self.members[self.combinations.ahead(turns) // self.weight % len(self.members)]

    def step(self) -> None:
        if self.last:
            self.combinations.step()


class Lot(NamedTuple):
    """What is drawn at once: a ball, or the balls of a point; each from its family's walk."""

    walks: tuple[Walk | OrderedWalk | PlaceWalk, ...]
    point: Point | None

    @property
    def balls(self) -> tuple[int, ...]:
        """The balls that come next, without a step of the walks."""
        return tuple(walk.ahead(self.walks[:i].count(walk)) for i, walk in enumerate(self.walks))


class Draw:
    """Balls are indices of the program's feeds."""

    def __init__(self, program: Program) -> None:
        self._program = program
        self._index = {name: i for i, name in enumerate(program.feeds)}
        self._walks: dict[str, Walk] = {}
        self._places: dict[str, tuple[PlaceWalk, ...]] = {}

    def lots(self, play: Play, block: int) -> Iterator[Lot]:
        """The balls and points of a block, without end. A family in order begins anew in each block."""
        lots = [
            self._lot(name, way) for (_, name), way in zip(play.shares, chain(play.walks, repeat("")), strict=False)
        ]
        weights = [weight for weight, _ in play.shares]
        if play.order == "ladder":  # begins on its first rung; the rest is decided in the practice
            return cycle(lots[:1])
        if play.order == "mix":
            # Two numbers in one integer seed: Random's stream for an integer is the same on every machine.
            chance = Random(self._program.seed * STREAMS + block)
            return (lots[share] for share in _mixed(weights, play.at_most, chance))
        return cycle([lot for lot, weight in zip(lots, weights, strict=True) for _ in range(weight)])

    def _lot(self, name: str, way: str) -> Lot:
        feeds = self._program.balls(name)
        families = {feed for feed in feeds if len(self._program.members(feed)) > 1}
        if not way and len(families) > 1 and prod(len(self._program.members(feed)) for feed in feeds) <= MOST_COMBINED:
            return Lot(self._combined(name, feeds), self._program.points.get(name))
        walks = {feed: self._ordered(feed, way) if way else self._walk(feed) for feed in feeds}
        return Lot(tuple(walks[feed] for feed in feeds), self._program.points.get(name))

    def _combined(self, name: str, feeds: Sequence[str]) -> tuple[PlaceWalk, ...]:
        if name not in self._places:
            members = [[self._index[member] for member in self._program.members(feed)] for feed in feeds]
            seed = self._program.seed * STREAMS + POINTS + list(self._program.points).index(name)
            walk = Walk(list(range(prod(map(len, members)))), Random(seed))
            weights = [prod(map(len, members[:i])) for i in range(len(members))]
            self._places[name] = tuple(
                PlaceWalk(walk, of, weight, i == len(members) - 1)
                for i, (of, weight) in enumerate(zip(members, weights, strict=True))
            )
        return self._places[name]

    def _ordered(self, name: str, way: str) -> OrderedWalk:
        members = [self._index[member] for member in self._program.members(name)]
        return OrderedWalk(members + members[-2:0:-1] if way == "there and back" else members)

    def _walk(self, name: str) -> Walk:
        if name not in self._walks:
            members = [self._index[member] for member in self._program.members(name)]
            self._walks[name] = Walk(members, Random(self._program.seed * STREAMS + STREAMS - 1 - members[0]))
        return self._walks[name]


def _mixed(weights: list[int], at_most: int | None, chance: Random) -> Iterator[int]:
    """Drawn so that the bag can be emptied with at most this many alike; if the weights forbid that, what is left over
    stays in the bag."""
    bag = [0] * len(weights)
    last, alike = -1, 0

    def run(i: int) -> int:
        return alike + 1 if last == i else 1

    def empties(i: int) -> bool:
        """Whether the rest of the bag can still be laid out after `i`. Only the largest share can prevent it."""
        rest = sum(bag) - 1
        left = {k: bag[k] - (k == i) for k in (i, bag.index(max(bag)))}
        return not at_most or all(n <= at_most * (rest - n + 1) - (k == i) * run(i) for k, n in left.items())

    while True:
        open_ = [left if not at_most or run(i) <= at_most else 0 for i, left in enumerate(bag)]
        if not any(open_):
            bag = [left + BAG_COPIES * weight for left, weight in zip(bag, weights, strict=True)]
            continue
        kept = [left if left and empties(i) else 0 for i, left in enumerate(open_)]
        open_ = kept if any(kept) else open_
        spot = chance.random() * sum(open_)
        pick = next(i for i, _ in enumerate(open_) if spot < sum(open_[: i + 1]))
        last, alike = pick, run(pick)
        bag[pick] -= 1
        yield pick
