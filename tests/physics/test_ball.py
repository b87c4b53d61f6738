"""Balls against the ITF Rules of Tennis, Appendices I and VII, and the published drag."""

from math import pi, sqrt

import numpy as np
import pytest

from feedwright.compiler.physics.air import Air
from feedwright.compiler.physics.ball import BALLS, prepared
from feedwright.compiler.physics.bounce import bounce
from feedwright.compiler.physics.flight import fly
from feedwright.compiler.physics.moments import apex, at_height

# Grams, cm, rebound in cm from 254 cm. Types 1 to 3 and high altitude: ITF Rules of Tennis, Appendix I; rebound of the
# stage balls: Appendix VII. The masses and sizes of the stage balls are from memory.
RULES = {
    "type 1": ((56.0, 59.4), (6.54, 6.86), (138, 151)),
    "type 2": ((56.0, 59.4), (6.54, 6.86), (135, 147)),
    "type 3": ((56.0, 59.4), (7.00, 7.30), (135, 147)),
    "high altitude": ((56.0, 59.4), (6.54, 6.86), (122, 135)),
    "stage 1": ((47.0, 51.5), (6.30, 6.86), (120, 135)),
    "stage 2": ((36.0, 46.9), (6.00, 6.86), (105, 120)),
    "stage 3": ((36.0, 49.0), (7.00, 8.00), (85, 105)),
}


def test_every_ball_of_the_rules_is_there_under_its_own_name() -> None:
    assert set(BALLS) == set(RULES)
    assert all(ball.name == name for name, ball in BALLS.items())


@pytest.mark.parametrize("name", RULES)
def test_a_ball_is_within_its_rules(name: str) -> None:
    mass, diameter, _ = RULES[name]
    ball = BALLS[name]
    assert mass[0] < ball.mass_kg * 1000 < mass[1]
    assert diameter[0] < ball.diameter_m * 100 < diameter[1]


@pytest.mark.parametrize("name", RULES)
def test_the_drop_test_of_the_rules_gives_a_rebound_within_the_range(name: str) -> None:
    """Flown and bounced, without air: the bottom of the ball starts at 254 cm; the middle of the range comes back."""
    ball, low_high = BALLS[name], RULES[name][2]
    vacuum, radius = Air(0.0), BALLS[name].radius_m
    still = np.zeros((3, 1))
    start = np.array([[0.0], [0.0], [2.54 + radius]])
    landing = at_height(fly(start, still, still, ball, vacuum, floor=radius), radius)
    velocity, spin = bounce(landing.velocity, still, ball=ball, friction=0.6, restitution=ball.restitution, grip=0.1)
    rebound = apex(fly(landing.position, velocity, spin, ball, vacuum, floor=radius)).position[2, 0] - radius
    # Runge-Kutta is exact on a parabola, so only rounding is left.
    assert rebound * 100 == pytest.approx(sum(low_high) / 2, abs=1e-9)


@pytest.mark.parametrize(
    ("name", "low", "high"),
    [
        ("high altitude", 0.6930, 0.7290),
        ("type 2", 0.7290, 0.7607),
        ("type 3", 0.7290, 0.7607),
        ("type 1", 0.7290, 0.7710),
    ],
)
def test_restitution_lies_between_the_ends_of_the_range(name: str, low: float, high: float) -> None:
    """ITF rebounds 122, 135, 147 and 151 cm are sqrt(h / 254) = .6930, .7290, .7607, .7710."""
    assert low < BALLS[name].restitution < high


@pytest.mark.parametrize(("rebound", "printed"), [(122, 0.6930), (135, 0.7290), (147, 0.7607), (151, 0.7710)])
def test_the_rebound_formula_gives_the_four_restitutions(rebound: float, printed: float) -> None:
    """By energy: v² = 2 g h down and up, so the ratio of speeds is the root of the ratio of heights (4 digits printed).

    A ball with the printed restitution, dropped from 254 cm, must come back to the rebound of the rules.
    """
    ball, still = BALLS["type 2"], np.zeros((3, 1))
    down = np.array([[0.0], [0.0], [-sqrt(2 * 9.81 * 2.54)]])
    up, _ = bounce(down, still, ball=ball, friction=0.6, restitution=printed, grip=0.1)
    # Half of the last printed digit is 5e-5 of about 0.73: 1.4e-4 of the height, 0.02 cm.
    assert up[2, 0] ** 2 / (2 * 9.81) * 100 == pytest.approx(rebound, abs=0.021)


def test_geometry() -> None:
    ball = BALLS["type 2"]
    assert ball.radius_m * 2 == ball.diameter_m
    assert ball.area_m2 == pytest.approx(pi * ball.radius_m**2, rel=1e-15)  # rounding


def test_drag_without_spin_is_within_the_free_flight_measurement() -> None:
    """0.507 ± 0.024: Cross & Lindsey, Sports Eng. 17, 89 (2014); the worn ball stays within that spread too."""
    ball = BALLS["type 2"]
    assert ball.drag_offset == pytest.approx(0.507, abs=0.024)
    worn = prepared(ball, worn=True)
    assert worn.drag_offset < ball.drag_offset
    assert worn.drag_offset == pytest.approx(0.507, abs=0.024)


def test_pressureless_changes_no_number_and_both_preparations_are_named() -> None:
    ball = BALLS["type 2"]
    plain = prepared(ball, pressurised=False)
    assert (plain.mass_kg, plain.diameter_m, plain.drag_offset, plain.restitution) == (
        ball.mass_kg,
        ball.diameter_m,
        ball.drag_offset,
        ball.restitution,
    )
    assert prepared(ball) == ball
    assert len({ball.name, plain.name, prepared(ball, worn=True).name}) == 3
