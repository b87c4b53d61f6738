"""The angles at which a reply of a given pace clears the net and lands in the target.

Windows of angles as a measure of forgiveness: Brody, Tennis Science for Tennis Players (1987), ch. 5. They are for
whoever compares with the literature; how many replies of a player are good, `strokes` says. A reply flies from the
player's half towards -y. Every question is a row of lanes: to try more topspin, less pace or a deeper stance, repeat
the replies with `Replies.at`, replace what is tried and ask `windows` once.
"""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from ...grammar.frozen import Frozen, replace
from .flight import Array, fly, launch
from .moments import crossings, highest
from .outcome import Conditions

ELEVATIONS = np.radians(np.concatenate([np.arange(-60, -20, 4.0), np.arange(-20, 41, 2.0)]))
"""Elevations scanned: those of drives."""
DIRECTIONS = np.pi + np.radians(np.arange(-75, 76, 5.0))  # azimuths: straight towards -y, and to both sides
CUTS, ROUNDS = 12, 2  # lanes between the ends of a bracket: 5° / 13² = 0.03° is left, and that is interpolated
LANES = 4000  # flown as one batch, so that the memory does not grow with the replies
BELOW = np.radians(8.0)
"""Margin under the straight line to the cord: not even backspin lifts a ball that far."""
OUTSIDE = -1.0  # m, stands for a net that is not reached

Margins = Callable[[NDArray[np.intp], Array], Array]
"""From lanes (m,) and an angle (m,) the margins (k, m) of k conditions, m; met where not negative."""


class Replies(Frozen):
    """n replies: `contact` (3, n) m; (n,) each, SI. `pace` is NaN where it is free from `slowest` up to `limit`, the
    player's highest (a given pace is not held against it; windows need one). Target in the feeder's half: `y_low` is
    its far edge; NaN where open, to the sidelines, the net and the far baseline. `over_net`: least height of the
    underside over the cord; `under`: the greatest, infinite where open."""

    contact: Array
    topspin: Array
    sidespin: Array
    pace: Array
    limit: Array
    x_low: Array
    x_high: Array
    y_low: Array
    y_high: Array
    over_net: Array
    under: Array
    slowest: Array

    @property
    def driven(self) -> NDArray[np.bool_]:
        """Those of which a pace, or the least, is stated: no reply that does it by going up high."""
        return ~np.isnan(self.pace) | (self.slowest > 0)

    def at(self, index: NDArray[np.intp]) -> "Replies":
        """The replies at the given places."""
        return Replies(*(value[..., index] for value in self.values()))


class Windows(Frozen):
    """What n replies allow, (n,) each, m/s and rad; where no elevation will do, widths are 0 and ends NaN.

    `pace`: as given. `azimuth`: straight at the middle of the target; π is along the court, smaller is to the player's
    left. `total`: of all elevations that will do at that pace, spin and azimuth,
    `low` to `high` the widest interval of them. `left` to `right`: the azimuths that land between the target's sides
    and beyond the net when leaving at the middle of that interval.
    """

    pace: Array
    azimuth: Array
    total: Array
    low: Array
    high: Array
    left: Array
    right: Array

    @property
    def vertical(self) -> Array:
        """Width of the widest interval of elevations."""
        return np.nan_to_num(self.high - self.low)

    @property
    def direction(self) -> Array:
        """Width of the interval of azimuths."""
        return np.nan_to_num(self.right - self.left)


def windows(
    replies: Replies, half_width: float, half_length: float, conditions: Conditions, elevations: Array = ELEVATIONS
) -> Windows:
    """The windows of n replies with a given pace on a court (m), among `elevations` (e,), rising.

    In means that the centre lands within one radius of the target: the ball's radius as its footprint, our assumption.
    The posts play no part.
    """
    replies = closed(replies, half_width, half_length)
    middle_x, middle_y = (replies.x_low + replies.x_high) / 2, (replies.y_low + replies.y_high) / 2
    azimuth = np.arctan2(middle_x - replies.contact[0], middle_y - replies.contact[1]) % (2 * np.pi)
    useful = int((elevations > lowest(replies, conditions) - BELOW).sum())
    elevations = elevations[-max(useful, 2) :]
    total, low, high = _intervals(elevations, len(azimuth), _vertical(replies, azimuth, conditions), ROUNDS)
    left, right = np.full((2, len(azimuth)), np.nan)
    some = np.flatnonzero(total > 0)
    if len(some):
        sideways = _sideways(replies.at(some), (low + high)[some] / 2, conditions)
        _, left[some], right[some] = _intervals(DIRECTIONS, len(some), sideways, ROUNDS)
    return Windows(replies.pace, azimuth, total, low, high, left, right)


def closed(replies: Replies, half_width: float, half_length: float) -> Replies:
    """Open edges of the target at the lines of a court (m)."""
    edges = (("x_low", -half_width), ("x_high", half_width), ("y_low", -half_length), ("y_high", 0.0))
    return replace(replies, **{name: np.nan_to_num(getattr(replies, name), nan=line) for name, line in edges})


def lowest(replies: Replies, conditions: Conditions) -> float:
    """The lowest straight line from any contact to the net's cord: what leaves well below it can't clear the net.
    A contact that is nowhere, NaN, takes no part."""
    _, y, z = replies.contact
    lines = np.arctan2(conditions.net_centre - z, np.maximum(np.abs(y), 0.1))
    return float(np.fmin.reduce(lines, initial=np.pi / 2))


def _vertical(replies: Replies, azimuth: Array, conditions: Conditions) -> Margins:
    """Margins of the net, the near and the far edge, and of the ceiling where there is one, by elevation."""
    radius, ceiling = conditions.ball.radius_m, conditions.ceiling

    def margins(index: NDArray[np.intp], elevation: Array) -> Array:
        lanes = replies.at(index)
        net, landing, peak = _flown(lanes, elevation, azimuth[index], conditions)
        over = net[2] - radius - conditions.cord(net[0])
        found = [
            over - lanes.over_net,
            lanes.under - over,
            lanes.y_high + radius - landing[1],
            landing[1] - lanes.y_low + radius,
        ]
        return np.stack(found if np.isinf(ceiling) else [*found, ceiling - radius - peak])

    return margins


def _sideways(replies: Replies, elevation: Array, conditions: Conditions) -> Margins:
    """Margins of both sides and of the net's plane, by azimuth."""
    radius = conditions.ball.radius_m

    def margins(index: NDArray[np.intp], azimuth: Array) -> Array:
        lanes = replies.at(index)
        _, landing, _ = _flown(lanes, elevation[index], azimuth, conditions)
        return np.stack([landing[0] - lanes.x_low + radius, lanes.x_high + radius - landing[0], -landing[1]])

    return margins


def _flown(lanes: Replies, elevation: Array, azimuth: Array, conditions: Conditions) -> tuple[Array, Array, Array]:
    """Where the centres cross the net's plane and where they land, (3, m) each; how high they get, for a ceiling."""
    net, landing = np.empty((2, 3, len(elevation)))
    peak = np.full(len(elevation), np.nan)
    radius = conditions.ball.radius_m
    velocity, spin = launch(lanes.pace, elevation, azimuth, lanes.topspin, lanes.sidespin)
    for start in range(0, len(elevation), LANES):
        part = slice(start, start + LANES)
        path = fly(
            lanes.contact[:, part], velocity[:, part], spin[:, part], conditions.ball, conditions.air,
            floor=radius,
        )  # fmt: skip
        landed, crossed = crossings(path, (radius,), (0.0,))
        net[:, part], landing[:, part] = crossed.position, landed.position
        if not np.isinf(conditions.ceiling):
            peak[part] = highest(path)
    return net, landing, peak


def _intervals(grid: Array, n: int, margins: Margins, rounds: int) -> tuple[Array, Array, Array]:
    """Where on the grid all margins are met: the sum of all intervals, and the ends of the widest, (n,) each.

    Each margin's zeros are bracketed by the grid and looked for by themselves; in order along the grid each opens or
    closes one condition, and an interval is where all are open. So an interval may be much narrower than the grid; only
    one that opens by less than 2 cm, within a step about the elevation of the greatest reach, can be missed.
    """
    lanes = np.tile(np.arange(n), len(grid))  # neighbours in a batch have like angles, so they land at like times
    found = _finite(margins(lanes, np.repeat(grid, n)))
    found = found.reshape(len(found), len(grid), n)
    met = found >= 0
    kind, cell, which = np.nonzero(met[:, 1:] != met[:, :-1])
    low, high = grid[cell], grid[cell + 1]
    f_low, f_high = found[kind, cell, which], found[kind, cell + 1, which]
    for _ in range(rounds if len(which) else 0):
        place = low + (high - low) * np.linspace(0, 1, CUTS + 2)[:, None]
        inner = margins(np.tile(which, CUTS), place[1:-1].reshape(-1)).reshape(len(found), CUTS, -1)
        f = np.concatenate([f_low[None], _finite(inner[kind, :, np.arange(len(which))]).T, f_high[None]])
        after = ((f >= 0) != (f_low >= 0)).argmax(axis=0)
        lane = np.arange(len(which))
        low, high = place[after - 1, lane], place[after, lane]
        f_low, f_high = f[after - 1, lane], f[after, lane]
    root = low + (high - low) * f_low / (f_low - f_high)

    order = np.lexsort((root, which))
    which, root, opens = which[order], root[order], np.where(f_low < 0, 1, -1)[order]
    rank = np.arange(len(which)) - np.searchsorted(which, which) + 1
    most = rank.max(initial=0)
    ends = np.full((n, most + 2), grid[-1])
    ends[:, 0] = grid[0]
    ends[which, rank] = root
    changes = np.zeros((n, most + 1), int)
    changes[:, 0] = met[:, 0].sum(axis=0)
    changes[which, rank] = opens
    width = np.where(changes.cumsum(axis=1) == len(found), np.diff(ends, axis=1), 0.0)
    widest, lane = width.argmax(axis=1), np.arange(n)
    some = width[lane, widest] > 0
    first, last = (np.where(some, ends[lane, widest + i], np.nan) for i in (0, 1))
    return width.sum(axis=1), first, last


def _finite(margins: Array) -> Array:
    return np.nan_to_num(margins, nan=OUTSIDE)
