"""Goals beyond one variation in one block: which blocks they count, and how likely they are."""

from collections.abc import Iterable, Mapping
from itertools import chain
from math import prod

from ..grammar.frozen import Frozen
from .model.chance import chance_in_all, chance_of_hits, chance_won
from .model.compiled import GoalAhead
from .model.evaluation import Evaluation
from .model.program import BroadGoal, Pause, Program, Rounds, Variation
from .model.schedule import BlockTimes, Schedule
from .model.session import played
from .model.takers import FedBlock, Places, takers


class CountedGoal(Frozen):
    """A goal with the blocks that it counts, in their order."""

    goal: BroadGoal
    variation: Variation | None
    """The only one whose balls count; None if it stands under a block, under rounds or under the session."""
    blocks: tuple[int, ...]
    over: str
    """What it counts: a block, all rounds, or the session."""
    counts: Mapping[str, tuple[float | None, ...]]
    """Of each who has a count of their own, or else under "" of all: of each ball or point that counts how likely it
    is good; None where nobody can say, as on a ladder."""
    points: bool
    rounds: int = 0
    """How many rounds it counts, 0 if it stands under none."""
    together: bool = False
    """Whether some points are of several of those who have a count of their own."""

    @property
    def fewest(self) -> tuple[float | None, ...]:
        """The count that has fewest balls or points."""
        return min(self.counts.values(), key=len)

    @property
    def known(self) -> tuple[float, ...]:
        """The chances of all balls, if that of each is known; else none."""
        each = tuple(chain.from_iterable(self.counts.values()))
        return tuple([one for one in each if one is not None]) if None not in each else ()

    @property
    def chance(self) -> float | None:
        """That it is reached, by each if each has a count: their balls are not the same, and each is hit by itself."""
        if not self.known or self.together:
            return None
        return prod(self._reached([one for one in mine if one is not None]) for mine in self.counts.values())

    def _reached(self, shares: list[float]) -> float:
        goal = self.goal
        if goal.in_all or goal.among is None or (goal.hits < goal.among and goal.among >= len(shares)):
            return chance_in_all(goal.hits, shares)
        return chance_of_hits(goal.hits, goal.among, len(shares), sum(shares) / len(shares))


def broad_goals(program: Program, schedule: Schedule, evaluation: Evaluation) -> list[CountedGoal]:
    """Those of variations first, then those of the session in its order; each only if it counts a ball."""
    session = program.session
    under = [
        (item.goal, entries, item.count if isinstance(item, Rounds) else 0)
        for item, entries in played(session.items if session else ())
        if not isinstance(item, Pause) and item.goal
    ]
    over_all = [variation for variation in program.variations.values() if variation.broad]
    whole = session.goal if session else None
    if not (under or over_all or whole):
        return []
    found, counting = [], Counting(program, schedule, evaluation)
    for variation in over_all:
        mine = counting.blocks_of(variation.name)
        goal = variation.broad
        if goal and goal.each and not goal.in_all:
            found += [counting.counted(goal, variation, (block,), "block") for block in mine]
        elif goal and mine:
            found.append(counting.counted(goal, variation, mine, "session"))
    for goal, entries, rounds in under:
        blocks = tuple(b for b, of in enumerate(counting.fed) if of and schedule.blocks[b].entry in entries)
        if blocks:
            found.append(counting.counted(goal, None, blocks, "rounds" if rounds else "block", rounds))
    blocks = tuple(b for b, of in enumerate(counting.fed) if of)
    if whole and blocks:
        found.append(counting.counted(whole, None, blocks, "session"))
    return found


class Counting:
    """Which balls of a schedule count for a goal, and how likely each is good."""

    def __init__(self, program: Program, schedule: Schedule, evaluation: Evaluation) -> None:
        self._program, self._schedule, self._evaluation = program, schedule, evaluation
        self._shots = [program.feeds[name] for name in schedule.feeds]
        self.fed: list[list[int]] = [[] for _ in schedule.blocks]
        for feed, block in zip(schedule.feed.tolist(), schedule.block.tolist(), strict=True):
            self.fed[block].append(feed)

    def blocks_of(self, variation: str) -> tuple[int, ...]:
        return tuple(b for b, of in enumerate(self.fed) if any(self._shots[f].variation == variation for f in of))

    def counted(
        self, goal: BroadGoal, variation: Variation | None, blocks: tuple[int, ...], over: str, rounds: int = 0
    ) -> CountedGoal:
        """A point counts for whoever has its first ball, and for each who has another."""
        points = variation is None and any(self._schedule.blocks[b].points for b in blocks)
        aims, counts, times = variation.name if variation else None, dict[str, tuple[float | None, ...]](), 0
        units = [(b, place, chance) for b in blocks for place, chance in self._units(b, aims)]
        for who, places in self.takers(goal.each, aims, blocks).items():
            counts[who] = tuple([chance for b, place, chance in units if (b, place) in places])
            times += len(counts[who])
        return CountedGoal(goal, variation, blocks, over, counts, points, rounds, times > len(units))

    def takers(self, each: bool, variation: str | None, blocks: tuple[int, ...]) -> dict[str, Places]:
        """The balls that count for each who has a count of their own; under "" all of them where nobody has."""
        if not each:
            return {"": frozenset((b, place) for b in blocks for place in range(len(self.fed[b])))}
        player, schedule = self._program.player, self._schedule
        fed = (
            FedBlock(
                b,
                schedule.blocks[b].round,
                tuple([self._shots[feed].player for feed in of]),
                tuple([variation in (None, self._shots[feed].variation) for feed in of]),
                tuple([len(point.feeds) for point in schedule.blocks[b].points]),
            )
            for b, of in enumerate(self.fed)
            if of
        )
        return takers(fed, set(blocks), player.in_line, player.rotate_every, variation is None)

    def _units(self, b: int, variation: str | None) -> list[tuple[int, float | None]]:
        """Each ball of a block that counts, or each point by its first ball, with how likely it is good."""
        block = self._schedule.blocks[b]
        if block.points and variation is None:
            begins, at = list[int](), 0
            for point in block.points:
                begins.append(at)
                at += len(point.feeds)
            return list(zip(begins, self._won(block), strict=True))
        marked = block.ends_early or block.ladder or block.even is not None
        marked = marked or any(point.after_miss == "next point" for point in block.points)
        replies = self._evaluation.replies
        found = list[tuple[int, float | None]]()
        for place, feed in enumerate(self.fed[b]):
            shot = self._shots[feed]
            if variation in (None, shot.variation):
                reply = replies.get(shot.name)
                found.append((place, None if marked or reply is None else reply.share))
        return found

    def _won(self, block: BlockTimes) -> list[float | None]:
        found = list[float | None]()
        for point in block.points:
            each = [self._evaluation.replies.get(name) for name in point.feeds]
            known = [reply.share for reply in each if reply]
            surely = block.even is None and not block.ends_early and len(known) == len(each)
            found.append(chance_won(known, point.won_with) if surely else None)
        return found


def goals_ahead(goals: Iterable[CountedGoal], schedule: Schedule) -> tuple[GoalAhead, ...]:
    """Each line of the script with its chance, once where rounds or blocks repeat it: of the one with most balls."""
    told = dict[str, GoalAhead]()
    for one in goals:
        words = " ".join(schedule.blocks[one.blocks[0]].words.split())
        whole = one.over == "session" or (one.rounds == 1 and len(one.blocks) == len(set(schedule.block.tolist())))
        of = {0: words, 1: "the round"}.get(one.rounds, f"all {one.rounds} rounds")
        of = f"variation {one.variation.name}" if one.variation else "the whole session" if whole else of
        words = f"{of}, goal {one.goal}"
        balls = len(one.fewest)
        if words not in told or balls >= told[words].balls:
            told[words] = GoalAhead(words, balls, one.chance)
    return tuple(told.values())
