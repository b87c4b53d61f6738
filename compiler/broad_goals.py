"""Goals beyond one variation in one block: which blocks they count, and how likely they are."""

from collections.abc import Iterable, Iterator
from math import prod

from ..grammar.frozen import Frozen
from .model.chance import chance_in_all, chance_of_hits
from .model.compiled import GoalAhead
from .model.evaluation import Evaluation
from .model.program import BroadGoal, Item, Pause, Program, Rounds, Variation
from .model.schedule import BlockTimes, Schedule


class CountedGoal(Frozen):
    """A goal with the blocks that it counts, in their order."""

    goal: BroadGoal
    variation: Variation | None
    """The only one whose balls count; None if it stands under a block or under rounds."""
    blocks: tuple[int, ...]
    over: str
    """What it counts: a block, all rounds, or the session."""
    chances: tuple[float | None, ...]
    """Of each ball or point that counts how likely it is good; None where nobody can say, as on a ladder."""
    points: bool

    @property
    def known(self) -> tuple[float, ...]:
        """The chances, if that of each is known; else none."""
        return tuple([one for one in self.chances if one is not None]) if None not in self.chances else ()

    @property
    def chance(self) -> float | None:
        """That it is reached."""
        shares, goal = self.known, self.goal
        if not shares:
            return None
        if goal.in_all or goal.among is None or (goal.hits < goal.among and goal.among >= len(shares)):
            return chance_in_all(goal.hits, shares)
        return chance_of_hits(goal.hits, goal.among, len(shares), sum(shares) / len(shares))


def broad_goals(program: Program, schedule: Schedule, evaluation: Evaluation) -> list[CountedGoal]:
    """Those of variations first, then those of the session in its order; each only if it counts a ball."""
    under = _under(program.session.items if program.session else ())[0]
    over_all = [variation for variation in program.variations.values() if variation.broad]
    if not (under or over_all):
        return []
    shots = [program.feeds[name] for name in schedule.feeds]
    fed: list[list[int]] = [[] for _ in schedule.blocks]
    for feed, block in zip(schedule.feed.tolist(), schedule.block.tolist(), strict=True):
        fed[block].append(feed)

    def good(block: BlockTimes, feeds: Iterable[int]) -> Iterator[float | None]:
        marked = block.until or block.first_to or block.ladder or block.even is not None
        marked = marked or any(point.after_miss == "next point" for point in block.points)
        for feed in feeds:
            reply = evaluation.replies.get(shots[feed].name)
            yield None if marked or reply is None else reply.share

    def won(block: BlockTimes) -> Iterator[float | None]:
        for point in block.points:
            each = [evaluation.replies.get(name) for name in point.feeds]
            known = [reply.share for reply in each if reply]
            surely = block.even is None and not (block.until or block.first_to) and len(known) == len(each)
            yield prod(known) if surely else None

    found = []
    for variation in over_all:
        mine = {b: [f for f in of if shots[f].variation == variation.name] for b, of in enumerate(fed)}
        mine = {b: of for b, of in mine.items() if of}
        chances = tuple(one for b, of in mine.items() for one in good(schedule.blocks[b], of))
        if variation.broad:
            found.append(CountedGoal(variation.broad, variation, tuple(mine), "session", chances, False))
    for goal, entries, over in under:
        blocks = tuple(b for b, of in enumerate(fed) if of and schedule.blocks[b].entry in entries)
        each = ((schedule.blocks[b], fed[b]) for b in blocks)
        chances = tuple(one for block, of in each for one in (won(block) if block.points else good(block, of)))
        points = any(schedule.blocks[b].points for b in blocks)
        found.append(CountedGoal(goal, None, blocks, over, chances, points))
    return [one for one in found if one.blocks]


def _under(items: tuple[Item, ...], at: int = 0) -> tuple[list[tuple[BroadGoal, range, str]], int]:
    """Each goal of the session with the entries of the sequence that it counts, once for each time that rounds repeat
    it; and how many entries there are up to the end of the items."""
    found: list[tuple[BroadGoal, range, str]] = []
    for item in items:
        begins, over = at, "block"
        if isinstance(item, Rounds):
            over = "rounds"
            for number in range(1, item.count + 1):
                inner, at = _under(item.played(number), at)
                found += inner
        else:
            at += 1
        if not isinstance(item, Pause) and item.goal:
            found.append((item.goal, range(begins, at), over))
    return found, at


def goals_ahead(goals: Iterable[CountedGoal], schedule: Schedule) -> tuple[GoalAhead, ...]:
    """Each line of the script with its chance, once where rounds repeat it."""
    told = {}
    for one in goals:
        first = schedule.blocks[one.blocks[0]]
        of = f"all {first.round.of} rounds" if one.over == "rounds" and first.round else " ".join(first.words.split())
        words = f"{f'variation {one.variation.name}' if one.variation else of}, goal {one.goal}"
        told[words] = GoalAhead(words, len(one.chances), one.chance)
    return tuple(told.values())
