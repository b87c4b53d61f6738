"""How likely it is that a ladder's last rung is won, by the exact Markov chain over the rung and what its rule counts
there, in which the win absorbs (W. Feller, An Introduction to Probability Theory and Its Applications, vol. 1, 3rd ed.,
XV). Each ball is hit with its own chance, by itself."""

from collections import defaultdict
from collections.abc import Sequence

from .model.chance import each_number_of_hits
from .model.program import LadderRules

LONGEST = 12
"""So many last balls are counted. There are two to this power ways in which they may have gone, on each rung and before
each ball. Own choice."""


def chance_of_last(rules: LadderRules, shares: Sequence[Sequence[float]]) -> float | None:
    """`shares`: for each ball of the ladder the chance of a hit on each rung. None if it counts too many last balls."""
    if rules.in_sets:
        return _in_sets(rules, shares)
    return _in_balls(rules, shares) if max(rules.up.among, rules.within or 0) <= LONGEST else None


def _in_sets(rules: LadderRules, shares: Sequence[Sequence[float]]) -> float:
    each, last, won = rules.up.among, len(rules.labels) - 1, 0.0
    at = {(rules.start, 0): 1.0}  # by the rung, and by the sets that were played on it
    for first in range(0, len(shares), each):
        after = defaultdict[tuple[int, int], float](float)
        for (rung, sets), chance in at.items():
            hits = each_number_of_hits([ball[rung] for ball in shares[first : first + each]])
            good, bad = sum(hits[rules.up.hits :]), sum(hits[: each - rules.down + 1]) if rules.down else 0.0
            again = 1 - good - bad
            if rules.down_sets and sets + 1 >= rules.down_sets:
                bad, again = bad + again, 0.0
            up = again if rules.most_sets and sets + 1 >= rules.most_sets else 0.0
            counted = sets + 1 if rules.down_sets or rules.most_sets else 0
            won += chance * good if rung == last else 0.0
            ways = ((rung + 1, good if rung < last else 0.0), (rung + 1, up), (rung - 1, bad), (rung, again - up))
            for then, share in ways:
                then = min(max(then, 0), last)
                after[then, 0 if then != rung else counted] += chance * share
        at = after
    return won


def _in_balls(rules: LadderRules, shares: Sequence[Sequence[float]]) -> float:
    import numpy as np  # sets do without

    most, last, won = max(rules.up.among, rules.within or 0), len(rules.labels) - 1, 0.0
    ways = np.arange(2 << most)  # a bit for each of the last balls, the last one lowest, and one before them all
    longer = ways << 1
    longer = np.where(longer >> (most + 1), (longer & ((1 << most) - 1)) | 1 << most, longer)
    hit, miss = longer | 1, longer
    begun = [(ways >> (bit + 1)) > 0 for bit in range(most)]  # so many balls were played
    hits, misses = np.zeros_like(ways), np.zeros_like(ways)
    for bit in range(rules.up.among):
        hits += (ways >> bit & 1) * begun[bit]
    for bit in range(rules.within or 0):
        misses += (1 - (ways >> bit & 1)) * begun[bit]
    rises, falls = (hits >= rules.up.hits)[hit], (misses >= (rules.down or most + 1))[miss]
    at = np.zeros((last + 1, len(ways)))
    at[rules.start, 1] = 1.0
    for ball in shares:
        after = np.zeros_like(at)
        for rung, chances in enumerate(at):
            good, bad = ball[rung] * chances, (1 - ball[rung]) * chances
            up, down = float(good[rises].sum()), float(bad[falls].sum()) if rung else 0.0
            good = np.where(rises, 0.0, good)
            bad = np.where(falls, 0.0, bad) if rung else bad
            after[rung] += np.bincount(hit, good, len(ways)) + np.bincount(miss, bad, len(ways))
            if rung == last:
                won += up
            else:
                after[rung + 1, 1] += up
            if rung:
                after[rung - 1, 1] += down
        at = after
    return min(won, 1.0)
