"""Two wheels: closed kinematics of rolling without slip, V = π D n, v = (V₁ + V₂) / 2, ω = (V₁ - V₂) / d."""

from math import pi

import pytest
from hypothesis import given
from hypothesis import strategies as st

from feedwright.compiler.physics.wheels import launch_of, revolutions, rim_speeds


@pytest.mark.parametrize(("top", "bottom", "speed", "rpm"), [(25, 15, 20, 1446.9), (30, 10, 20, 2893.7)])
def test_worked_examples(top: float, bottom: float, speed: float, rpm: float) -> None:
    """A ball of 66 mm between two rims, by hand: (25 - 15) / 0.066 / 2π · 60 = 1446.9 (five digits written)."""
    velocity, spin = launch_of(top, bottom, 0.066)
    assert velocity == speed
    assert spin * 60 / (2 * pi) == pytest.approx(rpm, abs=0.05)


def test_topspin_needs_the_faster_wheel_above_and_backspin_below() -> None:
    assert rim_speeds(20, 100, 0.066)[0] > rim_speeds(20, 100, 0.066)[1]
    assert rim_speeds(20, -100, 0.066)[0] < rim_speeds(20, -100, 0.066)[1]
    assert rim_speeds(20, 0, 0.066) == (20, 20)


def test_more_rim_difference_than_speed_needs_a_wheel_that_reverses() -> None:
    assert rim_speeds(5, 200, 0.066)[1] < 0


@given(st.floats(1, 60), st.floats(-500, 500), st.floats(0.06, 0.08))
def test_there_and_back(speed: float, spin: float, diameter: float) -> None:
    again = launch_of(*rim_speeds(speed, spin, diameter), diameter)
    # Rounding of sums of at most 60 m/s (1e-14), over a diameter of at least 0.06 m.
    assert again == pytest.approx((speed, spin), abs=1e-11)


def test_a_rim_travels_one_circumference_a_turn() -> None:
    """A wheel of 1/π m has a rim of 1 m: one turn for each metre."""
    assert revolutions(20.0, 1 / pi) == pytest.approx(20.0, rel=1e-15)
    assert revolutions(20.0, 2 / pi) == pytest.approx(10.0, rel=1e-15)
