"""What strokes do at the net and on the ground, between the flights of their fans."""

from collections.abc import Callable

import numpy as np

from ...grammar.frozen import Frozen
from .air import Air
from .ball import Ball
from .fans import ELEVATIONS, WINDS, Fans, coming_down, fans, paces_up_to, passing, weights
from .flight import Array, Index
from .launches import alike
from .outcome import Conditions
from .reply import Replies

STEEP = np.radians(50.0)
"""Where a reply is to stay low, what leaves more steeply counts as too high (our own choice)."""
BEYOND_IT = -1.0  # stands for the angle of a stroke from the other side of the net
SIDEWAYS = -0.05  # the least part of a stroke's way that goes along the court, as a cosine


class StrokeScatter(Frozen):
    """One standard deviation each: of the logarithm of the pace (a share of it), rad, rad."""

    pace: float
    elevation: float
    azimuth: float


FlyFans = Callable[[Array, Array, Array, int, Ball, Air], Fans]
"""As `fans`."""


class Flown(Frozen):
    """The fans of n replies: `which` (n, j) they are, of each azimuth that is flown, and of how many paces, (n,)."""

    fans: Fans
    which: Index
    paces: Index

    def at(self, index: Index) -> "Flown":
        """Those of the replies at the given places."""
        return Flown(self.fans, self.which[index], self.paces[index])


def flown(replies: Replies, fastest: Array, least: int, conditions: Conditions, fly: FlyFans = fans) -> Flown:
    """The fans of the strokes at n replies, up to the logarithm of a pace (n,), and of so many paces at least. Replies
    with one spin share them. `fly` may find again those flown before."""
    count = np.array([max(paces_up_to(float(pace)), least) for pace in fastest])
    spins = np.array([replies.topspin, replies.sidespin]) + 0.0  # no negative zero
    first, whose = alike(spins)
    unlike = spins[:, first]
    azimuths = WINDS if any(conditions.air.wind_mps) else WINDS[[2]]
    k = len(azimuths)
    topspin, sidespin = np.repeat(unlike, k, axis=1)
    found = fly(
        topspin, sidespin, np.tile(azimuths, unlike.shape[1]), int(count.max()), conditions.ball,
        conditions.air,
    )  # fmt: skip
    return Flown(found, whose.reshape(-1, 1) * k + np.arange(k), count)


def lanes(first_pace: Index, paces: int, first_elevation: Index, elevations: int) -> Index:
    """The strokes (n, paces * elevations) of a part of a fan."""
    rows = first_pace[:, None] + np.arange(paces)
    found = rows[:, :, None] * len(ELEVATIONS) + (first_elevation[:, None] + np.arange(elevations))[:, None]
    return np.asarray(found.reshape(len(first_pace), -1))


def wide(span: float, nodes: Array) -> int:
    """How many nodes cubics need over a span, wherever it begins."""
    inside = np.searchsorted(nodes, nodes + span, "right") - np.arange(len(nodes))
    return min(int(inside.max()) + 3, len(nodes))


def landings(replies: Replies, flown: Flown, some: Index, azimuth: Array, conditions: Conditions) -> Array:
    """Where the strokes `some` (n, l) land in the directions `azimuth` (n, a): ahead and to the right, (2, n, a, l).
    Without wind it is the same in each direction, and a is 1."""
    level = (conditions.ball.radius_m - replies.contact[2])[:, None]
    share = weights(azimuth, conditions.air)
    found = [coming_down(flown.fans, which, some, level) for which in flown.which.T]
    if len(found) == 1:
        return found[0][:, :, None]
    return np.asarray(sum(one[:, :, None] * share[..., j, None] for j, one in enumerate(found)))


def over_net(replies: Replies, flown: Flown, some: Index, azimuth: Array, conditions: Conditions) -> list[Array]:
    """By how much the strokes clear what is asked at the net, and, if any is to stay low, stay under what is asked, as
    angles seen from the contact, rad (n, a, l) each: of what comes down steeply the height itself is no smooth measure.
    """
    x, y, z = (part[:, None] for part in replies.contact)
    straight, right = np.minimum(np.cos(azimuth), SIDEWAYS), np.sin(azimuth)
    away, cosine = -y / straight, straight[..., None]
    read = [passing(flown.fans, which, some, right / straight, away) for which in flown.which.T]
    ahead, aside, up = _mixed(read, weights(azimuth, conditions.air))
    across = ahead * right[..., None] + aside * cosine
    x, y, z = (part[:, None] for part in (x, y, z))
    cord, away = conditions.cord(x + across) + conditions.ball.radius_m - z, np.hypot(across, y)
    angle = np.arctan2(up, away)
    over = np.where(y > 0, angle - np.arctan2(cord + replies.over_net[:, None, None], away), BEYOND_IT)
    return [over, np.arctan2(cord + replies.under[:, None, None], away) - angle] if low(replies) else [over]


def _mixed(read: list[Array], share: Array) -> Array:
    """The sum of what several fans say, (c, n, a, l), by their shares (n, a, k)."""
    found = read[0] if len(read) == 1 else read[0] * share[..., :1]
    for k, one in enumerate(read[1:], start=1):
        found = found + one * share[..., k, None]
    return found


def low(replies: Replies) -> bool:
    """Whether any is to stay low over the net."""
    return bool(np.isfinite(replies.under).any())


def peaks(replies: Replies, flown: Flown, some: Index) -> Array:
    """How high the centres get, m (n, l); in wind the highest of all directions."""
    found = flown.fans.peak[flown.which[:, :, None], some[:, None]].max(axis=1)
    return np.asarray(found + replies.contact[2][:, None])


def cubics(places: Array, nodes: Array, count: Index) -> Array:
    """The matrices (n, k, c) from values at c `nodes`, of which n lines use the first `count` (n,), to those at
    `places` (n, k), on cubics through the nearest four."""
    first = np.minimum(np.maximum(np.searchsorted(nodes, places) - 2, 0), (count - 4)[:, None])
    index = first[..., None] + np.arange(4)
    at = nodes[index]
    apart = np.where(_SELF, 1.0, at[..., None] - at[..., None, :])
    shares = np.where(_SELF, 1.0, (places[..., None] - at)[..., None, :]) / apart
    table = np.zeros((*places.shape, len(nodes)))
    np.put_along_axis(table, index, shares[..., 0] * shares[..., 1] * shares[..., 2] * shares[..., 3], axis=-1)
    return table


_SELF = np.eye(4, dtype=bool)


def met(margin: Array, breadth: Array) -> Array:
    """The share of a cell in which a margin, m, is not negative; `breadth` is how much it changes across the cell."""
    found = margin / breadth
    found += 0.5
    return np.asarray(np.clip(found, 0.0, 1.0, out=found))


def breadth_of(value: Array) -> Array:
    """How much a value changes across a cell: the root of the squares of `np.gradient` along the last two axes."""
    squares, change = np.full_like(value, 1e-18), np.empty_like(value)
    for rows, found in ((value.swapaxes(-1, -2), change.swapaxes(-1, -2)), (value, change)):
        inner = found[..., 1:-1]
        np.subtract(rows[..., 2:], rows[..., :-2], inner)
        inner *= 0.5
        np.subtract(rows[..., 1], rows[..., 0], found[..., 0])
        np.subtract(rows[..., -1], rows[..., -2], found[..., -1])
        change *= change
        squares += change
    return np.sqrt(squares, squares)
