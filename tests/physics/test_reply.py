"""Windows of replies against published angles, closed forms, brute force with scipy, and their own symmetries."""

from collections.abc import Callable
from dataclasses import replace
from math import asin, atan, atan2, cos, pi, radians, sin, sqrt
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from feedwright.compiler.physics.air import Air
from feedwright.compiler.physics.ball import BALLS, Ball
from feedwright.compiler.physics.bounce import SURFACES
from feedwright.compiler.physics.flight import Array
from feedwright.compiler.physics.outcome import Conditions
from feedwright.compiler.physics.reply import ELEVATIONS, Replies, Windows, windows

from ..whole import WHOLE

# ITF Rules of Tennis: half of 23.77 m and of 8.23 m, the net 0.914 m and 1.07 m, its posts 0.914 m outside the doubles
# sidelines, which are 10.97 m apart.
HALF_LENGTH, HALF_WIDTH, NET, POST, POST_X = 11.885, 4.115, 0.914, 1.07, 6.399


def conditions(ball: Ball = BALLS["type 2"], air: Air = Air(1.2), post: float = POST) -> Conditions:  # noqa: B008
    return Conditions(ball, air, SURFACES["hard"], NET, post, POST_X)


def replies(n: int = 1, **given: Any) -> Replies:
    """From 1 m above the baseline's middle at 25 m/s, flat, anywhere into the far half, unless given."""
    values: dict[str, Any] = {
        "contact": [[0.0], [HALF_LENGTH], [1.0]], "topspin": 0.0, "sidespin": 0.0, "pace": 25.0, "limit": 40.0,
        "x_low": np.nan, "x_high": np.nan, "y_low": np.nan, "y_high": np.nan, "over_net": 0.0,
        "under": np.inf, "slowest": 0.0,
    }  # fmt: skip
    assert given.keys() <= values.keys()
    values |= given
    contact = np.broadcast_to(np.array(values.pop("contact"), float), (3, n))
    return Replies(contact, *(np.broadcast_to(np.asarray(value, float), n) for value in values.values()))


def found(wanted: Replies, under: Conditions | None = None, elevations: Array = ELEVATIONS) -> Windows:
    return windows(wanted, HALF_WIDTH, HALF_LENGTH, under or conditions(), elevations)


def flown_by_scipy(
    origin: Array, velocity: Array, spin: Array, ball: Ball, air: Air, seconds: float = 3.5
) -> Callable[[int, float], Array]:
    """Positions (3, n) where a coordinate first passes a level, NaN where it does not; own force law and integrator.

    Štěpánek, Am. J. Phys. 56, 138 (1988); scipy.integrate.solve_ivp (DOP853). Read linearly every 10 ms: the sag of
    g t² / 8 is 0.12 mm, a millimetre of landing at 7°.
    """
    n = velocity.shape[1]
    rim = ball.radius_m * np.linalg.norm(spin, axis=0)
    axis = spin / np.maximum(np.linalg.norm(spin, axis=0), 1e-12)
    push = air.density_kg_m3 * pi * ball.radius_m**2 / (2 * ball.mass_kg)

    def motion(_: float, state: Array) -> Array:
        moving = state.reshape(6, n)[3:]
        u = moving - np.array(air.wind_mps)[:, None]
        speed = np.linalg.norm(u, axis=0)
        with np.errstate(divide="ignore"):
            q = speed / rim
        drag = ball.drag_offset + ball.spin_drag / (22.503 + 4.196 * q**2.5) ** 0.4
        lift = 1 / (2.022 + 0.981 * q)
        a = push * speed * (lift * np.cross(axis, u, axis=0) - drag * u)
        a[2] -= 9.81
        return np.concatenate([moving, a]).reshape(-1)

    start = np.concatenate([np.broadcast_to(origin, (3, n)), velocity]).reshape(-1)
    times = np.arange(0, seconds, 0.01)
    solution = solve_ivp(motion, (0, seconds), start, method="DOP853", rtol=1e-8, atol=1e-8, t_eval=times)
    path = solution.y.reshape(6, n, -1)[:3]

    def passing(coordinate: int, level: float) -> Array:
        over = path[coordinate] - level
        hit = (over[:, :-1] >= 0) != (over[:, 1:] >= 0)
        index, lane = hit.argmax(axis=1), np.arange(n)
        first, last = over[lane, index], over[lane, index + 1]
        place = path[:, lane, index] + first / (first - last) * (path[:, lane, index + 1] - path[:, lane, index])
        return np.where(hit.any(axis=1), place, np.nan)

    return passing


def aimed(elevation: Array, azimuth: float, pace: float, topspin: float, sidespin: float) -> tuple[Array, Array]:
    """Velocity and spin (3, n) by cross products: topspin about the left, sidespin about the upward normal."""
    level = np.array([sin(azimuth), cos(azimuth), 0.0])
    direction = np.cos(elevation) * level[:, None] + np.sin(elevation) * np.array([[0.0], [0.0], [1.0]])
    left = np.cross([0.0, 0.0, 1.0], level)
    up = np.cross(direction, left[:, None], axis=0)
    return pace * direction, topspin * left[:, None] + sidespin * up


# --- published -----------------------------------------------------------------------------------------------------

# Brody, Cross & Lindsey, The Physics and Technology of Tennis (2002), ch. 42: 1.21 kg/m³, R 33 mm, 57 g, C_D .55.
FLAT, SPUN = Ball("ch. 42", 0.057, 0.066, drag_offset=0.55), Ball("ch. 42, Štěpánek", 0.057, 0.066, spin_drag=1.0)


@pytest.mark.parametrize(
    ("ball", "turns", "window", "reaches"), [(FLAT, 0.0, 4.1, 8.1), (SPUN, 20.0, 6.3, 11.9)], ids=["flat", "topspin"]
)
def test_window_of_the_book(ball: Ball, turns: float, window: float, reaches: float) -> None:
    """Ch. 42: 30 m/s from 1 m at the baseline. About 4.1° flat, 6.2 to 6.4° with 20 rev/s; the baseline is reached at
    8.1° and 11.9°. The book does not state its exact constants: ± 0.3° on an angle, as for the angles themselves. Our
    ball clears the cord with its underside, 0.16° narrower, and may touch the line, 0.08° wider at most: ± 0.25°."""
    one = found(replies(pace=30.0, topspin=2 * pi * turns), conditions(ball, Air(1.21), NET))
    assert np.degrees(one.vertical[0]) == pytest.approx(window, abs=0.25)
    assert np.degrees(one.high[0]) == pytest.approx(reaches, abs=0.3)


@pytest.mark.parametrize("pace", [25.0, 30.0])
def test_window_widens_with_topspin(pace: float) -> None:
    """Brody, Tennis Science for Tennis Players (1987), ch. 5; none, 10 and 20 rev/s."""
    assert np.all(np.diff(found(replies(3, pace=pace, topspin=2 * pi * np.array([0, 10, 20]))).vertical) > radians(0.5))


@pytest.mark.parametrize("rev_per_s", [0.0, 15.0])
def test_window_narrows_with_speed_and_widens_with_height(rev_per_s: float) -> None:
    """Brody (1987), ch. 5; by more than the hundredth of a degree to which ends are found."""
    spin = 2 * pi * rev_per_s
    assert np.all(np.diff(found(replies(4, pace=np.array([24, 27, 30, 33]), topspin=spin)).vertical) < -radians(0.1))
    contact = np.tile([[0.0], [HALF_LENGTH], [1.0]], 4)
    contact[2] = 0.7, 1.0, 1.5, 2.2
    assert np.all(np.diff(found(replies(4, contact=contact, pace=30.0, topspin=spin)).vertical) > radians(0.1))


# --- closed forms --------------------------------------------------------------------------------------------------

LOBS_TOO = np.radians(np.concatenate([np.arange(-20, 40, 2.0), np.arange(40, 81, 2.5)]))
VACUUM = conditions(air=Air(0.0), post=NET)
RADIUS = BALLS["type 2"].radius_m


def thrown(distance: float, rise: float, pace: float) -> tuple[float, float]:
    """Both elevations that pass a point in a vacuum: tan θ = (v² ± √(v⁴ - g(g d² + 2 v² Δz))) / (g d)."""
    root = sqrt(pace**4 - 9.81 * (9.81 * distance**2 + 2 * pace**2 * rise))
    return atan((pace**2 - root) / (9.81 * distance)), atan((pace**2 + root) / (9.81 * distance))


def test_two_arcs_in_a_vacuum() -> None:
    """16.5 m/s from 1 m could reach 28.7 m, so the far line is passed by a low and by a looped throw."""
    pace, near = 16.5, 2.0
    one = found(replies(pace=pace, y_high=-near, over_net=0.5), VACUUM, LOBS_TOO)
    far = thrown(2 * HALF_LENGTH + RADIUS, RADIUS - 1.0, pace)
    close = thrown(HALF_LENGTH + near - RADIUS, RADIUS - 1.0, pace)
    cord = thrown(HALF_LENGTH, NET + 0.5 + RADIUS - 1.0, pace)
    arcs = (max(cord[0], close[0]), far[0]), (far[1], min(cord[1], close[1]))
    widths = [high - low for low, high in arcs]
    fine = radians(0.01)  # what is asked of the ends
    assert min(widths) > radians(1)
    assert one.total[0] == pytest.approx(sum(widths), abs=2 * fine)
    assert (one.low[0], one.high[0]) == pytest.approx(arcs[int(np.argmax(widths))], abs=fine)


def test_a_ceiling_in_a_vacuum() -> None:
    """The apex is v² sin² θ / 2 g over the contact, and the ball's top a radius higher. At 14.5 m/s nothing flies too
    far, so in the open one interval goes on into the lobs."""
    pace, roof = 14.5, 6.0
    under = replace(VACUUM, ceiling=roof)
    one = found(replies(pace=pace, y_high=-2.0), under, LOBS_TOO)
    highest = asin(sqrt(2 * 9.81 * (roof - RADIUS - 1.0)) / pace)
    assert one.high[0] == pytest.approx(highest, abs=radians(0.01))
    open_air = found(replies(pace=pace, y_high=-2.0), VACUUM, LOBS_TOO)
    assert one.low[0] == pytest.approx(open_air.low[0], abs=1e-9) and open_air.high[0] > one.high[0] + 0.1


def test_direction_in_a_vacuum() -> None:
    """The reach R does not depend on the azimuth: the sides are met at asin((x - x0) / R) beside straight ahead."""
    one = found(replies(contact=[[1.5], [HALF_LENGTH], [1.0]], pace=20.0, x_low=-3.0, x_high=2.5, y_high=-7.0), VACUUM)
    middle = (one.low[0] + one.high[0]) / 2
    up, along = 20 * sin(middle), 20 * cos(middle)
    reach = along * (up + sqrt(up**2 + 2 * 9.81 * (1.0 - RADIUS))) / 9.81
    fine = radians(0.01)
    assert one.left[0] == pytest.approx(pi - asin((2.5 + RADIUS - 1.5) / reach), abs=fine)
    assert one.right[0] == pytest.approx(pi + asin((1.5 + 3.0 + RADIUS) / reach), abs=fine)
    assert one.azimuth[0] == pytest.approx(pi + atan2(1.5 + 0.25, HALF_LENGTH + (HALF_LENGTH + 7.0) / 2), abs=1e-12)


def test_a_window_narrower_than_the_scan_is_found() -> None:
    """A strip of 30 cm at 30 m/s, some 0.3° wide, at any place between two elevations scanned 2° apart."""
    far = np.linspace(-HALF_LENGTH, -7.0, 40)
    many = found(replies(40, pace=30.0, y_low=far, y_high=far + 0.3), VACUUM)
    fall = 1.0 - RADIUS
    for i in range(40):
        ends = [thrown(HALF_LENGTH - y, -fall, 30.0)[0] for y in (far[i] + 0.3 + RADIUS, far[i] - RADIUS)]
        cord = thrown(HALF_LENGTH, NET + RADIUS - 1.0, 30.0)[0]
        assert many.vertical[i] == pytest.approx(max(0.0, ends[1] - max(ends[0], cord)), abs=radians(0.01))


# --- brute force -----------------------------------------------------------------------------------------------------


def test_windows_by_brute_force() -> None:
    """Some replies in wind, every 0.05° flown by scipy with a force law of its own: an end lies half way between a
    flight that will do and its neighbour that will not, so within 0.025°; the rest is for reading it off linearly."""
    rng = np.random.default_rng(8)
    n, air, ball = 18 if WHOLE else 9, Air(1.16, (1.5, 2.0, 0.0)), BALLS["type 2"]
    contact = np.stack([rng.uniform(-4, 4, n), rng.uniform(3, 13.5, n), rng.uniform(0.4, 1.8, n)])
    far = rng.uniform(-HALF_LENGTH, -7, n)
    given = replies(
        n, contact=contact, pace=rng.uniform(15, 29, n), topspin=rng.uniform(-150, 280, n),
        sidespin=rng.uniform(-200, 200, n), y_low=far, y_high=far + rng.uniform(2, 6, n),
        x_low=np.where(np.arange(n) % 2, -HALF_WIDTH, np.nan), x_high=np.where(np.arange(n) % 2, 0.0, np.nan),
        over_net=rng.uniform(0, 0.8, n),
    )  # fmt: skip
    ours, grid = found(given, conditions(ball, air)), np.radians(np.arange(-30, 40, 0.05))
    ends = np.r_[grid[0], (grid[1:] + grid[:-1]) / 2, radians(40)]
    compared = 0
    for i in range(n):
        velocity, spin = aimed(grid, ours.azimuth[i], given.pace[i], given.topspin[i], given.sidespin[i])
        passing = flown_by_scipy(contact[:, i : i + 1], velocity, spin, ball, air)
        net, landing = passing(1, 0.0), passing(2, RADIUS)
        cord = NET + (POST - NET) * np.abs(net[0]) / POST_X
        good = net[2] - RADIUS - cord >= given.over_net[i]
        good &= (landing[1] <= given.y_high[i] + RADIUS) & (landing[1] >= given.y_low[i] - RADIUS)
        assert ours.total[i] == pytest.approx(good.sum() * radians(0.05), abs=radians(0.06))
        edges = np.flatnonzero(np.diff(np.r_[False, good, False].astype(int))).reshape(-1, 2)
        if len(edges):
            first, last = max(edges, key=lambda edge: int(edge[1] - edge[0]))
            assert (ours.low[i], ours.high[i]) == pytest.approx((ends[first], ends[last]), abs=radians(0.03))
            compared += 1
    assert compared >= 2 * n // 3


# --- symmetries and limits -------------------------------------------------------------------------------------------


@settings(max_examples=30)
@given(
    st.floats(-5, 5), st.floats(2, 14), st.floats(-4, 3), st.floats(0.3, 4), st.floats(15, 32), st.floats(-200, 300),
    st.floats(-250, 250), st.floats(-5, 5),
)  # fmt: skip
def test_mirrored(
    x: float, y: float, x_low: float, width: float, pace: float, topspin: float, sidespin: float, wind: float
) -> None:
    given: dict[str, Any] = {"pace": pace, "topspin": topspin, "y_high": -5.0}
    one = found(
        replies(contact=[[x], [y], [1.0]], x_low=x_low, x_high=x_low + width, sidespin=sidespin, **given),
        conditions(air=Air(1.2, (wind, 0.0, 0.0))),
    )
    other = found(
        replies(contact=[[-x], [y], [1.0]], x_low=-x_low - width, x_high=-x_low, sidespin=-sidespin, **given),
        conditions(air=Air(1.2, (-wind, 0.0, 0.0))),
    )
    same: dict[str, Any] = {"abs": 1e-8, "nan_ok": True}  # rounding, magnified by where the zeros are looked for
    assert one.total[0] == pytest.approx(other.total[0], **same)
    assert (one.low[0], one.high[0]) == pytest.approx((other.low[0], other.high[0]), **same)
    assert (one.left[0], one.right[0]) == pytest.approx((2 * pi - other.right[0], 2 * pi - other.left[0]), **same)


def test_a_window_stays_within_the_elevations_scanned() -> None:
    few = np.radians(np.arange(4.0, 9.0))
    wide = replies(3, pace=np.array([14.0, 20.0, 16.0]), contact=[[0.0], [4.0], [1.5]])
    bounded = found(wide, elevations=few)
    assert np.all(bounded.vertical > 0)
    assert np.all((bounded.low >= few[0]) & (bounded.high <= few[-1]) & (bounded.total <= few[-1] - few[0] + 1e-12))
    assert np.all(found(wide).total[:2] > bounded.total[:2])


def test_what_cannot_be_reached_has_no_window() -> None:
    """Too slow for the net, too fast for the strip behind a high net, a contact beyond the net; beside one that can."""
    wanted = replies(
        4, contact=np.array([[0.0] * 4, [12.0, 12.0, -1.0, 12.0], [1.0] * 4]),
        pace=[6.0, 38.0, 25.0, 25.0], over_net=[0, 3.0, 0, 0], y_low=[np.nan, -6, np.nan, np.nan],
    )  # fmt: skip
    none = found(wanted)
    assert list(none.total[:3]) == list(none.vertical[:3]) == list(none.direction[:3]) == [0, 0, 0]
    assert np.isnan([none.low[:3], none.high[:3], none.left[:3], none.right[:3]]).all()
    assert list(none.pace) == [6.0, 38.0, 25.0, 25.0]
    assert none.total[3] > 0
    assert none.direction[3] > 0
    assert len(found(replies(0)).total) == 0


def test_open_edges_are_the_lines() -> None:
    spelt = replies(pace=24.0, x_low=-HALF_WIDTH, x_high=HALF_WIDTH, y_low=-HALF_LENGTH, y_high=0.0)
    one, other = found(replies(pace=24.0)), found(spelt)
    for name in ("azimuth", "total", "low", "high", "left", "right"):
        assert np.array_equal(getattr(one, name), getattr(other, name))


def test_a_reply_does_not_depend_on_its_neighbours() -> None:
    """But for rounding: lanes differ in their place in a batch alone."""
    paces = [18.0, 22.0, 30.0, 26.0]
    many = replies(4, pace=paces, topspin=[0, 50, 100, 150], over_net=1.0, y_high=-8.0)
    together = found(many)
    for i in range(4):
        alone = found(many.at(np.array([i])))
        for name in ("pace", "total", "low", "high", "left", "right"):
            assert getattr(alone, name)[0] == pytest.approx(getattr(together, name)[i], abs=1e-9)


def test_more_topspin_less_pace_and_a_deeper_stance_in_one_call() -> None:
    """A hard flat reply from inside the court: each of these widens its window (Brody 1987, ch. 5, but for the stance:
    from deeper the net stands lower in view)."""
    tried = replies(1, contact=[[0.0], [9.0], [0.8]], pace=28.0).at(np.zeros(4, int))
    contact = tried.contact.copy()
    contact[1, 3] += 3.0
    spin, slower = np.array([0.0, 120.0, 0.0, 0.0]), np.array([0.0, 0.0, 4.0, 0.0])
    tried = replace(tried, contact=contact, pace=tried.pace - slower, topspin=tried.topspin + spin)
    assert np.all(found(tried).vertical[1:] > found(tried).vertical[0] + radians(0.1))
