"""Replies with a most over the net and a least pace, against strokes flown one by one."""

from math import radians

import numpy as np
import pytest

from feedwright.compiler.physics.strokes import best_aims

from .test_reply import HALF_LENGTH, HALF_WIDTH, replies
from .test_strokes import BREEZE, SCATTERS, drawn, found, sampled

N, STROKES = 10, 4_000


def test_the_share_under_a_most_over_the_net_is_that_of_strokes_flown_one_by_one() -> None:
    """4 standard errors of the sample, and 0.015 for the mesh, as without a bound (test_strokes.py)."""
    free = drawn(N, 5)
    rng = np.random.default_rng(6)
    wanted = replies(N, **{**dict(zip(vars_of(free), free.values(), strict=True)),
                           "under": free.over_net + rng.uniform(0.4, 1.5, N)})  # fmt: skip
    aims = found(wanted)
    flown = sampled(wanted, aims, SCATTERS["club"], BREEZE, STROKES)
    errors = np.sqrt(flown * (1 - flown) / STROKES)
    assert (np.abs(aims.share - flown) <= 4 * errors + 0.015).all()
    assert (aims.share <= found(free).share + 0.015).all(), "a bound makes no reply easier"
    assert (aims.share > 0.05).sum() >= 4


def vars_of(one: object) -> tuple[str, ...]:
    return tuple(type(one).__annotations__)


@pytest.mark.parametrize("kmh", [60, 80, 95])
def test_a_least_pace_is_kept_by_the_aim_and_no_lob_does_it(kmh: float) -> None:
    """Deep replies from the baseline are best at some 60 km/h; a faster one is as good as one of exactly that pace."""
    deep = {"y_low": -11.385, "y_high": -7.0, "over_net": 0.5, "topspin": 120.0}
    least, stated = (
        best_aims(replies(**deep, **how), SCATTERS["club"], HALF_WIDTH, HALF_LENGTH, BREEZE)
        for how in ({"pace": np.nan, "slowest": kmh / 3.6}, {"pace": kmh / 3.6})
    )
    assert least.pace[0] >= kmh / 3.6 - 1e-6
    assert least.elevation[0] < radians(50)  # at 60 km/h the best reply of all is a looped one
    assert least.share[0] >= stated.share[0] - 0.01
