"""A person who feeds: how far from the asked place balls land in the mean, how they scatter, what share is in the zone.

A person is told nothing that a correction could change, so nothing is fitted: only counted. The range of a scatter is
that of the chi-squared distribution, by the cube root of E. B. Wilson & M. M. Hilferty, Proc. Natl. Acad. Sci. 17, 684
(1931).
"""

from math import sqrt

import numpy as np

from ...grammar.frozen import Frozen
from ..physics.flight import Array
from ..physics.normal import normal_in_box

NINETY = 1.645
FEWEST = 3
WORTH = 3.125
"""As many balls as a profile's scatter counts for where it is known to 40 %: 2 / (2 · 0.4)²."""


class FedBalls(Frozen):
    """One ball of a person, from `count` landings: mean offset from where it was meant, x and y, m, with one standard
    deviation; the scatter, m, x and y, with what it may be nine times in ten; the share of balls in the zone."""

    ball: str
    count: int
    off: tuple[float, float]
    off_doubt: tuple[float, float]
    scatter: tuple[float, float]
    scatter_range: tuple[tuple[float, float], tuple[float, float]]
    share: float


def fed(ball: str, landings: Array, meant: tuple[float, float], zone: tuple[float, float, float, float]) -> FedBalls:
    """From landings (2, n), x and y, m, of three balls or more; `zone` is x from, x to, y from, y to. The share is that
    of a normal scatter, a little wider than the sample for the mean that is not sure."""
    n = landings.shape[1]
    mean, covariance = landings.mean(axis=1), np.cov(landings)
    scatter = np.sqrt(np.diag(covariance))
    wide = (covariance * (1 + 1 / n))[:, :, None]
    share = normal_in_box(mean[:, None], wide, np.array([[zone[0]], [zone[2]]]), np.array([[zone[1]], [zone[3]]]))
    x, y = ((_range(float(s), n - 1)) for s in scatter)
    return FedBalls(
        ball, n, (float(mean[0] - meant[0]), float(mean[1] - meant[1])),
        (float(scatter[0] / sqrt(n)), float(scatter[1] / sqrt(n))), (float(scatter[0]), float(scatter[1])), (x, y),
        float(share[0]),
    )  # fmt: skip


def _range(scatter: float, freedom: int) -> tuple[float, float]:
    """What the standard deviation may be nine times in ten, from that of a sample."""
    edges = [freedom * (1 - 2 / (9 * freedom) + z * sqrt(2 / (9 * freedom))) ** 3 for z in (NINETY, -NINETY)]
    return tuple(scatter * sqrt(freedom / max(edge, 1e-6)) for edge in edges)  # type: ignore[return-value]


def times_stated(found: list[FedBalls], stated: dict[str, tuple[float, float]]) -> tuple[float, float]:
    """By how much a person scatters more or less than the profile states, across and along, the profile counting as a
    few balls; `stated` has the profile's scatter of each ball, x and y, m."""
    ratio = []
    for axis in (0, 1):
        squares = sum((one.count - 1) * (one.scatter[axis] / stated[one.ball][axis]) ** 2 for one in found)
        freedom = sum(one.count - 1 for one in found)
        ratio.append(sqrt((WORTH + squares) / (WORTH + freedom)))
    return ratio[0], ratio[1]
