"""Launches that do what is asked: through a point with a spin, and one thing more.

For a fixed point and spin each elevation has one speed; along that curve what is asked mostly rises with elevation. So
a coarse scan of elevations finds every arc, the low and the looped one, and Newton's method in speed, elevation and
azimuth refines each. All feeds and all elevations are flown as one batch.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .flight import GRAVITY, Array, at_height, at_plane, fly, launch
from .outcome import Conditions, Outcome, Release, outcome

# What beside place and spin fixes a flight.
CLEARANCE, CONTACT_HEIGHT, CONTACT_RISE, SPEED, CONTACT_TIME = range(5)
Flags = NDArray[np.bool_]

ELEVATIONS = np.radians(np.concatenate([np.arange(-16, 16, 2.0), np.arange(16, 40, 3.0), np.arange(40, 81, 4.0)]))
SLOWEST, FASTEST = 1.5, 90.0  # m/s, what the scan tries; limits of a feeder are another matter
HIT = 2e-4
"""A launch counts as found when it meets the point within this, in m, and what is asked within the same in SI."""
COARSE_STEP = 0.08  # s; 30 µm against 2 ms steps for feeds of 18-35 m/s


@dataclass(frozen=True, slots=True)
class Wanted:
    """n requests. `point` (3, n): where the centre is to pass, on landing or, with `full`, at the stance. `kind` one of
    the constants above, `value` (n,) in SI; spins rad/s; `origin` (3, n)."""

    origin: Array
    point: Array
    stance: Array
    full: Flags
    topspin: Array
    sidespin: Array
    kind: NDArray[np.intp]
    value: Array

    def at(self, index: NDArray[np.intp]) -> "Wanted":
        return Wanted(
            self.origin[:, index], self.point[:, index], self.stance[index], self.full[index],
            self.topspin[index], self.sidespin[index], self.kind[index], self.value[index],
        )  # fmt: skip

    def release(self, speed: Array, elevation: Array, azimuth: Array) -> Release:
        return Release(self.origin, speed, elevation, azimuth, self.topspin, self.sidespin)


@dataclass(frozen=True, slots=True)
class Scan:
    """Launches through each request's point, one an elevation: (n, e) each, NaN where there is none. `measure` is what
    was asked for, in SI, so that its reach can be told where nothing fits."""

    elevation: Array
    speed: Array
    azimuth: Array
    measure: Array


@dataclass(frozen=True, slots=True)
class Roots:
    """Launches that fit: (m,) each; `request` says which request each belongs to, in rising elevation."""

    request: NDArray[np.intp]
    speed: Array
    elevation: Array
    azimuth: Array


def solve(wanted: Wanted, conditions: Conditions) -> tuple[Roots, Scan]:
    """Every launch that meets each request, and the scan that led there."""
    scan = through(wanted, ELEVATIONS, conditions)
    roots = _refined(wanted, *_brackets(wanted, scan), conditions)
    grazing = _near_turns(wanted, scan, roots)
    if len(grazing[0]):
        # What is asked turns round between two scanned elevations: look closer there, so that no pair of arcs is missed.
        finer = _finer(wanted, *grazing, conditions)
        roots = _merged(roots, finer)
    return roots, scan


def measure(found: Outcome, speed: Array, kind: NDArray[np.intp]) -> Array:
    """What each request asks for, as flown."""
    return np.choose(
        kind, [found.clearance, found.contact.position[2], found.contact.velocity[2], speed, found.contact.time]
    )


def through(wanted: Wanted, elevations: Array, conditions: Conditions) -> Scan:
    """For each request and elevation the speed and azimuth whose flight passes the point; `elevations` (e,) or (n, e)."""
    n = len(wanted.value)
    grid = np.broadcast_to(elevations, (n, np.shape(elevations)[-1]))
    index = np.repeat(np.arange(n), grid.shape[1])
    lanes, elevation = wanted.at(index), grid.reshape(-1)
    speed, azimuth = _pointed(lanes, elevation, conditions)
    measured = np.full(len(index), np.nan)
    good = np.flatnonzero(np.isfinite(speed))
    if len(good):
        some = lanes.at(good)
        flown = outcome(
            some.release(speed[good], elevation[good], azimuth[good]), some.stance, some.full, conditions, COARSE_STEP
        )
        measured[good] = measure(flown, speed[good], some.kind)
    return Scan(grid, *(a.reshape(grid.shape) for a in (speed, azimuth, measured)))


def _pointed(lanes: Wanted, elevation: Array, conditions: Conditions) -> tuple[Array, Array]:
    """Speed and azimuth of each lane, by a guarded secant in the variable in which the way is nearly straight."""
    delta = lanes.point - lanes.origin
    distance = np.hypot(delta[0], delta[1])
    bearing = np.arctan2(delta[0], delta[1])
    # Without air: v² = g d² / (2 cos² θ (d tan θ - Δz)); drag of about 0.6 asks for a little more.
    room = distance * np.tan(elevation) - delta[2]
    k = conditions.air.density_kg_m3 * conditions.ball.area_m2 * 0.6 / (2 * conditions.ball.mass_kg)
    guess = np.sqrt(GRAVITY / (2 * np.maximum(room, 0.02))) * distance / np.cos(elevation) * np.exp(k * distance / 2)
    speed = np.clip(guess, SLOWEST * 1.5, FASTEST * 0.8)
    azimuth = bearing.copy()
    low, high = np.full_like(speed, SLOWEST), np.full_like(speed, FASTEST)
    last_log, last_miss = np.full_like(speed, np.nan), np.full_like(speed, np.nan)
    answer, answer_azimuth = np.full_like(speed, np.nan), bearing.copy()
    live = np.arange(len(speed))
    for _ in range(24):
        some = lanes.at(live)
        way, side = _way(some, speed[live], elevation[live], azimuth[live], bearing[live], conditions)
        miss = np.log(np.maximum(way, 1e-3) / distance[live])
        # The bearing flown differs from the one wanted by what wind and side spin do: turn back by that much.
        azimuth[live] -= np.arctan2(side, np.maximum(way, 0.1))
        met = (np.abs(miss) < 1e-5) & (np.abs(side) < 1e-3)
        answer[live[met]], answer_azimuth[live[met]] = speed[live[met]], azimuth[live[met]]
        x = np.log(speed[live])
        slope = (miss - last_miss[live]) / (x - last_log[live])
        slope = np.where(np.isfinite(slope) & (slope > 0.2), np.minimum(slope, 4.0), 1.6)
        low[live] = np.where(miss < 0, speed[live], low[live])
        high[live] = np.where(miss > 0, speed[live], high[live])
        last_log[live], last_miss[live] = x, miss
        stepped = np.exp(x - miss / slope)
        inside = (stepped > low[live]) & (stepped < high[live])
        speed[live] = np.where(inside, stepped, np.sqrt(low[live] * high[live]))
        open_ = ~met & (np.log(high[live] / low[live]) > 1e-9)
        live = live[open_]
        if not len(live):
            break
    answer[np.minimum(FASTEST / answer, answer / SLOWEST) < 1.001] = np.nan
    return answer, answer_azimuth


def _way(
    lanes: Wanted, speed: Array, elevation: Array, azimuth: Array, bearing: Array, conditions: Conditions
) -> tuple[Array, Array]:
    """How far each ball comes along the bearing until it falls through its point's height, and how far beside it.

    On the full the point may be passed rising: then the height over the point stands for the way, with a form that is
    right where it is nought.
    """
    velocity, spin = launch(speed, elevation, azimuth, lanes.topspin, lanes.sidespin)
    floor = np.where(lanes.full, lanes.point[2] - 0.3, lanes.point[2])
    path = fly(lanes.origin, velocity, spin, conditions.ball, conditions.air, floor=floor, step=COARSE_STEP)
    spot = at_height(path, lanes.point[2]).position - lanes.origin
    if lanes.full.any():
        distance = np.hypot(*(lanes.point - lanes.origin)[:2])
        plane = at_plane(path, lanes.point[1])
        over = plane.position[2] - lanes.point[2]
        with np.errstate(invalid="ignore"):
            rising = lanes.full & (plane.velocity[2] > 0)
        stretched = distance * np.exp(np.clip(over / np.maximum(0.3 * distance, 1.0), -3, 3))
        ahead = np.stack([np.sin(bearing), np.cos(bearing)])
        beside_plane = (plane.position[0] - lanes.point[0]) * np.array([[1.0], [0.0]])
        spot[:2] = np.where(rising, stretched * ahead + beside_plane, spot[:2])
    along = spot[0] * np.sin(bearing) + spot[1] * np.cos(bearing)
    beside = spot[0] * np.cos(bearing) - spot[1] * np.sin(bearing)
    return np.nan_to_num(along, nan=1e-3), np.nan_to_num(beside)


def _brackets(wanted: Wanted, scan: Scan) -> tuple[NDArray[np.intp], Array, Array, Array]:
    """Start values (request, speed, elevation, azimuth) wherever what is asked is passed between two elevations."""
    off = scan.measure - wanted.value[:, None]
    left, right = off[:, :-1], off[:, 1:]
    with np.errstate(invalid="ignore"):
        crossed = (left <= 0) & (right > 0) | (left >= 0) & (right < 0)
    request, column = np.nonzero(crossed)
    share = left[request, column] / (left[request, column] - right[request, column])

    def between(a: Array) -> Array:
        return a[request, column] + share * (a[request, column + 1] - a[request, column])

    speed = np.exp(between(np.log(scan.speed)))
    return request, speed, between(scan.elevation), between(scan.azimuth)


def _refined(
    wanted: Wanted, request: NDArray[np.intp], speed: Array, elevation: Array, azimuth: Array, conditions: Conditions
) -> Roots:
    """Newton's method from good starts; the derivatives are flown beside each launch, four lanes a start."""
    x = np.stack([speed, elevation, azimuth])
    done = np.zeros(len(request), bool)
    live = np.arange(len(request))
    lanes = wanted.at(request)
    for _ in range(12):
        if not len(live):
            break
        some = lanes.at(live)
        now, slopes = _residuals(some, x[:, live], conditions)
        miss = np.abs(now).max(axis=0)
        done[live[miss < HIT]] = True
        with np.errstate(invalid="ignore"):
            usable = np.isfinite(now).all(axis=0) & np.isfinite(slopes).all(axis=(0, 1))
            usable &= np.abs(np.linalg.det(np.where(usable, slopes, 0).transpose(2, 0, 1))) > 1e-9
        move = usable & (miss > HIT / 100)
        live, now, slopes = live[move], now[:, move], slopes[:, :, move]
        if not len(live):
            break
        change = np.linalg.solve(slopes.transpose(2, 0, 1), now.T[:, :, None])[:, :, 0].T
        most = np.stack([0.25 * x[0, live], np.full(len(live), 0.08), np.full(len(live), 0.08)])
        x[:, live] -= np.clip(change, -most, most)
    order = np.lexsort((x[1][done], request[done]))
    kept = np.flatnonzero(done)[order]
    return _merged(Roots(request[kept], x[0, kept], x[1, kept], x[2, kept]))


def _residuals(lanes: Wanted, x: Array, conditions: Conditions) -> tuple[Array, Array]:
    """Misses (3, m) of launches x = (speed, elevation, azimuth) and their derivatives (3, 3, m) by what is varied."""
    m = x.shape[1]
    steps = np.stack([1e-4 * x[0], np.full(m, 1e-4), np.full(m, 1e-4)])
    trials = np.repeat(x[:, None, :], 4, axis=1)
    for i in range(3):
        trials[i, i + 1] += steps[i]
    four = lanes.at(np.tile(np.arange(m), 4))
    speed, elevation, azimuth = trials.reshape(3, -1)
    flown = outcome(four.release(speed, elevation, azimuth), four.stance, four.full, conditions)
    passed = np.where(four.full, flown.contact.position, flown.landing.position)
    across = np.where(four.full, passed[2] - four.point[2], passed[1] - four.point[1])
    off = np.stack([passed[0] - four.point[0], across, measure(flown, speed, four.kind) - four.value])
    off = off.reshape(3, 4, m)
    slopes = (off[:, 1:] - off[:, :1]) / steps[None]
    return off[:, 0], slopes


def _near_turns(wanted: Wanted, scan: Scan, roots: Roots) -> tuple[NDArray[np.intp], Array, Array]:
    """Where what is asked comes to a turn close to the value without passing it: (request, elevation from, to)."""
    off = scan.measure - wanted.value[:, None]
    a, b, c = off[:, :-2], off[:, 1:-1], off[:, 2:]
    with np.errstate(invalid="ignore"):
        turn = (
            (np.abs(b) <= np.abs(a))
            & (np.abs(b) <= np.abs(c))
            & (np.sign(a) == np.sign(b))
            & (np.sign(b) == np.sign(c))
        )
        close = np.abs(b) < 2 * (np.abs(a - b) + np.abs(c - b))
    request, column = np.nonzero(turn & close)
    # The ends of a scanned stretch count too: the curve may pass the value before the next elevation has no launch.
    finite = np.isfinite(off)
    edge = finite[:, :-1] != finite[:, 1:]
    edge_request, edge_column = np.nonzero(edge)
    request = np.concatenate([request, edge_request])
    first = np.concatenate([scan.elevation[0, column], scan.elevation[0, edge_column]])
    last = np.concatenate([scan.elevation[0, column + 2], scan.elevation[0, edge_column + 1]])
    return request, first, last


def _finer(wanted: Wanted, request: NDArray[np.intp], first: Array, last: Array, conditions: Conditions) -> Roots:
    lanes = wanted.at(request)
    grid = first[:, None] + (last - first)[:, None] * np.linspace(0, 1, 9)
    scan = through(lanes, grid, conditions)
    which, speed, elevation, azimuth = _brackets(lanes, scan)
    return _refined(wanted, request[which], speed, elevation, azimuth, conditions)


def _merged(*parts: Roots) -> Roots:
    """All roots in order, the same launch once."""
    request = np.concatenate([r.request for r in parts])
    speed, elevation, azimuth = (
        np.concatenate([getattr(r, name) for r in parts]) for name in ("speed", "elevation", "azimuth")
    )
    order = np.lexsort((elevation, request))
    request, speed, elevation, azimuth = request[order], speed[order], elevation[order], azimuth[order]
    if len(request) > 1:
        fresh = np.r_[True, (np.diff(request) > 0) | (np.diff(elevation) > 1e-4)]
        request, speed, elevation, azimuth = request[fresh], speed[fresh], elevation[fresh], azimuth[fresh]
    return Roots(request, speed, elevation, azimuth)
