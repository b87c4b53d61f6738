"""Moments of a path, lanes, and limits: closed forms in vacuum, and flights started again in the middle."""

import numpy as np
import pytest

from feedwright.compiler.physics.air import Air
from feedwright.compiler.physics.ball import BALLS
from feedwright.compiler.physics.flight import GRAVITY, Array, Path, fly, launch
from feedwright.compiler.physics.moments import Moment, apex, at_height, at_plane, finite, highest, places

from . import runge_kutta

BALL, VACUUM = BALLS["type 2"], Air(0.0)
ROUNDING = 1e-9  # a polynomial is exact on a parabola; the square root loses digits near the top


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
def test_a_level_just_below_the_highest_point_is_found_between_two_nodes(below: float, shift: float) -> None:
    """Both nodes around the top may be lower than the level: 40 ms around it the ball falls 2 mm."""
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


def _everywhere(lanes: int, seed: int) -> tuple[Array, Array, Array]:
    """All that is ever flown: machines, hands and replies, and what the search for a launch tries."""
    rng = np.random.default_rng(seed)
    speed = rng.uniform(1.5, 75, lanes)
    elevation = np.radians(rng.uniform(-60, 80, lanes))
    topspin, sidespin = rng.uniform(-400, 400, lanes), rng.uniform(-250, 250, lanes)
    velocity, spin = launch(speed, elevation, rng.uniform(-3, 3, lanes), topspin, sidespin * (rng.random(lanes) < 0.5))
    return np.stack([0 * speed, 0 * speed, rng.uniform(0.1, 3, lanes)]), velocity, spin


@pytest.mark.parametrize("floor", [0.033, -3.0])
def test_moments_are_those_of_short_steps_of_runge_kutta(floor: float) -> None:
    """Over the whole range; steps of 10 ms are off by less than 1e-7. Two millimetres is what matters to a landing; the
    integrator is held to 1/200 of it."""
    position, velocity, spin = _everywhere(1500, 3)
    air = Air(1.2, (2.0, -3.0, 0.0))
    path = fly(position, velocity, spin, BALL, air, floor=floor)
    exact = runge_kutta.fly(position, velocity, spin, BALL, air, floor=floor, step=0.01)
    plane = np.where(velocity[1] > 0, 2.0, -2.0)
    for moment, truth in (
        (at_height(path, floor), runge_kutta.at_height(exact, floor)),
        (at_plane(path, plane), runge_kutta.at_plane(exact, plane)),
        (apex(path), runge_kutta.apex(exact)),
    ):
        # The steps are the same for all and go on below the floor.
        there = np.isfinite(truth.time) & (truth.position[2] >= floor - 1e-9)
        assert there.sum() > 500 and np.isfinite(moment.time[there]).all()
        assert np.allclose(moment.position[:, there], truth.position[:, there], rtol=0, atol=1e-5)
        assert np.allclose(moment.velocity[:, there], truth.velocity[:, there], rtol=0, atol=1e-4)  # rates are to 10 /s


def test_a_flight_started_again_in_the_middle_is_the_same_flight() -> None:
    position, velocity, spin = _feeds(50, 4)
    path = fly(position, velocity, spin, BALL, Air(1.2), floor=0.033)
    middle = apex(path)
    assert not np.isnan(middle.time).any()
    again = fly(middle.position, middle.velocity, spin, BALL, Air(1.2), floor=0.033)
    first, second = at_height(path, 0.033), at_height(again, 0.033)
    # Two flights with other arcs differ by the integrator's own error, of ordinary feeds a few micrometres.
    assert np.allclose(first.position, second.position, rtol=0, atol=5e-6)
    assert np.allclose(first.time, middle.time + second.time, rtol=0, atol=5e-6)


@pytest.mark.parametrize("wind", [(0.0, 0.0, 0.0), (4.0, -5.0, 0.5)])
def test_a_moment_is_on_the_path(wind: tuple[float, float, float]) -> None:
    position, velocity, spin = _feeds(20, 8)
    path = fly(position, velocity, spin, BALL, Air(1.2, wind), floor=0.033)
    for moment in (at_height(path, 0.033), at_plane(path, -5.0), apex(path)):
        on_the_way = places(path, moment.time)
        for lane in range(20):
            assert np.allclose(on_the_way[lane, :, lane], moment.position[:, lane], rtol=0, atol=1e-12)  # rounding


def test_the_highest_point_is_the_apex_or_an_end() -> None:
    position, velocity, spin = _everywhere(300, 5)
    path = fly(position, velocity, spin, BALL, Air(1.2), floor=0.033)
    top, net = apex(path), at_plane(path, np.where(velocity[1] > 0, 1.5, -1.5))
    assert np.allclose(highest(path), np.fmax(top.position[2], position[2]), rtol=0, atol=1e-9)  # the apex to rounding
    reached = np.where(top.time <= net.time, top.position[2], -np.inf)
    expected = np.maximum(np.maximum(reached, position[2]), net.position[2])
    there = np.isfinite(net.time)
    assert np.allclose(highest(path, net)[there], expected[there], rtol=0, atol=1e-9)


def same(one: Moment, two: Moment) -> bool:
    pairs = zip((one.time, one.position, one.velocity), (two.time, two.position, two.velocity), strict=True)
    return all(np.array_equal(a, b, equal_nan=True) for a, b in pairs)


@pytest.mark.parametrize("count", [1, 2, 3, 7, 64, 129, 300])
def test_lanes_do_not_see_each_other(count: int) -> None:
    """Bit for bit: what was kept of one ball is what a batch with other balls in it gives."""
    position, velocity, spin = _everywhere(600, 6)
    rng, air = np.random.default_rng(count), Air(1.2, (2.0, -3.0, 0.0))
    path = fly(position, velocity, spin, BALL, air, floor=0.033)
    some = rng.permutation(600)[:count]
    few = fly(position[:, some], velocity[:, some], spin[:, some], BALL, air, floor=0.033)
    for ask in (lambda p: at_height(p, 0.033), lambda p: at_plane(p, 1.0), apex):
        whole = ask(path)
        assert same(Moment(whole.time[some], whole.position[:, some], whole.velocity[:, some]), ask(few))
    assert np.array_equal(highest(path)[some], highest(few))


def test_it_stops_when_a_ball_has_fallen_or_the_time_is_up() -> None:
    path = rise(np.array([0.0, 4.0]))
    ends = places(path, np.array([np.sqrt(2 / GRAVITY) - 1e-3, 1.5]))[:, 2]
    assert ends[0, 0] > 0 and np.isnan(ends[1]).all()
    velocity = np.array([[0.0], [0.0], [40.0]])
    still = np.zeros((3, 1))
    aloft = fly(still, velocity, still, BALL, VACUUM, floor=0.0, most=1.0)
    assert (aloft.arcs.begin + aloft.arcs.length).max() == pytest.approx(1.0, abs=1e-12)
    # A start below the floor is flown as long as it rises.
    assert highest(rise(5.0, height=-1.0))[0] > 0


def test_a_lane_that_is_not_a_number_keeps_nobody_waiting() -> None:
    velocity = np.array([[0.0, np.nan], [5.0, 5.0], [1.0, 1.0]])
    path = fly(np.zeros((3, 2)), velocity, np.zeros((3, 2)), BALL, Air(1.2), floor=0.0)
    assert np.isnan(places(path, np.array([0.5]))).all()
    assert np.isnan(at_height(path, 0.0).time).tolist() == [False, True]


def test_nothing_warns_without_spin_at_rest_or_straight_up() -> None:
    velocity = np.array([[0.0, 0.0, 0.0, 0.0], [0.0, 0.0, 20.0, 0.0], [0.0, 12.0, 0.0, 0.0]])
    spin = np.array([[0.0, 0.0, 0.0, 0.0], [0.0, 0.0, 0.0, 0.0], [0.0, 0.0, 0.0, 200.0]])
    with np.errstate(divide="raise", over="raise", invalid="raise"):
        path = fly(np.ones((3, 4)), velocity, spin, BALL, Air(1.2), floor=0.0)
        assert not np.isnan(at_height(path, 0.0).position).any()
        assert at_plane(path, 5.0).time[2] > 0
        assert apex(path).position[2, 1] > 1
        assert np.isfinite(highest(path)).all()


def test_gravity_of_a_flight_is_kept_for_its_moments() -> None:
    still = np.zeros((3, 1))
    path = fly(still + 1.0, still, still, BALL, VACUUM, floor=0.0, gravity=1.62)
    assert at_height(path, 0.0).time[0] == pytest.approx(np.sqrt(2 / 1.62), abs=ROUNDING)


def test_what_is_no_number_is_replaced_as_numpy_does() -> None:
    """numpy's own `nan_to_num`, to the last bit."""
    values = np.array([[np.nan, np.inf, -np.inf], [1.5, -0.0, 1e308]])
    assert finite(values, -3.0).tobytes() == np.nan_to_num(values, nan=-3.0).tobytes()
