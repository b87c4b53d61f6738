"""The balls: mass, size, drag and liveliness of each type in the rules of tennis.

Mass, diameter and rebound are the middles of the ranges in the ITF Rules of Tennis, Appendix I (types 1, 2, 3 and high
altitude; rebound of the stage balls from Appendix VII). The masses and sizes of the stage balls are from memory.
A rebound of h cm from a 254 cm drop, both to the bottom of the ball, is a restitution of sqrt(h / 254).
"""

from dataclasses import dataclass, replace
from math import pi, sqrt

DRAG_OFFSET = 0.508
"""Drag coefficient without spin: Štěpánek, Am. J. Phys. 56, 138 (1988); 0.507 ± 0.024 in free flight: Cross & Lindsey,
Sports Eng. 17, 89 (2014). Wind tunnels give 0.60 to 0.70 for new balls, so it belongs to the ball and can be fitted."""

SPIN_DRAG = 0.5
"""How much of Štěpánek's growth of drag with spin a ball has: 1 is Štěpánek (1988), 0 is Cross & Lindsey (2014), who
found drag independent of spin. The middle of the two is our own choice."""

DRAG_SPREAD = 0.024
"""Spread of the drag coefficient: Cross & Lindsey (2014)."""

DROP_HEIGHT_CM = 254.0


@dataclass(frozen=True, slots=True)
class Ball:
    """A ball as the flight and the bounce see it: kg and m; `drag_offset` and `spin_drag` make its drag coefficient
    (`flight.drag_coefficient`), `restitution` is the drop-test value on a rigid base, `inertia_factor` is α in I = α m R² (0.55 for a tennis ball: Cross, Am. J. Phys. 70, 1093 (2002))."""

    name: str
    mass_kg: float
    diameter_m: float
    drag_offset: float = DRAG_OFFSET
    spin_drag: float = SPIN_DRAG
    restitution: float = sqrt(141.0 / DROP_HEIGHT_CM)
    inertia_factor: float = 0.55

    @property
    def radius_m(self) -> float:
        return self.diameter_m / 2

    @property
    def area_m2(self) -> float:
        return pi * self.diameter_m**2 / 4


def _ball(name: str, grams: tuple[float, float], cm: tuple[float, float], rebound_cm: tuple[float, float]) -> Ball:
    rebound = sum(rebound_cm) / 2
    return Ball(name, sum(grams) / 2000, sum(cm) / 200, restitution=sqrt(rebound / DROP_HEIGHT_CM))


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

    Pressureless: no published difference in flight or rebound was found and both kinds meet the same ranges, so only
    the name changes. Worn felt: drag lower by one published spread from ball to ball; that wear lowers drag by about
    that much is common practice, no source. Measured landings should correct both.
    """
    if not pressurised:
        ball = replace(ball, name=f"{ball.name}, pressureless")
    if worn:
        ball = replace(ball, name=f"{ball.name}, worn", drag_offset=ball.drag_offset - DRAG_SPREAD)
    return ball
