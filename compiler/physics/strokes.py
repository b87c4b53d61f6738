"""Of ten replies, how many are good: a player's strokes scatter, and some of them miss.

A stroke leaves near the aim: its elevation and its azimuth are off by normal amounts, its pace by a factor whose
logarithm is normal, each independent of the others. Good is what clears the net by what is asked, stays under the
ceiling and lands in the target. The share of good strokes is the integral of that scatter over the good ones; the aim
with the largest share is looked for among all elevations, so nothing depends on where a search ends.

First `arcs` estimates the share for all paces and elevations. Around its best arcs a narrow grid of paces, elevations
and azimuths is then flown. Between its nodes flights are polynomials, so good or not is known on a fine mesh, and the
share of every aim nearby is a product of that mesh with the density of the scatter.
"""

from math import inf

import numpy as np

from ...grammar.frozen import Frozen
from .arcs import PLAYED, starts
from .flight import GRAVITY, Array
from .outcome import UNDER, Conditions
from .reply import Replies, closed
from .struck import STEEP, StrokeScatter, breadth_of, cubics, met, struck

HIGHER_GAINS = 0.005
"""An arc is higher than it need be only for so much more."""
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
"""Flown in pace, elevation and azimuth, evenly spaced and read on cubics through the nearest four, for what a ball does
has a bend where it leaves level."""
NEAR_BEST = (4e-3, 5e-4)
"""Aims that lose no more than this are as good as the best, and the middle of them is taken: it is the same on every
machine, and the safest."""
ROUNDS = 3  # the narrow grid follows its best aim
NONE = 1e-3  # a share below which there is no such stroke
CHUNK = 16  # narrow grids in one batch
READ = 4  # of them read at once, so that their meshes stay in the processor's cache


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
    arc that there is; so is a least one, by the aim.

    In means that the centre lands within one radius of the target: the ball's radius as its footprint, our assumption.
    The posts play no part. A stroke may be faster than the player's limit, its aim not.
    """
    replies = closed(replies, half_width, half_length)
    n = len(replies.pace)
    best = BestAims(np.zeros(n), *np.full((3, n), np.nan))
    which, aim, _ = starts(replies, scatter, conditions)
    rising = np.argsort(aim[1], kind="stable")  # arcs that are alike together, and of each reply the flattest first
    which, aim, share = which[rising], aim[:, rising], np.zeros(len(which))
    for start in range(0, len(which), CHUNK):
        part = slice(start, start + CHUNK)
        share[part], aim[:, part] = _refined(replies.at(which[part]), aim[:, part], scatter, conditions)
    gains = np.where(replies.driven, 1.0, HIGHER_GAINS)
    played = ~replies.driven[which] | (aim[1] <= PLAYED)
    for i in [i for i in np.argsort(aim[1], kind="stable") if played[i]]:
        lane = which[i]
        if share[i] > best.share[lane] + gains[lane] * (best.share[lane] > NONE):
            best.share[lane], best.pace[lane] = share[i], np.exp(aim[0, i])
            best.elevation[lane], best.azimuth[lane] = aim[1:, i]
    return best


def _refined(replies: Replies, aim: Array, scatter: StrokeScatter, conditions: Conditions) -> tuple[Array, Array]:
    """The largest share (m,) of good strokes around these aims (3, m), and its aim (3, m)."""
    widths = np.array([scatter.pace, scatter.elevation, scatter.azimuth])
    limit = np.log(np.where(np.isnan(replies.pace), replies.limit, replies.pace))
    fixed = ~np.isnan(replies.pace)
    least = np.log(np.where(fixed, 1e-9, np.maximum(replies.slowest, 1e-9)))
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
            tried[0] = np.maximum(tried[0], np.minimum((least - aim[0])[moving] / widths[0], 0.0)[:, None])
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


def _node_tables() -> tuple[tuple[Array, Array], ...]:
    """For each axis the flown nodes, in standard deviations, and the matrix from values there to those at the mesh."""
    tables = []
    for count, spots in zip(NODES, _SPOTS, strict=True):
        nodes = np.linspace(-_REACH, _REACH, count)
        tables.append((nodes, cubics((spots + _REACH) / (nodes[1] - nodes[0]), count)))
    return tuple(tables)


_TABLES = _node_tables()


def _mesh(replies: Replies, aim: Array, widths: Array, conditions: Conditions) -> Array:
    """How much of each cell of the mesh (m, s, s, s) around each aim is good."""
    m, shape = aim.shape[1], (aim.shape[1], *NODES)

    nodes = tuple(nodes for nodes, _ in _TABLES)
    strokes = np.stack([np.broadcast_to(axis, shape) for axis in _spread(aim, widths, nodes)])
    lanes = replies.at(np.repeat(np.arange(m), strokes[0, 0].size))
    if any(conditions.air.wind_mps):
        flown = struck(lanes, strokes.reshape(3, -1), conditions)
    else:  # then a stroke to the side is the same, turned
        middle, turns = strokes[..., NODES[2] // 2], widths[2] * nodes[2]
        some = replies.at(np.repeat(np.arange(m), middle[0, 0].size))
        flown = struck(some, middle.reshape(3, -1), conditions, turns)
    net, landing, fallen, peak = (part.reshape(*part.shape[:-2], -1) for part in flown)
    flat = strokes.reshape(3, -1)
    # Seen along the launch a landing hardly depends on the azimuth, and what falls short of the net is straight below.
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
    parts = (np.arange(first, min(first + READ, m)) for first in range(0, m, READ))
    return np.concatenate([
        _cells(replies.at(some), aim[:, some], values[:, some], widths, conditions) for some in parts
    ])  # fmt: skip


def _spread(aim: Array, widths: Array, spots: tuple[Array, ...]) -> list[Array]:
    """Paces, elevations and azimuths around each aim (3, m), each along an axis of its own."""
    axes = [aim[i][:, None] + width * spots[i] for i, width in enumerate(widths)]
    return [axes[0][:, :, None, None], axes[1][:, None, :, None], axes[2][:, None, None, :]]


def _cells(replies: Replies, aim: Array, values: Array, widths: Array, conditions: Conditions) -> Array:
    """The mesh, from what is flown at the nodes (f, m, ...)."""
    by_pace, by_elevation, by_azimuth = (table for _, table in _TABLES)
    values = by_elevation @ values @ by_azimuth.T
    values = (by_pace @ values.reshape(*values.shape[:3], -1)).reshape(*values.shape[:2], -1, *values.shape[3:])
    values = values.astype(np.float32)  # some micrometres, of cells of decimetres; in half the time

    def own(value: Array) -> Array:
        return value[:, None, None, None].astype(np.float32)

    pace, elevation, azimuth = (axis.astype(np.float32) for axis in _spread(aim, widths, _SPOTS))
    x, y, z = (own(part) for part in replies.contact)
    right, straight, radius = np.sin(azimuth), np.cos(azimuth), conditions.ball.radius_m
    along = y + values[0] * straight - values[1] * right
    across = x + values[0] * right + values[1] * straight
    aside = values[3] / np.minimum(straight, -0.05)
    needed, away = conditions.cord(x + aside) + radius + own(replies.over_net) - z, np.sqrt(aside**2 + y**2)
    over = values[2] - np.arctan2(needed, away)
    breadth = breadth_of(over)
    over = met(over, breadth)
    low: Array = np.ones(1, np.float32)
    if np.isfinite(replies.under).any():
        too_high = np.arctan2(needed + own(replies.under - replies.over_net), away)
        low = np.where(np.isinf(own(replies.under)), low, met(too_high - values[2], breadth) * (elevation <= STEEP))
    if (elevation > STEEP).any():
        # What comes down steeply passes the net if it falls through the height asked beyond it, and rose to it before.
        beyond = values[1] * right - values[4] * straight - y
        level = np.cos(elevation)
        rise = away * np.tan(elevation) - GRAVITY / 2 * (away / (np.exp(pace) * level)) ** 2 - needed
        steep = np.minimum(met(beyond, breadth_of(beyond)), met(rise, breadth_of(rise)))
        over = np.where(elevation > STEEP, steep, over)
    breadth = breadth_of(along)
    good = np.minimum(over, met(own(replies.y_high + radius) - along, breadth))
    near = np.minimum(met(along - own(replies.y_low - radius), breadth), low)
    if conditions.ceiling < inf:
        near = np.minimum(near, met(conditions.ceiling - radius - values[5], breadth_of(values[5])))
    good += near - 1
    breadth = breadth_of(across)
    aside = met(own(replies.x_high + radius) - across, breadth) + met(across - own(replies.x_low - radius), breadth)
    return np.asarray(np.maximum(good, 0.0) * np.maximum(aside - 1, 0.0), float)
