"""Where good replies may be: the share of good strokes estimated for all paces and elevations, and the best arcs.

The fans of the strokes are read in the direction of the target, on cubics between their flights. Good or not is then
known at all paces and elevations, and the share of every aim is a product of that with the density of the scatter.
"""

from functools import lru_cache
from itertools import combinations
from math import inf, pi, sqrt

import numpy as np
from numpy.typing import NDArray

from .fans import ELEVATIONS, fans, paces_of
from .flight import Array, Index
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
    flown,
    landings,
    lanes,
    low,
    met,
    over_net,
    peaks,
    wide,
)

SLOWEST = 4.0  # m/s, of the paces aimed at
LOWEST, HIGHEST = np.radians([-60.0, 85.0])
BEYOND = 3
"""Paces beyond those aimed at, one standard deviation apart."""
BANDS = np.radians([-90.0, 22.0, 44.0, 90.0])
"""Low, looped and high arcs: the best of each is looked at closely, for there may be a best aim in each."""
BEHIND = 0.15
"""Arcs whose estimate is so much smaller than the best are left out: by trial, it is no further off."""
DIP = 0.01
"""Between two arcs the share falls by at least so much; else they are one. By trial: the estimate is no smoother."""
BROAD = np.radians(10.0)
"""So far to each side of its best elevation an arc's middle is looked for."""
SURE = 0.05  # an estimate above which there certainly is such a stroke
PLAYED = np.radians(66.0)
"""Who states a pace means no steeper stroke than this: any pace does anything if it goes up high enough. Own choice."""
ROUNDING = 1e-6  # of the logarithm of a pace
FEW = 1e-6  # an estimate below which there is no such stroke
FAR = 3.5
"""Standard deviations of scatter that count, to each side; 1 stroke in 2,000 is beyond."""
SLACK = 1.5  # how far from an arc's aim others are tried, the same
REACH = FAR + SLACK  # of the narrow meshes
MANY = 40  # paces of a fan, more than any has
TOGETHER = 8  # replies looked at as one batch, so that it stays in the processor's cache


def estimated_shares(
    replies: Replies,
    scatter: StrokeScatter,
    half_width: float,
    half_length: float,
    conditions: Conditions,
    fly: FlyFans = fans,
) -> Array:
    """The shares (n,) of `best_aims` by the estimate alone, in a small part of the time."""
    replies = closed(replies, half_width, half_length)
    found = np.zeros(len(replies.pace))
    which, _, share = starts(replies, strokes_of(replies, scatter, conditions, fly), scatter, conditions)
    np.maximum.at(found, which, share)
    return found


def strokes_of(replies: Replies, scatter: StrokeScatter, conditions: Conditions, fly: FlyFans = fans) -> Flown:
    """The fans of all strokes that may be looked at."""
    fastest = np.log(np.where(np.isnan(replies.pace), replies.limit, replies.pace))
    least = wide(2 * REACH * scatter.pace, paces_of(MANY))
    return flown(replies, fastest + FAR * scatter.pace, least, conditions, fly)


def starts(
    replies: Replies, flown: Flown, scatter: StrokeScatter, conditions: Conditions
) -> tuple[Index, Array, Array]:
    """Which replies (m,), and for each an aim (3, m) to look around: logarithm of the pace, rad, rad; and the share
    (m,) estimated there."""
    given = ~np.isnan(replies.pace)
    fastest = np.log(np.where(given, replies.pace, replies.limit))
    slowest = np.log(np.maximum(replies.slowest, SLOWEST))
    rows = np.where(given, 1, np.maximum(np.ceil((fastest - slowest) / scatter.pace), 2) + 1).astype(int)
    which: list[Index] = [np.empty(0, np.intp)]
    aims, shares = [np.empty((3, 0))], [np.empty(0)]
    for count, paces in sorted(set(zip(rows.tolist(), flown.paces.tolist(), strict=True))):
        alike = np.flatnonzero((rows == count) & (flown.paces == paces))
        for some in np.split(alike, range(TOGETHER, len(alike), TOGETHER)):
            lane, aim, share = _starts(replies.at(some), flown.at(some), fastest[some], count, scatter, conditions)
            which.append(some[lane])
            aims.append(aim)
            shares.append(share)
    return np.concatenate(which), np.concatenate(aims, axis=1), np.concatenate(shares)


def _starts(
    replies: Replies, flown: Flown, fastest: Array, rows: int, scatter: StrokeScatter, conditions: Conditions
) -> tuple[Index, Array, Array]:
    """The same for replies whose aims have so many paces, down from the logarithm of the fastest (n,)."""
    paces = fastest[:, None] + scatter.pace * np.arange(1 - rows - BEYOND, BEYOND + 1)
    columns = max(int((HIGHEST - LOWEST) / scatter.elevation) + 1, 4)
    elevations = np.linspace(LOWEST, HIGHEST, columns)
    share, azimuth = _estimated(replies, flown, paces, elevations, scatter, conditions)
    paces, azimuth = paces[:, BEYOND:-BEYOND], azimuth[:, BEYOND:-BEYOND]
    share = np.where(replies.driven[:, None, None] & (elevations > PLAYED), 0.0, share)
    least = np.log(np.maximum(np.where(np.isnan(replies.pace), replies.slowest, 0.0), SLOWEST / 2)) - ROUNDING
    share = np.where(((paces >= least[:, None]) | (replies.slowest <= 0)[:, None])[..., None], share, 0.0)
    tops = share.max(axis=1)
    crests, good = _arcs(tops.T, elevations, replies.driven)
    arc, lane = np.nonzero(good)
    crest = crests[arc, lane]
    height = tops[lane, crest]
    weight = np.maximum(share[lane] - height[:, None, None] + DIP, 0.0)
    weight *= (np.abs(elevations - elevations[crest][:, None]) < BROAD)[:, None]
    weight /= weight.sum(axis=(1, 2), keepdims=True)
    aim = [
        (weight.sum(axis=2) * paces[lane]).sum(axis=1), (weight.sum(axis=1) * elevations).sum(axis=1),
        (weight * azimuth[lane]).sum(axis=(1, 2)),
    ]  # fmt: skip
    return lane, np.array(aim), height


def _arcs(tops: Array, elevations: Array, given: NDArray[np.bool_]) -> tuple[NDArray[np.intp], NDArray[np.bool_]]:
    """Where each band of elevations (e,) is best by the shares `tops` (e, n), and whether an arc of its own is there,
    (b, n) each. Of a `given` (n,) pace or a least one every arc counts, but none above one that is sure."""
    lane, at = np.arange(tops.shape[1]), np.arange(len(elevations))[:, None]
    bands = np.searchsorted(BANDS, elevations, "right") == np.arange(1, len(BANDS))[:, None]
    crests = np.array([np.where(band[:, None], tops, -1.0).argmax(axis=0) for band in bands])
    heights = tops[crests, lane]
    good = heights > np.where(given, FEW, np.maximum(heights.max(axis=0) - BEHIND, FEW))
    for one, other in combinations(range(len(crests)), 2):
        dip = np.where((at >= crests[one]) & (at <= crests[other]), tops, inf).min(axis=0)
        higher = heights[other] > heights[one]
        good[one] &= ~(higher & (dip >= heights[one] - DIP))
        good[other] &= ~(~higher & (dip >= heights[other] - DIP))
        good[other] &= ~(given & good[one] & (heights[one] > SURE))
    return crests, good


def _estimated(
    replies: Replies, flown: Flown, paces: Array, elevations: Array, scatter: StrokeScatter, conditions: Conditions
) -> tuple[Array, Array]:
    """The share of good strokes (n, p - 2 BEYOND, e) of the inner paces (n, p), and the azimuths (n, p, e) that bring
    strokes into the direction of the target. How far aside they land is taken to be normal."""
    n, nodes = len(replies.pace), len(ELEVATIONS)
    x, y, _ = replies.contact
    middle_x, middle_y = (replies.x_low + replies.x_high) / 2, (replies.y_low + replies.y_high) / 2
    towards = np.arctan2(middle_x - x, middle_y - y) % (2 * pi)
    count, none = int(flown.paces.max()), np.zeros(n, np.intp)
    some, azimuth = lanes(none, count, none, nodes), towards[:, None]
    fields = [
        *landings(replies, flown, some, azimuth, conditions)[:, :, 0],
        *(field[:, 0] for field in over_net(replies, flown, some, azimuth, conditions)),
    ]  # fmt: skip
    if conditions.ceiling < inf:
        fields.append(peaks(replies, flown, some))
    by_pace = cubics(paces, paces_of(count), flown.paces)
    by_elevation = cubics(elevations[None], ELEVATIONS, np.array([nodes]))[0]
    values = np.stack(fields, axis=1).reshape(n, len(fields), count, nodes)
    ahead, aside, over, *others = np.moveaxis(by_pace[:, None] @ (values @ by_elevation.T), 1, 0)
    x, y, towards, x_low, x_high, y_low, y_high = (
        value[:, None, None] for value in (x, y, towards, replies.x_low, replies.x_high, replies.y_low, replies.y_high)
    )
    # What curves or drifts is turned back, so that it lands in the direction of the target.
    reach = np.hypot(ahead, aside)
    along, across, radius = y + reach * np.cos(towards), x + reach * np.sin(towards), conditions.ball.radius_m
    breadth = breadth_of(along)
    good = np.minimum(met(over, breadth_of(over)), met(y_high + radius - along, breadth))
    near = met(along - (y_low - radius), breadth)
    if low(replies):
        stays = met(others[0], breadth_of(others[0])) * (elevations <= STEEP)
        near = np.where(np.isinf(replies.under)[:, None, None], near, np.minimum(near, stays))
    if conditions.ceiling < inf:
        near = np.minimum(near, met(conditions.ceiling - radius - others[-1], breadth_of(others[-1])))
    aside_by = reach * scatter.azimuth + 1e-6
    good = np.maximum(good + near - 1, 0.0)
    good *= _below((x_high + radius - across) / aside_by) - _below((x_low - radius - across) / aside_by)
    at_pace = _density(paces.shape[1], scatter.pace, scatter.pace)
    at_elevation = _density(len(elevations), float(elevations[1] - elevations[0]), scatter.elevation)
    at_pace = at_pace[BEYOND:-BEYOND]
    share = (at_pace / at_pace.sum(axis=-1, keepdims=True)) @ good @ at_elevation
    return share, towards - np.arctan2(aside, ahead)


@lru_cache(32)  # of few scatters and meshes
def _density(count: int, step: float, width: float) -> Array:
    """Of a normal scatter around each of so many evenly spaced places the part that falls to each, (k, k)."""
    places = np.arange(count)
    variance = width**2 - min(step**2 / 12, width**2 / 2)  # Sheppard's correction, as for the narrow mesh
    apart = step * (places[:, None] - places)
    return np.asarray(np.exp(-(apart**2) / (2 * variance)) * step / np.sqrt(2 * pi * variance))


def _below(deviations: Array) -> Array:
    """Share of a normal distribution below so many standard deviations."""
    return (1 + erf(deviations / sqrt(2))) / 2
