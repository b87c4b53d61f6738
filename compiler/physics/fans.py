"""Strokes of one spin at all paces and elevations, flown once: from any place the same flights begin there.

A flight knows the ground only by where it ends. So a fan is flown from nowhere in particular, far enough down, and is
then read for every contact: where its flights come down to the ground, and how high they pass the net. Between two
knots of a flight places are cubics in time (Hermite's, by their speeds), within a millimetre of the flight. Without
wind a fan is the same in all directions; in wind a few directions are flown, and what is read is a sum of the first two
harmonics of the azimuth between them, which is exact to the second order of the wind.
"""

from collections.abc import Iterator, Sequence
from math import ceil, log, pi

import numpy as np

from ...grammar.frozen import Frozen
from .air import Air
from .ball import Ball
from .flight import SHARES, Array, Index, Scalars, fly, launch
from .moments import falling_root, highest

SLOWEST, STEP = log(4.0), 0.25
"""Logarithms of the paces flown, m/s: the least, and how far apart."""
ELEVATIONS = np.radians([
    -60, -47, -37, -29, -23, -18, -14, -11, -8.5, -6, -3.5, -1, 1.5, 4, 6.5, 9, 12, 15, 19, 23, 28, 33, 38, 43, 48, 53,
    58, 63, 68, 74, 80, 86,
])  # fmt: skip
"""Closest where strokes leave almost level: there the distance to the ground has a bend."""
BELOW = -6.0  # m; so far under the contact flights are followed
EVERY = 3  # of the nodes of an arc; every third is a knot
WINDS = pi + np.radians([-90.0, -45.0, 0.0, 45.0, 90.0])
"""The azimuths flown in wind."""
TINY = 1e-9
SLOW = 0.1  # m/s, the least speed towards a plane at the end of a flight


class Fans(Frozen):
    """The flights of f fans at k knots: seconds since the stroke, `time` (f, k, l); metres and m/s `ahead`, to the
    right of that and up from it, `place` and `rate` (3, f, k, l); of l = p · e strokes, those of one pace together.
    `peak` (f, l) is the highest point, m above the contact. After the end of a flight its last knot is repeated."""

    time: Array
    place: Array
    rate: Array
    peak: Array

    def apart(self) -> "Iterator[Fans]":
        """Each fan by itself."""
        for i in range(self.time.shape[0]):
            one = slice(i, i + 1)
            yield Fans(self.time[one], self.place[:, one], self.rate[:, one], self.peak[one])

    @staticmethod
    def together(some: "Sequence[Fans]") -> "Fans":
        """Fans of as many paces side by side; knots that one has fewer repeat its last."""
        if len(some) == 1:
            return some[0]
        knots = max(one.time.shape[1] for one in some)

        def joined(name: str) -> Array:
            return np.concatenate([
                np.pad(value, [*[(0, 0)] * (value.ndim - 2), (0, knots - value.shape[-2]), (0, 0)], "edge")
                if value.shape[-2] < knots else value for value in (getattr(one, name) for one in some)
            ], axis=-3)  # fmt: skip

        return Fans(joined("time"), joined("place"), joined("rate"), np.concatenate([one.peak for one in some]))


def paces_up_to(fastest: float) -> int:
    """How many paces a fan has so that it reaches the logarithm of a pace."""
    return ceil((fastest - SLOWEST) / STEP) + 1


def paces_of(count: int) -> Array:
    """Their logarithms."""
    return np.asarray(SLOWEST + STEP * np.arange(count), float)


def weights(azimuth: Array, air: Air) -> Array:
    """How much each fan of `WINDS` counts for strokes in the directions (n,), (n, 5); (n, 1) without wind."""
    if not any(air.wind_mps):
        return np.ones((*azimuth.shape, 1))
    return np.asarray(np.stack(_harmonics(azimuth), axis=-1) @ _TO_HARMONICS)


def _harmonics(azimuth: Array) -> list[Array]:
    return [np.ones_like(azimuth), *(of(k * azimuth) for k in (1, 2) for of in (np.cos, np.sin))]


_TO_HARMONICS: Array = np.linalg.inv(np.stack(_harmonics(WINDS), axis=-1))


def fans(topspin: Array, sidespin: Array, azimuth: Array, count: int, ball: Ball, air: Air) -> Fans:
    """Fans with the spins (f,), rad/s, in the directions `azimuth` (f,), rad, of `count` paces."""
    f, e = len(topspin), len(ELEVATIONS)
    lanes = count * e
    velocity, spin = launch(
        np.tile(np.repeat(np.exp(paces_of(count)), e), f), np.tile(ELEVATIONS, count * f), np.repeat(azimuth, lanes),
        np.repeat(topspin, lanes), np.repeat(sidespin, lanes),
    )  # fmt: skip
    path = fly(np.zeros(velocity.shape), velocity, spin, ball, air, floor=BELOW)
    arc, n = path.arcs, f * lanes
    order = np.argsort(arc.lanes, kind="stable")
    first = np.searchsorted(arc.lanes[order], np.arange(n))
    rank = np.empty(len(order), np.intp)
    rank[order] = np.arange(len(order)) - first[arc.lanes[order]]
    knots = (arc.position.shape[1] - 1) // EVERY
    found = np.zeros((7, 1 + knots * (1 + rank.max(initial=0)), n))
    found[4:, 0] = velocity
    for number in range(rank.max(initial=-1) + 1):
        mine, at = np.flatnonzero(rank == number), 1 + number * knots
        here = found[:, at : at + knots]
        here[...] = found[:, at - 1 : at]
        lane = arc.lanes[mine]
        here[0][:, lane] = arc.begin[mine] + SHARES[EVERY::EVERY][:, None] * arc.length[mine]
        here[1:4][:, :, lane] = arc.position[:, EVERY::EVERY].take(mine, axis=2)
        here[4:][:, :, lane] = arc.velocity[:, EVERY::EVERY].take(mine, axis=2)
    found = np.ascontiguousarray(found.reshape(7, -1, f, lanes).swapaxes(1, 2))
    sine, cosine = np.sin(azimuth)[:, None, None], np.cos(azimuth)[:, None, None]
    for x, y in (found[1:3], found[4:6]):
        x[...], y[...] = x * sine + y * cosine, x * cosine - y * sine
    return Fans(found[0], found[1:4], found[4:], highest(path).reshape(f, lanes))


def coming_down(fans: Fans, which: Index, lanes: Index, level: Array) -> Array:
    """How far ahead and to the right (2, n, l) the strokes `lanes` (n, l) of the fans `which` (n,) fall last through
    `level`, (n, 1) or (n, l) m above the contact. Where they do not, it is the end of the flight or its start."""
    start, (height,) = _knots(fans, which, lanes, (2,))
    above = height > level[:, None]
    index = height.shape[1] - 1 - above[:, ::-1].argmax(axis=1)
    step = _Step(fans, start, np.minimum(index, height.shape[1] - 2))
    z, after, rise, rise_after = step.ends(2)
    share = falling_root(z - level, after - level, rise, rise_after)
    ends = (step.ends(0), step.ends(1))
    found = np.array([_between(*end, np.where(above.any(axis=1), share, 0.0)) for end in ends])
    return np.where(index < height.shape[1] - 1, found, np.array([end[1] for end in ends]))


def passing(fans: Fans, which: Index, lanes: Index, tangent: Array, away: Array) -> Array:
    """How far ahead, to the right and up (3, n, a, l) the strokes are where ahead - `tangent` (n, a) * right is `away`
    (n, a), m: where they pass a plane that is square to them or not. What ends before goes on straight down its last
    slope, so that what is read stays smooth."""
    start, (ahead, aside) = _knots(fans, which, lanes, (0, 1))
    knots, each = ahead.shape[1], zip(tangent.T[..., None, None], away.T[..., None, None], strict=True)
    short = np.stack([(ahead - slope * aside < by).sum(axis=1) for slope, by in each], axis=1)
    start, tangent, away = start[:, None], tangent[..., None], away[..., None]
    step = _Step(fans, start, np.minimum(np.maximum(short - 1, 0), knots - 2))
    sides = step.ends(0), step.ends(1)
    here, after, speed, speed_after = (one - tangent * other for one, other in zip(*sides, strict=True))
    way = np.maximum(after - here, TINY)
    # The time as a cubic in the way: it hardly bends.
    slope, slope_end = (way / np.maximum(of, way / 3) for of in (speed, speed_after))
    share = _between(0.0, 1.0, slope, slope_end, (away - here) / way)
    found = np.array([_between(*ends, share) for ends in (*sides, step.ends(2))])
    if (short == knots).any():
        end, rate = (of.reshape(3, -1)[:, start + (knots - 1) * fans.place.shape[-1]] for of in (fans.place, fans.rate))
        time = (away - end[0] + tangent * end[1]) / np.maximum(rate[0] - tangent * rate[1], SLOW)
        found = np.where(short == knots, end + time * rate, found)
    return found


class _Step:
    """The stretches between two knots of flights; speeds are by the share of the stretch."""

    def __init__(self, fans: Fans, start: Index, index: Index) -> None:
        stride = fans.place.shape[-1]
        self._fans, self._first = fans, start + index * stride
        self._last = self._first + stride
        self._long = fans.time.take(self._last) - fans.time.take(self._first)

    def ends(self, axis: int) -> tuple[Array, Array, Array, Array]:
        place, rate = self._fans.place[axis], self._fans.rate[axis]
        return (
            place.take(self._first), place.take(self._last),
            self._long * rate.take(self._first), self._long * rate.take(self._last),
        )  # fmt: skip


def _knots(fans: Fans, which: Index, lanes: Index, axes: tuple[int, ...]) -> tuple[Index, list[Array]]:
    """The places of the first knots (n, l) in the flat arrays, and coordinates at all knots (n, k, l)."""
    _, _, knots, count = fans.place.shape
    start = which[:, None] * (knots * count) + lanes
    every = start[:, None] + count * np.arange(knots)[:, None]
    return start, [fans.place[axis].take(every) for axis in axes]


def _between(start: Scalars, end: Scalars, slope: Array, slope_end: Array, share: Array) -> Array:
    """Hermite's cubic from the values and slopes at both ends of a step."""
    rise = np.asarray(end) - start
    return start + share * (slope + share * (3 * rise - 2 * slope - slope_end + share * (slope + slope_end - 2 * rise)))
