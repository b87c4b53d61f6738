"""Moments of a path, lanes, and limits: closed forms in vacuum, and flights started again in the middle."""

import numpy as np
import pytest

from feedwright.compiler.physics.air import Air
from feedwright.compiler.physics.ball import BALLS
from feedwright.compiler.physics.flight import (
    GRAVITY,
    Array,
    Path,
    apex,
    at_height,
    at_plane,
    fly,
    launch,
    place_at_height,
    place_at_plane,
)

BALL, VACUUM = BALLS["type 2"], Air(0.0)
ROUNDING = 1e-9  # Runge-Kutta and the cubic are exact on a parabola; the square root loses digits near the top


def rise(speed: Array | float, height: float = 1.0, forward: float = 0.0, floor: float = 0.0) -> Path:
    """In vacuum, thrown up (or down) at a speed from a height."""
    up = np.atleast_1d(np.asarray(speed, float))
    velocity = np.stack((np.zeros_like(up), np.full_like(up, forward), up))
    start = np.tile([[0.0], [0.0], [height]], up.size)
    return fly(start, velocity, np.zeros_like(velocity), BALL, VACUUM, floor=floor)


def test_free_fall_and_highest_point() -> None:
    path = rise(np.array([0.0, 3.0, 7.5]))
    up = np.array([0.0, 3.0, 7.5])
    landing, top = at_height(path, 0.0), apex(path)
    assert landing.time == pytest.approx((up + np.sqrt(up**2 + 2 * GRAVITY)) / GRAVITY, abs=ROUNDING)
    assert -landing.velocity[2] == pytest.approx(np.sqrt(up**2 + 2 * GRAVITY), abs=ROUNDING)
    assert top.time == pytest.approx(up / GRAVITY, abs=ROUNDING)
    assert top.position[2] == pytest.approx(1.0 + up**2 / (2 * GRAVITY), abs=ROUNDING)


def test_each_lane_has_its_own_level_and_floor() -> None:
    path = fly(
        np.array([[0.0, 0.0], [0.0, 0.0], [2.0, 2.0]]),
        np.array([[0.0, 0.0], [10.0, -10.0], [0.0, 0.0]]),
        np.zeros((3, 2)),
        BALL,
        VACUUM,
        floor=np.array([1.5, 0.5]),
    )
    assert at_height(path, np.array([1.5, 0.5])).time == pytest.approx(
        np.sqrt([2 * 0.5 / GRAVITY, 2 * 1.5 / GRAVITY]), abs=ROUNDING
    )
    # Either way along the court, the first in the direction of the launch.
    assert at_plane(path, np.array([2.0, -3.0])).time == pytest.approx([0.2, 0.3], abs=ROUNDING)
    assert np.isnan(at_plane(path, np.array([-2.0, 3.0])).position).all()


def test_what_does_not_happen_is_nan() -> None:
    path = rise(np.array([-2.0, 2.0]), forward=3.0)
    high, top = at_height(path, 1.1), apex(path)
    for moment in (high, top):
        assert np.isnan(moment.time[0])
        assert np.isnan(moment.position[:, 0]).all()
        assert np.isnan(moment.velocity[:, 0]).all()
        assert not np.isnan(moment.position[:, 1]).any()
    assert np.isnan(at_plane(path, 50.0).time).all()
    assert np.isnan(at_height(path, -50.0).time).all()


def test_a_level_of_the_start_counts_when_falling_and_waits_when_rising() -> None:
    landing = at_height(rise(np.array([-1.0, 0.0, 1.0])), 1.0)
    assert landing.time == pytest.approx([0.0, 0.0, 2.0 / GRAVITY], abs=ROUNDING)
    assert at_plane(rise(1.0, forward=5.0), 0.0).time[0] == 0.0


@pytest.mark.parametrize("below", [1e-3, 1e-4, 1e-5])
@pytest.mark.parametrize("shift", np.linspace(0.0, 0.19, 8))
def test_a_level_just_below_the_highest_point_is_found_within_one_step(below: float, shift: float) -> None:
    """Both samples around the top may be lower than the level: 40 ms around it the ball falls 2 mm."""
    up = 3.0 + shift
    level = 1.0 + up**2 / (2 * GRAVITY) - below
    moment = at_height(rise(up), level)
    assert moment.position[2, 0] == pytest.approx(level, abs=ROUNDING)
    # A time near the top is the root of a small height: 1e-12 m of rounding is 1e-12 / sqrt(2 g below) s.
    assert moment.time[0] == pytest.approx(up / GRAVITY + np.sqrt(2 * below / GRAVITY), abs=1e-8)


@pytest.mark.parametrize("up", [0.05, 0.15, 0.25])
def test_a_hop_shorter_than_a_step_comes_down_again(up: float) -> None:
    """A dead bounce starts at the height it is asked for, give or take rounding, and is over within 40 ms or so."""
    for start in (0.033 - 1e-15, 0.033, 0.033 + 1e-15):
        moment = at_height(rise(up, start, floor=0.033), 0.033)
        assert moment.time[0] == pytest.approx(2 * up / GRAVITY, abs=ROUNDING)


def _feeds(lanes: int, seed: int) -> tuple[Array, Array, Array]:
    rng = np.random.default_rng(seed)
    velocity, spin = launch(
        rng.uniform(14, 36, lanes),
        rng.uniform(0.02, 0.7, lanes),
        rng.uniform(-0.3, 0.3, lanes),
        rng.uniform(-250, 350, lanes),
        rng.uniform(-250, 250, lanes),
    )
    return np.tile([[0.0], [-11.0], [1.2]], lanes), velocity, spin


def test_a_default_step_is_as_good_as_a_short_one() -> None:
    """Fourth order: a step 20 times shorter has an error 160,000 times smaller, so it stands for the exact flight. Two
    millimetres is what matters to a landing; the integrator is held to 1/200 of it, in the wind too."""
    position, velocity, spin = _feeds(300, 3)
    air = Air(1.2, (2.0, -3.0, 0.0))
    usual = fly(position, velocity, spin, BALL, air, floor=0.033)
    exact = fly(position, velocity, spin, BALL, air, floor=0.033, step=0.002)
    for moment, truth in (
        (at_height(usual, 0.033), at_height(exact, 0.033)),
        (at_plane(usual, 0.0), at_plane(exact, 0.0)),
        (apex(usual), apex(exact)),
    ):
        assert np.array_equal(np.isnan(moment.time), np.isnan(truth.time))
        assert np.nanmax(abs(moment.position - truth.position)) < 1e-5
        assert np.nanmax(abs(moment.velocity - truth.velocity)) < 1e-4  # rates are up to 10 /s


@pytest.mark.parametrize("step", [0.1, 0.16])
def test_a_place_off_the_cubic_is_the_moment_s(step: float) -> None:
    """The cubic is off by at most h^4 / 384 times the fourth derivative. Drag and lift of a fast ball are some 30 m/s²
    and fade in a second or so: by some 100 m/s⁴, 0.2 mm at 0.16 s and 30 µm at 0.1 s."""
    position, velocity, spin = _feeds(300, 6)
    path = fly(position, velocity, spin, BALL, Air(1.2, (2.0, -3.0, 0.0)), floor=0.033, step=step)
    most = step**4 / 384 * 100
    for place, moment in (
        (place_at_height(path, 0.033), at_height(path, 0.033)),
        (place_at_plane(path, 0.0), at_plane(path, 0.0)),
    ):
        assert np.array_equal(np.isnan(place), np.isnan(moment.position)) and np.isfinite(place).any()
        assert np.nanmax(abs(place - moment.position)) < most


def test_a_flight_started_again_in_the_middle_is_the_same_flight() -> None:
    position, velocity, spin = _feeds(50, 4)
    path = fly(position, velocity, spin, BALL, Air(1.2), floor=0.033, step=0.01)
    middle = apex(path)
    assert not np.isnan(middle.time).any()
    again = fly(middle.position, middle.velocity, spin, BALL, Air(1.2), floor=0.033, step=0.01)
    first, second = at_height(path, 0.033), at_height(again, 0.033)
    # Two flights with other sample times differ by the integrator's own error: 10 µm at 40 ms, 4^4 times less at 10 ms.
    assert np.allclose(first.position, second.position, rtol=0, atol=8e-8)
    assert np.allclose(first.time, middle.time + second.time, rtol=0, atol=8e-8)


@pytest.mark.parametrize("wind", [(0.0, 0.0, 0.0), (4.0, -5.0, 0.5)])
def test_a_moment_is_one_step_from_the_sample_before_it(wind: tuple[float, float, float]) -> None:
    """Time, place and velocity belong together: a step of just the time that is left ends there."""
    position, velocity, spin = _feeds(20, 8)
    air = Air(1.2, wind)
    path = fly(position, velocity, spin, BALL, air, floor=0.033)
    for moment in (at_height(path, 0.033), at_plane(path, -5.0), apex(path)):
        for lane in range(20):
            sample, one = int(moment.time[lane] / path.time[1]), slice(lane, lane + 1)
            left = float(moment.time[lane] - path.time[sample])
            here, moving = path.position[sample][:, one], path.velocity[sample][:, one]
            end = fly(here, moving, spin[:, one], BALL, air, floor=0.0, step=left, most=left)
            # The last correction of the time is a Taylor step of at most 10 µs: (1e-5 s)³ · 100 m/s³ for the place,
            # (1e-5 s)² · 100 m/s³ for the velocity.
            assert np.allclose(end.position[1, :, 0], moment.position[:, lane], rtol=0, atol=1e-12)
            assert np.allclose(end.velocity[1, :, 0], moment.velocity[:, lane], rtol=0, atol=1e-8)


def test_lanes_do_not_see_each_other() -> None:
    position, velocity, spin = _feeds(7, 6)
    together = at_height(fly(position, velocity, spin, BALL, Air(1.2), floor=0.033), 0.033)
    for lane in range(7):
        one = slice(lane, lane + 1)
        alone = at_height(fly(position[:, one], velocity[:, one], spin[:, one], BALL, Air(1.2), floor=0.033), 0.033)
        # Only the order of vectorised additions may differ.
        assert np.allclose(alone.position, together.position[:, one], rtol=0, atol=1e-12)


def test_it_stops_when_all_have_fallen_or_the_time_is_up() -> None:
    path = rise(np.array([0.0, 4.0]))
    assert (path.position[-1, 2] < 0).all()
    assert not (path.position[-2, 2] < 0).all()
    velocity = np.array([[0.0], [0.0], [40.0]])
    still = np.zeros((3, 1))
    assert fly(still, velocity, still, BALL, VACUUM, floor=0.0, most=1.0).time[-1] == pytest.approx(1.0, abs=1e-12)
    # A start below the floor is flown as long as it rises.
    assert rise(5.0, height=-1.0).position[:, 2].max() > 0


def test_a_lane_that_is_not_a_number_keeps_nobody_waiting() -> None:
    velocity = np.array([[0.0, np.nan], [5.0, 5.0], [1.0, 1.0]])
    path = fly(np.zeros((3, 2)), velocity, np.zeros((3, 2)), BALL, Air(1.2), floor=0.0)
    assert path.time[-1] < 0.5
    assert np.isnan(at_height(path, 0.0).time).tolist() == [False, True]


def test_nothing_warns_without_spin_at_rest_or_straight_up() -> None:
    velocity = np.array([[0.0, 0.0, 0.0, 0.0], [0.0, 0.0, 20.0, 0.0], [0.0, 12.0, 0.0, 0.0]])
    spin = np.array([[0.0, 0.0, 0.0, 0.0], [0.0, 0.0, 0.0, 0.0], [0.0, 0.0, 0.0, 200.0]])
    with np.errstate(divide="raise", over="raise", invalid="raise"):
        path = fly(np.ones((3, 4)), velocity, spin, BALL, Air(1.2), floor=0.0)
        assert not np.isnan(at_height(path, 0.0).position).any()
        assert at_plane(path, 5.0).time[2] > 0
        assert apex(path).position[2, 1] > 1
    assert np.isfinite(path.position).all()


def test_gravity_of_a_flight_is_kept_for_its_moments() -> None:
    still = np.zeros((3, 1))
    path = fly(still + 1.0, still, still, BALL, VACUUM, floor=0.0, gravity=1.62)
    assert at_height(path, 0.0).time[0] == pytest.approx(np.sqrt(2 / 1.62), abs=ROUNDING)
