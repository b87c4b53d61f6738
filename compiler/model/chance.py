"""Shares of hits and streaks: what a count shows, and what a goal needs. Plain arithmetic, no data."""

from math import comb, sqrt
from typing import NamedTuple

from ...grammar.units import hits_of

Z_95 = 1.959963984540054
"""97.5 % point of the standard normal distribution (NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.1, gives
1.960)."""


class Goal(NamedTuple):
    """`hits` among so many of the last judged balls; in a row if the two numbers are equal."""

    hits: int
    among: int

    def __str__(self) -> str:
        return hits_of(self.hits, self.among)


class ConfidenceInterval(NamedTuple):
    low: float
    high: float


def wilson(hits: int, balls: int, z: float = Z_95) -> ConfidenceInterval:
    """The share's interval by E. B. Wilson, J. Am. Stat. Assoc. 22, 209 (1927); without balls, from 0 to 1."""
    if not 0 <= hits <= balls:
        raise ValueError(f"{hits} of {balls} is no share")
    if balls == 0:
        return ConfidenceInterval(0.0, 1.0)
    share, spread = hits / balls, z * z / balls
    middle = share + spread / 2
    half = z * sqrt(share * (1 - share) / balls + spread / (4 * balls))
    # At the ends the limits are exactly 0 and 1; rounding must not shift them.
    low = 0.0 if hits == 0 else (middle - half) / (1 + spread)
    return ConfidenceInterval(low, 1.0 if hits == balls else (middle + half) / (1 + spread))


def chance_of_streak(goal: int, balls: int, share: float) -> float:
    """The chance of a streak of `goal` hits or more in `balls` balls, each hit with the chance `share`, independently.

    Exact recursion on the ball that completes the first streak: before its `goal` hits there is a miss, and before that
    no streak; P(n) = P(n-1) + (1 - P(n-goal-1)) (1 - p) p^goal, P(goal) = p^goal. It is the recursion behind
    the generating function in W. Feller, An Introduction to Probability Theory and Its Applications,
    vol. 1, 3rd ed., XIII.7.
    It adds only positive terms, so small chances keep their digits.
    """
    if goal < 1 or balls < 0 or not 0 <= share <= 1:
        raise ValueError(f"no chance of {goal} in a row among {balls} balls at {share}")
    if balls < goal:
        return 0.0
    power = share**goal
    found = [0.0] * goal + [power]
    for n in range(goal + 1, balls + 1):
        found.append(found[n - 1] + (1 - found[n - goal - 1]) * (1 - share) * power)
    return min(found[balls], 1.0)


MOST_EXACT = 16
"""Of so many last balls the chance is exact: there are two to this power ways in which they may have gone, and a check
asks some thirty times. Own choice."""
BLOCKS = 4000
"""So many blocks are drawn where that is too much; the chance is then right to about one in a hundred. Own choice."""


def chance_of_hits(hits: int, among: int, balls: int, share: float) -> float:
    """The chance that in `balls` balls there were once at least `hits` hits among the last `among`, each ball hit with
    the chance `share`, independently: the discrete scan statistic, by its exact Markov chain over the outcomes of the
    last `among - 1` balls (J. C. Fu, M. V. Koutras, J. Am. Stat. Assoc. 89, 1050 (1994)). Where these are all balls of
    the block, only the number of hits counts; where they are many, blocks are drawn.
    """
    if hits == among:
        return chance_of_streak(hits, balls, share)
    if not 1 <= hits < among or balls < 0 or not 0 <= share <= 1:
        raise ValueError(f"no chance of {hits} hits among {among} of {balls} balls at {share}")
    if among >= balls:
        return sum(comb(balls, n) * share**n * (1 - share) ** (balls - n) for n in range(hits, balls + 1))
    import numpy as np  # a row, the usual goal, does without

    if among > MOST_EXACT:
        # The same draws for every share, so that a larger share never has a smaller chance.
        good = np.random.default_rng(0).random((BLOCKS, balls)) < share
        marked = np.cumsum(np.pad(good, ((0, 0), (1, 0))), axis=1)
        return float(np.mean((marked[:, among:] - marked[:, :-among]).max(axis=1) >= hits))

    ways = np.arange(2 ** (among - 1))  # one bit for each ball, the last one lowest
    almost = sum(ways >> bit & 1 for bit in range(among - 1)) == hits - 1
    at, found = np.zeros(len(ways)), 0.0
    at[0] = 1.0
    for _ in range(balls):
        found += share * float(at[almost].sum())
        hit, miss = np.where(almost, 0.0, share * at), (1 - share) * at
        at = np.empty_like(at)
        at[1::2], at[::2] = hit.reshape(2, -1).sum(axis=0), miss.reshape(2, -1).sum(axis=0)
    return min(found, 1.0)


def needed_share(goal: Goal, balls: int, chance: float = 0.5) -> float | None:
    """The share of hits at which this goal in `balls` balls has this chance; None if it is impossible."""
    if balls < goal.hits:
        return None
    low, high = 0.0, 1.0
    # Halving 50 times leaves less than 1e-15, 16 times less than 1e-4: what takes long is only told in percent.
    for _ in range(50 if goal.hits == goal.among or goal.among >= balls else 16):
        middle = (low + high) / 2
        low, high = (low, middle) if chance_of_hits(*goal, balls, middle) >= chance else (middle, high)
    return high
