"""How high scattered balls are met, by a player who may move a step along the court to them.

A bounce has a top, so the height at a place is no line in what scatters: a person's balls fly a metre farther or less,
and are met on both sides of that top. What decides the height near the contact counts as a surface of the second order
in what scatters, with the product of speed and elevation, and the share is counted at points of a normal distribution.
"""

from functools import cache

import numpy as np
from numpy.typing import NDArray

from ...grammar.frozen import Frozen
from .flight import GRAVITY, Array
from .moments import Moment
from .normal import erf

FAR = 1.5  # deviations: so far from the shot the flights are that tell how its height bends
SLOWEST = 0.1  # m/s along the court; a slower ball comes down where it is
BOTH = np.array([(1, 1), (1, -1), (-1, 1), (-1, -1)])
"""Which way speed and elevation are off in the last flights of `design`."""


@cache
def points(count: int = 250) -> Array:
    """Points of a normal distribution in five dimensions, (5, 4 count), of unit variances and no correlation: the first
    of a Kronecker sequence, of the powers of the root of x^6 = x + 1, through the inverse distribution. Beside each
    stand its image through the origin and those of a ball to the other side, so that a forehand and a backhand are
    judged alike."""
    root, table = 1.0, np.linspace(-5, 5, 4001)
    for _ in range(60):
        root = (1 + root) ** (1 / 6)
    even = (0.5 + np.arange(1, count + 1) * root ** -np.arange(1.0, 6.0)[:, None]) % 1
    found = np.interp(even, (1 + erf(table / np.sqrt(2))) / 2, table)
    found -= found.mean(axis=1, keepdims=True)
    found = np.linalg.solve(np.linalg.cholesky(found @ found.T / count), found)
    found = np.concatenate([found, -found], axis=1)
    return np.concatenate([found, found * np.array([[1], [1], [-1], [1], [-1]])], axis=1)


def near(contact: Moment) -> Array:
    """What decides the height near a contact, (3, n): the height there, how much it grows for each metre along the
    court, and how much it falls below that line for each square metre: z + d w/v - g d²/2v²."""
    ahead = np.maximum(contact.velocity[1], SLOWEST)
    return np.stack([contact.position[2], contact.velocity[2] / ahead, GRAVITY / (2 * ahead * ahead)])


def reached(near: Array, step: Array) -> tuple[Array, Array]:
    """The least and the greatest height at which balls are met up to a `step` nearer or farther."""
    height, slope, bend = near
    ends = np.abs(slope) * step + bend * step * step
    top = np.clip(slope / np.where(bend > 0, 2 * bend, np.inf), -step, step)
    return height - ends, height + slope * top - bend * top * top


def design(deviations: Array) -> Array:
    """How far off the flights are that `surface` needs, (5, 14): each thing that scatters alone to either side, speed
    and elevation together."""
    shift = np.zeros((5, 14))
    shift[np.arange(5), np.arange(5)] = FAR
    shift[np.arange(5), np.arange(5, 10)] = -FAR
    shift[:2, 10:] = FAR * BOTH.T
    return shift * deviations[:, None]


class Bent(Frozen):
    """What decides the height of n shots near their contacts, and what a deviation of each thing that scatters makes of
    it: `alone` and `bent` (3, 5, n), `both` (3, n) of speed times elevation."""

    middle: Array
    alone: Array
    bent: Array
    both: Array

    def scattered(self) -> Array:
        """The same of each ball at `points`, (3, n, points)."""
        every = points()
        total = self.middle[..., None] + self.both[..., None] * (every[0] * every[1])
        for i, point in enumerate(every):
            total = total + self.alone[:, i, :, None] * point + self.bent[:, i, :, None] * (point * point)
        return total


def surface(middle: Array, flown: Array, slopes: Array) -> Bent:
    """From shots (3, n), the flights of `design` (3, 14, n), and what a deviation makes of shots by first derivatives,
    (3, 5, n), which counts where a flight does not come to the player."""
    up, down = flown[:, :5], flown[:, 5:10]
    alone = (up - down) / (2 * FAR)
    bent = (up + down - 2 * middle[:, None]) / (2 * FAR * FAR)
    both = (flown[:, 10] - flown[:, 11] - flown[:, 12] + flown[:, 13]) / (4 * FAR * FAR)
    straight = ~np.isfinite(flown).all(axis=(0, 1))
    return Bent(
        middle,
        np.nan_to_num(np.where(straight, slopes, alone)),
        np.where(straight, 0.0, bent),
        np.where(straight, 0.0, both),
    )


def share_between(near: Array, step: Array, low: Array, high: Array) -> Array:
    """Of each of n shots the share of its balls (3, n, k) that are met between two heights somewhere within a step:
    none is too high at its lowest or too low at its highest."""
    least, most = reached(near, step[:, None])
    met: NDArray[np.bool_] = (most >= low[:, None]) & (least <= high[:, None])
    return np.asarray(met.mean(axis=1))
