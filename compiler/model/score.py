"""A score: how marks move it, how likely it comes where, and how far it can come. Plain arithmetic, no data."""

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import NamedTuple, Protocol

from ...grammar.frozen import Frozen


class ScoreRules(Protocol):
    """What moves a score: that of a script, or that of a plan."""

    @property
    def start(self) -> int: ...
    @property
    def miss(self) -> int: ...
    @property
    def row(self) -> int | None: ...
    @property
    def bonus(self) -> int: ...
    @property
    def least(self) -> int | None: ...
    @property
    def most(self) -> int | None: ...
    @property
    def ends(self) -> tuple[int, ...]: ...


class ScoreStanding(NamedTuple):
    score: int
    streak: int = 0
    """The hits in a row since the last bonus."""


def moved(rules: ScoreRules, at: ScoreStanding, adds: int, hit: bool) -> ScoreStanding:
    """After one more mark, of a ball or point whose hit adds so much. The bounds hold for what all of it adds."""
    streak = at.streak + 1 if hit and rules.row else 0
    full = rules.row is not None and streak == rules.row
    score = at.score + (adds + (rules.bonus if full else 0) if hit else rules.miss)
    if rules.least is not None:
        score = max(score, rules.least)
    if rules.most is not None:
        score = min(score, rules.most)
    return ScoreStanding(score, 0 if full else streak)


def end_of(rules: ScoreRules, score: int) -> int | None:
    """Which of its ends a score has reached: one above the start upwards, one below it downwards."""
    return next((end for end in rules.ends if (score >= end if end > rules.start else score <= end)), None)


class Forecast(Frozen):
    ends: Mapping[int, float]
    """How likely each end is reached."""
    last: Mapping[int, float]
    """How likely it is the score after the last ball, or after the one that ended the block."""

    def at_least(self, score: int) -> float:
        return min(sum(chance for at, chance in self.last.items() if at >= score), 1.0)


TINY = 1e-18
"""A course of marks that is less likely is left out: all of them together change no figure that is told."""


def forecast(rules: ScoreRules, balls: Iterable[tuple[float, int]]) -> Forecast:
    """For balls, or points, that are hit with these chances, each by itself, and whose hits add so much: the exact
    Markov chain over the score and the streak, in which an end absorbs (W. Feller, An Introduction to Probability
    Theory and Its Applications, vol. 1, 3rd ed., XIV.2 and XV)."""
    at, over = {ScoreStanding(rules.start): 1.0}, defaultdict[int, float](float)
    ends = dict.fromkeys(rules.ends, 0.0)
    for share, adds in balls:
        after = defaultdict[ScoreStanding, float](float)
        for standing, chance in at.items():
            for hit, part in ((True, chance * share), (False, chance * (1 - share))):
                if part < TINY:
                    continue
                now = moved(rules, standing, adds, hit)
                if (end := end_of(rules, now.score)) is None:
                    after[now] += part
                else:
                    ends[end] += part
                    over[now.score] += part
        at = after
    for standing, chance in at.items():
        over[standing.score] += chance
    return Forecast(ends, over)


def farthest(rules: ScoreRules, adds: Sequence[int]) -> tuple[int, int]:
    """The least and the greatest score that any marks lead to, at any time, where no end stops them. Of two courses
    with the same streak the one with the higher score stays higher."""
    low = high = {0: rules.start}
    least = most = rules.start
    for one in adds:
        low, high = _next(rules, low, one, min), _next(rules, high, one, max)
        least, most = min(least, *low.values()), max(most, *high.values())
    return least, most


def _next(rules: ScoreRules, at: Mapping[int, int], adds: int, better: Callable[[int, int], int]) -> dict[int, int]:
    found: dict[int, int] = {}
    for streak, score in at.items():
        for hit in (True, False):
            now = moved(rules, ScoreStanding(score, streak), adds, hit)
            found[now.streak] = better(now.score, found.get(now.streak, now.score))
    return found
