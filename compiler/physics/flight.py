"""Flight of many balls at once: drag, lift, and an integrator that has all moments of an arc at once.

Arrays are component first, (3, n) for n balls (lanes), float64, SI, in the court frame: origin on the ground under the
middle of the net, y towards the player, x to the feeder's right, z up. Force law: A. Štěpánek, "The aerodynamics of
tennis balls: the topspin lob", Am. J. Phys. 56, 138 (1988), fitted at about 13-27 m/s and 800-3250 rpm. R. Cross and
C. Lindsey, Sports Eng. 17, 89 (2014), found that drag does not grow with spin: the ball says how much of that growth it
has. Spin is constant in flight: about 2 % is lost in 6.4 m (Cross & Lindsey 2014).

Integrator: the velocity relative to the air obeys an equation without position. Picard's iteration on Chebyshev nodes
(C. W. Clenshaw & H. J. Norton, Comput. J. 6, 88 (1963); X. Bai & J. L. Junkins, J. Astronaut. Sci. 58, 583 (2011))
puts the velocities at all nodes of an arc into the force law and integrates what comes out by one matrix product,
again and again. Here each pass first takes the decay of the velocity by drag out, as an integrating factor, so that a
pass has little left to correct: five are enough. What a lane comes to does not depend on the lanes beside it.
"""

import numpy as np
from numpy.typing import NDArray

from ...grammar.frozen import Frozen
from .air import Air
from .ball import DRAG_SPREAD, Ball

Array = NDArray[np.float64]
Index = NDArray[np.intp]
Scalars = float | Array

GRAVITY = 9.81  # m/s²

# C_D = offset + spin_drag / (DRAG_A + DRAG_B q^2.5)^0.4 and C_L = 1 / (LIFT_A + LIFT_B q), with q = speed / rim speed.
DRAG_A, DRAG_B = 22.503, 4.196
LIFT_A, LIFT_B = 2.022, 0.981
TINY = 1e-300  # keeps a resting ball without spin from dividing zero by zero

NODES, PASSES = 10, 5
"""Nodes of an arc, and how often the force law is asked at all of them."""
DECAY = 1.5
"""Drag slows a change along the flight twice as fast as one across it; the integrating factor takes the mean."""
MOST_DECAY, NEAREST = 0.7, 2.0
"""How long an arc may be. The speed falls as 1 / (1 + D t): no longer than so many 1 / D. And the force is not smooth
where the speed is zero, at complex times beside the apex: of the ellipse through that time, around the ends of the
arc, the long axis is at least so many arcs. By trial; PHYSICS.md has the error that is left."""
SHORTEST = 0.2  # s; straight up and down the speed is zero at the apex, and the arc has to get past it
MARGIN = 1.04  # an arc that should come down is made so much longer, lest it ends just above the floor
LANES = 512  # computed at once, so that they stay in the processor's cache


class Drag(Frozen):
    """What makes a drag coefficient, one for all lanes or (n,): `offset` without spin, and how much of Štěpánek's
    growth with spin comes on top, 0 (Cross & Lindsey 2014) to 1 (Štěpánek 1988)."""

    offset: Scalars
    spin: Scalars

    @staticmethod
    def of(ball: Ball, doubt: Scalars = 0.0) -> "Drag":
        """The ball's, or what it may be: at a `doubt` of -1 the least drag, at 1 the most. Either end takes both
        doubts the same way at once: one published spread of the coefficient, and the other published answer to how
        drag grows with spin. That they come together is our own choice, for the outside of what is likely."""
        toward = np.asarray(doubt, float)
        growth = np.where(toward < 0, ball.spin_drag, 1 - ball.spin_drag)
        return Drag(ball.drag_offset + DRAG_SPREAD * toward, ball.spin_drag + growth * toward)


def drag_coefficient(speed: Scalars, rim_speed: Scalars, drag: Drag) -> Array:
    """C_D for a speed relative to the air and a rim speed R|ω| (m/s). Štěpánek (1988)."""
    speed, rim_speed = np.asarray(speed, float), np.asarray(rim_speed, float)
    thick = DRAG_A * rim_speed**2.5 + DRAG_B * speed**2.5
    return np.asarray(drag.offset + drag.spin * rim_speed * np.maximum(thick, TINY) ** -0.4)


def lift_coefficient(speed: Scalars, rim_speed: Scalars) -> Array:
    """C_L for a speed relative to the air and a rim speed R|ω| (m/s); 0 without spin. Štěpánek (1988)."""
    speed, rim_speed = np.asarray(speed, float), np.asarray(rim_speed, float)
    return np.asarray(rim_speed / np.maximum(LIFT_A * rim_speed + LIFT_B * speed, TINY))


def launch(
    speed: Scalars, elevation: Scalars, azimuth: Scalars, topspin: Scalars, sidespin: Scalars
) -> tuple[Array, Array]:
    """Velocity and spin, (3, n) each, from m/s, rad and rad/s, (n,) each or scalar.

    Elevation above horizontal, azimuth positive towards +x. Topspin turns about the horizontal to the left of the
    flight (-x for a ball flying along +y); sidespin about the upward normal to the velocity in its vertical plane
    (curves the ball towards -x).
    """
    speed, elevation, azimuth, topspin, sidespin = np.broadcast_arrays(
        *(np.atleast_1d(np.asarray(value, float)) for value in (speed, elevation, azimuth, topspin, sidespin))
    )
    up, along, right, ahead = np.sin(elevation), np.cos(elevation), np.sin(azimuth), np.cos(azimuth)
    velocity = np.array((speed * along * right, speed * along * ahead, speed * up))
    spin = np.array(
        (
            -topspin * ahead - sidespin * up * right,
            topspin * right - sidespin * up * ahead,
            sidespin * along,
        )
    )
    return velocity, spin


class Arc(Frozen):
    """m stretches of flights as polynomials: from `begin` (m,) s for `length` (m,) s, `position` and `velocity`
    (3, k, m) at the k nodes `SHARES` of it. `lanes` (m,) says whose flights they are."""

    lanes: Index
    begin: Array
    length: Array
    position: Array
    velocity: Array


class Path(Frozen):
    """Flown balls: `velocity` (3, n) of the launch, and all their arcs, those of one ball in order of time; side by
    side, so that a moment is looked for in all of them at once."""

    velocity: Array
    arcs: Arc


def _tables() -> tuple[Array, Array, Array]:
    """Of the Chebyshev points with both ends (Clenshaw & Curtis, Numer. Math. 2, 197 (1960)): the nodes as shares of an
    arc, the matrix that takes values to integrals from the start, and the weights of barycentric interpolation (Berrut
    & Trefethen, SIAM Rev. 46, 501 (2004))."""
    last = NODES - 1
    order = np.arange(NODES)
    angle = np.pi * (1 - order / last)
    halved = np.where((order == 0) | (order == last), 0.5, 1.0)
    to_series = 2 / last * halved[:, None] * np.cos(np.outer(order, angle)) * halved
    series = np.cos(np.outer(angle, np.arange(NODES + 1)))
    integral = np.empty((NODES, NODES))
    integral[:, 0], integral[:, 1] = series[:, 1], series[:, 2] / 4
    for k in range(2, NODES):
        integral[:, k] = (series[:, k + 1] / (k + 1) - series[:, k - 1] / (k - 1)) / 2
    integral -= integral[0].copy()
    return (1 + np.cos(angle)) / 2, integral @ to_series / 2, np.where(order % 2, -1.0, 1.0) * halved


SHARES, INTEGRAL, WEIGHTS = _tables()


class _Force(Frozen):
    """What the force on each lane depends on beside its velocity, (m,) each and `turn` (3, m).

    The coefficients are folded: with w = R|ω|, s = spin_drag and k = ρA/2m the acceleration is
    -k (offset + s w (DRAG_A w^2.5 + DRAG_B v^2.5)^-0.4) v u + (k R / LIFT_B) v / (v + w LIFT_A / LIFT_B) ω × u - g.
    """

    gravity: float
    drag: Array
    spin_drag: Array
    thick: Array
    shift: Array
    turn: Array

    @staticmethod
    def of(spin: Array, ball: Ball, air: Air, gravity: float, drag: Drag) -> "_Force":
        k = air.density_kg_m3 * ball.area_m2 / (2 * ball.mass_kg)
        rim = ball.radius_m * np.sqrt(spin[0] * spin[0] + spin[1] * spin[1] + spin[2] * spin[2])
        least = np.maximum(rim, 1e-3)  # of so little spin no force is felt
        return _Force(
            gravity, k * drag.offset + np.zeros(rim.shape), k * DRAG_B**-0.4 * drag.spin * rim,
            DRAG_A / DRAG_B * least**2.5,
            LIFT_A / LIFT_B * least, k * ball.radius_m / LIFT_B * spin,
        )  # fmt: skip

    def at(self, index: Index) -> "_Force":
        return _Force(
            self.gravity,
            self.drag[index],
            self.spin_drag[index],
            self.thick[index],
            self.shift[index],
            self.turn.take(index, axis=1),
        )


def fly(
    position: Array,
    velocity: Array,
    spin: Array,
    ball: Ball,
    air: Air,
    *,
    floor: Scalars,
    most: float = 8.0,
    gravity: float = GRAVITY,
    drag: Drag | None = None,
) -> Path:
    """Fly n balls, (3, n) each, every one until its centre is below `floor` (scalar or (n,)) and falling, or for `most`
    seconds; a little beyond the floor, so that the fall through it is on the path. `drag` takes the place of the
    ball's. A lane with a number that is not finite has no path."""
    start = np.array(velocity, float)
    wind = np.array(air.wind_mps, float).reshape(3, 1)
    still, time = np.zeros(start.shape), np.zeros(start.shape[1])
    here, relative, floor = still + position, start - wind, time + floor
    force = _Force.of(still + spin, ball, air, gravity, drag or Drag.of(ball))
    arcs: list[Arc] = []
    live = np.flatnonzero(np.isfinite(here + start).all(axis=0))
    while len(live):
        onward = []
        for first in range(0, len(live), LANES):
            some = live[first : first + LANES]
            alone = len(some) == 1
            if alone:  # a product of a matrix and a single column is added up in another order
                some = np.repeat(some, 2)
            few = force.at(some)
            arc, after = _arc(
                some, here.take(some, axis=1), relative.take(some, axis=1), few, floor[some], time[some], most, wind
            )
            if alone:
                some, after, arc = some[:1], after[:, :1], Arc(*(value[..., :1] for value in arc.values()))
            arcs.append(arc)
            end, rise, until = arc.position[:, -1], arc.velocity[2, -1], arc.begin + arc.length
            further = some[((end[2] >= floor[some]) | (rise >= 0)) & (until < most)]
            if len(further):
                here[:, some], relative[:, some], time[some] = end, after, until
                onward.append(further)
        live = np.concatenate(onward) if onward else live[:0]
    return Path(start, joined(arcs))


def joined(arcs: list[Arc]) -> Arc:
    """Arcs side by side."""
    if len(arcs) == 1:
        return arcs[0]
    if not arcs:
        return Arc(np.empty(0, np.intp), *np.empty((2, 0)), *np.empty((2, 3, NODES, 0)))
    return Arc(*(np.concatenate(values, axis=-1) for values in zip(*(arc.values() for arc in arcs), strict=True)))


def _arc(
    lanes: Index, here: Array, relative: Array, force: _Force, floor: Array, begin: Array, most: float, wind: Array
) -> tuple[Arc, Array]:
    """The next arc of m lanes, and their velocities (3, m) relative to the air at its end."""
    square = relative[0] * relative[0] + relative[1] * relative[1] + relative[2] * relative[2]
    speed = np.sqrt(square)
    slowing = (force.drag + force.spin_drag * (force.thick + square * np.sqrt(speed)) ** -0.4) * speed
    (a, b, c), (u, v, w) = force.turn, relative
    lift = np.array((b * w - c * v, c * u - a * w, a * v - b * u))
    lift *= speed / (speed + force.shift)
    length = _length(here[2] - floor, relative[2], wind[2], speed, slowing, lift[2], force.gravity, most - begin)
    velocity = _velocities(relative, slowing, lift, length, force)
    position = np.matmul(INTEGRAL, velocity)
    after = velocity[:, -1].copy()
    if wind.any():
        velocity += wind[:, None]
        position += wind[:, None] * SHARES[:, None]
    position *= length
    position += here[:, None]
    return Arc(lanes, begin, length, position, velocity), after


def _length(
    fall: Array, rise: Array, wind: Array, speed: Array, slowing: Array, lift: Array, gravity: float, left: Array
) -> Array:
    """How long the next arc is to be, s: down to the floor, `fall` below, or an even part of the way there."""
    slow, weight = np.maximum(slowing, 1e-4), max(gravity, 1e-3)
    up, down = rise + wind, np.maximum(weight - lift, 0.3 * weight)
    time = np.maximum((up + np.sqrt(np.maximum(up * up + 2 * down * fall, 0.0))) / down, 0.0)
    # One step of Newton's method for a ball whose speed falls as 1 / (1 + D t).
    lost = np.maximum(slow * time, 1e-9)
    log = np.log1p(lost)
    sunk = lift * log - weight * (lost * (1 + lost / 2) / log - 1)
    height = fall + wind * time + (rise + sunk / (2 * slow)) * log / slow
    sink = (rise + lift * log / slow - weight * time * (1 + lost / 2)) / (1 + lost) + wind
    time = np.minimum(np.maximum(time - height / np.minimum(sink, -0.5), 0.5 * time), 2 * time)
    time = np.minimum(MARGIN * time + 0.01, left)
    smooth = 2 * (NEAREST * speed - rise) / ((NEAREST**2 - 1) * weight)
    longest = np.minimum(np.maximum(smooth, SHORTEST), MOST_DECAY / slow)
    return np.asarray(time / np.ceil(time / longest))


def _velocities(start: Array, slowing: Array, lift: Array, length: Array, force: _Force) -> Array:
    """Velocities relative to the air at the nodes, (3, k, m), in buffers that every pass uses again.

    With D the drag of the first guess and E = exp(∫ DECAY D dt) each pass solves u' + DECAY D u = f(u) + DECAY D u for
    the u on the left: E u = u(0) + ∫ E (f(u) + DECAY D u) dt.
    """
    add, multiply, integrate = np.add, np.multiply, np.matmul
    # Three rows with the first two repeated below: rows 1-3 and 2-4 are then the rotations of ω × u.
    u_rows, turn_rows = np.empty((2, 5, NODES, len(length)))
    u, u_1, u_2, u_head, u_tail = u_rows[:3], u_rows[1:4], u_rows[2:], u_rows[:2], u_rows[3:]
    turn_rows[:3], turn_rows[3:] = force.turn[:, None], force.turn[:2, None]
    turn_1, turn_2 = turn_rows[1:4], turn_rows[2:]
    product, change, fixed = np.empty((3, 3, NODES, len(length)))
    square, speed, root, thin, drag, side = np.empty((6, NODES, len(length)))

    # The guess: a speed that falls as 1 / (1 + D t), with gravity and the first lift on it.
    time = SHARES[:, None] * length
    lost = slowing * time
    multiply(lift[:, None], time, u)
    add(u, start[:, None], u)
    u[2] -= force.gravity * time * (1 + lost / 2)
    u /= 1 + lost
    for number in range(PASSES):
        multiply(u, u, product)
        add.reduce(product, axis=0, out=square)
        np.sqrt(square, speed)
        np.sqrt(speed, root)
        multiply(square, root, square)
        add(square, force.thick, square)
        if number < 2:
            np.power(square, -0.4, thin)
        else:  # x^-0.4 from that of the last pass by Newton's method for y^-5 = x², a tenth of the time of a power
            multiply(square, square, square)
            multiply(thin, thin, root)
            multiply(root, root, root)
            multiply(root, thin, root)
            multiply(root, square, root)
            multiply(root, -0.2, root)
            add(root, 1.2, root)
            multiply(thin, np.maximum(root, 0.4, out=root), thin)
        multiply(thin, force.spin_drag, drag)
        add(drag, force.drag, drag)
        multiply(drag, speed, drag)
        if number == 0:
            decay = DECAY * drag
            grown = np.exp(integrate(INTEGRAL, decay * length))
            weight, shrunk = grown * length, 1 / grown
            fixed[...] = start[:, None]
            fixed[2] -= force.gravity * integrate(INTEGRAL, weight)
        np.subtract(decay, drag, drag)
        multiply(drag, weight, drag)
        add(speed, force.shift, side)
        np.divide(speed, side, side)
        multiply(side, weight, side)
        u_tail[...] = u_head
        multiply(turn_1, u_2, change)
        multiply(turn_2, u_1, product)
        np.subtract(change, product, change)
        multiply(change, side, change)
        multiply(u, drag, product)
        add(change, product, change)
        integrate(INTEGRAL, change, out=product)
        add(product, fixed, product)
        multiply(product, shrunk, u)
    return u
