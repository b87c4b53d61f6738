"""How likely it is that the marks end a block, or that the goal of a variation is reached in it."""

from collections.abc import Iterator, Sequence

from ..grammar.frozen import Frozen
from .model.chance import chance_of_hits
from .model.compiled import EarlyEnd
from .model.evaluation import Evaluation
from .model.program import Feed, Hold, Program
from .model.schedule import Schedule


class Likelihood(Frozen):
    """Of one thing that a block goes on for, with the share of good replies to its balls."""

    first: Feed
    balls: int
    share: float
    chance: float


def likely(hold: Hold, feeds: Sequence[Feed], evaluation: Evaluation) -> Likelihood | None:
    """For a player in time, whose replies are good each by itself; None if no reply to these balls is asked for."""
    mine = [feed for feed in feeds if hold.variation in (None, feed.variation) and feed.name in evaluation.replies]
    if not mine:
        return None
    share = sum(evaluation.replies[feed.name].share for feed in mine) / len(mine)
    return Likelihood(mine[0], len(mine), share, chance_of_hits(hold.hits, hold.among, len(mine), share))


def fed(program: Program, schedule: Schedule, block: int) -> list[Feed]:
    """The balls of a block in their order, while no mark changes it."""
    return [program.feeds[schedule.feeds[i]] for i in schedule.feed[schedule.block == block]]


def early_ends(program: Program, schedule: Schedule, evaluation: Evaluation) -> tuple[EarlyEnd, ...]:
    """Each line of the session whose block marks may end, once where rounds repeat it."""
    return tuple({end.words: end for end in _ends(program, schedule, evaluation)}.values())


def _ends(program: Program, schedule: Schedule, evaluation: Evaluation) -> Iterator[EarlyEnd]:
    for index, block in enumerate(schedule.blocks):
        words = " ".join(block.words.split())
        if block.first_to:
            yield EarlyEnd(words, block.balls, None)
        elif block.until:
            feeds = fed(program, schedule, index)
            each = [likely(hold, feeds, evaluation) for hold in block.until]
            chance = 1.0
            for one in each:  # the balls of different variations are different balls
                chance *= one.chance if one else 0.0
            yield EarlyEnd(words, block.balls, chance if all(each) else None)
