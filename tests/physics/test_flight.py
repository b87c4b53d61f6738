"""The flight against published coefficients, worked examples, closed forms and its own symmetries."""

from dataclasses import replace
from math import pi, radians

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from feedwright.compiler.physics import flight
from feedwright.compiler.physics.air import Air
from feedwright.compiler.physics.ball import BALLS, Ball
from feedwright.compiler.physics.flight import (
    SHARES,
    Array,
    Drag,
    Path,
    drag_coefficient,
    fly,
    launch,
    lift_coefficient,
)
from feedwright.compiler.physics.moments import apex, at_height, at_plane, places

BASELINE, NET = 11.885, 0.914  # ITF Rules of Tennis: half of 23.77 m; height at the centre

# Štěpánek, Am. J. Phys. 56, 138 (1988): the two formulas evaluated at q = speed / rim speed, five digits written.
COEFFICIENTS = {
    2: (0.72377, 0.25100),
    3: (0.67487, 0.20141),
    4: (0.64040, 0.16818),
    5: (0.61664, 0.14436),
    6: (0.59972, 0.12645),
    8: (0.57762, 0.10132),
    10: (0.56397, 0.08452),
    15: (0.54547, 0.05975),
    20: (0.53614, 0.04621),
    40: (0.52208, 0.02424),
}


def from_point(velocity: Array, height: float = 1.0, y: float = 0.0) -> Array:
    return np.tile([[0.0], [y], [height]], velocity.shape[1])


def told(path: Path, lane: int = 0) -> tuple[Array, Array, Array]:
    """Time (s,), position and velocity (3, s) of one ball at all nodes of its arcs, each once."""
    arc, mine = path.arcs, np.flatnonzero(path.arcs.lanes == lane)
    return (
        np.concatenate([(arc.begin[i] + SHARES * arc.length[i])[1:] for i in mine]),
        np.concatenate([arc.position[:, 1:, i] for i in mine], axis=1),
        np.concatenate([arc.velocity[:, 1:, i] for i in mine], axis=1),
    )


@pytest.mark.parametrize("rim_speed", [0.5, 2.0, 10.0])
def test_coefficients(rim_speed: float) -> None:
    """They depend on the ratio of the speeds alone."""
    q = np.array(list(COEFFICIENTS), float)
    drag, lift = np.array(list(COEFFICIENTS.values())).T
    half_digit = 5.1e-6
    assert drag_coefficient(q * rim_speed, rim_speed, Drag(0.508, 1.0)) == pytest.approx(drag, abs=half_digit)
    assert lift_coefficient(q * rim_speed, rim_speed) == pytest.approx(lift, abs=half_digit)


def test_drag_is_independent_of_spin_where_a_ball_has_none_of_its_growth() -> None:
    """Cross & Lindsey, Sports Eng. 17, 89 (2014): 0.507 ± 0.024 at 15 to 30 m/s and up to 2500 rpm, whatever the spin.
    With all of the growth the same grid is outside of that; the default lies between the two."""
    ball, speed = BALLS["type 2"], np.linspace(15, 30, 16)[:, None]
    rim = 0.033 * np.linspace(0, 2500, 26) * pi / 30
    measured, grown, ours = (
        drag_coefficient(speed, rim, Drag(ball.drag_offset, s)) for s in (0.0, 1.0, ball.spin_drag)
    )
    assert measured == pytest.approx(np.full((16, 26), 0.507), abs=0.024)
    assert grown.max() > 0.507 + 5 * 0.024
    assert np.all((measured < ours) & (ours < grown) | (rim == 0))


def test_the_ends_of_the_doubt_are_the_two_published_answers_and_one_spread_beyond() -> None:
    """Štěpánek (1988), five digits, 0.024 more; Cross & Lindsey (2014), 0.024 less. The ball flies with either."""
    ball = BALLS["type 2"]
    q, (drag, _) = np.array(list(COEFFICIENTS), float), np.array(list(COEFFICIENTS.values())).T
    assert drag_coefficient(2 * q, 2.0, Drag.of(ball, 1.0)) == pytest.approx(drag + 0.024, abs=5.1e-6)  # half a digit
    # The ball's own coefficient without spin is Štěpánek's 0.508.
    assert drag_coefficient(2 * q, 2.0, Drag.of(ball, -1.0)) == pytest.approx(np.full(len(q), 0.508 - 0.024), abs=1e-12)
    doubt, (velocity, spin) = np.array([-1.0, 0.0, 1.0]), launch(np.full(3, 24.0), 0.2, 0.0, 200.0, 0.0)
    both = fly(from_point(velocity), velocity, spin, ball, Air(1.2), floor=0.0, drag=Drag.of(ball, doubt))
    for lane, (offset, growth) in enumerate([(0.484, 0.0), (0.508, ball.spin_drag), (0.532, 1.0)]):
        other = replace(ball, drag_offset=offset, spin_drag=growth)
        alone = fly(from_point(velocity)[:, :1], velocity[:, :1], spin[:, :1], other, Air(1.2), floor=0.0)
        # Rounding of the coefficient itself; the integrator is the same.
        assert at_height(both, 0.0).position[1, lane] == pytest.approx(at_height(alone, 0.0).position[1, 0], abs=1e-10)


def test_coefficients_without_spin_and_at_rest() -> None:
    with np.errstate(all="raise"):
        assert list(drag_coefficient(np.array([0.0, 20.0]), 0.0, Drag(0.55, 1.0))) == [0.55, 0.55]
        assert list(lift_coefficient(np.array([0.0, 20.0]), 0.0)) == [0.0, 0.0]
        # Turning in still air: the limits of the formulas for q = 0.
        assert drag_coefficient(0.0, 5.0, Drag(0.508, 1.0)) == pytest.approx(0.508 + 22.503**-0.4, rel=1e-12)
        assert lift_coefficient(0.0, 5.0) == pytest.approx(1 / 2.022, rel=1e-12)


def test_the_acceleration_of_the_flight_is_that_of_the_coefficients() -> None:
    """F_D = ½ρC_D A v² against the velocity, F_L = ½ρC_L A v |ω̂ × v| along ω̂ × v; from a step too short to turn."""
    ball, air, step = BALLS["type 2"], Air(1.2, (1.0, -2.0, 0.3)), 1e-5
    rng = np.random.default_rng(5)
    velocity, spin = rng.uniform(-25, 25, (3, 50)), rng.uniform(-300, 300, (3, 50))
    arc = fly(np.zeros((3, 50)), velocity, spin, ball, air, floor=1.0, most=step).arcs
    measured = (arc.velocity[:, -1] - arc.velocity[:, 0]) / step
    relative = velocity - np.array(air.wind_mps)[:, None]
    speed, turning = np.linalg.norm(relative, axis=0), np.linalg.norm(spin, axis=0)
    rim = ball.radius_m * turning
    k = 1.2 * ball.area_m2 / (2 * ball.mass_kg)
    expected = -k * drag_coefficient(speed, rim, Drag(ball.drag_offset, ball.spin_drag)) * speed * relative
    expected += k * lift_coefficient(speed, rim) * speed * np.cross(spin / turning, relative, axis=0)
    expected[2] -= 9.81
    # The mean over the step differs from its start by half a step of jerk, at most 5e-6 s · 200 m/s³.
    assert np.allclose(measured, expected, rtol=0, atol=1e-3)


KLVANA = Ball("Klvaňa", 0.05, 0.063, spin_drag=1.0)


@pytest.mark.parametrize(
    ("rim_speed", "constant", "density", "time", "reach", "top"),
    [
        (0.0, 22.503, 0.0, 1.458903641, 35.229817614, (0.659580, 15.927625, 3.133897)),
        (0.0, 22.503, 1.29, 1.36201369214, 25.0767148712, (0.576172, 12.218608, 2.774219)),
        (20.0, 22.053, 1.29, 0.93072411893, 17.0473439737, (0.358206, 7.711416, 2.080179)),
        (20.0, 22.503, 1.29, 0.93063730326, 17.0552184319, (0.358240, 7.713986, 2.080423)),
        (-20.0, 22.503, 1.29, 1.982487785, 28.601424878, (0.895551, 16.113354, 3.868082)),
    ],
    ids=["vacuum", "no spin", "topspin, constant as printed", "topspin", "backspin"],
)
def test_klvana(
    monkeypatch: pytest.MonkeyPatch,
    rim_speed: float,
    constant: float,
    density: float,
    time: float,
    reach: float,
    top: tuple[float, float, float],
) -> None:
    """Computed from the inputs of Klvaňa, "Trajectory of a Spinning Tennis Ball", in Gander & Hřebíček (eds.), Solving
    Problems in Scientific Computing, 4th ed., Springer 2004: .05 kg, 63 mm, 1.29 kg/m³, g 9.81, 1 m, 25 m/s, 15°, rim
    speed 20 m/s, until the centre is at height 0. The book prints 22.053 where Štěpánek has 22.503."""
    monkeypatch.setattr(flight, "DRAG_A", constant)
    velocity, spin = launch(25.0, radians(15), 0.0, rim_speed / 0.0315, 0.0)
    path = fly(from_point(velocity), velocity, spin, KLVANA, Air(density), floor=0.0)
    landing, highest = at_height(path, 0.0), apex(path)
    error = 1e-6  # a tenth of what the integrator is held to over the whole range
    assert landing.time[0] == pytest.approx(time, abs=error)
    assert landing.position[1, 0] == pytest.approx(reach, abs=error)
    assert landing.position[2, 0] == pytest.approx(0.0, abs=1e-12)  # it is looked for until rounding
    assert (highest.time[0], *highest.position[1:, 0]) == pytest.approx(top, abs=error)


def _angles(ball: Ball, rev_per_s: float, speed: float = 30.0, height: float = 1.0) -> tuple[float, float]:
    """Elevation, degrees, that just clears the net and that just reaches the far baseline from a baseline."""
    elevation = np.linspace(-4, 18, 221)
    velocity, spin = launch(speed, np.radians(elevation), 0.0, rev_per_s * 2 * pi, 0.0)
    path = fly(from_point(velocity, height, -BASELINE), velocity, spin, ball, Air(1.21), floor=0.0)
    net, landing = at_plane(path, 0.0).position[2], at_height(path, 0.0).position[1]
    return (
        float(np.interp(NET, net[~np.isnan(net)], elevation[~np.isnan(net)])),
        float(np.interp(BASELINE, landing, elevation)),
    )


# Brody, Cross & Lindsey, The Physics and Technology of Tennis (2002), ch. 42: 1.21 kg/m³, R 33 mm, 57 g, C_D .55.
FLAT, SPUN = Ball("ch. 42", 0.057, 0.066, drag_offset=0.55), Ball("ch. 42, Štěpánek", 0.057, 0.066, spin_drag=1.0)


@pytest.mark.parametrize(
    ("ball", "rev_per_s", "published", "computed"),
    [(FLAT, 0.0, (4.0, 8.1), (3.98, 8.22)), (SPUN, 20.0, (5.5, 11.9), (5.49, 11.87))],
    ids=["flat", "topspin"],
)
def test_launch_angles_of_the_book(
    ball: Ball, rev_per_s: float, published: tuple[float, float], computed: tuple[float, float]
) -> None:
    """Ch. 42: 30 m/s from 1 m at the baseline, to just clear the net and to just reach the far baseline. The book does
    not state its exact constants: ± 0.3°. `computed` from its inputs by another integrator, two digits written."""
    angles = _angles(ball, rev_per_s)
    assert angles == pytest.approx(published, abs=0.3)
    assert angles == pytest.approx(computed, abs=0.0065)  # half a digit, and a grid of 0.1° read linearly


def test_window_of_angles() -> None:
    """Ch. 42: the vertical window is about 4.1° flat and 6.2 to 6.4° with 20 rev/s of topspin; whether the ball touches
    the cord or clears it by its radius makes 0.16°, hence ± 0.15° about the middle."""
    flat, spun = _angles(FLAT, 0.0), _angles(SPUN, 20.0)
    assert flat[1] - flat[0] == pytest.approx(4.1, abs=0.15)
    assert spun[1] - spun[0] == pytest.approx(6.3, abs=0.15)


def test_window_narrows_with_speed_and_widens_with_height_and_topspin() -> None:
    """Brody, Tennis Science for Tennis Players (1987), ch. 5."""

    def window(rev_per_s: float, speed: float, height: float) -> float:
        low, high = _angles(SPUN, rev_per_s, speed, height)
        return high - low

    assert window(0, 26, 1.0) > window(0, 30, 1.0) > window(0, 34, 1.0)
    assert window(0, 30, 0.7) < window(0, 30, 1.0) < window(0, 30, 2.0)
    assert window(0, 30, 1.0) < window(10, 30, 1.0) < window(20, 30, 1.0)


def test_straight_line_with_quadratic_drag() -> None:
    """Ch. 42, closed form v = v0 e^(-kC_D x), t = (e^(kC_D x) - 1) / (kC_D v0): 30 m/s over 10 m, without gravity."""
    velocity = np.array([[0.0], [30.0], [0.0]])
    path = fly(np.zeros((3, 1)), velocity, np.zeros((3, 1)), FLAT, Air(1.21), floor=0.0, most=0.5, gravity=0.0)
    there = at_plane(path, 10.0)
    assert there.velocity[1, 0] == pytest.approx(24.568807633, abs=1e-9)  # all written digits
    assert there.time[0] == pytest.approx(0.368951168195, abs=1e-9)


def test_fall_with_quadratic_drag() -> None:
    """Ch. 42's inputs: v = v_t sqrt(1 - e^(-2 g h / v_t²)), 6.884047614 m/s after 2.54 m; v_t = 22.162769171 m/s, which
    is neither gained nor lost, and approached from above and below."""
    still, start = np.zeros((3, 1)), from_point(np.zeros((3, 1)), 2.54)
    path = fly(start, still, still, FLAT, Air(1.21), floor=0.0)
    assert -at_height(path, 0.0).velocity[2, 0] == pytest.approx(6.884047614, abs=1e-9)  # all written digits

    terminal = 22.162769171
    velocity = np.array([[0.0, 0.0, 0.0], [0.0, 0.0, 0.0], [0.0, -terminal, -40.0]])
    path = fly(from_point(velocity, 400.0), velocity, 0 * velocity, FLAT, Air(1.21), floor=-9e9, most=14.0)
    slow, steady, fast = (-told(path, lane)[2][2] for lane in range(3))
    error = 5e-6  # of the integrator, half of what it is held to
    assert steady == pytest.approx(terminal, abs=error)
    assert np.all(np.diff(slow) > -error)
    assert np.all(np.diff(fast) < error)
    # What is left of a start from rest is 2 e^(-2 g t / v_t): 8e-5 m/s after 14 s.
    assert slow[-1] == pytest.approx(terminal, abs=3e-4)


def test_launch_follows_the_conventions() -> None:
    velocity, spin = launch(20.0, 0.0, 0.0, 100.0, 0.0)
    assert velocity[:, 0] == pytest.approx([0, 20, 0], abs=1e-12)
    assert spin[:, 0] == pytest.approx([-100, 0, 0], abs=1e-12)  # topspin turns about -x
    velocity, spin = launch(20.0, radians(30), radians(90), 0.0, 100.0)
    assert velocity[:, 0] == pytest.approx([20 * 0.75**0.5, 0, 10], abs=1e-12)  # azimuth towards +x
    assert spin[:, 0] == pytest.approx([-50, 0, 100 * 0.75**0.5], abs=1e-12)  # about the upward normal


@given(st.floats(1, 40), st.floats(-1.5, 1.5), st.floats(-3, 3), st.floats(-400, 400), st.floats(-400, 400))
def test_launch_turns_the_axes_without_stretching(
    speed: float, elevation: float, azimuth: float, topspin: float, sidespin: float
) -> None:
    velocity, spin = (array[:, 0] for array in launch(speed, elevation, azimuth, topspin, sidespin))
    assert np.linalg.norm(velocity) == pytest.approx(speed, rel=1e-12)  # rounding, as below
    assert np.linalg.norm(spin) == pytest.approx(np.hypot(topspin, sidespin), abs=1e-10)
    assert velocity @ spin == pytest.approx(0.0, abs=1e-9)  # neither is about the flight
    force = np.cross(spin, velocity)
    up = np.cross(np.cross(velocity, [0.0, 0.0, 1.0]), velocity)  # the upward normal to the flight
    assert force @ up / np.linalg.norm(up) == pytest.approx(-topspin * speed, abs=1e-8)  # topspin pulls down
    right = np.cross(velocity, [0.0, 0.0, 1.0])
    assert force @ right / np.linalg.norm(right) == pytest.approx(-sidespin * speed, abs=1e-8)  # curves left


SPEED, ELEVATION = st.floats(12, 38), st.floats(-0.15, 0.8)
TOPSPIN, SIDESPIN = st.floats(-250, 350), st.floats(-300, 300)


def _flight(
    speed: float, elevation: float, topspin: float, sidespin: float, across: float = 0.0, along: float = 0.0
) -> Path:
    velocity, spin = launch(speed, elevation, 0.0, topspin, sidespin)
    return fly(from_point(velocity), velocity, spin, BALLS["type 2"], Air(1.2, (across, along, 0.0)), floor=0.0)


@settings(max_examples=40)
@given(SPEED, ELEVATION, TOPSPIN)
def test_without_wind_and_side_spin_the_flight_stays_in_its_plane(
    speed: float, elevation: float, topspin: float
) -> None:
    assert not told(_flight(speed, elevation, topspin, 0.0))[1][0].any()


@settings(max_examples=40)
@given(SPEED, ELEVATION, TOPSPIN, SIDESPIN, st.floats(-6, 6), st.floats(-6, 6))
def test_a_mirrored_flight(
    speed: float, elevation: float, topspin: float, sidespin: float, across: float, along: float
) -> None:
    one = at_height(_flight(speed, elevation, topspin, sidespin, across, along), 0.0)
    other = at_height(_flight(speed, elevation, topspin, -sidespin, -across, along), 0.0)
    assert np.allclose(one.position, other.position * [[-1], [1], [1]], rtol=0, atol=1e-11)  # rounding


@settings(max_examples=40)
@given(SPEED, st.floats(-0.1, radians(30)), st.floats(0, 300), st.floats(5, 50))
def test_more_topspin_lands_shorter(speed: float, elevation: float, topspin: float, more: float) -> None:
    """At one speed and below 30°: topspin pulls down and adds drag (Brody 1987, ch. 5)."""
    near = at_height(_flight(speed, elevation, topspin + more, 0.0), 0.0)
    assert near.position[1, 0] < at_height(_flight(speed, elevation, topspin, 0.0), 0.0).position[1, 0]


@settings(max_examples=40)
@given(SPEED, ELEVATION, TOPSPIN, SIDESPIN, st.floats(-6, 6), st.floats(-6, 6))
def test_wind_is_the_same_as_running(
    speed: float, elevation: float, topspin: float, sidespin: float, across: float, along: float
) -> None:
    """Galilei: seen by one who drifts with the wind, the ball flies in still air."""
    windy = _flight(speed, elevation, topspin, sidespin, across, along)
    drift = np.array([[across], [along], [0.0]])
    velocity, spin = launch(speed, elevation, 0.0, topspin, sidespin)
    still = fly(from_point(velocity), velocity - drift, spin, BALLS["type 2"], Air(1.2), floor=0.0)
    times = np.linspace(0.0, 0.9 * at_height(still, 0.0).time[0], 20)
    seen = places(still, times) + times[:, None, None] * drift
    assert np.allclose(places(windy, times), seen, rtol=0, atol=1e-11)  # rounding


@settings(max_examples=40)
@given(SPEED, ELEVATION, TOPSPIN, SIDESPIN)
def test_still_air_never_gives_energy(speed: float, elevation: float, topspin: float, sidespin: float) -> None:
    _, position, velocity = told(_flight(speed, elevation, topspin, sidespin))
    energy = (velocity**2).sum(axis=0) / 2 + 9.81 * position[2]
    assert np.all(np.diff(energy) < 0)
