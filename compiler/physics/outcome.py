"""One feed flown whole: over the net, onto the court, up from the bounce, through the plane where it is met."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from .air import Air
from .ball import Ball
from .bounce import Surface, bounce
from .flight import Array, Moment, Path, at_height, at_plane, fly, launch

UNDER = -3.0
"""How far below the ground a flight is followed, so that what is asked of it stays smooth where the ball falls short."""


@dataclass(frozen=True, slots=True)
class Conditions:
    """What all balls of a batch share. Net cord: `net_centre` at x = 0, straight to `net_post` at |x| = `post_x`."""

    ball: Ball
    air: Air
    surface: Surface
    net_centre: float
    net_post: float
    post_x: float
    bounces: int = 1
    """How many bounces the player may let the ball have."""

    def cord(self, x: Array) -> Array:
        return np.asarray(self.net_centre + (self.net_post - self.net_centre) * np.abs(x) / self.post_x)


@dataclass(frozen=True, slots=True)
class Release:
    """Launches of n balls: `origin` (3, n) m; (n,) each m/s, rad, rad/s."""

    origin: Array
    speed: Array
    elevation: Array
    azimuth: Array
    topspin: Array
    sidespin: Array

    def at(self, index: NDArray[np.intp]) -> "Release":
        """The launches at the given places."""
        return Release(
            self.origin[:, index], self.speed[index], self.elevation[index], self.azimuth[index],
            self.topspin[index], self.sidespin[index],
        )  # fmt: skip

    def with_(self, speed: Array, elevation: Array, azimuth: Array) -> "Release":
        return replace(self, speed=speed, elevation=elevation, azimuth=azimuth)


@dataclass(frozen=True, slots=True)
class Outcome:
    """What n balls do; (n,) each, m and s, NaN where it does not happen.

    `clearance`: straight up from the cord to the underside where the centre crosses the net's plane, negative in the
    net. `landing`: the first time the underside touches. `contact`: the centre crosses the stance after the bounce, or
    on the full; `met` says whether it does so above the ground and after no more bounces than allowed. `peak`: highest
    point of the centre on the way.
    """

    clearance: Array
    net_x: Array
    landing: Moment
    contact: Moment
    met: NDArray[np.bool_]
    peak: Array


def outcome(
    release: Release, stance: Array, full: NDArray[np.bool_], conditions: Conditions, step: float = 0.04
) -> Outcome:
    """Fly n balls to the plane y = `stance` (n,), those of `full` (n,) without a bounce."""
    ball, air = conditions.ball, conditions.air
    velocity, spin = launch(release.speed, release.elevation, release.azimuth, release.topspin, release.sidespin)
    floor = np.where(full, UNDER, ball.radius_m)
    path = fly(release.origin, velocity, spin, ball, air, floor=floor, step=step)
    net = at_plane(path, 0.0)
    crossing = (release.origin[1] < 0) & (stance > 0)
    clearance = np.where(crossing, net.position[2] - ball.radius_m - conditions.cord(net.position[0]), np.nan)
    landing = at_height(path, ball.radius_m)
    contact, top = _after(landing, spin, stance, conditions, step)
    if full.any():
        volley = at_plane(path, stance)
        contact = _merged(full, volley, contact)
        landing = _merged(full, Moment(*(np.full_like(a, np.nan) for a in (landing.time, landing.position, landing.velocity))),
                          landing)  # fmt: skip
        top = np.where(full, -np.inf, top)
    until = np.where(full, contact.time, landing.time)
    met = np.isfinite(contact.time) & (contact.position[2] >= ball.radius_m - 1e-9)
    peak = np.fmax(_peak(path, until), top)
    return Outcome(clearance, np.where(crossing, net.position[0], np.nan), landing, contact, met, peak)


def _after(landing: Moment, spin: Array, stance: Array, conditions: Conditions, step: float) -> tuple[Moment, Array]:
    """The contact after a bounce, and the highest point between bounce and contact."""
    surface = conditions.surface
    lost = ~np.isfinite(landing.time)
    start = np.where(lost, 0.0, landing.position)
    speed, turn = bounce(
        np.where(lost, np.array([[0.0], [1.0], [-1.0]]), landing.velocity), spin,
        ball=conditions.ball, friction=surface.friction, restitution=surface.restitution, grip=surface.grip,
    )  # fmt: skip
    path = fly(start, speed, turn, conditions.ball, conditions.air, floor=UNDER, step=step)
    contact = at_plane(path, stance)
    behind = start[1] >= stance  # it bounces beyond the stance: the plane is passed before the bounce
    contact = Moment(*(np.where(lost | behind, np.nan, a) for a in (contact.time, contact.position, contact.velocity)))
    top = _peak(path, contact.time)
    contact = Moment(contact.time + landing.time, contact.position, contact.velocity)
    if conditions.bounces > 1:
        second = at_height(path, conditions.ball.radius_m)
        again = np.isfinite(contact.time) & (contact.position[2] < conditions.ball.radius_m)
        again &= np.isfinite(second.time)
        if again.any():
            once = replace(conditions, bounces=conditions.bounces - 1)
            later = Moment(second.time + landing.time, second.position, second.velocity)
            contact = _merged(again, _after(later, turn, stance, once, step)[0], contact)
    return contact, top


def _merged(mask: NDArray[np.bool_], yes: Moment, no: Moment) -> Moment:
    return Moment(
        np.where(mask, yes.time, no.time),
        np.where(mask, yes.position, no.position),
        np.where(mask, yes.velocity, no.velocity),
    )


def _peak(path: Path, until: Array) -> Array:
    """Highest sampled centre up to a time, lifted to the vertex of the parabola through the sample with its slope."""
    rise = path.velocity[:, 2]
    vertex = path.position[:, 2] + np.where(np.abs(rise) < 9.81 * path.time[1], rise**2 / (2 * 9.81), 0.0)
    inside = path.time[:, None] <= np.nan_to_num(until, nan=np.inf)
    return np.asarray(np.where(inside, vertex, -np.inf).max(axis=0))
