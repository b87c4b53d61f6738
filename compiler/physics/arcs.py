"""Where good replies may be: the share of good strokes estimated for all paces and elevations, and the best arcs.

A wide grid of paces and elevations is flown in the direction of the target and read on cubics. Good or not is then
known all over it, and the share of every aim is a product of that with the density of the scatter.
"""

from itertools import combinations
from math import inf, pi, sqrt

import numpy as np
from numpy.typing import NDArray

from .flight import GRAVITY, Array
from .outcome import UNDER, Conditions
from .reply import BELOW, Replies, closed
from .spread import erf
from .struck import STEEP, StrokeScatter, breadth_of, cubics, met, struck

SLOWEST = 4.0  # m/s, of the paces tried
STEP = 0.2  # of the logarithm of the pace, flown on the wide grid
ELEVATIONS = np.radians(np.arange(-60.0, 86.0, 5.0))
BETWEEN = 4  # the wide grid is read at so many places a step, on cubics
BANDS = np.radians([-90.0, 22.0, 44.0, 90.0])
"""Low, looped and high arcs: the best of each is looked at closely, for there may be a best aim in each."""
BEHIND = 0.15
"""Arcs whose estimate is so much smaller than the best are left out: by trial, it is no further off."""
SHORT = 0.7
"""Of the way to the net; no ball gets so much farther through air than it would without."""
STRIPS = 4
GUARD = np.radians(5.0)  # flown beyond what can be good, for the cubics
DIP = 0.01
"""Between two arcs the share falls by at least so much; else they are one. By trial: the estimate is no smoother."""
BROAD = np.radians(10.0)
"""So far to each side of its best elevation an arc's middle is looked for."""
SURE = 0.05  # an estimate above which there certainly is such a stroke
PLAYED = np.radians(66.0)
"""Who states a pace means no steeper stroke than this: any pace does anything if it goes up high enough. Own choice."""
NEAR_MPS = 1e-6  # m/s, for rounding
FEW = 1e-6  # an estimate below which there is no such stroke


def estimated_shares(
    replies: Replies, scatter: StrokeScatter, half_width: float, half_length: float, conditions: Conditions
) -> Array:
    """The shares (n,) of `best_aims` by the wide grid alone, in a small part of the time."""
    replies = closed(replies, half_width, half_length)
    found = np.zeros(len(replies.pace))
    which, _, share = starts(replies, scatter, conditions)
    np.maximum.at(found, which, share)
    return found


def starts(replies: Replies, scatter: StrokeScatter, conditions: Conditions) -> tuple[NDArray[np.intp], Array, Array]:
    """Which replies (m,), and for each an aim (3, m) to look around: logarithm of the pace, rad, rad; and the share
    (m,) estimated there."""
    free = np.isnan(replies.pace)
    which: list[NDArray[np.intp]] = [np.empty(0, np.intp)]
    aims, shares = [np.empty((3, 0))], [np.empty(0)]
    for some in (np.flatnonzero(free), np.flatnonzero(~free)):
        if not len(some):
            continue
        few = replies.at(some)
        if free[some[0]]:
            high = np.log(few.limit)
            low = np.minimum(np.log(np.maximum(few.slowest, SLOWEST)), high - STEP)
            steps = max(3, int(np.ceil((high - low).max() / STEP)))
            paces = low + (high - low) / steps * np.arange(steps + 2.0)[:, None]
            aimed = slice(0, steps * BETWEEN + 1)
        else:
            paces = np.log(few.pace) + 2 * scatter.pace * np.arange(-1.0, 2.0)[:, None]
            aimed = slice(BETWEEN, BETWEEN + 1)
        share, aim = (part[..., aimed, :, :] for part in _estimated(few, paces, scatter, conditions))
        share = np.where((aim[1] <= PLAYED) | ~few.driven, share, 0.0)
        share = np.where(np.exp(aim[0]) >= np.where(free[some], few.slowest, 0.0) - NEAR_MPS, share, 0.0)
        tops = share.max(axis=0)
        crests, good = _arcs(tops, aim[1, 0, :, 0], few.driven)
        arc, lane = np.nonzero(good)
        crest, height = crests[arc, lane], tops[crests[arc, lane], lane]
        weight = np.maximum(share[:, :, lane] - height + DIP, 0.0)
        weight *= np.abs(aim[1, 0][:, lane] - aim[1, 0, crest, lane]) < BROAD
        which.append(some[lane])
        shares.append(height)
        places = _by_lane(aim[:, :, :, lane] * weight).sum(axis=-1) / _by_lane(weight[None]).sum(axis=-1)
        aims.append(places.T)
    return np.concatenate(which), np.concatenate(aims, axis=1), np.concatenate(shares)


def _by_lane(values: Array) -> Array:
    """Values (k, p, e, n) as (n, k, p e): so the sums of a lane do not depend on how many stand beside it."""
    k, p, e, n = values.shape
    return np.ascontiguousarray(np.moveaxis(values, -1, 0)).reshape(n, k, p * e)


def _arcs(tops: Array, elevations: Array, given: NDArray[np.bool_]) -> tuple[NDArray[np.intp], NDArray[np.bool_]]:
    """Where each band of elevations (e,) is best by the shares `tops` (e, n), and whether an arc of its own is there,
    (b, n) each. Of a `given` (n,) pace or a least one every arc counts, but none above one that is sure."""
    lane, at = np.arange(tops.shape[1]), np.arange(len(elevations))[:, None]
    bands = np.searchsorted(BANDS, elevations, "right") == np.arange(1, len(BANDS))[:, None]
    crests = np.stack([np.where(band[:, None], tops, -1.0).argmax(axis=0) for band in bands])
    heights = tops[crests, lane]
    good = heights > np.where(given, FEW, np.maximum(heights.max(axis=0) - BEHIND, FEW))
    for one, other in combinations(range(len(crests)), 2):
        dip = np.where((at >= crests[one]) & (at <= crests[other]), tops, inf).min(axis=0)
        higher = heights[other] > heights[one]
        good[one] &= ~(higher & (dip >= heights[one] - DIP))
        good[other] &= ~(~higher & (dip >= heights[other] - DIP))
        good[other] &= ~(given & good[one] & (heights[one] > SURE))
    return crests, good


def _estimated(replies: Replies, paces: Array, scatter: StrokeScatter, conditions: Conditions) -> tuple[Array, Array]:
    """The share of good strokes (p, e, n) at aims (3, p, e, n) towards the target. Between nodes flights are cubics,
    and how far aside they land is taken to be normal."""
    shape = (len(paces), len(ELEVATIONS), len(replies.pace))
    x, y, _ = replies.contact
    middle_x, middle_y = (replies.x_low + replies.x_high) / 2, (replies.y_low + replies.y_high) / 2
    towards = np.arctan2(middle_x - x, middle_y - y) % (2 * pi)
    grid = np.stack(np.broadcast_arrays(paces[:, None], ELEVATIONS[:, None], np.broadcast_to(towards, shape)))
    # Of what comes down well before the net, or leaves well below it, it is enough to know where about it lands.
    speed, rise, height = np.exp(grid[0]), np.exp(grid[0]) * np.sin(grid[1]), replies.contact[2]
    level = speed * np.cos(grid[1]) * (rise + np.sqrt(rise**2 + 2 * GRAVITY * np.maximum(height, 0.0))) / GRAVITY
    net, landing = np.full((2, 3, *shape), UNDER)
    landing[0], landing[1] = x + level * np.sin(towards), y + level * np.cos(towards)
    peak = np.zeros(shape)
    line = np.arctan2(conditions.net_centre - height, np.maximum(np.abs(y), 0.1))
    far = (level * np.cos(towards) < -SHORT * y) & (grid[1] > line - BELOW - GUARD)
    net[:, far], landing[:, far], _, peak[far] = (
        part[..., 0] for part in struck(replies.at(np.nonzero(far)[2]), grid[:, far], conditions)
    )
    by_pace, by_elevation = (cubics(np.arange((k - 1) * BETWEEN + 1) / BETWEEN, k) for k in shape[:2])
    fields = np.stack([*grid, net[2], net[0], landing[0], landing[1], peak])
    # A product for each reply, whatever stands beside it.
    fields = np.ascontiguousarray(np.moveaxis(np.nan_to_num(fields, nan=UNDER), -1, 1))
    fields = by_pace @ (fields @ by_elevation.T)
    grid, (net_z, net_x, land_x, land_y, peak) = fields[:3], fields[3:]
    x, y, towards = (value[:, None, None] for value in (x, y, towards))
    x_low, x_high, y_low, y_high, over_net, under = (
        value[:, None, None]
        for value in (
            replies.x_low, replies.x_high, replies.y_low, replies.y_high, replies.over_net, replies.under,
        )
    )  # fmt: skip
    # What curves or drifts is turned back, so that it lands in the direction of the target.
    reach = np.hypot(land_x - x, land_y - y)
    turn = (np.arctan2(land_x - x, land_y - y) - towards + pi) % (2 * pi) - pi
    along, across = y + reach * np.cos(towards), x + reach * np.sin(towards)
    radius = conditions.ball.radius_m
    over = net_z - radius - conditions.cord(net_x) - over_net
    low = np.where(np.isinf(under) | (grid[1] <= STEEP), under - over_net - over, -inf)
    breadth = breadth_of(along)
    good = np.minimum(met(over, breadth_of(over)), met(y_high + radius - along, breadth))
    near = np.minimum(met(along - (y_low - radius), breadth), met(low, breadth_of(over)))
    if conditions.ceiling < inf:
        near = np.minimum(near, met(conditions.ceiling - radius - peak, breadth_of(peak)))
    aside = np.abs(along - y) * scatter.azimuth + 1e-6
    good = np.maximum(good + near - 1, 0.0)
    good *= _below((x_high + radius - across) / aside) - _below((x_low - radius - across) / aside)
    at_pace, at_elevation = (
        _weights(axis, width) for axis, width in ((grid[0, :, :, 0], scatter.pace), (grid[1, :, 0], scatter.elevation))
    )
    share = _product(_product(at_pace / at_pace.sum(axis=-1, keepdims=True), good), at_elevation)
    grid[2] -= turn
    return np.moveaxis(share, 0, -1), np.moveaxis(grid, 1, -1)


def _product(left: Array, right: Array) -> Array:
    """Their matrix products, in strips: a larger one would start threads, which wait longer than it takes."""
    return np.concatenate([left @ strip for strip in np.array_split(right, STRIPS, axis=-1)], axis=-1)


def _weights(places: Array, width: float) -> Array:
    """Of a normal scatter around each of evenly spaced `places` (n, k) the part that falls to each, (n, k, k)."""
    step = (places[:, 1:2] - places[:, :1])[:, :, None]
    variance = width**2 - np.minimum(step**2 / 12, width**2 / 2)  # Sheppard's correction, as for the narrow mesh
    return np.exp(-((places[:, :, None] - places[:, None]) ** 2) / (2 * variance)) * step / np.sqrt(2 * pi * variance)


def _below(deviations: Array) -> Array:
    """Share of a normal distribution below so many standard deviations."""
    return (1 + erf(deviations / sqrt(2))) / 2
