"""Bounce on the court: surfaces, pace rating, and the impulse of one bounce with any spin.

Ground normal +z. Coulomb friction while the contact point slides, a tangential restitution when it grips; one plane:
Cross, Am. J. Phys. 70, 1093 (2002), and Brody, Phys. Teach. 22, 494 (1984); three dimensions: Domenech, Am. J. Phys.
73, 28 (2005).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .ball import BALLS, Ball

Array = NDArray[np.float64]

GRIP = 0.13
"""Tangential restitution when the ball grips: 0.10 to 0.17 measured (Cross 2002), the middle to two digits."""

REFERENCE_RESTITUTION = 0.81  # of the pace rating: ITF CS 01/02
REFERENCE_TEMPERATURE_C = 23.0
RESTITUTION_PER_KELVIN = 0.003


@dataclass(frozen=True, slots=True)
class Surface:
    """A court surface: friction μ, vertical restitution at 23 °C with a type 2 ball, tangential restitution e_x."""

    name: str
    friction: float
    restitution: float
    grip: float = GRIP


# Means of the ITF booklet and Cross, Sports Eng. 6, 93 (2003). No pair of values was found for carpet.
SURFACES: dict[str, Surface] = {
    surface.name: surface
    for surface in (Surface("clay", 0.80, 0.85), Surface("hard", 0.63, 0.81), Surface("grass", 0.55, 0.74))
}

AS_GIVEN = "as given"
"""The name of a surface whose figures a script states itself."""

# Middles of the ITF bands 0-29, 30-34, 35-39, 40-44; "fast" has no upper end, so it is given its neighbour's width.
_PACE = {"slow": 14.5, "medium-slow": 32.0, "medium": 37.0, "medium-fast": 42.0, "fast": 47.0}


PACES = tuple(_PACE)


def pace_rating(friction: float, restitution_23: float) -> float:
    """Court pace rating, CPR = 100 (1 - μ) + 150 (0.81 - e_T) with e_T at 23 °C: ITF CS 01/02."""
    return 100.0 * (1.0 - friction) + 150.0 * (REFERENCE_RESTITUTION - restitution_23)


def surface_of_pace(category: str) -> Surface:
    """A surface in the middle of an ITF pace category, with the rating's reference restitution; KeyError if unknown."""
    return Surface(category, 1.0 - _PACE[category] / 100.0, REFERENCE_RESTITUTION)


def restitution(surface: Surface, ball: Ball, temperature_c: float) -> float:
    """Vertical restitution of this ball on this surface: scaled by the ball's drop test against a type 2 ball (own
    assumption), and warmer is livelier by the rating's own correction, e = e_T - 0.003 (23 - T): ITF CS 01/02."""
    livelier = RESTITUTION_PER_KELVIN * (temperature_c - REFERENCE_TEMPERATURE_C)
    return surface.restitution * ball.restitution / BALLS["type 2"].restitution + livelier


def in_play(surface: Surface, ball: Ball, temperature_c: float) -> Surface:
    """The surface with the restitution of this ball at this temperature, at most 1, in the place of the rated one."""
    livelier = restitution(surface, ball, temperature_c)
    return Surface(surface.name, surface.friction, min(livelier, 1.0), surface.grip)


def bounce(
    velocity: Array,
    spin: Array,
    *,
    ball: Ball,
    friction: float | Array,
    restitution: float | Array,
    grip: float | Array,
) -> tuple[Array, Array]:
    """Velocity and spin, (3, n) each, m/s and rad/s, after one bounce of falling balls; coefficients scalar or (n,).

    The friction impulse points against the slip of the contact point and is the smaller of the sliding one,
    μ(1+e)|v_z|, and the gripping one, α(1+e_x)|u|/(1+α) (per mass). Spin about the vertical is unchanged.
    """
    radius, alpha = ball.radius_m, ball.inertia_factor
    fall = np.abs(velocity[2])
    slip_x = velocity[0] - radius * spin[1]
    slip_y = velocity[1] + radius * spin[0]
    slip = np.maximum(np.hypot(slip_x, slip_y), 1e-150)  # no slip: no impulse, and no division by zero
    gripping = alpha * (1.0 + grip) / (1.0 + alpha)
    sliding = friction * (1.0 + restitution) * fall / slip
    share = np.minimum(gripping, sliding)
    impulse_x, impulse_y = -share * slip_x, -share * slip_y
    turn = alpha * radius
    after = np.stack((velocity[0] + impulse_x, velocity[1] + impulse_y, restitution * fall))
    return after, np.stack((spin[0] + impulse_y / turn, spin[1] - impulse_x / turn, spin[2]))
