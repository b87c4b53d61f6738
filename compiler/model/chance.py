"""Shares of hits and streaks: what a count shows, and what a goal needs. Plain arithmetic, no data."""

from collections.abc import Sequence
from math import comb, prod, sqrt
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
"""Of so many last balls the chance is exact in every block: there are two to this power ways in which they may have
gone, and a check asks some thirty times. Own choice."""


def chance_of_hits(hits: int, among: int, balls: int, share: float, in_sets: bool = False) -> float:
    """The chance that in `balls` balls there were once at least `hits` hits among the last `among`, each ball hit with
    the chance `share`, independently. `in_sets`: in one of the whole sets of `among` balls, whose hits are binomial
    (NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.6.18).

    Else it is the discrete scan statistic, by its exact Markov chain over the outcomes of the
    last `among - 1` balls (J. C. Fu, M. V. Koutras, J. Am. Stat. Assoc. 89, 1050 (1994)). Where these are all balls of
    the block, only the number of hits counts. A block of up to twice as many balls is exact, too; of a longer one with
    many last balls the chance is right to one in a hundred: each further `among` balls go without like the second so
    many (J. I. Naus, J. Am. Stat. Assoc. 77, 177 (1982)).
    """
    if in_sets:
        return 1 - (1 - sum(_binomial(among, share)[hits:])) ** (balls // among)
    if hits == among:
        return chance_of_streak(hits, balls, share)
    if not 1 <= hits < among or balls < 0 or not 0 <= share <= 1:
        raise ValueError(f"no chance of {hits} hits among {among} of {balls} balls at {share}")
    if among >= balls:
        return sum(_binomial(balls, share)[hits:])
    if balls <= 2 * among:
        return 1 - _never(hits, among, balls, share)
    if among > MOST_EXACT:
        once, twice = (_never(hits, among, n, share) for n in (among, 2 * among))
        return 1 - twice * (twice / once) ** ((balls - 2 * among) / among) if twice else 1.0
    import numpy as np  # a row, the usual goal, does without

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


def chance_in_all(hits: int, shares: Sequence[float]) -> float:
    """The chance of so many hits or more, each ball hit with its own chance, independently: the tail of the
    Poisson-binomial distribution, ball by ball (S. X. Chen, J. S. Liu, Statistica Sinica 7, 875 (1997))."""
    import numpy as np

    at, reached = np.zeros(hits), 0.0  # by the hits so far
    at[0] = 1.0
    for share in shares:
        reached += share * float(at[-1])
        at[1:] = (1 - share) * at[1:] + share * at[:-1]
        at[0] *= 1 - share
    return min(reached, 1.0)


def each_number_of_hits(shares: Sequence[float]) -> list[float]:
    """The chance of no hit, of one, and so on: all of that distribution."""
    at = [1.0]
    for share in shares:
        at = [(1 - share) * now + share * less for now, less in zip([*at, 0.0], [0.0, *at], strict=True)]
    return at


def chance_won(shares: Sequence[float], needed: int | None) -> float:
    """The chance that a point is won, whose balls are hit with these chances: with so many hits, None for all."""
    return prod(shares) if needed is None else chance_in_all(needed, shares)


def _never(hits: int, among: int, balls: int, share: float) -> float:
    """The chance that no `among` balls one after another hold so many hits, of at most twice `among` balls.

    Each step onwards takes the first ball out and a new one in. So all that matters of the balls that are taken out is
    how many of them are hits, and these may lie anywhere: their number and the hits among the last balls are a Markov
    chain.
    """
    import numpy as np

    steps = balls - among
    first, rest = _binomial(steps, share), _binomial(among - steps, share)
    at = np.zeros((steps + 1, among + 1))  # by the hits that are still to be taken out, and those among the last balls
    for taken in range(steps + 1):
        at[taken, taken : taken + len(rest)] = np.multiply(first[taken], rest)
    at[:, hits:] = 0.0
    for left in range(steps, 0, -1):
        out = np.minimum(np.arange(steps + 1) / left, 1.0)[:, None]
        stays, goes = (1 - out) * at, out * at
        stays[:-1, :-1] += goes[1:, 1:]
        at = (1 - share) * stays
        at[:, 1:] += share * stays[:, :-1]
        at[:, hits:] = 0.0
    return min(float(at.sum()), 1.0)


def _binomial(balls: int, share: float) -> list[float]:
    return [comb(balls, hits) * share**hits * (1 - share) ** (balls - hits) for hits in range(balls + 1)]


def needed_share(goal: Goal, balls: int, chance: float = 0.5, in_sets: bool = False) -> float | None:
    """The share of hits at which this goal in `balls` balls has this chance; None if it is impossible."""
    if balls < (goal.among if in_sets else goal.hits):
        return None
    low, high = 0.0, 1.0
    # Halving 50 times leaves less than 1e-15, 16 times less than 1e-4: what takes long is only told in percent.
    for _ in range(50 if goal.hits == goal.among or goal.among >= balls else 16):
        middle = (low + high) / 2
        low, high = (low, middle) if chance_of_hits(*goal, balls, middle, in_sets) >= chance else (middle, high)
    return high
