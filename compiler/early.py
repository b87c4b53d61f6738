"""How likely it is that the marks end a block, or that the goal of a variation is reached in it."""

from collections.abc import Iterator, Sequence
from math import prod

from ..grammar.frozen import Frozen, replace
from .climbs import chance_of_last
from .model.chance import chance_of_hits, chance_won
from .model.compiled import EarlyEnd, GoalAhead
from .model.evaluation import Evaluation
from .model.program import Feed, Hold, Program
from .model.schedule import BlockTimes, Schedule
from .printable import plural
from .scores import counted_scores, score_ends


class Likelihood(Frozen):
    """Of one thing that a block goes on for, with the share of good replies to its balls."""

    first: Feed
    balls: int
    share: float
    chance: float


def likely(hold: Hold, feeds: Sequence[Feed], evaluation: Evaluation) -> Likelihood | None:
    """For a player in time, whose replies are good, or missed, each by itself; None if no reply to these balls is asked
    for."""
    mine = [feed for feed in feeds if hold.variation in (None, feed.variation) and feed.name in evaluation.replies]
    if not mine:
        return None
    share = sum(evaluation.replies[feed.name].share for feed in mine) / len(mine)
    counted = 1 - share if hold.counts == "misses" else share
    chance = chance_of_hits(hold.hits, hold.among, len(mine), counted, hold.in_sets)
    return Likelihood(mine[0], len(mine), share, chance)


def fed(program: Program, schedule: Schedule) -> list[list[Feed]]:
    """The balls of each block in their order, while no mark changes it."""
    found: list[list[Feed]] = [[] for _ in schedule.blocks]
    feeds = [program.feeds[name] for name in schedule.feeds]
    for feed, block in zip(schedule.feed.tolist(), schedule.block.tolist(), strict=True):
        found[block].append(feeds[feed])
    return found


def early_ends(program: Program, schedule: Schedule, evaluation: Evaluation) -> tuple[EarlyEnd, ...]:
    """Each line of the session whose block marks may end, once where rounds repeat it."""
    return tuple({end.words: end for end in _ends(program, schedule, evaluation)}.values())


def _ends(program: Program, schedule: Schedule, evaluation: Evaluation) -> Iterator[EarlyEnd]:
    if not any(block.ends_early or block.score for block in schedule.blocks):
        return
    scores = {one.blocks[0]: one for one in counted_scores(program, schedule, evaluation)}
    for index, (block, feeds) in enumerate(zip(schedule.blocks, fed(program, schedule), strict=True)):
        words = " ".join(block.words.split())
        if block.first_to:
            yield EarlyEnd(words, block.balls, None)
        elif block.score and block.score.ends:
            yield score_ends(scores[index], words, block.balls)
        elif block.ladder and block.ladder.ends:
            yield EarlyEnd(words, block.balls, _climbed(block, evaluation))
        elif block.until:
            # The balls of different variations are different balls.
            each = [_chance(hold, block, feeds, evaluation) for hold in block.until]
            known = [chance for chance in each if chance is not None]
            yield EarlyEnd(words, block.balls, prod(known) if len(known) == len(each) else None)


def _climbed(block: BlockTimes, evaluation: Evaluation) -> float | None:
    """How likely the last rung of a ladder is won; None if no reply to some of its balls is asked for."""
    order = block.climb.order if block.climb else ()
    if block.ladder is None or not all(name in evaluation.replies for balls in order for name in balls):
        return None
    return chance_of_last(block.ladder, [[evaluation.replies[name].share for name in balls] for balls in order])


def records_ahead(program: Program, schedule: Schedule, evaluation: Evaluation) -> tuple[GoalAhead, ...]:
    """Each record of the script with the chance that it is beaten, once where rounds repeat it."""
    told = dict[str, GoalAhead]()
    scores = {one.blocks[0]: one for one in counted_scores(program, schedule, evaluation)}
    for index, (block, feeds) in enumerate(zip(schedule.blocks, fed(program, schedule), strict=True)):
        if not block.record:
            continue
        longer = any(end < block.score.start for end in block.score.ends) if block.score else False
        longer = longer or any(hold.counts == "misses" for hold in block.until)
        first = block.record if longer else block.record - 1
        if block.score:
            over = scores[index].within(first).chance
        else:
            points = replace(block, points=block.points[:first])
            over = _chance(block.until[0], points, feeds[:first], evaluation) if first else 0.0
        balls = plural(block.record, "point" if block.points else "ball")
        words = f"{' '.join(block.words.split())}, {'more' if longer else 'fewer'} than {balls}"
        told[words] = GoalAhead(words, block.balls, over if over is None else 1 - over if longer else over)
    return tuple(told.values())


def _chance(hold: Hold, block: BlockTimes, feeds: Sequence[Feed], evaluation: Evaluation) -> float | None:
    if not block.points:
        one = likely(hold, feeds, evaluation)
        return one.chance if one else None
    asked = all(name in evaluation.replies for point in block.points for name in point.feeds)
    if not asked or block.even is not None:  # points that begin again are of an unknown number
        return None
    shares = evaluation.replies
    won = [chance_won([shares[name].share for name in point.feeds], point.won_with) for point in block.points]
    share = sum(won) / len(won)
    counted = 1 - share if hold.counts == "misses" else share
    return chance_of_hits(hold.hits, hold.among, len(won), counted, hold.in_sets)
