"""Of ten replies, how many are good: a player's strokes scatter, and some of them miss.

A stroke leaves near the aim: its elevation and its azimuth are off by normal amounts, its pace by a factor whose
logarithm is normal, each independent of the others. Good is what clears the net by what is asked, stays under the
ceiling and lands in the target. The share of good strokes is the integral of that scatter over the good ones; the aim
with the largest share is looked for among all elevations, so nothing depends on where a search ends.

First `arcs` estimates the share for all paces and elevations. Around its best arcs a narrow mesh of paces and
elevations is then read from the same flights. To the sides it needs no mesh: where the sides of the target are, in
azimuth, says what part of the scatter lands between them, and that part is asked for the rest at its mean plus and
minus one standard deviation (Gauss's rule of two points). The share of every aim nearby is a product of that mesh with
the density of the scatter.
"""

from math import inf, sqrt

import numpy as np

from ...grammar.frozen import Frozen
from .arcs import MANY, PLAYED, REACH, SLACK, starts, strokes_of
from .fans import ELEVATIONS, fans, paces_of
from .flight import Array
from .normal import erf
from .outcome import Conditions
from .reply import Replies, closed
from .struck import (
    STEEP,
    Flown,
    FlyFans,
    StrokeScatter,
    breadth_of,
    cubics,
    landings,
    lanes,
    low,
    met,
    over_net,
    peaks,
    wide,
)

HIGHER_GAINS = 0.005
"""An arc is higher than it need be only for so much more."""
AIM_STEP = 0.25  # of the aims tried up to `SLACK` from the middle of a narrow mesh, standard deviations
FINER, FINER_STEP = 0.25, 0.0625  # then around the best of them
MESH = 0.5
"""Distance of the mesh's points in pace and elevation, standard deviations. An edge between two points counts by its
share of the cell, as if the scatter were wider by a uniform one of that breadth; Sheppard's correction takes the width
away again (W. F. Sheppard, Proc. London Math. Soc. 29, 353 (1898))."""
SIDE_STEP = 0.75  # of the azimuths aimed at, the same
SIDES = 2.5 * np.arange(-1.0, 2.0)
"""Directions in which strokes are read, standard deviations from the aim; between them parabolas."""
NEAR_BEST = (4e-3, 5e-4)
"""Aims that lose no more than this are as good as the best, and the middle of them is taken: it is the same on every
machine, and the safest."""
ROUNDS = 3  # the narrow mesh follows its best aim
NONE = 1e-3  # a share below which there is no such stroke
CHUNK = 16  # narrow meshes in one batch, so that they stay in the processor's cache


class BestAims(Frozen):
    """The aims of n replies with most good strokes, (n,) each, m/s and rad, and the `share` of good ones. Where no
    stroke is good the share is 0 and the aim NaN. Azimuth π is straight along -y, smaller to the player's left."""

    share: Array
    pace: Array
    elevation: Array
    azimuth: Array


def best_aims(
    replies: Replies,
    scatter: StrokeScatter,
    half_width: float,
    half_length: float,
    conditions: Conditions,
    fly: FlyFans = fans,
) -> BestAims:
    """For n replies on a court (m) the best aim of a player with this scatter. A given pace is kept to, by the flattest
    arc that there is; so is a least one, by the aim.

    In means that the centre lands within one radius of the target: the ball's radius as its footprint, our assumption.
    The posts play no part. A stroke may be faster than the player's limit, its aim not.
    """
    replies = closed(replies, half_width, half_length)
    n = len(replies.pace)
    best = BestAims(np.zeros(n), *np.full((3, n), np.nan))
    if not n:
        return best
    flown = strokes_of(replies, scatter, conditions, fly)
    which, aim, _ = starts(replies, flown, scatter, conditions)
    rising = np.argsort(aim[1], kind="stable")  # arcs that are alike together, and of each reply the flattest first
    which, aim, share = which[rising], aim[:, rising], np.zeros(len(which))
    for start in range(0, len(which), CHUNK):
        part = slice(start, start + CHUNK)
        share[part], aim[:, part] = _refined(
            replies.at(which[part]), flown.at(which[part]), aim[:, part], scatter, conditions
        )
    gains = np.where(replies.driven, 1.0, HIGHER_GAINS)
    played = ~replies.driven[which] | (aim[1] <= PLAYED)
    for i in [i for i in np.argsort(aim[1], kind="stable") if played[i]]:
        lane = which[i]
        if share[i] > best.share[lane] + gains[lane] * (best.share[lane] > NONE):
            best.share[lane], best.pace[lane] = share[i], np.exp(aim[0, i])
            best.elevation[lane], best.azimuth[lane] = aim[1:, i]
    return best


def _refined(
    replies: Replies, flown: Flown, aim: Array, scatter: StrokeScatter, conditions: Conditions
) -> tuple[Array, Array]:
    """The largest share (m,) of good strokes around these aims (3, m), and its aim (3, m)."""
    widths = np.array([scatter.pace, scatter.elevation, scatter.azimuth])
    limit = np.log(np.where(np.isnan(replies.pace), replies.limit, replies.pace))
    fixed = ~np.isnan(replies.pace)
    least = np.log(np.where(fixed, 1e-9, np.maximum(replies.slowest, 1e-9)))
    share, aim = np.zeros(len(limit)), aim.copy()
    moving = np.arange(len(limit))
    sides = np.arange(-SLACK, SLACK + SIDE_STEP / 2, SIDE_STEP)
    for _ in range(ROUNDS):
        mesh = _Mesh(replies.at(moving), flown.at(moving), aim[:, moving], widths, conditions)
        room = np.maximum((limit - aim[0])[moving] + 1e-9, 0.0) / widths[0]
        short = np.minimum((least - aim[0])[moving] / widths[0], 0.0)
        shift = np.zeros((3, len(moving)))
        at, before = sides + shift[2][:, None], np.zeros(0)
        for reach, step, near in ((SLACK, AIM_STEP, NEAR_BEST[0]), (FINER, FINER_STEP, NEAR_BEST[1])):
            tried = shift[:2, :, None] + np.arange(-reach, reach + step / 2, step)
            tried = np.clip(tried, -SLACK, SLACK)
            tried[0] = np.where(fixed[moving][:, None], 0.0, np.clip(tried[0], short[:, None], room[:, None]))
            good = mesh.good(at)
            shares = _shares(good, tried)
            if not len(before):
                before = _shares(good[:, [len(sides) // 2]], np.zeros((2, len(moving), 1)))[:, 0, 0, 0]
            weight = np.maximum(shares - shares.max(axis=(1, 2, 3), keepdims=True) + near, 0.0)
            weight /= weight.sum(axis=(1, 2, 3), keepdims=True)
            sums = weight.sum(axis=(1, 3)), weight.sum(axis=(1, 2)), weight.sum(axis=(2, 3))
            shift = np.array([(part * to).sum(axis=1) for part, to in zip(sums, (*tried, at), strict=True)])
            at = shift[2][:, None]
        share[moving] = _shares(good, shift[:2, :, None])[:, 0, 0, 0]
        gained = share[moving] - before
        aim[:, moving] += shift * widths[:, None]
        moving = moving[(np.abs(shift) > SLACK - AIM_STEP).any(axis=0) & (gained > NEAR_BEST[0])]
        if not len(moving):
            break
    return share, aim


_SPOTS = np.arange(-REACH, REACH + MESH / 2, MESH)


def _shares(mesh: Array, tried: Array) -> Array:
    """The share of good strokes (m, s, a, a) at aims `tried` (2, m, a) standard deviations from the middle, of meshes
    (m, s, p, e)."""
    density = np.exp(-((_SPOTS - tried[..., None]) ** 2) / (2 * (1 - MESH**2 / 12)))
    density /= density.sum(axis=-1, keepdims=True)
    return np.matmul(np.matmul(density[0][:, None], mesh), density[1][:, None].swapaxes(-1, -2))


class _Mesh:
    """What strokes do at the points of a mesh around each aim (3, m): of each margin, which is met where it is not
    negative, the parabola (3, m, p, e) in the azimuth and its breadth."""

    def __init__(self, replies: Replies, flown: Flown, aim: Array, widths: Array, conditions: Conditions) -> None:
        azimuth = aim[2][:, None] + widths[2] * SIDES
        pace, elevation = (aim[i][:, None] + widths[i] * _SPOTS for i in (0, 1))
        read = _Window(replies, flown, pace, elevation, widths, azimuth, conditions)
        x, y, _ = (part[:, None, None, None] for part in replies.contact)
        right, straight = np.sin(azimuth)[..., None, None], np.cos(azimuth)[..., None, None]
        radius = conditions.ball.radius_m
        own = (replies.y_low, replies.y_high, replies.x_low, replies.x_high)
        y_low, y_high, x_low, x_high = (part[:, None, None, None] for part in own)
        ahead, aside = read.landing
        across, along = x + ahead * right + aside * straight, y + ahead * straight - aside * right
        self._over = _Margin(read.over[0])
        self._under = _Margin(read.over[1]) if low(replies) else None
        self._low = (np.isinf(replies.under)[:, None] | (elevation <= STEEP))[:, None, None]
        self._free = np.isinf(replies.under)[:, None, None, None]
        self._near = _Margin(along - (y_low - radius))
        self._deep = (y_high - y_low + 2 * radius)[:, 0]
        self._peak = None if read.peak is None else _Margin(conditions.ceiling - radius - read.peak)
        side = _Parabola(across)
        self._edges = [side.where(edge + by) for edge, by in ((x_high[:, 0], radius), (x_low[:, 0], -radius))]

    def good(self, at: Array) -> Array:
        """How much of each cell (m, s, p, e) is good of strokes aimed `at` (m, s) so far aside."""
        aim = at[:, :, None, None]
        first, last = (edge[:, None] - aim for edge in self._edges)
        part = (erf(last / sqrt(2)) - erf(first / sqrt(2))) / 2
        safe = np.maximum(part, 1e-12)
        one, other = (np.exp(-(edge**2) / 2) / sqrt(2 * np.pi) for edge in (first, last))
        mean = (one - other) / safe
        spread = np.sqrt(np.maximum(1 + (first * one - last * other) / safe - mean**2, 0.0))
        mean = mean + aim
        return np.asarray(part * sum(self._met(mean + by * spread) for by in (-1, 1)) / 2)

    def _met(self, side: Array) -> Array:
        near = self._near.at(side)
        good = np.minimum(self._over.met(side), met(self._deep[:, None] - near, self._near.breadth))
        near = met(near, self._near.breadth)
        if self._under is not None:
            near = np.where(self._free, near, np.minimum(near, self._under.met(side) * self._low))
        if self._peak is not None:
            near = np.minimum(near, self._peak.met(side))
        return np.maximum(good + near - 1, 0.0)


class _Parabola:
    """A value (m, 3, p, e) in three directions, between them."""

    def __init__(self, value: Array) -> None:
        step = SIDES[2]
        self._middle = value[:, 1]
        self._slope = (value[:, 2] - value[:, 0]) / (2 * step)
        self._bend = (value[:, 2] + value[:, 0] - 2 * self._middle) / (2 * step**2)

    def at(self, side: Array) -> Array:
        return self._middle[:, None] + side * (self._slope[:, None] + side * self._bend[:, None])

    def where(self, level: Array) -> Array:
        """Where a falling one comes to a level (m, 1, 1)."""
        slope = np.minimum(self._slope, -1e-3)
        side = np.clip((level - self._middle) / slope, -9.0, 9.0)
        for _ in range(2):
            value = self._middle + side * (self._slope + side * self._bend) - level
            side = np.clip(side - value / np.minimum(self._slope + 2 * side * self._bend, slope / 3), -9.0, 9.0)
        return side


class _Margin(_Parabola):
    """One with its breadth across a cell."""

    def __init__(self, value: Array) -> None:
        super().__init__(value)
        self.breadth = breadth_of(self._middle)[:, None]

    def met(self, side: Array) -> Array:
        return met(self.at(side), self.breadth)


class _Window:
    """What the fans say at paces (m, p) and elevations (m, e), in the directions (m, a): the `landing` (2, m, a, p, e),
    by how much they are `over` the net, (m, a, p, e) each, and under a ceiling their `peak`, the same."""

    def __init__(
        self, replies: Replies, flown: Flown, pace: Array, elevation: Array, widths: Array, azimuth: Array,
        conditions: Conditions,
    ) -> None:  # fmt: skip
        count, nodes = int(flown.paces.max()), len(ELEVATIONS)
        by_pace = cubics(pace, paces_of(count), flown.paces)
        by_elevation = cubics(elevation, ELEVATIONS, np.full(len(elevation), nodes))
        self._tables, firsts, sizes = [], [], []
        for table, most, grid, width in (
            (by_pace, flown.paces, paces_of(MANY), widths[0]),
            (by_elevation, np.array([nodes]), ELEVATIONS, widths[1]),
        ):
            size = wide(2 * REACH * float(width), grid)  # the same for all batches: sums are added up in one order
            first = np.minimum((table != 0).any(axis=1).argmax(axis=1), most - size)
            index = first[:, None, None] + np.arange(size)
            self._tables.append(np.take_along_axis(table, np.broadcast_to(index, (*table.shape[:2], size)), axis=2))
            firsts.append(first)
            sizes.append(size)
        some = lanes(firsts[0], sizes[0], firsts[1], sizes[1])
        self._sizes = sizes
        self.landing = self._read(landings(replies, flown, some, azimuth, conditions))
        self.over = [self._read(of[None])[0] for of in over_net(replies, flown, some, azimuth, conditions)]
        self.peak = None
        if conditions.ceiling < inf:
            self.peak = np.repeat(self._read(peaks(replies, flown, some)[None, :, None])[0], len(SIDES), axis=1)

    def _read(self, fields: Array) -> Array:
        by_pace, by_elevation = self._tables
        fields = fields.reshape(*fields.shape[:-1], *self._sizes)
        return by_pace[:, None] @ fields @ by_elevation[:, None].swapaxes(-1, -2)
