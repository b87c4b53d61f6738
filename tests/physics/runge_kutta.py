"""Flights by a second method, for the tests: classic Runge-Kutta steps of fourth order, all balls in lockstep, and
moments found between two steps. It shares no code with the integrator of the compiler.

Arrays are component first, (3, n) for n balls (lanes), float64, SI, in the court frame. Force law: A. Štěpánek, "The
aerodynamics of tennis balls: the topspin lob", Am. J. Phys. 56, 138 (1988).
"""

from collections.abc import Callable
from dataclasses import dataclass
from math import ceil

import numpy as np
from numpy.typing import NDArray

from feedwright.compiler.physics.air import Air
from feedwright.compiler.physics.ball import Ball

Array = NDArray[np.float64]
Scalars = float | Array
Crossing = tuple[NDArray[np.intp], NDArray[np.bool_], Array]
"""The sample before it, whether there is one, and the share of the step after it, (n,) each."""

GRAVITY = 9.81  # m/s²

# C_D = offset + spin_drag / (DRAG_A + DRAG_B q^2.5)^0.4 and C_L = 1 / (LIFT_A + LIFT_B q), with q = speed / rim speed.
DRAG_A, DRAG_B = 22.503, 4.196
LIFT_A, LIFT_B = 2.022, 0.981
TINY = 1e-300  # keeps a resting ball without spin from dividing zero by zero


@dataclass(frozen=True, slots=True)
class Path:
    """Flown balls at s equal steps of time: `time` (s,), `position` and `velocity` (s, 3, n), `spin` (3, n)."""

    time: Array
    position: Array
    velocity: Array
    spin: Array
    ball: Ball
    air: Air
    gravity: float = GRAVITY


@dataclass(frozen=True, slots=True)
class Moment:
    """One moment of each ball: `time` (n,), `position` and `velocity` (3, n); NaN where it does not happen."""

    time: Array
    position: Array
    velocity: Array


class _Stepper:
    """Classic fourth-order Runge-Kutta steps of the velocity relative to the air, in buffers that are reused.

    The force does not depend on position, so the position's own Runge-Kutta sum needs no further evaluations. The
    coefficients are folded: with w = R|ω|, s = spin_drag and k = ρA/2m the acceleration is
    -k (offset + s w (DRAG_A w^2.5 + DRAG_B v^2.5)^-0.4) v u + (k R / LIFT_B) v / (v + w LIFT_A / LIFT_B) ω × u - g.
    """

    def __init__(self, spin: Array, ball: Ball, air: Air, gravity: float) -> None:
        n = spin.shape[1]
        k = air.density_kg_m3 * ball.area_m2 / (2 * ball.mass_kg)
        rim = ball.radius_m * np.sqrt(np.einsum("in,in->n", spin, spin))
        self.gravity = gravity
        self.drag = k * ball.drag_offset
        self.spin_drag = k * DRAG_B**-0.4 * ball.spin_drag * rim
        self.spin_thick = np.maximum(DRAG_A / DRAG_B * rim**2.5, TINY)
        self.lift_shift = np.maximum(LIFT_A / LIFT_B * rim, TINY)
        turn = np.take(k * ball.radius_m / LIFT_B * spin, (0, 1, 2, 0, 1), axis=0)
        self.turn_1, self.turn_2 = turn[1:4], turn[2:5]
        # The velocity with its first two rows repeated below: rows 1-3 and 2-4 are then the rotations of ω × u.
        self.u = np.empty((5, n))
        self.u_0, self.u_1, self.u_2 = self.u[:3], self.u[1:4], self.u[2:5]
        self.u_head, self.u_tail = self.u[:2], self.u[3:]
        self.product = np.empty((3, n))
        self.square, self.speed, self.thick, self.lift = np.empty((4, n))
        self.stages = tuple(np.empty((4, 3, n)))
        self.drops = tuple(stage[2] for stage in self.stages)

    def _accelerate(self, stage: int) -> None:
        """Fill a stage with the acceleration at the velocity in `u`."""
        add, multiply, subtract, sqrt = np.add, np.multiply, np.subtract, np.sqrt
        u, out, product = self.u_0, self.stages[stage], self.product
        square, speed, thick, lift = self.square, self.speed, self.thick, self.lift
        self.u_tail[...] = self.u_head
        multiply(u, u, product)
        add.reduce(product, axis=0, out=square)
        sqrt(square, speed)
        sqrt(speed, thick)
        multiply(thick, square, thick)  # v^2.5 without a power
        add(thick, self.spin_thick, thick)
        np.power(thick, -0.4, thick)
        multiply(thick, self.spin_drag, thick)
        add(thick, self.drag, thick)
        multiply(thick, speed, thick)
        add(speed, self.lift_shift, lift)
        np.divide(speed, lift, lift)
        multiply(self.turn_1, self.u_2, out)
        multiply(self.turn_2, self.u_1, product)
        subtract(out, product, out)
        multiply(out, lift, out)
        multiply(u, thick, product)
        subtract(out, product, out)
        drop = self.drops[stage]
        subtract(drop, self.gravity, drop)

    def acceleration(self, relative: Array) -> Array:
        """Acceleration (3, n) at a velocity relative to the air."""
        self.u_0[...] = relative
        self._accelerate(0)
        return self.stages[0]

    def advance(self, relative: Array, step: Scalars, relative_out: Array, moved_out: Array) -> None:
        """One step, one length for all or (n,): the new velocity relative to the air, and the way through the air."""
        add, multiply = np.add, np.multiply
        u, (first, second, third, fourth) = self.u_0, self.stages
        half, sixth = step / 2, step / 6
        u[...] = relative
        self._accelerate(0)
        multiply(first, half, u)
        add(u, relative, u)
        self._accelerate(1)
        multiply(second, half, u)
        add(u, relative, u)
        self._accelerate(2)
        multiply(third, step, u)
        add(u, relative, u)
        self._accelerate(3)
        add(second, third, second)
        add(first, second, first)
        multiply(first, sixth, third)
        add(third, relative, third)
        multiply(third, step, moved_out)
        add(first, second, first)
        add(first, fourth, first)
        multiply(first, sixth, first)
        add(first, relative, relative_out)


def _wind(air: Air) -> Array:
    return np.array(air.wind_mps, float).reshape(3, 1)


def fly(
    position: Array,
    velocity: Array,
    spin: Array,
    ball: Ball,
    air: Air,
    *,
    floor: Scalars,
    step: float = 0.04,
    most: float = 8.0,
    gravity: float = GRAVITY,
) -> Path:
    """Fly n balls, (3, n) each, in lockstep until every centre is below `floor` (scalar or (n,)) and falling, or `most`
    seconds have passed. Lanes that arrive early fly on below the floor; ask `at_height` for the landing."""
    velocity, spin = np.asarray(velocity, float), np.asarray(spin, float)
    lanes, wind, count = velocity.shape[1], _wind(air), max(1, ceil(most / step))
    drift = wind * step if wind.any() else None
    positions, velocities = np.empty((2, count + 1, 3, lanes))
    positions[0] = position
    np.subtract(velocity, wind, velocities[0])
    spin = np.broadcast_to(spin, velocity.shape)
    stepper = _Stepper(spin, ball, air, gravity)
    above = np.empty(lanes, bool)
    last = 0
    while last < count:
        here, there = positions[last], positions[last + 1]
        stepper.advance(velocities[last], step, velocities[last + 1], there)
        np.add(there, here, there)
        if drift is not None:
            np.add(there, drift, there)
        last += 1
        np.greater_equal(there[2], floor, above)
        if not above.any() and not (velocities[last, 2] >= -wind[2]).any():
            break
    velocities = velocities[: last + 1]
    if drift is not None:
        velocities += wind
    time = np.arange(last + 1, dtype=np.float64) * step
    return Path(time, positions[: last + 1], velocities, spin, ball, air, gravity)


def at_height(path: Path, height: Scalars) -> Moment:
    """The first time the centre falls through `height` (m, scalar or (n,))."""
    return _falling(path, 2, 1.0, height)


def at_plane(path: Path, y: Scalars) -> Moment:
    """The first time the centre crosses `y` (m, scalar or (n,)) in the direction of the launch along the court."""
    return _falling(path, 1, _away(path), y)


def _away(path: Path) -> Array:
    return np.where(path.velocity[0, 1] < 0, 1.0, -1.0)


def apex(path: Path) -> Moment:
    """The first highest point of the centre; NaN for a ball that starts downwards."""
    rise = path.velocity[:, 2]
    index, found = _first((rise[:-1] >= 0) & (rise[1:] < 0))
    lane = np.arange(len(index))
    step = path.time[1]
    heights = path.position[:, 2]
    start, end = heights[index, lane], heights[index + 1, lane]
    up, down = step * np.where(found, rise[index, lane], 1.0), step * np.where(found, rise[index + 1, lane], -1.0)
    linear, quadratic, cubic = _hermite(start, end, up, down)
    share = up / (up - down)
    for _ in range(2):
        slope = 2 * quadratic + 6 * cubic * share
        share = np.clip(share - (linear + share * (2 * quadratic + 3 * cubic * share)) / np.minimum(slope, -1e-9), 0, 1)
    return _moment(path, index, found, share * step, lambda x, v, a: v[2] / np.maximum(-a[2], 1e-3))


def _first(hit: NDArray[np.bool_]) -> tuple[NDArray[np.intp], NDArray[np.bool_]]:
    """The first step (n,) of each lane that has a hit (s - 1, n), and whether there is one."""
    index = hit.argmax(axis=0)
    return index, hit[index, np.arange(hit.shape[1])]


def _hermite(start: Array, end: Array, slope_start: Array, slope_end: Array) -> tuple[Array, Array, Array]:
    """Coefficients of the share, its square and its cube in the cubic through two samples with their slopes."""
    rise = end - start
    return slope_start, 3 * rise - 2 * slope_start - slope_end, slope_start + slope_end - 2 * rise


def _crossing(path: Path, axis: int, sign: Scalars, level: Scalars) -> Crossing:
    """The first time that f = sign * (coordinate - level) falls through zero."""
    step = path.time[1]
    f = sign * (path.position[:, axis] - level)
    index, found = _first((f[:-1] >= 0) & (f[1:] <= 0))
    if axis == 2 and not found.all():
        # Up through the level and down again within one step: the vertex of the parabola with the two slopes is above.
        slope = sign * step * path.velocity[:, axis]
        grazing = (slope[:-1] > 0) & (f[1:] <= 0) & (slope[1:] <= 0)
        grazing &= slope[:-1] ** 2 + 2 * f[:-1] * (slope[:-1] - slope[1:]) >= 0
        graze_index, grazes = _first(grazing)
        index = np.where(found, index, graze_index)
        found = found | grazes
    lane = np.arange(len(index))
    start, end = np.where(found, f[index, lane], 1.0), np.where(found, f[index + 1, lane], -1.0)
    slopes = sign * step * path.velocity[:, axis][(index, index + 1), lane]
    linear, quadratic, cubic = _hermite(start, end, *np.where(found, slopes, -2.0))
    # Falling root of the parabola, in the form without cancellation; then Newton on the cubic.
    root = np.sqrt(np.maximum(linear**2 - 4 * quadratic * start, 0.0))
    rising = linear > 0
    share = np.where(rising, -(linear + root), 2 * start) / np.where(
        rising, np.minimum(2 * quadratic, -1e-12), np.maximum(root - linear, 1e-12)
    )
    share = np.clip(share, 0.0, 1.0)
    for _ in range(2):
        value = start + share * (linear + share * (quadratic + share * cubic))
        slope = linear + share * (2 * quadratic + 3 * cubic * share)
        share = np.clip(share - value / np.minimum(slope, -1e-9), 0.0, 1.0)
    return index, found, share


def _falling(path: Path, axis: int, sign: Scalars, level: Scalars) -> Moment:
    """The state at a crossing."""
    index, found, share = _crossing(path, axis, sign, level)

    def correction(position: Array, velocity: Array, acceleration: Array) -> Array:
        return sign * (position[axis] - level) / np.maximum(-sign * velocity[axis], 1e-6)

    return _moment(path, index, found, share * path.time[1], correction)


def _moment(
    path: Path,
    index: NDArray[np.intp],
    found: NDArray[np.bool_],
    duration: Array,
    correction: Callable[[Array, Array, Array], Array],
) -> Moment:
    """The state a `duration` (n,) after sample `index` by one Runge-Kutta step, and one Newton correction of the time.

    The guess is good to microseconds, so the correction is a Taylor step; it is limited to a thousandth of a step
    because a level just below the apex would make it large (the height is right there, the time has no sharp value).
    """
    lane, wind = np.arange(len(index)), _wind(path.air)
    stepper = _Stepper(path.spin, path.ball, path.air, path.gravity)
    relative = path.velocity[index, :, lane].T - wind
    velocity, moved = np.empty_like(relative), np.empty_like(relative)
    stepper.advance(relative, duration, velocity, moved)
    position = path.position[index, :, lane].T + moved + wind * duration
    acceleration = stepper.acceleration(velocity)
    velocity += wind
    limit = 1e-3 * path.time[1]
    late = np.clip(correction(position, velocity, acceleration), -limit, limit)
    position += late * (velocity + late / 2 * acceleration)
    velocity += late * acceleration
    time = path.time[index] + duration + late
    missing = ~found
    time[missing] = position[:, missing] = velocity[:, missing] = np.nan
    return Moment(time, position, velocity)
