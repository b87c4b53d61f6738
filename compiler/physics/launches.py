"""Launches that do what is asked: through a point with a spin, and one thing more.

For a fixed point and spin each elevation has one speed; along that curve what is asked mostly rises with elevation. So
a scan of elevations finds every arc, the low and the looped one, looks closer where the curve turns or ends, and
Newton's method in speed, elevation and azimuth refines each. Feeds and elevations fly as one batch.
"""

from collections.abc import Callable

import numpy as np

from ...grammar.frozen import Frozen, replace
from .flight import Array, Index
from .moments import Flags, instead_of_none
from .outcome import Conditions, Outcome, outcome
from .point import FASTEST, Wanted, estimate, line
from .point import pointed as pointed

# What beside place and spin fixes a flight.
CLEARANCE, CONTACT_HEIGHT, CONTACT_RISE, SPEED, CONTACT_TIME, TOP = range(6)
Starts = tuple[Index, Array]  # near roots: which request, and speed, elevation, azimuth (3, m)

SCANNED, CLOSER = 22, 9
"""Elevations tried for each request, from the flattest that `FASTEST` allows to `STEEPEST`, denser where flat; and
over two steps of that scan where it has to be closer."""
STEEPEST = np.radians(80.0)
FLAT = 12
"""So many of them, up to some 30 degrees, are enough for the flattest launch that most feeds are fed with."""
HIT = 2e-4
"""A launch counts as found when it meets the point within this, in m, and what is asked within the same in SI."""
TURN = 1e-3  # SI, how uncertain what is asked is in a scan: a turn that misses the value by this may reach it
REQUESTS = 500  # most solved as one batch: overhead is small, and so is the memory


class Scan(Frozen):
    """Launches through each request's point, one an elevation: (n, e) each, NaN where there is none. `measure` is what
    was asked for, in SI, so that its reach can be told where nothing fits, and `bounces` those before the contact."""

    elevation: Array
    speed: Array
    azimuth: Array
    measure: Array
    bounces: Array


class Roots(Frozen):
    """Launches that fit: (m,) each; `request` says which request each belongs to, in rising elevation."""

    request: Index
    speed: Array
    elevation: Array
    azimuth: Array


def solve(wanted: Wanted, conditions: Conditions) -> tuple[Roots, Scan]:
    """Every launch that meets each request, and the scan that led there."""
    parts = []
    for mine in batches(len(wanted.value)):
        few = wanted.at(mine)
        scan = through(few, elevations(few, conditions), conditions)
        request, *launch = found(few, scan, conditions).values()
        parts.append(((mine[request], *launch), scan.values()))
    roots, scans = (map(np.concatenate, zip(*each, strict=True)) for each in zip(*parts, strict=True))
    return Roots(*roots), Scan(*scans)


def batches(count: int) -> list[Index]:
    """The places of so many requests in parts that are solved together, one part at least."""
    return np.split(np.arange(count), range(REQUESTS, count, REQUESTS))


def found(wanted: Wanted, scan: Scan, conditions: Conditions, look: "Look | None" = None) -> Roots:
    """The launches that meet each request, from its scan; `look` takes the place of `through`."""
    with np.errstate(invalid="ignore", divide="ignore", over="ignore"):
        return _found(wanted, scan, conditions, look or through)


def flattest(wanted: Wanted, scan: Scan, conditions: Conditions, look: "Look | None" = None) -> Roots:
    """The flattest launch of each request, from the first `FLAT` columns of its scan; none where that may be a steeper
    one. What is right below the last column depends on the columns after it."""
    request, speed, elevation, azimuth = found(wanted, scan, conditions, look).values()
    first = np.unique(request, return_index=True)[1]
    first = first[elevation[first] < scan.elevation[request[first], -3]]
    return Roots(request[first], speed[first], elevation[first], azimuth[first])


def _found(wanted: Wanted, scan: Scan, conditions: Conditions, look: "Look") -> Roots:
    branches = _branches(scan, conditions)
    starts = [_crossings(wanted, branch) for branch in branches]
    if turns := {pair for branch in branches for pair in zip(*_bends(wanted, branch).tolist(), strict=True)}:
        bends = np.array(sorted(turns)).T
        # What is asked turns round or ends between two scanned elevations: look closer, so that no arc is missed.
        request, (first, last) = bends[0], scan.elevation[bends[0], [bends[1], bends[1] + 2]]
        lanes = wanted.at(request)
        closer = look(lanes, np.linspace(first, last, CLOSER, axis=1), conditions)
        for branch in _branches(closer, conditions):
            near, launches = _joined([_crossings(lanes, branch), _vertices(lanes, branch)])
            starts.append((request[near], launches))
    return _refined(wanted, *_joined(starts), conditions)


def _branches(scan: Scan, conditions: Conditions) -> list[Scan]:
    """What is asked of a contact jumps where it comes after one bounce more: a curve each, not a number elsewhere."""
    if conditions.bounces == 1:
        return [scan]
    counts = range(conditions.bounces + 1)
    return [replace(scan, measure=np.where(scan.bounces == k, scan.measure, np.nan)) for k in counts]


def _joined(starts: list[Starts]) -> Starts:
    return np.concatenate([request for request, _ in starts]), np.concatenate([x for _, x in starts], axis=1)


def measure(found: Outcome, speed: Array, kind: Index) -> Array:
    """What each request asks for, as flown."""
    met = found.contact
    return np.choose(kind, [found.clearance, met.position[2], met.velocity[2], speed, met.time, found.peak])


Look = Callable[[Wanted, Array, Conditions], Scan]
"""As `through`."""


def through(wanted: Wanted, elevations: Array, conditions: Conditions) -> Scan:
    """For each request and elevation, (e,) or (n, e), the speed and azimuth whose flight passes the point, and what it
    gives; not a number stands for no launch."""
    with np.errstate(invalid="ignore", divide="ignore", over="ignore"):
        return _through(wanted, elevations, conditions)


def ways(wanted: Wanted) -> Wanted:
    """All that a scan depends on: whatever the value is, and where the net alone counts, wherever the player stands."""
    far = wanted.full | _onward(wanted.kind)
    return replace(wanted, value=np.zeros(len(far)), stance=np.where(far, wanted.stance, np.sign(wanted.stance)))


def _through(wanted: Wanted, elevations: Array, conditions: Conditions) -> Scan:
    grid = np.broadcast_to(elevations, (len(wanted.value), np.shape(elevations)[-1]))
    way = [*wanted.origin, *wanted.point, wanted.full, wanted.topspin, wanted.sidespin, *grid.T]
    first, which = alike(np.array(way))
    index, elevation = np.repeat(first, grid.shape[1]), grid[first].ravel()
    speed, azimuth = (a.reshape(-1, grid.shape[1])[which] for a in pointed(wanted.at(index), elevation, conditions))
    first, which = alike(np.array([*way, ways(wanted).stance, wanted.kind]))
    index, flat = np.repeat(first, grid.shape[1]), [a[first].ravel() for a in (speed, grid, azimuth)]
    measured, bounces = np.full((2, len(index)), np.nan)
    some = np.flatnonzero(np.isfinite(flat[0]))
    flown, measured[some] = _measured(wanted.at(index[some]), flat[0][some], flat[1][some], flat[2][some], conditions)
    bounces[some] = flown.bounces
    return Scan(grid, speed, azimuth, *(a.reshape(-1, grid.shape[1])[which] for a in (measured, bounces)))


def alike(columns: Array) -> tuple[Index, Index]:
    """Of columns (k, n) the first of each kind, in order, and for each column (n,) which kind it is."""
    kinds: dict[bytes, int] = {}
    which = np.array([kinds.setdefault(row.tobytes(), len(kinds)) for row in np.ascontiguousarray(columns.T)], np.intp)
    return np.unique(which, return_index=True)[1], which


def _measured(
    lanes: Wanted, speed: Array, elevation: Array, azimuth: Array, conditions: Conditions
) -> tuple[Outcome, Array]:
    """What launches do, followed past the bounce only where that is asked for, and what they give of what is asked."""
    release, onward = lanes.release(speed, elevation, azimuth), _onward(lanes.kind)
    tops = bool((lanes.kind == TOP).any())
    flown = outcome(release, lanes.stance, lanes.full, conditions, onward, peaks=tops)
    return flown, measure(flown, speed, lanes.kind)


def _onward(kind: Index) -> Flags:
    # No ball bounces higher than it fell from.
    return (kind != CLEARANCE) & (kind != SPEED) & (kind != TOP)


def elevations(wanted: Wanted, conditions: Conditions) -> Array:
    """The elevations to scan, (n, e), closest where flat: there the speed changes most."""
    delta, distance, _ = line(wanted)
    drop = estimate(wanted, np.arctan2(delta[2], distance), np.full_like(distance, FASTEST), conditions)[0]
    flattest = np.minimum(np.arctan2(delta[2] + drop, distance), STEEPEST - 0.1)[:, None]
    return flattest + (STEEPEST - flattest) * np.linspace(0, 1, SCANNED) ** 1.5


def _crossings(wanted: Wanted, scan: Scan) -> Starts:
    """Wherever what is asked is passed between two elevations."""
    off = scan.measure - wanted.value[:, None]
    left, right = off[:, :-1], off[:, 1:]
    request, column = np.nonzero((left <= 0) & (right > 0) | (left >= 0) & (right < 0))
    # The parabola through a third point as well has one root between the two, with the slope of the crossing.
    middle = np.clip(column + (abs(left) > abs(right))[request, column], 1, off.shape[1] - 2)
    value, slope, bend = _parabola(off, request, middle)
    root = np.where(left > right, -1, 1)[request, column] * np.sqrt(np.maximum(slope**2 - 4 * value * bend, 0.0))
    same = slope * root > 0
    share = np.where(same, -2 * value, root - slope) / np.where(same, slope + root, np.where(bend == 0, 1.0, 2 * bend))
    return _start(scan, request, middle, np.clip(share, column - middle, column + 1 - middle))


def _bends(wanted: Wanted, scan: Scan) -> Index:
    """Where what is asked turns close to the value, begins or ends: request and the first column of three, (2, m)."""
    off, count = scan.measure - wanted.value[:, None], instead_of_none(scan.bounces, -1.0)
    finite, (request, first) = np.isfinite(off), np.nonzero(_turning(off, 1.0))
    edge_request, edge = np.nonzero((finite[:, :-1] != finite[:, 1:]) | (count[:, :-1] != count[:, 1:]))
    edge = np.clip(edge - finite[edge_request, edge], 0, off.shape[1] - 3)
    return np.array([np.concatenate([request, edge_request]), np.concatenate([first, edge])])


def _turning(off: Array, close: float) -> Flags:
    """Whether (n, e - 2) the middle one of three neighbours is nearest to zero, and nearer than `close` times the
    second difference: the vertex of a parabola goes on from there by an eighth of it at most."""
    a, b, c = off[:, :-2], off[:, 1:-1], off[:, 2:]
    same = (np.sign(a) == np.sign(b)) & (np.sign(b) == np.sign(c))
    return np.asarray(same & (abs(b) <= abs(a)) & (abs(b) <= abs(c)) & (abs(b) < close * abs(a - 2 * b + c)))


def _vertices(wanted: Wanted, scan: Scan) -> Starts:
    """Either side of a turn, where the parabola through it comes to the value or as good as that, and where the last
    stretch before an end would reach it."""
    off = scan.measure - wanted.value[:, None]
    finite, (request, column) = np.isfinite(off), np.nonzero(_turning(off, 0.5))
    value, slope, bend = _parabola(off, request, column + 1)
    root = np.sqrt(np.maximum(slope**2 - 4 * value * bend, 4 * TURN * np.abs(bend)))
    parts = [_start(scan, request, column + 1, (sign * root - slope) / (2 * bend)) for sign in (-1.0, 1.0)]
    request, column = np.nonzero(finite[:, 1:-1] & (finite[:, :-2] != finite[:, 2:]))
    value, slope, _ = _parabola(off, request, column + 1)
    share = -value / np.where(slope == 0, np.inf, slope)
    onward = np.where(finite[request, column], share, -share)
    reached = (onward > 0) & (onward < 1.5)
    parts.append(_start(scan, request[reached], column[reached] + 1, share[reached]))
    return _joined(parts)


def _parabola(values: Array, row: Index, column: Index) -> tuple[Array, Array, Array]:
    """Value, slope and bend of the parabola through three neighbours; a line where an outer one is not a number."""
    a, b, c = (values[row, column + i] for i in (-1, 0, 1))
    a, c = np.where(np.isnan(a), 2 * b - c, a), np.where(np.isnan(c), 2 * b - a, c)
    return b, (c - a) / 2, (a - 2 * b + c) / 2


def _start(scan: Scan, request: Index, column: Index, share: Array) -> Starts:
    parts = (_parabola(a, request, column) for a in (np.log(scan.speed), scan.elevation, scan.azimuth))
    x = np.array([value + share * (slope + bend * share) for value, slope, bend in parts])
    return request, np.concatenate([np.exp(x[:1]), x[1:]])


def refined(wanted: Wanted, request: Index, starts: Array, conditions: Conditions) -> Roots:
    """The launches that meet requests, found from launches close to them: `request` (m,) says which request each start
    (3, m), speed, elevation and azimuth, is for."""
    with np.errstate(invalid="ignore", divide="ignore", over="ignore"):
        return _refined(wanted, request, starts.copy(), conditions)


def _refined(wanted: Wanted, request: Index, x: Array, conditions: Conditions) -> Roots:
    """Newton's method from good starts x (3, m); the derivatives are flown beside each launch, four lanes a start."""
    lanes, done, live = wanted.at(request), np.zeros(len(request), bool), np.arange(len(request))
    off, slopes = np.empty((3, len(request))), np.empty((3, 3, len(request)))
    for _ in range(10):
        off[:, live], slopes[:, :, live] = _residuals(lanes.at(live), x[:, live], conditions)
        miss = np.abs(off[:, live]).max(axis=0)
        done[live] = miss < HIT
        live = live[np.isfinite(slopes[:, :, live]).all(axis=(0, 1)) & (miss > HIT / 4)]
        live = live[np.abs(np.linalg.det(slopes[:, :, live].transpose(2, 0, 1))) > 1e-9]
        if not len(live):
            break
        change = np.linalg.solve(slopes[:, :, live].transpose(2, 0, 1), off[:, live].T[:, :, None])[:, :, 0].T
        most = np.array([0.25 * x[0, live], np.full(len(live), 0.08), np.full(len(live), 0.08)])
        x[:, live] -= np.clip(change, -most, most)
    return _distinct(request[done], x[:, done])


def _residuals(lanes: Wanted, x: Array, conditions: Conditions) -> tuple[Array, Array]:
    """Misses (3, m) of launches x = (speed, elevation, azimuth) and their derivatives (3, 3, m) by what is varied."""
    m = x.shape[1]
    steps = 2e-5 * np.array([x[0], np.ones(m), np.ones(m)])
    trials = np.repeat(x[:, None, :], 4, axis=1)
    trials[[0, 1, 2], [1, 2, 3]] += steps
    four = lanes.at(np.tile(np.arange(m), 4))
    speed, elevation, azimuth = trials.reshape(3, -1)
    flown, measured = _measured(four, speed, elevation, azimuth, conditions)
    passed = np.where(four.full, flown.contact.position, flown.landing.position)
    across = np.where(four.full, passed[2] - four.point[2], passed[1] - four.point[1])
    off = np.array([passed[0] - four.point[0], across, measured - four.value]).reshape(3, 4, m)
    return off[:, 0], (off[:, 1:] - off[:, :1]) / steps[None]


def _distinct(request: Index, x: Array) -> Roots:
    """The roots in order, each launch once."""
    order = np.lexsort((x[1], request))
    request, (speed, elevation, azimuth) = request[order], x[:, order]
    fresh = np.ones(len(request), bool)
    fresh[1:] = (np.diff(request) > 0) | (np.diff(elevation) > 1e-4)
    return Roots(request[fresh], speed[fresh], elevation[fresh], azimuth[fresh])
