"""Random launches of a strong feeder, and requests for what they do: each has a launch that meets it."""

from dataclasses import dataclass

import numpy as np

from feedwright.compiler.physics import launches
from feedwright.compiler.physics.air import Air
from feedwright.compiler.physics.ball import BALLS
from feedwright.compiler.physics.bounce import SURFACES
from feedwright.compiler.physics.flight import Array
from feedwright.compiler.physics.launches import Wanted
from feedwright.compiler.physics.outcome import Conditions, Release, outcome

from .scalar import Court

WINDS = ((2.0, -3.0, 0.0), (0.0, 0.0, 0.0), (-4.0, 5.0, 0.0))  # m/s
# ITF Rules of Tennis, rule 1: 0.914 m at the centre, 1.07 m at the posts, 0.914 m outside the court of 10.97 m.
NET_CENTRE, NET_POST, POST_X = 0.914, 1.07, 10.97 / 2 + 0.914


@dataclass(frozen=True)
class Requests:
    wanted: Wanted
    elevation: Array
    """Of the launches that did what is asked, rad."""


def conditions(wind: tuple[float, float, float] = WINDS[0], surface: str = "hard", bounces: int = 1) -> Conditions:
    return Conditions(BALLS["type 2"], Air(1.2, wind), SURFACES[surface], NET_CENTRE, NET_POST, POST_X, bounces)


def court_of(c: Conditions) -> Court:
    ball, surface = c.ball, c.surface
    return Court(
        ball.mass_kg, ball.radius_m, ball.drag_offset, ball.spin_drag, ball.inertia_factor, c.air.density_kg_m3,
        c.air.wind_mps, surface.friction, surface.restitution, surface.drop, surface.loss_growth, surface.grip,
        c.net_centre, c.net_post, c.post_x,
    )  # fmt: skip


def releases(rng: np.random.Generator, n: int) -> Release:
    """From behind the far baseline up to the service line, as fast and as steep as strong machines go, any spin."""
    origin = np.stack([rng.uniform(-2, 2, n), rng.uniform(-13, -9, n), rng.uniform(0.4, 1.4, n)])
    speed, elevation = rng.uniform(10, 38, n), np.radians(rng.uniform(-4, 58, n))
    azimuth = np.radians(rng.uniform(-14, 14, n))
    return Release(origin, speed, elevation, azimuth, rng.uniform(-200, 260, n), rng.uniform(-100, 100, n))


def reachable(n: int, seed: int, c: Conditions, full: float = 0.3) -> Requests:
    """n requests of all kinds, a share `full` of them on the full, made by flying launches and asking what they did;
    kept where they cross the net, come down in the court (or are met on the full) and are met above the ground."""
    rng = np.random.default_rng(seed)
    m = 20 * n
    release, stance, volley = releases(rng, m), rng.uniform(8, 14, m), rng.random(m) < full
    kind = np.where(
        volley, rng.choice([launches.CLEARANCE, launches.SPEED, launches.CONTACT_TIME], m), rng.integers(0, 5, m)
    )
    flown = outcome(release, stance, volley, c)
    point = np.where(volley, flown.contact.position, flown.landing.position)
    value = launches.measure(flown, release.speed, kind)
    fair = flown.met & np.isfinite(value) & (flown.clearance >= 0) & (point[1] > 2)
    fair &= np.where(volley, point[2] > 0.2, point[1] < 12)
    kept = np.flatnonzero(fair)[:n]
    assert len(kept) == n
    wanted = Wanted(release.origin, point, stance, volley, release.topspin, release.sidespin, kind, value)
    return Requests(wanted.at(kept), release.elevation[kept])
