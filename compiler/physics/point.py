"""The launch at an elevation that passes a point: its speed and its azimuth."""

import numpy as np

from ...grammar.frozen import Frozen
from .flight import GRAVITY, Array, Drag, Index, drag_coefficient, fly, launch, lift_coefficient
from .moments import Flags, at_height, at_plane
from .outcome import Conditions, Release

SLOWEST, FASTEST = 1.5, 75.0  # m/s, what the scan tries; limits of a feeder are another matter
# Of the logarithm of the drop and of the bearing, by the logarithm of the speed and the azimuth; most change of those.
FIRST_RATES = np.array([[[-1.9], [0.0]], [[0.0], [1.0]]])
MOST_CHANGE = np.array([[0.3], [0.15]])


class Wanted(Frozen):
    """n requests. `point` (3, n): where the centre is to pass, on landing or, with `full`, at the stance. `kind` one of
    those in `launches`, `value` (n,) in SI; spins rad/s; `origin` (3, n)."""

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


def pointed(lanes: Wanted, elevation: Array, conditions: Conditions) -> tuple[Array, Array]:
    """Speed and azimuth of the launch at an elevation (n,) that passes the point of each request; NaN where there is
    none."""
    with np.errstate(invalid="ignore", divide="ignore", over="ignore"):
        return _pointed(lanes, elevation, conditions)


def line(lanes: Wanted) -> tuple[Array, Array, Array]:
    """From origin to point: the difference (3, n), the distance over the ground and the bearing."""
    delta = lanes.point - lanes.origin
    return delta, np.hypot(delta[0], delta[1]), np.arctan2(delta[0], delta[1])


def estimate(lanes: Wanted, elevation: Array, speed: Array, conditions: Conditions) -> tuple[Array, ...]:
    """Of a launch at the point: how far the ball is below its straight line, m, the part that lift has in it, by how
    much it turns off to the right, rad.

    Drag grows with the square along the way of a parabola, coefficients as early in the flight; wind moves the ball by
    as much as it blows in the time that drag costs.
    """
    ball, air = conditions.ball, conditions.air
    _, distance, bearing = line(lanes)
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
    delta, distance, bearing = line(lanes)
    room = distance * np.tan(elevation) - delta[2]
    speed = np.full_like(room, 25.0)
    for _ in range(4):
        drop, lifted, _ = estimate(lanes, elevation, speed, conditions)
        speed *= np.sqrt((drop - lifted) / np.maximum(room - lifted, 0.02 * (drop - lifted)))
        speed = np.clip(speed, 1.5 * SLOWEST, 0.8 * FASTEST)
    return speed, bearing - estimate(lanes, elevation, speed, conditions)[2]


def _pointed(lanes: Wanted, elevation: Array, conditions: Conditions) -> tuple[Array, Array]:
    """Speed and azimuth of each lane, NaN where there is none, by Broyden's method from a guess.

    Over the point a ball is below the straight line of its launch by about a constant over the square of its speed:
    the logarithms of drop and speed lie nearly on a line, and two or three flights are enough. Lobs take a few more.
    """
    speed, azimuth = _guess(lanes, elevation, conditions)
    delta, distance, _ = line(lanes)
    # Backspin may carry the ball over the line: count the drop from above what lift can do.
    lifted = estimate(lanes, elevation, np.minimum(speed, 20.0), conditions)[1]
    room = distance * np.tan(elevation) - delta[2] + np.maximum(0.02 * distance, -1.5 * lifted)
    slowest, fastest = np.log(SLOWEST), np.log(FASTEST)
    x = np.array([np.log(speed), azimuth])
    rates = np.repeat(FIRST_RATES, len(speed), axis=2)
    change, last, answer = np.full((3, *x.shape), np.nan)
    live = np.flatnonzero(room > 0)
    for trial in range(16):
        over, side = _passed(lanes.at(live), np.exp(x[0, live]), elevation[live], x[1, live], conditions)
        now = np.array([np.log(np.maximum(1 - over / room[live], 0.02)), side])  # first positive: too slow
        rate = rates[:, :, live]
        if trial:
            moved = change[:, live]
            learnt = now - last[:, live] - (rate * moved).sum(axis=1)
            rate += learnt[:, None] * moved / np.maximum((moved**2).sum(axis=0), 1e-12)
        # A matrix that says drop does not fall with speed has learnt wrongly: back to the first.
        rate = np.where(rate[0, 0] * rate[1, 1] - rate[0, 1] * rate[1, 0] < -0.1, rate, FIRST_RATES)
        (a, b), (c, d) = rate
        move = np.array([b * now[1] - d * now[0], c * now[0] - a * now[1]]) / (a * d - b * c)
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
    delta, distance, bearing = line(lanes)
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
