"""A score: how marks move it, how likely it comes where, and how far it can come. Plain arithmetic, no data."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from typing import NamedTuple, Protocol

from ...grammar.frozen import Frozen


class ScoreRules(Protocol):
    """What moves a score: that of a script, or that of a plan."""

    @property
    def start(self) -> int: ...
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
    """After one more mark that adds so much by itself. The bounds hold for what all of it adds."""
    streak = at.streak + 1 if hit and rules.row else 0
    full = rules.row is not None and streak == rules.row
    score = at.score + adds + (rules.bonus if full else 0)
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
"""A score at the edge of all that is less likely is left out: together they change no figure that is told."""


def forecast(rules: ScoreRules, balls: Iterable[tuple[float, int, int]]) -> Forecast:
    """For balls, or points, that are hit with these chances, each by itself, and whose hit and miss add so much: the
    exact Markov chain over the score and the streak, in which an end absorbs (W. Feller, An Introduction to
    Probability Theory and Its Applications, vol. 1, 3rd ed., XIV.2 and XV)."""
    import numpy as np

    row, over = rules.row or 1, defaultdict[int, float](float)
    low, at = rules.start, np.ones((row, 1))  # by the streak, and by the score from `low` on
    at[1:] = 0.0
    ends = dict.fromkeys(rules.ends, 0.0)

    def told(scores: int, chances: "np.ndarray[tuple[int], np.dtype[np.float64]]") -> float:
        for n, chance in enumerate(chances.tolist()):
            over[scores + n] += chance
        return float(chances.sum())

    for share, adds, miss in balls:
        wide, full = at.shape[1], adds + (rules.bonus if rules.row else 0)
        first = min(miss, adds, full)
        after = np.zeros((row, wide + max(miss, adds, full) - first))
        after[0, miss - first :][:wide] += (1 - share) * at.sum(axis=0)
        after[1:, adds - first :][:, :wide] += share * at[:-1]
        after[0, full - first :][:wide] += share * at[-1]
        low, at = low + first, after
        if rules.least is not None and rules.least > low:
            below = min(rules.least - low, at.shape[1] - 1)
            at[:, below] += at[:, :below].sum(axis=1)
            low, at = rules.least, at[:, below:]
        if rules.most is not None and rules.most < low + at.shape[1] - 1:
            kept = max(rules.most - low, 0)
            at[:, kept] += at[:, kept + 1 :].sum(axis=1)
            low, at = min(low, rules.most), at[:, : kept + 1]
        for end in rules.ends:
            if end > rules.start:
                kept = max(end - low, 0)
                ends[end] += told(low + kept, at[:, kept:].sum(axis=0))
                at = at[:, :kept]
            else:
                gone = max(end - low + 1, 0)
                ends[end] += told(low, at[:, :gone].sum(axis=0))
                low, at = low + gone, at[:, gone:]
        likely = np.flatnonzero(at.sum(axis=0) > TINY)
        if not likely.size:
            at = at[:, :0]
            break
        low, at = low + int(likely[0]), at[:, likely[0] : likely[-1] + 1]
    told(low, at.sum(axis=0))
    return Forecast(ends, {score: chance for score, chance in over.items() if chance})


def farthest(rules: ScoreRules, adds: Iterable[tuple[int, int]]) -> Iterator[tuple[int, int]]:
    """After each ball, of which a hit and a miss add so much, the least and the greatest score that any marks have led
    to, where no end stops them; before the first, the start. Of two courses with the same streak the one with the
    higher score stays higher."""
    import numpy as np

    far = np.full((2, rules.row or 1), np.inf)  # by the streak the least score, and the greatest with the other sign
    far[:, 0] = rules.start, -rules.start
    signs, bounds = np.array([[1], [-1]]), (rules.least, rules.most)
    least = most = rules.start
    yield least, most
    for one, miss in adds:
        after = np.roll(far + signs * one, 1, axis=1)
        after[:, 0] += signs[:, 0] * (rules.bonus if rules.row else 0)
        after[:, 0] = np.minimum(after[:, 0], far.min(axis=1) + signs[:, 0] * miss)
        if bounds != (None, None):  # what no marks lead to stays so
            after = np.where(np.isinf(after), after, signs * np.clip(signs * after, *bounds))
        far = after
        least, most = min(least, int(far[0].min())), max(most, int(-far[1].min()))
        yield least, most
