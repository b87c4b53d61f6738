"""Where a player waits for a ball, and how far the way from there to it is."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


class Wait(NamedTuple):
    """Where a player stands before the ball, m, `y` None for as far back as it is met; and how far the player reaches
    from there towards -x and towards +x, less than none where the stroke asks for the other side."""

    x: float
    y: float | None
    less: float
    more: float


def column(wait: Wait | None) -> list[float]:
    """One as numbers, NaN for what is not said."""
    return [np.nan if one is None else one for one in wait or (None,) * 4]


def way(waits: Array, x: Array | float, y: Array | float) -> Array:
    """How far the player goes until a ball that is met there is in reach, m, (n,) for columns (4, n). It is less than
    none where the ball comes nearer than the reach, and the player goes neither forward nor back."""
    at, back, less, more = waits
    aside = np.maximum(at - x - less, x - at - more)
    along = np.nan_to_num(np.subtract(y, back))
    return np.where(along == 0.0, aside, np.hypot(np.maximum(aside, 0.0), along))


def gone(wait: Wait | None, contact: tuple[float, float, float]) -> float | None:
    """How far a player goes for a ball that is met there, m; None where no line asks."""
    return max(0.0, float(way(np.array(column(wait)), *contact[:2]))) if wait else None
