"""Two wheels: closed kinematics of rolling, V = π D n, v = (V₁ + V₂) / 2, ω = (V₁ - V₂) / d, squeezed and with slip."""

from math import pi

import pytest
from hypothesis import given
from hypothesis import strategies as st

from feedwright.compiler.physics.wheels import launch_of, revolutions, rim_speeds
from feedwright.grammar.frozen import replace
from feedwright.targets.machine.feeders import ProfileShelf


@pytest.mark.parametrize(("top", "bottom", "speed", "rpm"), [(25, 15, 20, 1446.9), (30, 10, 20, 2893.7)])
def test_worked_examples(top: float, bottom: float, speed: float, rpm: float) -> None:
    """A ball of 66 mm between two rims, by hand: (25 - 15) / 0.066 / 2π · 60 = 1446.9 (five digits written)."""
    velocity, spin = launch_of(top, bottom, 0.066)
    assert velocity == speed
    assert spin * 60 / (2 * pi) == pytest.approx(rpm, abs=0.05)


def test_a_squeezed_ball_that_slips() -> None:
    """By hand: rims of 25 and 15 m/s 55 mm apart, nine tenths of the speed and eight of the spin get through:
    0.9 · 20 = 18 m/s and 0.8 · 10 / 0.055 = 145.45 rad/s, 1389 rpm."""
    velocity, spin = launch_of(25, 15, 0.055, 0.9, 0.8)
    assert (velocity, spin * 60 / (2 * pi)) == pytest.approx((18.0, 1389.0), abs=0.1)  # half of the last digit
    assert rim_speeds(velocity, spin, 0.055, 0.9, 0.8) == pytest.approx((25, 15), abs=1e-12)  # rounding


@pytest.mark.parametrize(("speed", "rpm"), [(4.0, 600.0), (-4.0, 600.0), (0.0, -900.0), (5.0, 0.0)])
def test_a_change_of_speed_and_spin_takes_as_long_as_the_slower_rim(speed: float, rpm: float) -> None:
    """By brute force: both rims gain 3 m/s in a second at most, until they run as the next ball needs."""
    machine = ProfileShelf(None).load("academy")
    assert machine and machine.wheels
    gap, mean, turn = machine.wheels.squeeze(0.067)
    rates = {"speed": 3.0 * mean * 3.6, "topspin": 2 * 3.0 * turn / gap * 30 / pi}  # km/h and rpm a second, alone
    axes = {name: replace(getattr(machine, name), rate=rate) for name, rate in rates.items()}
    assert (machine.speed.unit, machine.topspin.unit) == ("km/h", "rpm")
    machine = replace(machine, **axes)
    rims = list(rim_speeds(20.0, 500 * pi / 30, gap, mean, turn))
    wanted = rim_speeds(20.0 + speed, (500 + rpm) * pi / 30, gap, mean, turn)
    steps, step = 0, 1e-3
    while max(abs(w - r) for w, r in zip(wanted, rims, strict=True)) > 3.0 * step:
        rims = [r + max(-3.0 * step, min(3.0 * step, w - r)) for w, r in zip(wanted, rims, strict=True)]
        steps += 1
    before = {"speed": 72.0, "elevation": 10.0, "azimuth": 0.0, "topspin": 500.0, "sidespin": 0.0}
    after = {**before, "speed": 72.0 + 3.6 * speed, "topspin": 500.0 + rpm}
    assert max(machine.change_s(before, after).values()) == pytest.approx(steps * step, abs=2 * step)


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
