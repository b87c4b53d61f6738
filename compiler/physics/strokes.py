"""Of ten replies, how many are good: a player's strokes scatter, and some of them miss.

A stroke leaves near the aim: its elevation and its azimuth are off by normal amounts, its pace by a factor whose
logarithm is normal, each independent of the others. Good is what clears the net by what is asked, stays under the
ceiling and lands in the target. The share of good strokes is the integral of that scatter over the good ones; the aim
with the largest share is looked for among all elevations, so nothing hangs on where a search ends.

First a wide grid of paces and elevations is flown in the direction of the target, and the share at each is estimated
from first derivatives. Around the best of the low, the looped and the high arcs a narrow grid of paces, elevations and
azimuths is then flown. Between its nodes flights are polynomials, so good or not is known on a fine mesh, and the share
of every aim nearby is a product of that mesh with the density of the scatter.
"""

from itertools import combinations
from math import inf, log, pi, sqrt

import numpy as np
from numpy.typing import NDArray

from ...grammar.frozen import Frozen
from .flight import GRAVITY, Array, fly, launch
from .moments import at_height, at_plane, highest, turned
from .outcome import UNDER, Conditions
from .reply import BELOW, Replies, closed, lowest
from .spread import erf

SLOWEST = 4.0  # m/s, of the paces tried
STEP = 0.2  # of the logarithm of the pace, flown on the wide grid
ELEVATIONS = np.radians(np.arange(-60.0, 86.0, 5.0))
BETWEEN = 4  # the wide grid is read at so many places a step, on cubics
BANDS = np.radians([-90.0, 22.0, 44.0, 90.0])
"""Low, looped and high arcs: the best of each is looked at closely, for there may be a best aim in each."""
BEHIND = 0.15
"""Arcs whose estimate is so much smaller than the best are left out: first derivatives are no further off."""
SHORT = 0.7
"""Of the way to the net; no ball gets so much farther through air than it would without."""
DIP = 0.01
"""Between two arcs the share falls by at least so much; else they are one. By trial: the estimate is no smoother."""
BROAD = np.radians(10.0)
"""So far to each side of its best elevation an arc's middle is looked for."""
SURE = 0.05  # an estimate above which there certainly is such a stroke
HIGHER_GAINS = 0.005
"""An arc is higher than it need be only for so much more."""
PLAYED = np.radians(66.0)
"""Who states a pace means no steeper stroke than this: any pace does anything if it goes up high enough. Own choice."""
FEW, NONE = 1e-6, 1e-3  # an estimate, and a share, below which there is no such stroke
FAR = 3.5
"""Standard deviations of scatter that count, to each side; 1 stroke in 2,000 is beyond."""
SLACK, AIM_STEP = 1.5, 0.25
"""How far from the middle of a narrow grid aims are tried, and their distance, in standard deviations."""
FINER, FINER_STEP = 0.25, 0.0625  # then around the best of them
MESH = (0.5, 0.5, 0.5)
"""Distance of the mesh's points in pace, elevation and azimuth, standard deviations. An edge between two points counts
by its share of the cell, as if the scatter were wider by a uniform one of that breadth; Sheppard's correction takes the
width away again (W. F. Sheppard, Proc. London Math. Soc. 29, 353 (1898))."""
NODES = (4, 9, 3)
"""Flown in pace, elevation and azimuth. Elevations are a standard deviation apart, read on cubics: what a ball does has
a bend where it leaves level. The others are Chebyshev points."""
NEAR_BEST = (4e-3, 5e-4)
"""Aims that lose no more than this are as good as the best, and the middle of them is taken: it is the same on every
machine, and the safest."""
ROUNDS = 3  # the narrow grid follows its best aim
STEEP, NEAR_STEEP = np.radians([50.0, 15.0])
"""What leaves more steeply comes down so near the net's plane that its height there is no smooth measure."""
STRAIGHT = np.zeros(1)
LANES, CHUNK = 4000, 16  # flights, and narrow grids, in one batch


class StrokeScatter(Frozen):
    """One standard deviation each: of the logarithm of the pace (a share of it), rad, rad."""

    pace: float
    elevation: float
    azimuth: float


class BestAims(Frozen):
    """The aims of n replies with most good strokes, (n,) each, m/s and rad, and the `share` of good ones. Where no
    stroke is good the share is 0 and the aim NaN. Azimuth π is straight along -y, smaller to the player's left."""

    share: Array
    pace: Array
    elevation: Array
    azimuth: Array


def best_aims(
    replies: Replies, scatter: StrokeScatter, half_width: float, half_length: float, conditions: Conditions
) -> BestAims:
    """For n replies on a court (m) the best aim of a player with this scatter. A given pace is kept to, by the flattest
    arc that there is.

    In means that the centre lands within one radius of the target: the ball's radius as its footprint, our assumption.
    The posts play no part. A stroke may be faster than the player's limit, its aim not.
    """
    replies = closed(replies, half_width, half_length)
    n = len(replies.pace)
    best = BestAims(np.zeros(n), *np.full((3, n), np.nan))
    which, aim, _ = _starts(replies, scatter, conditions)
    rising = np.argsort(aim[1], kind="stable")  # arcs that are alike together, and of each reply the flattest first
    which, aim, share = which[rising], aim[:, rising], np.zeros(len(which))
    for start in range(0, len(which), CHUNK):
        part = slice(start, start + CHUNK)
        share[part], aim[:, part] = _refined(replies.at(which[part]), aim[:, part], scatter, conditions)
    gains = np.where(np.isnan(replies.pace), HIGHER_GAINS, 1.0)
    played = np.isnan(replies.pace)[which] | (aim[1] <= PLAYED)
    for i in [i for i in np.argsort(aim[1], kind="stable") if played[i]]:
        lane = which[i]
        if share[i] > best.share[lane] + gains[lane] * (best.share[lane] > NONE):
            best.share[lane], best.pace[lane] = share[i], np.exp(aim[0, i])
            best.elevation[lane], best.azimuth[lane] = aim[1:, i]
    return best


def estimated_shares(
    replies: Replies, scatter: StrokeScatter, half_width: float, half_length: float, conditions: Conditions
) -> Array:
    """The shares (n,) of `best_aims` by first derivatives alone, in a small part of the time."""
    replies = closed(replies, half_width, half_length)
    found = np.zeros(len(replies.pace))
    which, _, share = _starts(replies, scatter, conditions)
    np.maximum.at(found, which, share)
    return found


def _starts(replies: Replies, scatter: StrokeScatter, conditions: Conditions) -> tuple[NDArray[np.intp], Array, Array]:
    """Which replies (m,), and for each an aim (3, m) to look around: logarithm of the pace, rad, rad; and the share
    (m,) estimated there."""
    free = np.isnan(replies.pace)
    elevations = ELEVATIONS[-max(int((lowest(replies, conditions) - BELOW < ELEVATIONS).sum()), 4) :]
    which: list[NDArray[np.intp]] = [np.empty(0, np.intp)]
    aims, shares = [np.empty((3, 0))], [np.empty(0)]
    for some in (np.flatnonzero(free), np.flatnonzero(~free)):
        if not len(some):
            continue
        few = replies.at(some)
        if free[some[0]]:
            high = np.log(few.limit)
            low = np.minimum(log(SLOWEST), high - STEP)
            steps = max(3, int(np.ceil((high - low).max() / STEP)))
            paces = low + (high - low) / steps * np.arange(steps + 2.0)[:, None]
            aimed = slice(0, steps * BETWEEN + 1)
        else:
            paces = np.log(few.pace) + 2 * scatter.pace * np.arange(-1.0, 2.0)[:, None]
            aimed = slice(BETWEEN, BETWEEN + 1)
        share, aim = (part[..., aimed, :, :] for part in _estimated(few, paces, elevations, scatter, conditions))
        if not free[some[0]]:
            share = np.where(aim[1] <= PLAYED, share, 0.0)
        flat, lane, at = share.reshape(-1, len(some)), np.arange(len(some)), np.arange(share.shape[1])
        tops = share.max(axis=0)
        bands = np.searchsorted(BANDS, aim[1, 0, :, 0], "right") == np.arange(1, len(BANDS))[:, None]
        crests = np.stack([np.where(band[:, None], tops, -1.0).argmax(axis=0) for band in bands])
        heights = tops[crests, lane]
        # Of a given pace every arc that there is counts.
        good = heights > np.where(np.isnan(few.pace), np.maximum(heights.max(axis=0) - BEHIND, FEW), FEW)
        for one, other in combinations(range(len(crests)), 2):
            inside = (at[:, None] >= crests[one]) & (at[:, None] <= crests[other])
            dip = np.where(inside, tops, inf).min(axis=0)
            higher = heights[other] > heights[one]
            good[one] &= ~(higher & (dip >= heights[one] - DIP))
            good[other] &= ~(~higher & (dip >= heights[other] - DIP))
            if not free[some[0]]:
                good[other] &= ~(good[one] & (heights[one] > SURE))
        arc, lane = np.nonzero(good)
        crest, height = crests[arc, lane], heights[arc, lane]
        weight = np.maximum(share[:, :, lane] - height + DIP, 0.0)
        weight *= np.abs(aim[1, 0][:, lane] - aim[1, 0, crest, lane]) < BROAD
        which.append(some[lane])
        shares.append(height)
        aims.append((aim[:, :, :, lane] * weight).sum(axis=(1, 2)) / weight.sum(axis=(0, 1)))
    return np.concatenate(which), np.concatenate(aims, axis=1), np.concatenate(shares)


def _estimated(
    replies: Replies, paces: Array, elevations: Array, scatter: StrokeScatter, conditions: Conditions
) -> tuple[Array, Array]:
    """The share of good strokes by first derivatives at aims (3, p, e, n) towards the target, (p, e, n)."""
    n, shape = len(replies.pace), (len(paces), len(elevations), len(replies.pace))
    x, y, _ = replies.contact
    middle_x, middle_y = (replies.x_low + replies.x_high) / 2, (replies.y_low + replies.y_high) / 2
    towards = np.arctan2(middle_x - x, middle_y - y) % (2 * pi)
    grid = np.stack(np.broadcast_arrays(paces[:, None], elevations[:, None], np.broadcast_to(towards, shape)))
    # Of what comes down well before the net, in the air or without any, it is enough to know where about.
    speed, rise, height = np.exp(grid[0]), np.exp(grid[0]) * np.sin(grid[1]), replies.contact[2]
    level = speed * np.cos(grid[1]) * (rise + np.sqrt(rise**2 + 2 * GRAVITY * np.maximum(height, 0.0))) / GRAVITY
    net, landing = np.full((2, 3, *shape), UNDER)
    landing[0], landing[1] = x + level * np.sin(towards), y + level * np.cos(towards)
    peak = np.zeros(shape)
    far = np.nonzero(level * np.cos(towards) < -SHORT * y)
    net[:, *far], landing[:, *far], _, peak[far] = (
        part[..., 0] for part in _flown(replies.at(far[2]), grid[:, *far], conditions)
    )
    by_pace, by_elevation = (_cubics(np.arange((k - 1) * BETWEEN + 1) / BETWEEN, k) for k in shape[:2])
    fields = np.stack([*grid, net[2], net[0], landing[0], landing[1], peak])
    fields = np.moveaxis(np.nan_to_num(fields, nan=UNDER), -1, 1)  # a product for each reply, whatever stands beside it
    fields = by_pace @ fields @ by_elevation.T
    grid, (net_z, net_x, land_x, land_y, peak) = fields[:3], fields[3:]
    x, y, towards, x_low, x_high, y_low, y_high, over_net = (
        value[:, None, None]
        for value in (x, y, towards, replies.x_low, replies.x_high, replies.y_low, replies.y_high, replies.over_net)
    )
    # What curves or drifts is turned back, so that it lands in the direction of the target.
    reach = np.hypot(land_x - x, land_y - y)
    turn = (np.arctan2(land_x - x, land_y - y) - towards + pi) % (2 * pi) - pi
    along, across = y + reach * np.cos(towards), x + reach * np.sin(towards)
    radius = conditions.ball.radius_m
    over = net_z - radius - conditions.cord(net_x) - over_net
    breadth = _breadth(along)
    good = np.minimum(_met(over, _breadth(over)), _met(y_high + radius - along, breadth))
    near = _met(along - (y_low - radius), breadth)
    if conditions.ceiling < inf:
        near = np.minimum(near, _met(conditions.ceiling - radius - peak, _breadth(peak)))
    aside = np.abs(along - y) * scatter.azimuth + 1e-6
    good = np.maximum(good + near - 1, 0.0)
    good *= _below((x_high + radius - across) / aside) - _below((x_low - radius - across) / aside)
    at_pace, at_elevation = (
        _weights(axis, width) for axis, width in ((grid[0, :, :, 0], scatter.pace), (grid[1, :, 0], scatter.elevation))
    )
    share = at_pace / at_pace.sum(axis=-1, keepdims=True) @ good @ at_elevation
    grid[2] -= turn
    return np.moveaxis(share, 0, -1), np.moveaxis(grid, 1, -1)


def _weights(places: Array, width: float) -> Array:
    """Of a normal scatter around each of evenly spaced `places` (n, k) the part that falls to each, (n, k, k)."""
    step = (places[:, 1:2] - places[:, :1])[:, :, None]
    variance = width**2 - np.minimum(step**2 / 12, width**2 / 2)  # Sheppard's correction, as for the narrow mesh
    return np.exp(-((places[:, :, None] - places[:, None]) ** 2) / (2 * variance)) * step / np.sqrt(2 * pi * variance)


def _below(deviations: Array) -> Array:
    """Share of a normal distribution below so many standard deviations."""
    return (1 + erf(deviations / sqrt(2))) / 2


def _refined(replies: Replies, aim: Array, scatter: StrokeScatter, conditions: Conditions) -> tuple[Array, Array]:
    """The largest share (m,) of good strokes around these aims (3, m), and its aim (3, m)."""
    widths = np.array([scatter.pace, scatter.elevation, scatter.azimuth])
    limit = np.log(np.where(np.isnan(replies.pace), replies.limit, replies.pace))
    fixed = ~np.isnan(replies.pace)
    share, aim = np.zeros(len(limit)), aim.copy()
    moving = np.arange(len(limit))
    for _ in range(ROUNDS):
        some = replies.at(moving)
        mesh = _mesh(some, aim[:, moving], widths, conditions)
        shift = np.zeros((3, len(moving)))
        for reach, step, near in ((SLACK, AIM_STEP, NEAR_BEST[0]), (FINER, FINER_STEP, NEAR_BEST[1])):
            tried = shift[:, :, None] + np.arange(-reach, reach + step / 2, step)
            tried = np.clip(tried, -SLACK, SLACK)
            tried[0] = np.where(fixed[moving][:, None], 0.0, tried[0])
            room = ((limit - aim[0])[moving] + 1e-9) / widths[0]
            tried[0] = np.minimum(tried[0], np.maximum(room, 0.0)[:, None])
            shares = _shares(mesh, tried)
            weight = np.maximum(shares - shares.max(axis=(1, 2, 3), keepdims=True) + near, 0.0)
            weight /= weight.sum(axis=(1, 2, 3), keepdims=True)
            sums = weight.sum(axis=(2, 3)), weight.sum(axis=(1, 3)), weight.sum(axis=(1, 2))
            shift = np.stack([(part * at).sum(axis=1) for part, at in zip(sums, tried, strict=True)])
        share[moving] = _shares(mesh, shift[:, :, None])[:, 0, 0, 0]
        gained = share[moving] - _shares(mesh, np.zeros((3, len(moving), 1)))[:, 0, 0, 0]
        aim[:, moving] += shift * widths[:, None]
        moving = moving[(np.abs(shift) > SLACK - AIM_STEP).any(axis=0) & (gained > NEAR_BEST[0])]
        if not len(moving):
            break
    return share, aim


_REACH = FAR + SLACK
_SPOTS = tuple(np.arange(-_REACH, _REACH + step / 2, step) for step in MESH)


def _shares(mesh: Array, tried: Array) -> Array:
    """The share of good strokes (m, a, a, a) at aims `tried` (3, m, a) standard deviations from the middle."""
    density = []
    for spots, step, at in zip(_SPOTS, MESH, tried, strict=True):
        part = np.exp(-((spots - at[..., None]) ** 2) / (2 * (1 - step**2 / 12)))
        density.append(part / part.sum(axis=-1, keepdims=True))
    m, count = tried.shape[1:]
    found = np.matmul(density[0], mesh.reshape(m, mesh.shape[1], -1)).reshape(m, count, *mesh.shape[2:])
    found = np.matmul(density[1][:, None], found)
    return np.matmul(found, density[2][:, None].swapaxes(-1, -2))


def _cubics(places: Array, count: int) -> Array:
    """The matrix from values at 0, 1, ... `count` - 1 to those at `places`, on cubics through the nearest four."""
    nodes = min(4, count)
    first = np.clip(np.floor(places).astype(int) - 1, 0, count - nodes)
    table = np.zeros((len(places), count))
    for i in range(nodes):
        others = [k for k in range(nodes) if k != i]
        table[np.arange(len(places)), first + i] = np.prod([(places - first - k) / (i - k) for k in others], axis=0)
    return table


def _node_tables() -> tuple[tuple[Array, Array], ...]:
    """For each axis the flown nodes, in standard deviations, and the matrix from values there to those at the mesh."""
    tables = []
    for count, spots in zip(NODES, _SPOTS, strict=True):
        nodes = np.linspace(-_REACH, _REACH, count)
        tables.append((nodes, _cubics((spots + _REACH) / (nodes[1] - nodes[0]), count)))
    return tuple(tables)


_TABLES = _node_tables()


def _mesh(replies: Replies, aim: Array, widths: Array, conditions: Conditions) -> Array:
    """How much of each cell of the mesh (m, s, s, s) around each aim is good."""
    m, shape = aim.shape[1], (aim.shape[1], *NODES)

    def spread(nodes: tuple[Array, ...]) -> list[Array]:
        axes = [aim[i][:, None] + width * nodes[i] for i, width in enumerate(widths)]
        return [axes[0][:, :, None, None], axes[1][:, None, :, None], axes[2][:, None, None, :]]

    nodes = [nodes for nodes, _ in _TABLES]
    strokes = np.stack([np.broadcast_to(axis, shape) for axis in spread(nodes)])
    lanes = replies.at(np.repeat(np.arange(m), strokes[0, 0].size))
    if any(conditions.air.wind_mps):
        flown = _flown(lanes, strokes.reshape(3, -1), conditions)
    else:  # then a stroke to the side is the same, turned
        middle, turns = strokes[..., NODES[2] // 2], widths[2] * nodes[2]
        some = replies.at(np.repeat(np.arange(m), middle[0, 0].size))
        flown = _flown(some, middle.reshape(3, -1), conditions, turns)
    net, landing, fallen, peak = (part.reshape(*part.shape[:-2], -1) for part in flown)
    flat = strokes.reshape(3, -1)
    # Seen along the launch a landing hardly hangs on the azimuth, and what falls short of the net is straight below.
    x, y, z = lanes.contact
    right, straight = np.sin(flat[2]), np.cos(flat[2])
    off_x, off_y, away = landing[0] - x, landing[1] - y, np.hypot(net[0] - x, y)
    fields = [
        off_x * right + off_y * straight, off_x * straight - off_y * right,
        np.arctan2(np.nan_to_num(net[2], nan=UNDER) - z, np.where(np.isnan(net[0]), -y / straight, away)),
        np.where(np.isnan(net[0]), -y * right, (net[0] - x) * straight),
        np.nan_to_num((fallen[0] - x) * right + (fallen[1] - y) * straight),
    ]  # fmt: skip
    if conditions.ceiling < inf:
        fields.append(peak)
    values = np.stack(fields).reshape(len(fields), *shape)
    by_pace, by_elevation, by_azimuth = (table for _, table in _TABLES)
    values = by_elevation @ values @ by_azimuth.T
    values = (by_pace @ values.reshape(*values.shape[:3], -1)).reshape(*values.shape[:2], -1, *values.shape[3:])
    values = values.astype(np.float32)  # some micrometres, of cells of decimetres; in half the time

    def own(value: Array) -> Array:
        return value[:, None, None, None].astype(np.float32)

    pace, elevation, azimuth = (axis.astype(np.float32) for axis in spread(_SPOTS))
    x, y, z = (own(part) for part in replies.contact)
    right, straight, radius = np.sin(azimuth), np.cos(azimuth), conditions.ball.radius_m
    along = y + values[0] * straight - values[1] * right
    across = x + values[0] * right + values[1] * straight
    aside = values[3] / np.minimum(straight, -0.05)
    needed, away = conditions.cord(x + aside) + radius + own(replies.over_net) - z, np.sqrt(aside**2 + y**2)
    over = values[2] - np.arctan2(needed, away)
    over = _met(over, _breadth(over))
    if (elevation > STEEP).any():
        # What comes down steeply passes the net if it falls through the height asked beyond it, and rose to it before.
        beyond = values[1] * right - values[4] * straight - y
        level = np.cos(elevation)
        rise = away * np.tan(elevation) - GRAVITY / 2 * (away / (np.exp(pace) * level)) ** 2 - needed
        steep = np.minimum(_met(beyond, _breadth(beyond)), _met(rise, _breadth(rise)))
        over = np.where(elevation > STEEP, steep, over)
    breadth = _breadth(along)
    good = np.minimum(over, _met(own(replies.y_high + radius) - along, breadth))
    near = _met(along - own(replies.y_low - radius), breadth)
    if conditions.ceiling < inf:
        near = np.minimum(near, _met(conditions.ceiling - radius - values[5], _breadth(values[5])))
    good += near - 1
    breadth = _breadth(across)
    aside = _met(own(replies.x_high + radius) - across, breadth) + _met(across - own(replies.x_low - radius), breadth)
    return np.asarray(np.maximum(good, 0.0) * np.maximum(aside - 1, 0.0), float)


def _met(margin: Array, breadth: Array) -> Array:
    """The share of a cell in which a margin, m, is not negative; `breadth` is how much it changes across the cell."""
    return np.clip(0.5 + margin / breadth, 0.0, 1.0)


def _breadth(value: Array) -> Array:
    """How much a value changes across a cell: the root of the squares of `np.gradient` along all axes but the first."""
    squares, change = np.full_like(value, 1e-18), np.empty_like(value)
    for axis in range(1, value.ndim):
        rows, found = np.moveaxis(value, axis, 0), np.moveaxis(change, axis, 0)
        np.subtract(rows[2:], rows[:-2], found[1:-1])
        found[1:-1] *= 0.5
        np.subtract(rows[1], rows[0], found[0])
        np.subtract(rows[-1], rows[-2], found[-1])
        change *= change
        squares += change
    return np.sqrt(squares, squares)


def _flown(
    lanes: Replies, strokes: Array, conditions: Conditions, turns: Array = STRAIGHT
) -> tuple[Array, Array, Array, Array]:
    """Where the centres cross the net's plane, where they land, and where they fall through the height that is asked at
    the net, (3, m, k) each, and how high they get, (m, k), for a ceiling. Strokes (3, m): log of the pace, elevation,
    azimuth; each is turned about its contact by `turns` (k,), rad, as is true without wind alone."""
    pace, elevation, azimuth = strokes
    net, landing, fallen = np.full((3, 3, len(pace), len(turns)), np.nan)
    peak = np.full(landing.shape[1:], np.nan)
    ball = conditions.ball
    velocity, spin = launch(np.exp(pace), elevation, azimuth, lanes.topspin, lanes.sidespin)
    x, y, _ = lanes.contact
    asked = conditions.cord(x - y * np.tan(azimuth)) + ball.radius_m + lanes.over_net
    for start in range(0, len(pace), LANES):
        part = slice(start, start + LANES)
        contact = lanes.contact[:, part]
        path = fly(contact, velocity[:, part], spin[:, part], ball, conditions.air, floor=UNDER)
        landed = at_height(path, ball.radius_m)
        for k, turn in enumerate(turns):
            net[:, part, k] = at_plane(turned(path, contact, turn), 0.0).position
        landing[:, part] = _turned(landed.position, contact, turns)
        if (elevation[part] > STEEP - NEAR_STEEP).any():
            fallen[:, part] = _turned(at_height(path, asked[part]).position, contact, turns)
        if conditions.ceiling < inf:
            peak[part] = highest(path, landed)[:, None]
    return net, landing, fallen, peak


def _turned(places: Array, contact: Array, turns: Array) -> Array:
    """Places (3, m) turned to the right about contacts (3, m) by `turns` (k,), (3, m, k)."""
    x, y = (places - contact)[:2, :, None]
    sine, cosine = np.sin(turns), np.cos(turns)
    across, along, up = contact[:, :, None]
    moved = across + x * cosine + y * sine, along + y * cosine - x * sine
    return np.stack([*moved, np.broadcast_to(places[2][:, None], moved[0].shape)])
