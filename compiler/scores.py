"""Scores of blocks and of rounds: which balls each counts, and how likely it comes where it should."""

from collections.abc import Iterator, Mapping
from functools import cached_property
from itertools import accumulate
from math import prod

from ..grammar.frozen import Frozen, replace
from .broad_goals import Counting
from .model.chance import chance_won
from .model.compiled import EarlyEnd, GoalAhead
from .model.evaluation import Evaluation
from .model.program import Feed, Program, Rounds, Score
from .model.schedule import BlockTimes, Schedule
from .model.score import Forecast, forecast
from .model.session import Pause, played


def with_scores(schedule: Schedule, program: Program) -> Schedule:
    """The schedule whose blocks know the score that counts them; it goes on from one block of it to the next."""
    blocks = list(schedule.blocks)
    for item, entries in played(program.session.items if program.session else ()):
        if isinstance(item, Pause) or item.score is None:
            continue
        counted = [b for b, block in enumerate(blocks) if block.balls and block.entry in entries]
        for b in counted:
            score = item.score
            worth = tuple(_worth(score.named, score.hit, blocks[b], program))
            misses = tuple(
                (name, adds)
                for name, adds in _worth(score.missed, score.miss, blocks[b], program)
                if adds != score.miss
            )
            blocks[b] = replace(blocks[b], score=replace(score, worth=worth, misses=misses, goes_on=b > counted[0]))
    return replace(schedule, blocks=tuple(blocks)) if any(block.score for block in blocks) else schedule


def _worth(
    said: tuple[tuple[str, int], ...], usual: int, block: BlockTimes, program: Program
) -> Iterator[tuple[str, int]]:
    """What a hit of each ball adds, or each point that is won; or the same of misses and points that are lost."""
    named = dict(said)
    balls = {point.name: point.feeds[0] for point in block.points} or {name: name for name in block.feeds}
    for name, ball in balls.items():
        feed = program.feeds[ball]
        alone = name not in program.points
        own = named.get(feed.family if alone else name)
        yield name, own if own is not None else named.get(feed.variation or "", usual) if alone else usual


Unit = tuple[float | None, int, int]
"""Of a ball or point that counts how likely it is good, None where nobody can say, and what a hit and a miss add; where
there are other results, the most and the least that one of them does."""


class CountedScore(Frozen):
    """A score with the blocks that it counts."""

    score: Score
    blocks: tuple[int, ...]
    counts: Mapping[str, tuple[Unit, ...]]
    """Of each who has a score of their own, or else under "" of all."""
    points: bool
    open: bool
    """Whether marks decide how many come, apart from its own ends."""
    together: bool
    """Whether some points are of several of those who have a score of their own."""

    @property
    def units(self) -> tuple[Unit, ...]:
        """Those of whoever has most."""
        return max(self.counts.values(), key=len)

    @cached_property
    def forecasts(self) -> tuple[Forecast, ...]:
        """Of each score; none where that depends on other marks, or where no reply is asked for."""
        known = [[(share, hit, miss) for share, hit, miss in of if share is not None] for of in self.counts.values()]
        told = all(len(some) == len(of) > 0 for some, of in zip(known, self.counts.values(), strict=True))
        return tuple(forecast(self.score, some) for some in known) if told and not (self.open or self.together) else ()

    def within(self, first: int) -> "CountedScore":
        """The same after its first balls, or points; nobody computes it where each has a score of their own."""
        return replace(self, counts={"": self.units[:first]}, together=self.score.each)

    def chance_of(self, end: int) -> float | None:
        """That the block ends there: each player has balls of their own, and the first to come there ends it."""
        return 1 - prod(1 - one.ends[end] for one in self.forecasts) if self.forecasts else None

    @property
    def chance(self) -> float | None:
        """That the block ends at one of its ends."""
        return 1 - prod(1 - sum(one.ends.values()) for one in self.forecasts) if self.forecasts else None

    @property
    def chance_of_goal(self) -> float | None:
        """That all reach it. Where the first to come to an end stops the others, nobody computes it."""
        goal = self.score.goal
        if goal is None or not self.forecasts or (len(self.forecasts) > 1 and self.score.ends):
            return None
        return prod(one.at_least(goal) for one in self.forecasts)

    @property
    def share(self) -> float:
        """How many are good on average."""
        known = [share for of in self.counts.values() for share, *_ in of if share is not None]
        return sum(known) / len(known) if known else 0.0


def counted_scores(program: Program, schedule: Schedule, evaluation: Evaluation) -> list[CountedScore]:
    """Each in its order, once for each time that rounds repeat it."""
    scored = [b for b, block in enumerate(schedule.blocks) if block.score]
    if not scored:
        return []
    counting = Counting(program, schedule, evaluation)
    chains = list[list[int]]()
    for b in scored:
        score = schedule.blocks[b].score
        if score and score.goes_on:
            chains[-1].append(b)
        else:
            chains.append([b])
    return [_counted(tuple(chain), program, schedule, counting, evaluation) for chain in chains]


def _counted(
    blocks: tuple[int, ...], program: Program, schedule: Schedule, counting: Counting, evaluation: Evaluation
) -> CountedScore:
    times = [schedule.blocks[b] for b in blocks]
    score = times[0].score
    assert score
    fed = {b: [program.feeds[schedule.feeds[feed]] for feed in counting.fed[b]] for b in blocks}
    units = [(b, at, unit) for b in blocks for at, unit in _units(schedule.blocks[b], fed[b], evaluation)]
    counts = {
        who: tuple(unit for b, at, unit in units if (b, at) in theirs)
        for who, theirs in counting.takers(score.each, None, blocks).items()
    }
    marked = any(one.ladder or one.even is not None or one.until or one.first_to for one in times)
    several = sum(map(len, counts.values())) > len(units)
    return CountedScore(score, blocks, counts, any(one.points for one in times), marked, several)


def _units(block: BlockTimes, fed: list[Feed], evaluation: Evaluation) -> Iterator[tuple[int, Unit]]:
    """With how many balls of the block come before it."""
    score = block.score
    assert score
    worth, misses, others = dict(score.worth), dict(score.misses), [adds for _, adds in score.results]
    shares = {} if others else {name: reply.share for name, reply in evaluation.replies.items()}

    def adds(name: str) -> tuple[int, int]:
        both = worth[name], misses.get(name, score.miss)
        return (max(*both, *others), min(*both, *others)) if others else both

    if not block.points:
        yield from ((at, (shares.get(feed.name), *adds(feed.name))) for at, feed in enumerate(fed))
    begins = accumulate((len(point.feeds) for point in block.points), initial=0)
    for at, point in zip(begins, block.points, strict=False):
        known = [shares[name] for name in point.feeds if name in shares]
        won = chance_won(known, point.won_with) if len(known) == len(point.feeds) else None
        yield at, (won, *adds(point.name))


def score_ends(one: CountedScore, words: str, balls: int) -> EarlyEnd:
    """The block of a score that ends it, with how likely each end is."""
    ends = one.forecasts[0].ends if len(one.forecasts) == 1 else {}
    return EarlyEnd(words, balls, one.chance, tuple(ends.items()))


def scores_ahead(scores: list[CountedScore], program: Program, schedule: Schedule) -> tuple[GoalAhead, ...]:
    """Each `goal score` of the script with its chance, once where rounds repeat it."""
    told = dict[str, GoalAhead]()
    over = {id(item.score.asked): item.count for item in _rounds(program) if item.score}
    for one in scores:
        if one.score.goal is None:
            continue
        block = " ".join(schedule.blocks[one.blocks[0]].words.split())
        rounds = over.get(id(one.score.asked))
        words = f"{f'all {rounds} rounds' if rounds else block}, goal score {one.score.goal}{' each' * one.score.each}"
        told[words] = GoalAhead(words, len(one.units), one.chance_of_goal)
    return tuple(told.values())


def _rounds(program: Program) -> Iterator[Rounds]:
    items = program.session.items if program.session else ()
    return (item for item, _ in played(items) if isinstance(item, Rounds))
