"""Launches to anywhere in the zone a feed asks for, where the one to its aim cannot be had.

Some places of the zone are solved like aims, because arcs begin and end between them; Newton's method goes on from
there over a grid of the zone, and over a finer one around the launch that lacks least.
"""

from collections.abc import Sequence

import numpy as np

from ..grammar.frozen import Frozen, replace
from .fit import Demand, Index
from .physics import launches
from .physics.flight import Array
from .physics.launches import Roots, Wanted
from .physics.outcome import Conditions

INSET = 0.02
"""How far inside the edges of a zone the outermost places are taken, in widths of the zone."""
_LINE = np.linspace(INSET, 1 - INSET, 6)
_EDGES = [(a, b) for a in (INSET, 1 - INSET) for b in (INSET, 1 - INSET)]
DEPTHS = np.array([*((0.5, b) for b in _LINE), *_EDGES]).T
SIDES = np.array([*((a, 0.5) for a in _LINE), *_EDGES]).T
INNER = np.array([(a, b) for a in (INSET, 0.5, 1 - INSET) for b in np.linspace(INSET, 1 - INSET, 13)]).T
GRID = 5


class Spots(Frozen):
    """Places of zones, (m,) each: of which feed, and the launches to each, `roots.request` numbering the places."""

    feed: Index
    share: Array
    """Across and along its zone, (2, m) from 0 to 1."""
    roots: Roots


def aims(feeds: Index, roots: Roots, asked: Demand, wanted: Wanted) -> Spots:
    """The aims of some feeds (ascending) as places, with the launches that are known."""
    some = np.flatnonzero(np.isin(roots.request, feeds))
    request = np.searchsorted(feeds, roots.request[some])
    few = asked.at(feeds)
    share = np.stack([
        (wanted.point[0, feeds] - few.x_low) / np.maximum(few.x_high - few.x_low, 1e-9),
        (wanted.point[1, feeds] - few.y_low) / np.maximum(few.y_high - few.y_low, 1e-9),
    ])  # fmt: skip
    return Spots(feeds, share, Roots(request, roots.speed[some], roots.elevation[some], roots.azimuth[some]))


def anchors(feeds: Index, asked: Demand, wanted: Wanted, conditions: Conditions) -> Spots:
    """Places all along their zones, each solved anew: along the court, on the full across it."""
    share = np.where(asked.full[feeds][:, None], SIDES[:, None], DEPTHS[:, None])
    feed, share = _each(feeds, share)
    return Spots(feed, share, launches.solve(_moved(wanted, asked, feed, share), conditions)[0])


def inner(feeds: Index, known: list[Spots], asked: Demand, wanted: Wanted, conditions: Conditions) -> Spots:
    """A grid of their zones, from the launches to the places nearest to each."""
    feed, share = _each(feeds, np.repeat(INNER[:, None], len(feeds), axis=1))
    owner, starts = [], []
    for spots in known:
        roots = spots.roots
        root_feed, root_share = spots.feed[roots.request], spots.share[:, roots.request]
        for place in range(len(feed)):
            mine = np.flatnonzero(root_feed == feed[place])
            if len(mine):
                far = ((root_share[:, mine] - share[:, place, None]) ** 2).sum(axis=0)
                mine = mine[far <= far.min() + 1e-9]
                owner += [place] * len(mine)
                starts += [(roots.speed[k], roots.elevation[k], roots.azimuth[k]) for k in mine]
    return _refined(feed, share, owner, starts, asked, wanted, conditions)


def around(
    feed: Index, share: Array, starts: Array, reach: float, asked: Demand, wanted: Wanted, conditions: Conditions
) -> Spots:
    """A grid around places of zones, share (2, m) of those of `feed` (m,), `reach` to either side of each, from a
    launch there: speed, elevation and azimuth (3, m)."""
    line = np.linspace(-reach, reach, GRID)
    steps = np.array([(a, b) for a in line for b in line]).T
    places = np.clip(share[:, :, None] + steps[:, None], 0.0, 1.0).reshape(2, -1)
    each = np.repeat(starts, steps.shape[1], axis=1)
    return _refined(np.repeat(feed, steps.shape[1]), places, list(range(each.shape[1])), list(each.T),
                    asked, wanted, conditions)  # fmt: skip


def _refined(
    feed: Index,
    share: Array,
    owner: list[int],
    starts: Sequence[Sequence[float] | Array],
    asked: Demand,
    wanted: Wanted,
    conditions: Conditions,
) -> Spots:
    if not owner:
        return Spots(feed, share, Roots(np.zeros(0, np.intp), *np.zeros((3, 0))))
    found = launches.refined(
        _moved(wanted, asked, feed, share), np.array(owner, np.intp), np.array(starts).T, conditions
    )
    return Spots(feed, share, found)


def _each(feeds: Index, share: Array) -> tuple[Index, Array]:
    """Places (2, n, k) of n feeds as (m,) and (2, m)."""
    return np.repeat(feeds, share.shape[2]), share.reshape(2, -1)


def _moved(wanted: Wanted, asked: Demand, feed: Index, share: Array) -> Wanted:
    """The requests of the feeds with other points of their zones."""
    few, zone = wanted.at(feed), asked.at(feed)
    x = zone.x_low + share[0] * (zone.x_high - zone.x_low)
    y = np.where(few.full, few.point[1], zone.y_low + share[1] * (zone.y_high - zone.y_low))
    return replace(few, point=np.stack([x, y, few.point[2]]))
