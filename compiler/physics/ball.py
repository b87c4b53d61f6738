"""The balls: mass, size, drag and liveliness of each type in the rules of tennis.

Mass, diameter and rebound are the middles of the ranges in the ITF Rules of Tennis, Appendix I (types 1, 2, 3 and high
altitude; rebound of the stage balls from Appendix VII). The masses and sizes of the stage balls are from memory.
"""

from math import exp, pi, sqrt

from ...grammar.frozen import Frozen, replace

DRAG_OFFSET = 0.508
"""Drag coefficient without spin: Štěpánek, Am. J. Phys. 56, 138 (1988); 0.507 ± 0.024 in free flight: Cross & Lindsey,
Sports Eng. 17, 89 (2014). Wind tunnels give 0.60 to 0.70 for new balls, so it belongs to the ball and can be fitted."""

SPIN_DRAG = 0.5
"""How much of Štěpánek's growth of drag with spin a ball has: 1 is Štěpánek (1988), 0 is Cross & Lindsey (2014), who
found drag independent of spin. The middle of the two is our own choice."""

DRAG_SPREAD = 0.024
"""Spread of the drag coefficient: Cross & Lindsey (2014)."""

WORN_DRAG = 0.603 / 0.579
"""How many times as much drag the fluffed felt of a ball has after some games: first serves with used and with new
balls, Choppin, Albrecht, Spurr & Capel-Davies, Proceedings 2, 265 (2018). A bald ball has less drag and less lift than
a new one (Goodwill, Chin & Haake 2004, abstract); without a figure for how much, there is no such ball here."""

DROP_HEIGHT_CM = 254.0
DROP_SPEED_MPS = 6.9
"""With which a ball of the rules' drop test comes down; the types differ by less than 0.1 m/s."""
DROP_DENSITY = 1.2  # kg/m³, of the air in the test, 20 °C at sea level

LOSS_GROWTH, LOSS_GROWTH_PRESSURELESS = 0.2, 0.46
"""The share of its speed that a ball loses grows with the speed of the fall to this power. 1/5: a viscoelastic sphere,
Kuwabara & Kono, Jpn. J. Appl. Phys. 26, 1230 (1987), from memory; that a tennis ball follows it is our own choice, that
the loss grows is Cross, Sports Eng. 2, 23 (1999), abstract. Pressureless: so that 30 m/s leave 20 % less of the speed
than of a pressurised ball: punctured balls lose so much at high speed, and pressureless ones are near them (Haake,
Carré & Goodwill, J. Sports Sci. 21 (2003), abstract); which speed is high is our own choice."""


class Ball(Frozen):
    """A ball as the flight and the bounce see it: kg and m.

    `drag_offset` and `spin_drag` make its drag coefficient (`flight.drag_coefficient`). `restitution` is what a fall
    straight down at `DROP_SPEED_MPS` on a rigid base leaves of the speed, at 20 °C and at sea level; `loss_growth` is
    how the loss grows with the speed. A ball that is not `pressurised` does not get livelier in thin air.
    `inertia_factor` is α in I = α m R² (0.55 for a tennis ball: Cross, Am. J. Phys. 70, 1093 (2002), second-hand).
    """

    name: str
    mass_kg: float
    diameter_m: float
    drag_offset: float = DRAG_OFFSET
    spin_drag: float = SPIN_DRAG
    restitution: float = 0.772
    loss_growth: float = LOSS_GROWTH
    pressurised: bool = True
    inertia_factor: float = 0.55

    @property
    def radius_m(self) -> float:
        return self.diameter_m / 2

    @property
    def area_m2(self) -> float:
        return pi * self.diameter_m**2 / 4


def drop_restitution(rebound_cm: float, mass_kg: float, diameter_m: float) -> float:
    """What the impact of the drop test leaves of the speed, for a rebound from 254 cm, both to the bottom of the ball.

    In air: v² = g (1 - e^(-2kh)) / k after the fall and v'² = g (e^(2kh') - 1) / k for the rise, k = ρ C_D A / 2m, the
    closed form of quadratic drag (Brody, Cross & Lindsey, The Physics and Technology of Tennis (2002), ch. 42). In a
    vacuum it would be √(h'/h), 0.03 less: that counts what the air takes as lost in the bounce.
    """
    twice = DROP_DENSITY * DRAG_OFFSET * pi * diameter_m**2 / 4 / mass_kg / 100  # 2k, 1/cm
    return sqrt((exp(twice * rebound_cm) - 1) / (1 - exp(-twice * DROP_HEIGHT_CM)))


def _ball(name: str, grams: tuple[float, float], cm: tuple[float, float], rebound_cm: tuple[float, float]) -> Ball:
    mass, diameter = sum(grams) / 2000, sum(cm) / 200
    return Ball(name, mass, diameter, restitution=drop_restitution(sum(rebound_cm) / 2, mass, diameter))


BALLS: dict[str, Ball] = {
    ball.name: ball
    for ball in (
        _ball("type 1", (56.0, 59.4), (6.54, 6.86), (138, 151)),
        _ball("type 2", (56.0, 59.4), (6.54, 6.86), (135, 147)),
        _ball("type 3", (56.0, 59.4), (7.00, 7.30), (135, 147)),
        _ball("high altitude", (56.0, 59.4), (6.54, 6.86), (122, 135)),
        _ball("stage 1", (47.0, 51.5), (6.30, 6.86), (120, 135)),  # green; mass and size from memory
        _ball("stage 2", (36.0, 46.9), (6.00, 6.86), (105, 120)),  # orange; mass and size from memory
        _ball("stage 3", (36.0, 49.0), (7.00, 8.00), (85, 105)),  # red, felt; mass and size from memory
    )
}


def prepared(ball: Ball, *, pressurised: bool = True, worn: bool = False) -> Ball:
    """The ball as it is in the basket.

    Pressureless: it meets the same rebound in the drop test, loses more at high speed (`LOSS_GROWTH_PRESSURELESS`) and
    is no livelier in thin air; no difference in flight was found. Worn: felt that is fluffed, as after some games
    (`WORN_DRAG`). Wet balls: nothing was found. Measured landings should correct all of these.
    """
    if not pressurised:
        name = f"{ball.name}, pressureless"
        ball = replace(ball, name=name, pressurised=False, loss_growth=LOSS_GROWTH_PRESSURELESS)
    if worn:
        ball = replace(ball, name=f"{ball.name}, worn", drag_offset=ball.drag_offset * WORN_DRAG)
    return ball
