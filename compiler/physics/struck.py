"""Strokes flown to the net and to the ground, and what a grid of them says between its nodes."""

from math import inf

import numpy as np

from ...grammar.frozen import Frozen
from .flight import Array, fly, launch
from .moments import at_plane, crossings, highest, turned
from .outcome import UNDER, Conditions
from .reply import Replies

STEEP, NEAR_STEEP = np.radians([50.0, 15.0])
"""What leaves more steeply comes down so near the net's plane that its height there is no smooth measure; where a reply
is to stay low, it counts as too high (our own choice)."""
STRAIGHT = np.zeros(1)  # rad, the turn of strokes that are not turned
LANES = 4000  # flights in one batch


class StrokeScatter(Frozen):
    """One standard deviation each: of the logarithm of the pace (a share of it), rad, rad."""

    pace: float
    elevation: float
    azimuth: float


def struck(
    lanes: Replies, strokes: Array, conditions: Conditions, turns: Array = STRAIGHT
) -> tuple[Array, Array, Array, Array]:
    """Where the centres cross the net's plane, where they land, and where they fall through the height that is asked at
    the net, (3, m, k) each, and how high they get, (m, k), for a ceiling. Strokes (3, m): log of the pace, elevation,
    azimuth; each is also turned about its contact by `turns` (k,), rad, which is a flight if there is no wind."""
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
        steep = bool((elevation[part] > STEEP - NEAR_STEEP).any())
        landed, *through = crossings(path, (ball.radius_m, asked[part]) if steep else (ball.radius_m,))
        place = at_plane(turned(path, contact, turns), 0.0).position
        net[:, part] = place.reshape(3, len(turns), -1).swapaxes(1, 2)
        landing[:, part] = _turned(landed.position, contact, turns)
        for moment in through:
            fallen[:, part] = _turned(moment.position, contact, turns)
        if conditions.ceiling < inf:
            peak[part] = highest(path, landed)[:, None]
    return net, landing, fallen, peak


def _turned(places: Array, contact: Array, turns: Array) -> Array:
    """Places (3, m) turned to the right about contacts (3, m) by `turns` (k,), (3, m, k)."""
    x, y = (places - contact)[:2, :, None]
    sine, cosine = np.sin(turns), np.cos(turns)
    across, along, _ = contact[:, :, None]
    moved = across + x * cosine + y * sine, along + y * cosine - x * sine
    return np.stack([*moved, np.broadcast_to(places[2][:, None], moved[0].shape)])


def cubics(places: Array, count: int) -> Array:
    """The matrix from values at 0, 1, ... `count` - 1 to those at `places`, on cubics through the nearest four."""
    nodes = min(4, count)
    first = np.clip(np.floor(places).astype(int) - 1, 0, count - nodes)
    table = np.zeros((len(places), count))
    for i in range(nodes):
        others = [k for k in range(nodes) if k != i]
        table[np.arange(len(places)), first + i] = np.prod([(places - first - k) / (i - k) for k in others], axis=0)
    return table


def met(margin: Array, breadth: Array) -> Array:
    """The share of a cell in which a margin, m, is not negative; `breadth` is how much it changes across the cell."""
    return np.clip(0.5 + margin / breadth, 0.0, 1.0)


def breadth_of(value: Array) -> Array:
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
