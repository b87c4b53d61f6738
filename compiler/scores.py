"""Scores of blocks and of rounds: which balls each counts, and how likely it comes where it should."""

from collections.abc import Iterator
from functools import cached_property

from ..grammar.frozen import Frozen, replace
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


class CountedScore(Frozen):
    """A score with the blocks that it counts."""

    score: Score
    blocks: tuple[int, ...]
    units: tuple[tuple[float | None, int, int], ...]
    """Of each ball or point that counts how likely it is good, None where nobody can say, and what a hit and a miss
    add; where there are other results, the most and the least that one of them does."""
    points: bool
    open: bool
    """Whether marks decide how many come, apart from its own ends."""

    @cached_property
    def forecast(self) -> Forecast | None:
        """None where that depends on other marks, or where no reply is asked for."""
        known = [(share, hit, miss) for share, hit, miss in self.units if share is not None]
        return forecast(self.score, known) if known and len(known) == len(self.units) and not self.open else None

    @property
    def share(self) -> float:
        """How many are good on average."""
        known = [share for share, *_ in self.units if share is not None]
        return sum(known) / len(known) if known else 0.0


def counted_scores(program: Program, schedule: Schedule, evaluation: Evaluation) -> list[CountedScore]:
    """Each in its order, once for each time that rounds repeat it."""
    fed: dict[int, list[Feed]] = {b: [] for b, block in enumerate(schedule.blocks) if block.score}
    for feed, b in zip(schedule.feed.tolist(), schedule.block.tolist(), strict=True):
        if b in fed:
            fed[b].append(program.feeds[schedule.feeds[feed]])
    chains = list[list[int]]()
    for b in fed:
        score = schedule.blocks[b].score
        if score and score.goes_on:
            chains[-1].append(b)
        else:
            chains.append([b])
    return [_counted(tuple(chain), schedule, fed, evaluation) for chain in chains]


def _counted(
    blocks: tuple[int, ...], schedule: Schedule, fed: dict[int, list[Feed]], evaluation: Evaluation
) -> CountedScore:
    times = [schedule.blocks[b] for b in blocks]
    score = times[0].score
    assert score
    units = [unit for b in blocks for unit in _units(schedule.blocks[b], fed[b], evaluation)]
    marked = any(one.ladder or one.even is not None or one.until or one.first_to for one in times)
    return CountedScore(score, blocks, tuple(units), any(one.points for one in times), marked)


def _units(block: BlockTimes, fed: list[Feed], evaluation: Evaluation) -> Iterator[tuple[float | None, int, int]]:
    score = block.score
    assert score
    worth, misses, others = dict(score.worth), dict(score.misses), [adds for _, adds in score.results]
    shares = {} if others else {name: reply.share for name, reply in evaluation.replies.items()}

    def adds(name: str) -> tuple[int, int]:
        both = worth[name], misses.get(name, score.miss)
        return (max(*both, *others), min(*both, *others)) if others else both

    if not block.points:
        yield from ((shares.get(feed.name), *adds(feed.name)) for feed in fed)
    for point in block.points:
        known = [shares[name] for name in point.feeds if name in shares]
        won = chance_won(known, point.won_with) if len(known) == len(point.feeds) else None
        yield won, *adds(point.name)


def score_ends(one: CountedScore, words: str, balls: int) -> EarlyEnd:
    """The block of a score that ends it, with how likely each end is."""
    ends = one.forecast.ends if one.forecast else {}
    return EarlyEnd(words, balls, sum(ends.values()) if ends else None, tuple(ends.items()))


def scores_ahead(scores: list[CountedScore], program: Program, schedule: Schedule) -> tuple[GoalAhead, ...]:
    """Each `goal score` of the script with its chance, once where rounds repeat it."""
    told = dict[str, GoalAhead]()
    over = {id(item.score.asked): item.count for item in _rounds(program) if item.score}
    for one in scores:
        if one.score.goal is None:
            continue
        block = " ".join(schedule.blocks[one.blocks[0]].words.split())
        rounds = over.get(id(one.score.asked))
        words = f"{f'all {rounds} rounds' if rounds else block}, goal score {one.score.goal}"
        told[words] = GoalAhead(words, len(one.units), one.forecast.at_least(one.score.goal) if one.forecast else None)
    return tuple(told.values())


def _rounds(program: Program) -> Iterator[Rounds]:
    items = program.session.items if program.session else ()
    return (item for item, _ in played(items) if isinstance(item, Rounds))
