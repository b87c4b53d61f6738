"""Bounce on the court: surfaces, pace rating, and the impulse of one bounce with any spin.

Ground normal +z. Coulomb friction while the contact point slides, a tangential restitution when it grips; one plane:
Cross, Am. J. Phys. 70, 1093 (2002), and Brody, Phys. Teach. 22, 494 (1984); three dimensions: Domenech, Am. J. Phys.
73, 28 (2005).

How much of the fall's speed comes back depends on speed and angle. Two standards say how much, and a surface keeps
both: the drop test of the ITF Rules of Tennis, straight down at 6.9 m/s, and the laboratory test of ITF CS 01/02, 30
m/s at 16°. Between and beyond them the loss grows with the speed of the fall (`ball.LOSS_GROWTH`), and what an oblique
bounce has more grows with the share of the energy that moves along the ground. That last step is our own choice:
published is that it is higher at oblique than at normal incidence (reviewed in Appl. Sci. 14, 5674 (2024)).
"""

from math import cos, pi, sin, tan

import numpy as np
from numpy.typing import NDArray

from ...grammar.frozen import Frozen, replace
from .air import Air, pressure
from .ball import BALLS, DROP_SPEED_MPS, LOSS_GROWTH, Ball

Array = NDArray[np.float64]

GRIP = 0.13
"""Tangential restitution when the ball grips: 0.10 to 0.17 measured (Cross 2002, second-hand), the middle to two
digits."""

LAB_SPEED_MPS, LAB_ANGLE = 30.0, 16.0 * pi / 180  # of the pace rating: ITF CS 01/02
LAB_FALL_MPS, LAB_ALONG = LAB_SPEED_MPS * sin(LAB_ANGLE), cos(LAB_ANGLE) ** 2
"""How fast its ball falls, and the share of its energy along the ground."""
REFERENCE_RESTITUTION = 0.81  # of the pace rating: ITF CS 01/02
REFERENCE_TEMPERATURE_C, DROP_TEMPERATURE_C = 23.0, 20.0
RESTITUTION_PER_KELVIN = 0.003
LEAST_RESTITUTION = 0.05  # far outside of what is played; a ball has to leave the ground

RIGID = BALLS["type 2"].restitution + RESTITUTION_PER_KELVIN * (REFERENCE_TEMPERATURE_C - DROP_TEMPERATURE_C)
"""Of a type 2 ball straight down on a rigid base, at 23 °C."""
MADE_FOR_M = 1600.0
LIVELIER_PER_PA = (BALLS["type 2"].restitution - BALLS["high altitude"].restitution) / (
    pressure(0.0) - pressure(MADE_FOR_M)
)
"""How much livelier the pressure in a ball makes it where there is less around it. No measurement was found. The rules
allow a ball with less pressure above 1,219 m (from memory); that it bounces there, at 1,600 m, as a type 2 ball does at
sea level is our own choice."""


class Surface(Frozen):
    """A court surface: friction μ, and what a bounce leaves of the speed of the fall: `restitution` in the laboratory
    test, `drop` straight down at `DROP_SPEED_MPS`; tangential restitution `grip` (e_x). As it is listed, for a type 2
    ball at 23 °C at sea level; `in_play` makes it that of another ball in another air, with its `loss_growth`."""

    name: str
    friction: float
    restitution: float
    grip: float = GRIP
    drop: float = RIGID
    loss_growth: float = LOSS_GROWTH

    def restitution_of(self, velocity: Array) -> Array:
        """What a bounce of balls that come with `velocity` (3, n) leaves of the speed of their fall, (n,)."""
        fall, along = np.abs(velocity[2]), velocity[0] * velocity[0] + velocity[1] * velocity[1]
        share = along / np.maximum(along + fall * fall, 1e-12)
        more = self.restitution / _straight(self.drop, self.loss_growth, LAB_FALL_MPS) - 1
        loss = (1 - self.drop) * (fall / DROP_SPEED_MPS) ** self.loss_growth
        return np.asarray(np.clip((1 - loss) * (1 + more * share / LAB_ALONG), LEAST_RESTITUTION, 1.0))


def _straight(drop: float, growth: float, fall: float) -> float:
    """What a fall straight down leaves of its speed."""
    return float(max(1 - (1 - drop) * (fall / DROP_SPEED_MPS) ** growth, LEAST_RESTITUTION))


def _rated(name: str, friction: float, restitution: float, drop: float = RIGID) -> Surface:
    """A surface that the laboratory test finds as its figures say. Where a ball with the usual tangential restitution
    would grip before it is slowed so much, it is given as much of it as that needs: clay moves with the ball."""
    slowed = friction * (1 + restitution) * tan(LAB_ANGLE)
    alpha = BALLS["type 2"].inertia_factor
    return Surface(name, friction, restitution, max(GRIP, slowed * (1 + alpha) / alpha - 1), drop)


# Means of the ITF booklet and Cross, Sports Eng. 6, 93 (2003), second-hand. No pair of values was found for carpet.
# Straight down a court counts as the rigid base of the drop test; grass gives way, and a ball rebounds to the low end
# of the rules' range: own choice.
SURFACES: dict[str, Surface] = {
    surface.name: surface
    for surface in (
        _rated("clay", 0.80, 0.85), _rated("hard", 0.63, 0.81), _rated("grass", 0.55, 0.74, RIGID - 0.015),
    )
}  # fmt: skip

AS_GIVEN = "as given"
"""The name of a surface whose figures a script states itself."""

# Middles of the ITF bands 30-34, 35-39, 40-44; "fast" (45 and more) is given its neighbour's width, and "slow" (0-29)
# lies between the mean of clay, 14, and the next band: own choice.
_PACE = {"slow": 22.0, "medium-slow": 32.0, "medium": 37.0, "medium-fast": 42.0, "fast": 47.0}


PACES = tuple(_PACE)


def pace_rating(friction: float, restitution_23: float) -> float:
    """Court pace rating, CPR = 100 (1 - μ) + 150 (0.81 - e_T) with e_T at 23 °C: ITF CS 01/02."""
    return 100.0 * (1.0 - friction) + 150.0 * (REFERENCE_RESTITUTION - restitution_23)


def surface_of_pace(category: str) -> Surface:
    """A surface of an ITF pace category, with the rating's reference restitution; KeyError if unknown."""
    return _rated(category, 1.0 - _PACE[category] / 100.0, REFERENCE_RESTITUTION)


def surface_as_given(friction: float, restitution: float, grip: float = GRIP) -> Surface:
    """A surface with figures of one's own, as the laboratory test would find them. One that leaves less than a rigid
    base does straight down at that speed is as much deader straight down as well: own choice."""
    deader = min(1.0, restitution / _straight(RIGID, LOSS_GROWTH, LAB_FALL_MPS))
    return Surface(AS_GIVEN, friction, restitution, grip, RIGID * deader)


def in_play(surface: Surface, ball: Ball, air: Air) -> Surface:
    """The surface for this ball in this air.

    Both restitutions are scaled by what the ball itself leaves against a type 2 ball (own assumption). Warmer is
    livelier by the rating's own correction, e = e_T - 0.003 (23 - T): ITF CS 01/02. A pressurised ball is livelier in
    thinner air (`LIVELIER_PER_PA`).
    """
    livelier = RESTITUTION_PER_KELVIN * (air.temperature_c - REFERENCE_TEMPERATURE_C)
    if ball.pressurised:
        livelier += LIVELIER_PER_PA * (pressure(0.0) - pressure(air.altitude_m))
    drop = surface.drop * ball.restitution / BALLS["type 2"].restitution
    own, listed = (
        _straight(*figures, LAB_FALL_MPS) for figures in ((drop, ball.loss_growth), (surface.drop, surface.loss_growth))
    )
    return replace(
        surface,
        restitution=min(surface.restitution * own / listed + livelier, 1.0),
        drop=min(drop + livelier, 1.0),
        loss_growth=ball.loss_growth,
    )


def rebound(velocity: Array, spin: Array, ball: Ball, surface: Surface) -> tuple[Array, Array]:
    """Velocity and spin, (3, n) each, after one bounce of falling balls on a surface in play."""
    restitution = surface.restitution_of(velocity)
    return bounce(velocity, spin, ball=ball, friction=surface.friction, restitution=restitution, grip=surface.grip)


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
    after = np.array((velocity[0] + impulse_x, velocity[1] + impulse_y, restitution * fall))
    return after, np.array((spin[0] + impulse_y / turn, spin[1] - impulse_x / turn, spin[2]))
