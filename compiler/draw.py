"""Which ball comes next: repeats cycles, draws mixes, walks through families; seeded, the same on every machine."""

from bisect import bisect_right
from collections import deque
from collections.abc import Iterator, Sequence
from itertools import accumulate, chain, cycle, repeat
from random import Random
from typing import NamedTuple

from ..grammar.frozen import Changing, own
from .model.program import InARow, Play, Point, Program

BAG_COPIES = 3
"""A mix is drawn from a bag that holds each share this many times and is refilled when empty. So even a short block
keeps the shares, and nobody can count which ball is next."""
STREAMS = 2_000
"""Random streams of one seed: one for each block, counted up, and one for each family, counted down."""


class Walk(Changing):
    """The way through a family, over the whole session: every member once, then again in another random order, never
    the same one twice in a row. With several copies of each member, one may come twice in a row. The next member stays
    the next until `step` moves on."""

    members: list[int]
    chance: Random
    copies: int = 1
    coming: deque[int] = own(factory=deque)
    last: int = -1

    def ahead(self, turns: int) -> int:
        """The member whose turn comes after so many others; 0 is the next."""
        while len(self.coming) <= turns:
            drawn = sorted(self.members * self.copies, key=lambda _: self.chance.random())
            if len(drawn) > 1 and self.copies == 1 and drawn[-1] == self.last:
                drawn.insert(0, drawn.pop())
            self.coming.extend(reversed(drawn))
            self.last = drawn[0]
        return self.coming[turns]

    def step(self) -> None:
        self.ahead(0)
        self.coming.popleft()


class OrderedWalk(Changing):
    """The way through a family from its first member to its last, and from the first again; those on the way back are
    members once more."""

    members: list[int]
    at: int = 0

    def ahead(self, turns: int) -> int:
        return self.members[(self.at + turns) % len(self.members)]

    def step(self) -> None:
        self.at = (self.at + 1) % len(self.members)


class Lot(NamedTuple):
    """What is drawn at once: a ball, or the balls of a point; each from its family's walk."""

    walks: tuple[Walk | OrderedWalk, ...]
    point: Point | None
    player: str = ""
    """Who plays it, where the share says so; of a point whose balls are for different players, the first."""

    @property
    def balls(self) -> tuple[int, ...]:
        """The balls that come next, without a step of the walks."""
        if len(self.walks) == 1:
            return (self.walks[0].ahead(0),)
        return tuple([walk.ahead(self.walks[:i].count(walk)) for i, walk in enumerate(self.walks)])


class Draw:
    """Balls are indices of the program's feeds."""

    def __init__(self, program: Program) -> None:
        self._program = program
        self._index = {name: i for i, name in enumerate(program.feeds)}
        self._walks: dict[tuple[str, int], Walk] = {}

    def lots(self, play: Play, block: int, many: int | None = None) -> Iterator[Lot]:
        """The balls and points of a block, without end. A family in order begins anew in each block. Of the first
        `many`, where that is known, each share of a mix has its part, and so it has of the balls of each who takes
        turns."""
        lots = [
            self._lot(name, way, play.each)._replace(player=who[0])
            for (_, name), way, who in zip(
                play.shares, chain(play.walks, repeat("")), chain(play.whose, repeat(("",))), strict=False
            )
        ]
        weights = [weight for weight, _ in play.shares]
        if play.order == "ladder":  # begins on its first rung; the rest is decided in the practice
            first = (self._index[balls[0]] for balls in self.climbed(play, block))
            return (Lot((OrderedWalk([ball]),), None) for ball in first)
        if play.order == "mix":
            # Two numbers in one integer seed: Random's stream for an integer is the same on every machine.
            chance = Random(self._program.seed * STREAMS + block)
            players, every = self._turns(play)
            gets = [sum(n // every % players == turn for n in range(many or 0)) for turn in range(players)]
            return (lots[share] for share in _mixed(weights, play.runs, chance, gets, every))
        return cycle([lot for lot, weight in zip(lots, weights, strict=True) for _ in range(weight)])

    def climbed(self, play: Play, block: int) -> Iterator[tuple[str, ...]]:
        """For each ball of a ladder which would come on each rung. Families of as many members go in step, so that a
        ball to each side still comes by turns where the player changes rungs."""
        rungs = [self._program.members_of(*share) for share in play.shared]
        seed = self._program.seed * STREAMS + block
        walks = {size: Walk([*range(size)], Random(seed)) for size in {len(members) for members in rungs}}
        for _ in range(play.count or 0):
            yield tuple([members[walks[len(members)].ahead(0)] for members in rungs])
            for walk in walks.values():
                walk.step()

    def _turns(self, play: Play) -> tuple[int, int]:
        """How many players take turns in a block, and after how many balls or points."""
        player = self._program.player
        if player.in_line > 1 and player.rotate_every:
            return player.in_line, player.rotate_every
        return (1, 1) if play.whose else (max(len(play.players), 1), self._program.rotation.every or 1)

    def _lot(self, name: str, way: str, each: int) -> Lot:
        feeds = self._program.balls(name)
        several = [feed for feed in dict.fromkeys(feeds) if len(self._program.members(feed)) > 1]
        # Two families of two would each alternate, and so go in step: the first ball of a point would tell the rest.
        copies = {feed: BAG_COPIES for feed in several[1:]}
        walks = {
            feed: self._ordered(feed, way, each) if way else self._walk(feed, copies.get(feed, 1)) for feed in feeds
        }
        return Lot(tuple(walks[feed] for feed in feeds), self._program.points.get(name))

    def _ordered(self, name: str, way: str, each: int) -> OrderedWalk:
        members = [self._index[member] for member in self._program.members(name)]
        there = members + members[-2:0:-1] if way == "there and back" else members
        return OrderedWalk([member for member in there for _ in range(each)])

    def _walk(self, name: str, copies: int) -> Walk:
        if (name, copies) not in self._walks:
            members = [self._index[member] for member in self._program.members(name)]
            chance = Random(self._program.seed * STREAMS + STREAMS - 1 - members[0])
            self._walks[name, copies] = Walk(members, chance, copies)
        return self._walks[name, copies]


def _mixed(
    weights: list[int], runs: Sequence[InARow], chance: Random, gets: Sequence[int] = (0,), every: int = 1
) -> Iterator[int]:
    """Drawn so that the bag can be emptied with no run longer than it may be; if the weights forbid that, what is left
    over stays in the bag. Each of those who take turns has a bag and `gets` so many, if that is known; the last bag has
    what their shares still lack, and is so large that it is as hard to count as the others."""
    bags, lengths = [[0] * len(weights) for _ in gets], [0] * len(runs)
    lacks, drawn = [_parted(many, weights) if many else [] for many in gets], 0
    of = [{k for k, run in enumerate(runs) if i in run.shares} for i in range(len(weights))]

    def room(k: int, many: int, rest: int) -> int:
        """By how many the `many` balls of a run are too many for its limit among the others of the `rest`."""
        return many - runs[k].most * (rest - many + 1)

    while True:
        turn = drawn // every % len(gets)
        bag, lacking = bags[turn], lacks[turn]
        open_ = [left if all(lengths[k] < runs[k].most for k in of[i]) else 0 for i, left in enumerate(bag)]
        if not any(open_):
            more = [left + BAG_COPIES * weight for left, weight in zip(bag, weights, strict=True)]
            final = bool(lacking) and sum(lacking) < 2 * BAG_COPIES * sum(weights)
            # Where the limit does not let the shares be kept, one may have come too often already.
            fits = final and all(left <= lack for left, lack in zip(bag, lacking, strict=True))
            bags[turn], lacks[turn] = lacking if fits else more, [] if final else lacking
            continue
        # Whether the rest of the bag can still be laid out after one: each run needs enough others between.
        rest, held = sum(bag) - 1, [sum(bag[i] for i in run.shares) for run in runs]
        over = {k for k, many in enumerate(held) if room(k, many, rest) > 0}
        kept = [
            left if over <= of[i] and all(room(k, held[k] - 1, rest) <= -lengths[k] - 1 for k in of[i]) else 0
            for i, left in enumerate(open_)
        ]
        open_ = kept if any(kept) else open_
        pick = bisect_right(list(accumulate(open_)), chance.random() * sum(open_))
        lengths = [length + 1 if k in of[pick] else 0 for k, length in enumerate(lengths)]
        bag[pick] -= 1
        if lacking:
            lacking[pick] -= 1
        drawn += 1
        yield pick


def _parted(many: int, weights: list[int]) -> list[int]:
    """So many in whole numbers by the weights: what is left goes to the largest remainders, one each."""
    parts = [divmod(many * weight, sum(weights)) for weight in weights]
    over = sorted(range(len(weights)), key=lambda i: -parts[i][1])[: many - sum(whole for whole, _ in parts)]
    return [whole + (i in over) for i, (whole, _) in enumerate(parts)]
