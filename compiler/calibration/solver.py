"""Nonlinear least squares, small and dense: Levenberg's and Marquardt's method.

J. J. Moré, "The Levenberg-Marquardt algorithm", Lecture Notes in Mathematics 630, 105 (1978), has the scaling: each
unknown by the largest column that it has had. Damping rises tenfold after a step that does not help and falls tenfold
after one that does: D. W. Marquardt, J. SIAM 11, 431 (1963).
"""

from collections.abc import Callable

import numpy as np

from ...grammar.frozen import Frozen
from ..physics.flight import Array

Residuals = Callable[[Array], tuple[Array, Array]]
"""From unknowns (p,) to residuals (m,) and their slopes (m, p)."""
STEPS = 400
LEAST_GAIN, LEAST_MOVE = 1e-14, 1e-13
"""A step that lessens the sum of squares by a smaller share, or moves each unknown by a smaller one, is the last."""


class Solution(Frozen):
    """Unknowns (p,), the sum of squares there, the slopes (m, p), and whether the end was reached."""

    at: Array
    squares: float
    slopes: Array
    found: bool


def least_squares(residuals: Residuals, start: Array, gain: float = LEAST_GAIN) -> Solution:
    """The unknowns of the least sum of squares near the start; residuals that are not numbers count as a bad step. A
    step that lessens the sum by a share of less than `gain` is the last."""
    x = np.array(start, float)
    r, slopes = residuals(x)
    squares, damping, scale = float(r @ r), 1e-4, np.linalg.norm(slopes, axis=0)
    for _ in range(STEPS):
        scale = np.maximum(scale, np.linalg.norm(slopes, axis=0))
        wide = np.where(scale > 0, scale, 1.0)
        gradient = slopes.T @ r
        while True:
            # The damped step solves a taller system, which loses fewer digits than the square of the slopes would.
            tall = np.vstack([slopes / wide, np.sqrt(damping) * np.eye(len(x))])
            step = -np.linalg.lstsq(tall, np.concatenate([r, np.zeros(len(x))]), rcond=None)[0] / wide
            with np.errstate(all="ignore"):
                new, new_slopes = residuals(x + step)
            total = float(new @ new)
            if np.isfinite(total) and np.isfinite(new_slopes).all() and total <= squares:
                break
            damping = max(damping, 1e-12) * 10
            if damping > 1e16:
                return Solution(x, squares, slopes, bool(np.abs(gradient / wide).max() < 1e-6 * (1 + squares)))
        gained, moved = squares - total, np.abs(step) <= LEAST_MOVE * (np.abs(x) + LEAST_MOVE)
        x, r, slopes, squares, damping = x + step, new, new_slopes, total, damping / 10
        if gained <= gain * squares or moved.all():
            return Solution(x, squares, slopes, True)
    return Solution(x, squares, slopes, False)
