"""The moments asked of flights: where a centre falls to a height, crosses a plane, is highest; roots of polynomials."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from ...grammar.frozen import Frozen
from .flight import SHARES, WEIGHTS, Arc, Array, Index, Path, Scalars

Flags = NDArray[np.bool_]
STEPS = np.diff(SHARES)
LARGEST = float(np.finfo(float).max)


class Moment(Frozen):
    """One moment of each ball: `time` (n,), `position` and `velocity` (3, n); NaN where it does not happen."""

    time: Array
    position: Array
    velocity: Array

    def at(self, index: Index) -> "Moment":
        """Those of the balls at the given places."""
        return Moment(self.time[index], self.position[:, index], self.velocity[:, index])


def at_height(path: Path, height: Scalars) -> Moment:
    """The first time the centre falls through `height` (m, scalar or (n,))."""
    return crossings(path, heights=(height,))[0]


def at_plane(path: Path, y: Scalars) -> Moment:
    """The first time the centre crosses `y` (m, scalar or (n,)) in the direction of the launch along the court."""
    return crossings(path, planes=(y,))[0]


def rising_to(path: Path, height: Scalars) -> Moment:
    """The first time the centre rises through `height` (m, scalar or (n,)), of balls that begin below it."""
    return _falling(path, [(2, -np.ones(path.velocity.shape[1]), height)])[0]


def crossings(path: Path, heights: Sequence[Scalars] = (), planes: Sequence[Scalars] = ()) -> list[Moment]:
    """`at_height` of each height, then `at_plane` of each plane, all of them at once."""
    down, on = np.ones(path.velocity.shape[1]), np.where(path.velocity[1] < 0, 1.0, -1.0)
    return _falling(path, [*((2, down, height) for height in heights), *((1, on, y) for y in planes)])


def apex(path: Path) -> Moment:
    """The first highest point of the centre; NaN for a ball that starts downwards."""
    found, arc = nowhere(path.velocity.shape[1]), path.arcs
    some, share = _tops(arc)
    if len(some):
        first = _earliest(arc.lanes[some], len(found.time))
        _put(found, _part(arc, some[first], arc.lanes[some[first]]), share[first])
    return found


def highest(path: Path, end: Moment | None = None) -> Array:
    """The greatest height (n,) of the centre, m, up to a moment; of the whole path where that does not happen."""
    end, arc = end or nowhere(path.velocity.shape[1]), path.arcs
    peak, until = np.fmax(end.position[2], -np.inf), instead_of_none(end.time, np.inf)
    inside = arc.begin + SHARES[:, None] * arc.length <= until[arc.lanes]
    np.maximum.at(peak, arc.lanes, np.where(inside, arc.position[2], -np.inf).max(axis=0))
    some, share = _tops(arc)
    if len(some):
        lane, height = arc.lanes[some], _at(arc.position[2:].take(some, axis=2), share)[0]
        inside = arc.begin[some] + share * arc.length[some] <= until[lane]
        np.maximum.at(peak, lane, np.where(inside, height, -np.inf))
    return peak


def places(path: Path, times: Array) -> Array:
    """The centres (s, 3, n), m, at `times` (s,), s; NaN after the end of a path."""
    found, arc = np.full((len(times), *path.velocity.shape), np.nan), path.arcs
    for at, time in zip(found, times, strict=True):
        some = np.flatnonzero((time >= arc.begin) & (time <= arc.begin + arc.length))
        if len(some):
            at[:, arc.lanes[some]] = _at(arc.position.take(some, axis=2), (time - arc.begin[some]) / arc.length[some])
    return found


def instead_of_none(values: Array, number: float) -> Array:
    """The values, where they are not a number this one; in half the time of `np.nan_to_num`."""
    return np.where(np.isnan(values), number, values)


def finite(values: Array, instead: float) -> Array:
    """The same, and the largest number in place of infinity: `np.nan_to_num` in half of its time."""
    found = np.where(np.isnan(values), instead, values)
    return np.asarray(np.maximum(np.minimum(found, LARGEST, out=found), -LARGEST, out=found))


def nowhere(n: int) -> Moment:
    """A moment that does not happen to any of n balls."""
    rows = np.full((7, n), np.nan)
    return Moment(rows[0], rows[1:4], rows[4:])


def _falling(path: Path, asked: list[tuple[int, Array, Scalars]]) -> list[Moment]:
    """For each axis, sign (n,) and level asked for, the first time that f = sign * (coordinate - level) falls through
    zero, to rounding. One question after the other, as if each had balls of its own."""
    arc, n, m = path.arcs, path.velocity.shape[1], len(path.arcs.lanes)
    axes, place, rate = (np.array([axis for axis, _, _ in asked]), *_own(arc, [axis for axis, _, _ in asked]))
    signs, levels = ([np.zeros(n) + of for of in ofs] for ofs in list(zip(*asked, strict=True))[1:])
    ours, zero = (np.concatenate([of[arc.lanes] for of in ofs]) for ofs in (signs, levels))
    f = ours * (place - zero)
    above = f[:-1] >= 0
    index, hit = _first(above & (f[1:] <= 0))
    for first in np.flatnonzero(axes == 2) * m:
        mine = slice(first, first + m)
        if not (hit[mine] | above[:, mine].all(axis=0)).all():
            # Perhaps up through the level and down again between two nodes.
            top, share = _tops(arc)
            step = np.clip(np.searchsorted(SHARES, share, "right") - 1, 0, len(STEPS) - 1)
            over = ~hit[mine][top] & (f[step + 1, top + first] <= 0)
            over[over] = _at(arc.position[2:].take(top[over], axis=2), share[over])[0] >= zero[top[over] + first]
            index[top[over] + first], hit[top[over] + first] = step[over], True
    found = nowhere(len(asked) * n)
    some = np.flatnonzero(hit)
    if len(some):
        lanes = np.concatenate([arc.lanes + k * n for k in range(len(asked))])
        some = some[_earliest(lanes[some], len(found.time))]
        which, of = np.divmod(some, m)
        arc, ours, zero, axis = _part(arc, of, lanes[some]), ours[some], zero[some], axes[which]
        place, rate = place.take(some, axis=1), rate.take(some, axis=1)
        share = _cubic_root(arc.length, place, rate, ours, zero, index[some])
        here, falls = _at(np.array([place, rate]), share)
        late = ours * (here - zero) / np.maximum(-ours * falls, 1e-6)
        state = _put(found, arc, np.minimum(np.maximum(share + late / arc.length, 0.0), 1.0))
        # What is left is rounding; of a level as high as the apex, some micrometres.
        lane, each = arc.lanes, np.arange(len(some))
        late = ours * (state[axis, each] - zero) / np.maximum(-ours * state[axis + 3, each], 1e-3)
        found.time[lane] = np.maximum(found.time[lane] + late, arc.begin)
        found.position[:, lane] += late * state[3:]
    parts = (slice(k * n, (k + 1) * n) for k in range(len(asked)))
    return [Moment(found.time[mine], found.position[:, mine], found.velocity[:, mine]) for mine in parts]


def _own(arc: Arc, axes: list[int]) -> list[Array]:
    """Coordinate and speed (k, q m) of arcs along each of q axes."""
    every = (arc.position, arc.velocity)
    return [np.concatenate([of[axis] for axis in axes], axis=1) if axes[1:] else of[axes[0]] for of in every]


def _part(arc: Arc, some: Index, lanes: Index) -> Arc:
    """Some arcs, as those of other lanes."""
    return Arc(
        lanes, arc.begin[some], arc.length[some], arc.position.take(some, axis=2), arc.velocity.take(some, axis=2)
    )


def _cubic_root(length: Array, place: Array, rate: Array, sign: Array, level: Array, index: Index) -> Array:
    """Where about f falls through zero, as a share of the arc: on the cubic through two nodes with their slopes."""
    lane = np.arange(len(index))
    start, end = (sign * (place[at, lane] - level) for at in (index, index + 1))
    step = sign * STEPS[index] * length
    slope, slope_end = (step * rate[at, lane] for at in (index, index + 1))
    share = falling_root(start, end, slope, slope_end)
    return np.asarray(SHARES[index] + STEPS[index] * share)


def falling_root(start: Array, end: Array, slope: Array, slope_end: Array) -> Array:
    """Which share of a step lies before a cubic falls through zero, from its values and slopes at both ends."""
    rise = end - start
    quadratic, cubic = 3 * rise - 2 * slope - slope_end, slope + slope_end - 2 * rise
    # Falling root of the parabola, in the form without cancellation; then Newton on the cubic.
    root = np.sqrt(np.maximum(slope**2 - 4 * quadratic * start, 0.0))
    rising = slope > 0
    share = np.where(rising, -(slope + root), 2 * start) / np.where(
        rising, np.minimum(2 * quadratic, -1e-12), np.maximum(root - slope, 1e-12)
    )
    share = np.minimum(np.maximum(share, 0.0), 1.0)
    value = start + share * (slope + share * (quadratic + share * cubic))
    fall = slope + share * (2 * quadratic + 3 * cubic * share)
    return np.minimum(np.maximum(share - value / np.minimum(fall, -1e-9), 0.0), 1.0)


def _earliest(lanes: Index, count: int) -> Index:
    """Of arcs in order of time the places of those that are the first of their lane, of `count` lanes."""
    place = np.empty(count, np.intp)
    place[lanes[::-1]] = np.arange(len(lanes))[::-1]
    return np.flatnonzero(place[lanes] == np.arange(len(lanes)))


def _tops(arc: Arc) -> tuple[Index, Array]:
    """Which arcs have a highest point in them, and at which share."""
    rise = arc.velocity[2]
    index, hit = _first((rise[:-1] >= 0) & (rise[1:] < 0))
    some = np.flatnonzero(hit)
    if not len(some):
        return some, np.empty(0)
    index, rise = index[some], rise.take(some, axis=1)
    lane = np.arange(len(some))
    before, share = SHARES[index], SHARES[index + 1]
    up, now = rise[index, lane], rise[index + 1, lane]
    for _ in range(4):  # the secant method; the speed upwards falls almost along a line
        before, share = share, share - now * (share - before) / np.where(now == up, -1.0, now - up)
        share = np.clip(share, SHARES[index], SHARES[index + 1])
        up, now = now, _at(rise[None], share)[0]
    return some, share


def _at(values: Array, share: Array) -> Array:
    """The polynomials through `values` (c, k, m) at the nodes, at a share (m,) of the arc, (c, m): the barycentric
    formula (Berrut & Trefethen, SIAM Rev. 46, 501 (2004))."""
    if len(share) == 1:  # the sums of a single column are added up in another order
        return _at(np.repeat(values, 2, axis=2), np.repeat(share, 2))[:, :1]
    apart = share - SHARES[:, None]
    apart[apart == 0] = 1e-30  # on a node: its weight drowns all others
    weight = WEIGHTS[:, None] / apart
    weight /= np.add.reduce(weight, axis=0)
    return np.asarray(np.add.reduce(weight * values, axis=1))


def _put(found: Moment, arc: Arc, share: Array) -> Array:
    """Write the state of the lanes of an arc down; places and velocities, (6, m)."""
    state = _at(np.concatenate([arc.position, arc.velocity]), share)
    found.time[arc.lanes] = arc.begin + share * arc.length
    found.position[:, arc.lanes], found.velocity[:, arc.lanes] = state[:3], state[3:]
    return state


def _first(hit: Flags) -> tuple[Index, Flags]:
    """The first step (m,) of each lane that has a hit (k - 1, m), and whether there is one."""
    index = hit.argmax(axis=0)
    return index, hit[index, np.arange(hit.shape[1])]
