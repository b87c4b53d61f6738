"""Launches that do what is asked: through a point with a spin, and one thing more.

For a fixed point and spin each elevation has one speed; along that curve what is asked mostly rises with elevation. So
a scan of elevations finds every arc, the low and the looped one, looks closer where the curve turns or ends, and
Newton's method in speed, elevation and azimuth refines each. Feeds and elevations fly as one batch.
"""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from ...grammar.frozen import Frozen, replace
from .flight import GRAVITY, Array, Drag, drag_coefficient, fly, launch, lift_coefficient
from .moments import at_height, at_plane
from .outcome import Conditions, Outcome, Release, outcome

# What beside place and spin fixes a flight.
CLEARANCE, CONTACT_HEIGHT, CONTACT_RISE, SPEED, CONTACT_TIME = range(5)
Flags = NDArray[np.bool_]
Index = NDArray[np.intp]
Starts = tuple[Index, Array]  # near roots: which request, and speed, elevation, azimuth (3, m)

SCANNED, CLOSER = 22, 9
"""Elevations tried for each request, from the flattest that `FASTEST` allows to `STEEPEST`, denser where flat; and
over two steps of that scan where it has to be closer."""
STEEPEST = np.radians(80.0)
SLOWEST, FASTEST = 1.5, 75.0  # m/s, what the scan tries; limits of a feeder are another matter
HIT = 2e-4
"""A launch counts as found when it meets the point within this, in m, and what is asked within the same in SI."""
TURN = 1e-3  # SI, how uncertain what is asked is in a scan: a turn that misses the value by this may reach it
# Of the logarithm of the drop and of the bearing, by the logarithm of the speed and the azimuth; most change of those.
FIRST_RATES = np.array([[[-1.9], [0.0]], [[0.0], [1.0]]])
MOST_CHANGE = np.array([[0.3], [0.15]])
REQUESTS = 500  # most solved as one batch: overhead is small, and so is the memory


class Wanted(Frozen):
    """n requests. `point` (3, n): where the centre is to pass, on landing or, with `full`, at the stance. `kind` one of
    the constants above, `value` (n,) in SI; spins rad/s; `origin` (3, n)."""

    origin: Array
    point: Array
    stance: Array
    full: Flags
    topspin: Array
    sidespin: Array
    kind: Index
    value: Array

    def at(self, index: Index) -> "Wanted":
        return Wanted(
            self.origin[:, index], self.point[:, index], self.stance[index], self.full[index],
            self.topspin[index], self.sidespin[index], self.kind[index], self.value[index],
        )  # fmt: skip

    def release(self, speed: Array, elevation: Array, azimuth: Array) -> Release:
        return Release(self.origin, speed, elevation, azimuth, self.topspin, self.sidespin)


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


def solve(wanted: Wanted, conditions: Conditions, solved: Callable[[int], None] = lambda n: None) -> tuple[Roots, Scan]:
    """Every launch that meets each request, and the scan that led there; `solved` hears after how many more."""
    parts = []
    for first in range(0, max(len(wanted.value), 1), REQUESTS):
        mine = np.arange(first, min(first + REQUESTS, len(wanted.value)))
        with np.errstate(invalid="ignore", divide="ignore", over="ignore"):  # not a number stands for no launch
            roots, scan = _solved(wanted.at(mine), conditions)
        solved(len(mine))
        parts.append(((mine[roots.request], roots.speed, roots.elevation, roots.azimuth), scan))
    joined = (np.concatenate(a) for a in zip(*(roots for roots, _ in parts), strict=True))
    return Roots(*joined), Scan(*(np.concatenate([getattr(scan, name) for _, scan in parts]) for name in Scan._fields))


def _solved(wanted: Wanted, conditions: Conditions) -> tuple[Roots, Scan]:
    scan = through(wanted, elevations(wanted, conditions), conditions)
    branches = _branches(scan, conditions)
    starts = [_crossings(wanted, branch) for branch in branches]
    if turns := {pair for branch in branches for pair in zip(*_bends(wanted, branch).tolist(), strict=True)}:
        bends = np.array(sorted(turns)).T
        # What is asked turns round or ends between two scanned elevations: look closer, so that no arc is missed.
        request, (first, last) = bends[0], scan.elevation[bends[0], [bends[1], bends[1] + 2]]
        lanes = wanted.at(request)
        closer = through(lanes, np.linspace(first, last, CLOSER, axis=1), conditions)
        for branch in _branches(closer, conditions):
            found, launches = _joined([_crossings(lanes, branch), _vertices(lanes, branch)])
            starts.append((request[found], launches))
    return _refined(wanted, *_joined(starts), conditions), scan


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
    return np.choose(kind, [found.clearance, met.position[2], met.velocity[2], speed, met.time])


def through(wanted: Wanted, elevations: Array, conditions: Conditions) -> Scan:
    """For each request and elevation, (e,) or (n, e), the speed and azimuth whose flight passes the point."""
    grid = np.broadcast_to(elevations, (len(wanted.value), np.shape(elevations)[-1]))
    way = [*wanted.origin, *wanted.point, wanted.full, wanted.topspin, wanted.sidespin, *grid.T]
    first, which = alike(np.array(way))
    index, elevation = np.repeat(first, grid.shape[1]), grid[first].ravel()
    speed, azimuth = (a.reshape(-1, grid.shape[1])[which] for a in pointed(wanted.at(index), elevation, conditions))
    first, which = alike(np.array([*way, wanted.stance, wanted.kind]))  # the value changes nothing in a scan
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


def pointed(lanes: Wanted, elevation: Array, conditions: Conditions) -> tuple[Array, Array]:
    """Speed and azimuth of the launch at an elevation (n,) that passes the point of each request; NaN where there is
    none."""
    with np.errstate(invalid="ignore", divide="ignore", over="ignore"):
        return _pointed(lanes, elevation, conditions)


def _measured(
    lanes: Wanted, speed: Array, elevation: Array, azimuth: Array, conditions: Conditions
) -> tuple[Outcome, Array]:
    """What launches do, followed past the bounce only where that is asked for, and what they give of what is asked."""
    onward = (lanes.kind != CLEARANCE) & (lanes.kind != SPEED)
    flown = outcome(lanes.release(speed, elevation, azimuth), lanes.stance, lanes.full, conditions, onward)
    return flown, measure(flown, speed, lanes.kind)


def elevations(wanted: Wanted, conditions: Conditions) -> Array:
    """The elevations to scan, (n, e), closest where flat: there the speed changes most."""
    delta, distance, _ = _line(wanted)
    drop = _estimate(wanted, np.arctan2(delta[2], distance), np.full_like(distance, FASTEST), conditions)[0]
    flattest = np.minimum(np.arctan2(delta[2] + drop, distance), STEEPEST - 0.1)[:, None]
    return flattest + (STEEPEST - flattest) * np.linspace(0, 1, SCANNED) ** 1.5


def _line(lanes: Wanted) -> tuple[Array, Array, Array]:
    """From origin to point: the difference (3, n), the distance over the ground and the bearing."""
    delta = lanes.point - lanes.origin
    return delta, np.hypot(delta[0], delta[1]), np.arctan2(delta[0], delta[1])


def _estimate(lanes: Wanted, elevation: Array, speed: Array, conditions: Conditions) -> tuple[Array, ...]:
    """Of a launch at the point: how far the ball is below its straight line, m, the part that lift has in it, by how
    much it turns off to the right, rad.

    Drag grows with the square along the way of a parabola, coefficients as early in the flight; wind moves the ball by
    as much as it blows in the time that drag costs.
    """
    ball, air = conditions.ball, conditions.air
    _, distance, bearing = _line(lanes)
    ahead, right = np.cos(bearing), np.sin(bearing)
    k = air.density_kg_m3 * ball.area_m2 / (2 * ball.mass_kg)
    spin = np.hypot(lanes.topspin, lanes.sidespin)
    rim, level = ball.radius_m * spin, speed * np.cos(elevation)
    slowing = k * drag_coefficient(0.85 * speed, rim, Drag.of(ball)) * distance
    slowing = np.clip(slowing * np.sqrt(1 + np.tan(elevation) ** 2 / 3), 1e-6, 20.0)
    lag = (np.expm1(slowing) / slowing - 1) * distance / level
    through_air = np.maximum(distance - lag * (air.wind_mps[0] * right + air.wind_mps[1] * ahead), 0.3 * distance)
    lateral = (through_air / np.cos(elevation)) ** 2 / 2
    lift = k * lift_coefficient(0.85 * speed, rim) * lateral / np.maximum(spin, 1e-9)
    lifted = lift * lanes.topspin * np.cos(elevation)
    spread = (np.expm1(2 * slowing) - 2 * slowing) / (2 * slowing**2)
    # The axis of the sidespin stays as it is while the flight turns over, in a lob from one side to the other.
    sideways = lift * lanes.sidespin * np.sinc(2 * elevation / np.pi)
    aside = lag * (air.wind_mps[0] * ahead - air.wind_mps[1] * right) - sideways
    return GRAVITY * lateral * spread / speed**2 + lifted, lifted, aside / distance


def _guess(lanes: Wanted, elevation: Array, conditions: Conditions) -> tuple[Array, Array]:
    """Speed and azimuth that about pass the point."""
    delta, distance, bearing = _line(lanes)
    room = distance * np.tan(elevation) - delta[2]
    speed = np.full_like(room, 25.0)
    for _ in range(4):
        drop, lifted, _ = _estimate(lanes, elevation, speed, conditions)
        speed *= np.sqrt((drop - lifted) / np.maximum(room - lifted, 0.02 * (drop - lifted)))
        speed = np.clip(speed, 1.5 * SLOWEST, 0.8 * FASTEST)
    return speed, bearing - _estimate(lanes, elevation, speed, conditions)[2]


def _pointed(lanes: Wanted, elevation: Array, conditions: Conditions) -> tuple[Array, Array]:
    """Speed and azimuth of each lane, NaN where there is none, by Broyden's method from a guess.

    Over the point a ball is below the straight line of its launch by about a constant over the square of its speed:
    the logarithms of drop and speed lie nearly on a line, and two or three flights are enough. Lobs take a few more.
    """
    speed, azimuth = _guess(lanes, elevation, conditions)
    delta, distance, _ = _line(lanes)
    # Backspin may carry the ball over the line: count the drop from above what lift can do.
    lifted = _estimate(lanes, elevation, np.minimum(speed, 20.0), conditions)[1]
    room = distance * np.tan(elevation) - delta[2] + np.maximum(0.02 * distance, -1.5 * lifted)
    slowest, fastest = np.log(SLOWEST), np.log(FASTEST)
    x = np.stack([np.log(speed), azimuth])
    rates = np.repeat(FIRST_RATES, len(speed), axis=2)
    change, last, answer = np.full((3, *x.shape), np.nan)
    live = np.flatnonzero(room > 0)
    for trial in range(16):
        over, side = _passed(lanes.at(live), np.exp(x[0, live]), elevation[live], x[1, live], conditions)
        now = np.stack([np.log(np.maximum(1 - over / room[live], 0.02)), side])  # first positive: too slow
        rate = rates[:, :, live]
        if trial:
            moved = change[:, live]
            learnt = now - last[:, live] - (rate * moved).sum(axis=1)
            rate += learnt[:, None] * moved / np.maximum((moved**2).sum(axis=0), 1e-12)
        # A matrix that says drop does not fall with speed has learnt wrongly: back to the first.
        rate = np.where(rate[0, 0] * rate[1, 1] - rate[0, 1] * rate[1, 0] < -0.1, rate, FIRST_RATES)
        (a, b), (c, d) = rate
        move = np.stack([b * now[1] - d * now[0], c * now[0] - a * now[1]]) / (a * d - b * c)
        met = (np.abs(now[0]) < 5e-4) & (np.abs(now[1]) < 1e-4)
        hopeless = (now[0] > 0) & (x[0, live] == fastest) | (now[0] < 0) & (x[0, live] == slowest)
        hopeless |= (trial > 8) & (np.abs(now[0]) > 0.1)
        to = x[:, live] + np.clip(move, -MOST_CHANGE, MOST_CHANGE)
        to[0] = np.clip(to[0], slowest, fastest)
        rates[:, :, live], change[:, live], last[:, live] = rate, to - x[:, live], now
        x[:, live] = to
        answer[:, live[met]] = to[:, met]
        live = live[~met & ~hopeless]
        if not len(live):
            break
    return np.exp(answer[0]), answer[1]


def _passed(
    lanes: Wanted, speed: Array, elevation: Array, azimuth: Array, conditions: Conditions
) -> tuple[Array, Array]:
    """How far above its point each ball is over it, m, and how far the bearing flown is off, rad.

    Read off the landing or, on the full, the crossing of the stance, and carried on to the point along the parabola
    of that moment: exact where it is zero, and of the right sign for balls that fall short.
    """
    velocity, spin = launch(speed, elevation, azimuth, lanes.topspin, lanes.sidespin)
    floor = np.where(lanes.full, np.minimum(lanes.point[2], lanes.origin[2]) - 0.3, lanes.point[2])
    path = fly(lanes.origin, velocity, spin, conditions.ball, conditions.air, floor=floor)
    moment = at_height(path, floor)
    position, rate, lost = moment.position, moment.velocity, ~np.isfinite(moment.time)
    if lanes.full.any():
        plane = at_plane(path, lanes.point[1])
        crossed = lanes.full & np.isfinite(plane.time) & ~(plane.time > moment.time)
        position, rate = np.where(crossed, plane.position, position), np.where(crossed, plane.velocity, rate)
        lost &= ~crossed
    delta, distance, bearing = _line(lanes)
    ahead, right, spot = np.cos(bearing), np.sin(bearing), position - lanes.origin
    left = distance - (spot[0] * right + spot[1] * ahead)
    # A lob comes down steeper than its drop grows with the way; against wind it may even come down backwards.
    least = np.abs(rate[2]) / (1 + 1.5 * np.abs(np.tan(elevation)))
    onward = left / np.maximum(rate[0] * right + rate[1] * ahead, least)
    over = spot[2] - delta[2] + onward * (rate[2] - GRAVITY / 2 * onward)
    drift = spot[:2] + onward * rate[:2]
    side = np.arctan2(drift[0] * ahead - drift[1] * right, np.maximum(drift[0] * right + drift[1] * ahead, 0.1))
    # Still in the air when the flight was given up: far too fast.
    return np.where(lost, 1e3, over), np.where(lost, 0.0, side)


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
    off, count = scan.measure - wanted.value[:, None], np.nan_to_num(scan.bounces, nan=-1)
    finite, (request, first) = np.isfinite(off), np.nonzero(_turning(off, 1.0))
    edge_request, edge = np.nonzero((finite[:, :-1] != finite[:, 1:]) | (count[:, :-1] != count[:, 1:]))
    edge = np.clip(edge - finite[edge_request, edge], 0, off.shape[1] - 3)
    return np.stack([np.concatenate([request, edge_request]), np.concatenate([first, edge])])


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
    x = np.stack([value + share * (slope + bend * share) for value, slope, bend in parts])
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
        most = np.stack([0.25 * x[0, live], np.full(len(live), 0.08), np.full(len(live), 0.08)])
        x[:, live] -= np.clip(change, -most, most)
    return _distinct(request[done], x[:, done])


def _residuals(lanes: Wanted, x: Array, conditions: Conditions) -> tuple[Array, Array]:
    """Misses (3, m) of launches x = (speed, elevation, azimuth) and their derivatives (3, 3, m) by what is varied."""
    m = x.shape[1]
    steps = 2e-5 * np.stack([x[0], np.ones(m), np.ones(m)])
    trials = np.repeat(x[:, None, :], 4, axis=1)
    trials[[0, 1, 2], [1, 2, 3]] += steps
    four = lanes.at(np.tile(np.arange(m), 4))
    speed, elevation, azimuth = trials.reshape(3, -1)
    flown, measured = _measured(four, speed, elevation, azimuth, conditions)
    passed = np.where(four.full, flown.contact.position, flown.landing.position)
    across = np.where(four.full, passed[2] - four.point[2], passed[1] - four.point[1])
    off = np.stack([passed[0] - four.point[0], across, measured - four.value]).reshape(3, 4, m)
    return off[:, 0], (off[:, 1:] - off[:, :1]) / steps[None]


def _distinct(request: Index, x: Array) -> Roots:
    """The roots in order, each launch once."""
    order = np.lexsort((x[1], request))
    request, (speed, elevation, azimuth) = request[order], x[:, order]
    fresh = np.ones(len(request), bool)
    fresh[1:] = (np.diff(request) > 0) | (np.diff(elevation) > 1e-4)
    return Roots(request[fresh], speed[fresh], elevation[fresh], azimuth[fresh])
