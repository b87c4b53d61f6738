"""The scatter of fed balls against closed forms, scipy's normal distribution, flights by scipy, and itself."""

import subprocess
import sys
from dataclasses import replace
from math import cos, radians, sin, sqrt
from math import erf as exact_erf

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from feedwright.compiler.physics.air import Air
from feedwright.compiler.physics.ball import BALLS
from feedwright.compiler.physics.bounce import SURFACES
from feedwright.compiler.physics.flight import Array
from feedwright.compiler.physics.normal import NODES, WEIGHTS, erf, normal_in_box
from feedwright.compiler.physics.outcome import Conditions, Release, outcome
from feedwright.compiler.physics.spread import (
    SAMPLE,
    Landings,
    Scatter,
    ZoneEdges,
    linear,
    sampled,
)

from ..test_physics_page import PAGE
from ..whole import WHOLE
from .test_reply import aimed, flown_by_scipy

BALL = BALLS["type 2"]
# ITF Rules of Tennis: net 0.914 m and 1.07 m, posts 0.914 m outside the doubles sidelines.
CONDITIONS = Conditions(BALL, Air(1.2), SURFACES["hard"], 0.914, 1.07, 6.399)
# Invented: what a modest machine, and a person with a racket, may repeat; common practice, no source.
MACHINE = Scatter(0.015, radians(0.5), radians(0.5), 10.5)
PERSON = Scatter(0.04, radians(1.5), radians(1.5), 15.0)
STANCE = 12.9
FLIGHTS = 2000


def shots(n: int = 30, seed: int = 1) -> tuple[Release, Array, NDArray[np.bool_]]:
    """Feeds from behind the baseline, every fifth on the full; some of them low at the net."""
    rng = np.random.default_rng(seed)
    release = Release(
        np.tile([[0.5], [-12.4], [1.0]], n), rng.uniform(17, 26, n), np.radians(rng.uniform(8, 20, n)),
        np.radians(rng.uniform(-8, 8, n)), rng.uniform(-100, 200, n), rng.uniform(-80, 80, n),
    )  # fmt: skip
    full = np.arange(n) % 5 == 0
    return release, np.where(full, 4.0, STANCE), full


def anywhere(n: int) -> ZoneEdges:
    return ZoneEdges(*(np.full(n, edge) for edge in (-99.0, 99.0, -99.0, 99.0, np.nan, np.nan)))


def around(centre: Array, across: float = 0.75, along: float = 0.75) -> ZoneEdges:
    none = np.full(centre.shape[1], np.nan)
    return ZoneEdges(centre[0] - across, centre[0] + across, centre[1] - along, centre[1] + along, none, none)


def both(scatter: Scatter, seed: int = 1) -> tuple[Landings, Landings]:
    """All shots, with zones of 1.5 m about where they land."""
    release, stance, full = shots(seed=seed)
    zone = around(linear(release, stance, full, CONDITIONS, scatter, anywhere(30)).mean)
    return (
        linear(release, stance, full, CONDITIONS, scatter, zone),
        sampled(release, stance, full, CONDITIONS, scatter, zone, flights=FLIGHTS),
    )


# --- the normal distribution -----------------------------------------------------------------------------------------


def test_error_function() -> None:
    """Python's math.erf; Abramowitz & Stegun state 1.5e-7 for 7.1.26."""
    x = np.linspace(-6, 6, 2001)
    assert erf(x) == pytest.approx([exact_erf(value) for value in x], abs=1.5e-7)
    assert list(erf(np.array([-np.inf, np.inf]))) == [-1.0, 1.0]


def test_rectangles_are_those_of_scipy() -> None:
    """scipy.stats.multivariate_normal.cdf with lower_limit, asked for 1e-7; ours may be off by the four values of the
    error function, halved: 3e-7, and some more for correlations up to ± 0.99999, where the quadrature has to work."""
    rng = np.random.default_rng(2)
    n = 120
    spread = rng.uniform(0.05, 2.0, (2, n))
    correlation = np.r_[rng.uniform(-1, 1, n - 4), -0.99999, -0.999, 0.999, 0.99999]
    mean, low = rng.uniform(-1, 1, (2, n)), rng.uniform(-2, 1, (2, n))
    high = low + rng.uniform(0.05, 3, (2, n))
    low[0, :10], high[1, :20] = -np.inf, np.inf
    cross = correlation * spread[0] * spread[1]
    covariance = np.array([[spread[0] ** 2, cross], [cross, spread[1] ** 2]])
    from scipy.stats import multivariate_normal  # takes a second to load, wherever tests are collected

    truth = [
        multivariate_normal(mean[:, i], covariance[:, :, i], abseps=1e-7, releps=0, maxpts=10**6, seed=1).cdf(
            high[:, i], lower_limit=low[:, i]
        )
        for i in range(n)
    ]
    assert normal_in_box(mean, covariance, low, high) == pytest.approx(truth, abs=1e-6)
    assert 0.1 < np.mean(truth) < 0.9


def test_a_normal_without_width() -> None:
    zero, half = np.zeros((2, 2, 3)), np.full((2, 3), 0.5)
    mean = np.array([[0.0, 0.6, 0.0], [0.0, 0.0, -0.6]])
    assert list(normal_in_box(mean, zero, -half, half)) == pytest.approx([1, 0, 0], abs=1e-6)


# --- closed forms ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("azimuth", [0.0, 0.4, -0.3])
def test_ellipse_in_a_vacuum(azimuth: float) -> None:
    """R = v² sin 2θ / g to the launch height: σ_R² = (2 R σ_v)² + (2 v² cos 2θ σ_θ / g)² along the throw and R σ_φ
    across it. The neighbours of 0.2 % and 2 mrad leave second differences of 1e-5 of it."""
    air = replace(CONDITIONS, air=Air(0.0))
    release = Release(np.array([[0.0], [-12.0], [BALL.radius_m]]), *np.array([[15.0], [0.5], [azimuth], [0.0], [0.0]]))
    ours = linear(release, np.array([STANCE]), np.array([False]), air, Scatter(0.02, 0.01, 0.006, 10.0), anywhere(1))
    reach = 15**2 * sin(1.0) / 9.81
    along = sqrt((2 * reach * 0.02) ** 2 + (2 * 15**2 * cos(1.0) / 9.81 * 0.01) ** 2)
    assert ours.semi_axes[:, 0] == pytest.approx([along, reach * 0.006], rel=1e-4)
    turned = (ours.angle[0] - (np.pi / 2 - azimuth) + np.pi / 2) % np.pi - np.pi / 2
    assert turned == pytest.approx(0.0, abs=1e-4)
    assert ours.mean[:, 0] == pytest.approx([reach * sin(azimuth), reach * cos(azimuth) - 12], abs=1e-6)


@pytest.mark.parametrize("which", range(5))
def test_each_thing_that_scatters(which: int) -> None:
    """One at a time the scatter is a line, half as long as what lies between two flights of one deviation to each side,
    which scipy flies. Reading them off every 10 ms makes about 1 mm, of 5 to 30 cm; the flight's bend makes less."""
    values = np.array([21.0, 0.22, 0.06, 90.0, 70.0])
    deviation = np.array([0.01, 0.008, 0.008, 10.0, 10.0])[which] * (np.arange(5) == which)
    shift = deviation * np.r_[values[0], 1, 1, 1, 1]
    release = Release(np.array([[0.5], [-12.4], [1.0]]), *values[:, None])
    arguments = release, np.array([STANCE]), np.array([False]), CONDITIONS, Scatter(*deviation), anywhere(1)
    places = []
    for speed, elevation, azimuth, topspin, sidespin in (values + shift, values - shift):
        velocity, spin = aimed(np.array([elevation]), azimuth, speed, topspin, sidespin)
        passing = flown_by_scipy(release.origin, velocity, spin, BALL, CONDITIONS.air, 2.5)
        places.append(passing(2, BALL.radius_m)[:2, 0])
    half = (places[0] - places[1]) / 2
    assert np.linalg.norm(half) > 0.05
    for spread in (linear(*arguments), sampled(*arguments)):
        assert spread.semi_axes[0, 0] == pytest.approx(np.linalg.norm(half), abs=2e-3)
        assert spread.semi_axes[1, 0] < 5e-3
        assert abs(half[0] * sin(spread.angle[0]) - half[1] * cos(spread.angle[0])) < 5e-3


def test_a_small_sample_of_a_small_scatter_is_exact() -> None:
    """The sample's own mean and covariance are exact, so with a hundredth of the scatter only the bend is left, ten
    thousandths of 1 to 4 % of a deviation in the mean, and the kink of drag at no spin, which these shots stay off."""
    release, stance, full = shots()
    release = replace(release, topspin=release.topspin + 150)
    small = Scatter(*(MACHINE.deviations() / 100))
    exact = linear(release, stance, full, CONDITIONS, small, anywhere(30))
    few = sampled(release, stance, full, CONDITIONS, small, anywhere(30), flights=50)
    assert np.all(np.abs(few.mean - exact.mean) < 1e-3 * exact.semi_axes[0])
    assert few.semi_axes == pytest.approx(exact.semi_axes, rel=1e-2)


# --- scatter ---------------------------------------------------------------------------------------------------------


def test_without_scatter_all_or_none() -> None:
    release, stance, full = shots()
    none = Scatter(0.0, 0.0, 0.0, 0.0)
    centre = linear(release, stance, full, CONDITIONS, none, anywhere(30)).mean
    beside = around(centre + np.array([[0.0], [0.8]]))
    for way in (linear, sampled):
        hit, miss = (way(release, stance, full, CONDITIONS, none, zone) for zone in (around(centre), beside))
        over = np.round(hit.share_over_net)
        assert 0 < over.mean() < 1
        assert hit.share_over_net == pytest.approx(over, abs=1e-6)  # the error function's
        assert hit.share_in_zone == pytest.approx(over, abs=1e-6)
        assert miss.share_in_zone == pytest.approx(np.zeros(30), abs=1e-6)
        assert hit.semi_axes.max() < 1e-9  # rounding
        assert hit.mean == pytest.approx(centre, abs=1e-9)


def test_a_sample_has_as_many_balls_as_the_page_says() -> None:
    assert f"flies {SAMPLE:,} balls of a seeded sample" in PAGE


def test_half_the_scatter_half_the_ellipse() -> None:
    """Linear: to rounding. Sampled: within three of the standard errors 1 / √(2N) of a standard deviation."""
    release, stance, full = shots()
    small = Scatter(*(MACHINE.deviations() / 2))
    whole, half = (linear(release, stance, full, CONDITIONS, s, anywhere(30)).semi_axes for s in (MACHINE, small))
    assert half == pytest.approx(whole / 2, rel=1e-9)
    whole, half = (
        sampled(release, stance, full, CONDITIONS, s, anywhere(30), flights=FLIGHTS).semi_axes for s in (MACHINE, small)
    )
    assert half == pytest.approx(whole / 2, rel=3 / sqrt(2 * FLIGHTS))


@pytest.mark.parametrize(("scatter", "bent"), [(MACHINE, 0.01), (PERSON, 0.04)], ids=["machine", "person"])
@pytest.mark.parametrize("seed", [1, 2] if WHOLE else [1])
def test_linear_and_sampled_agree(scatter: Scatter, bent: float, seed: int) -> None:
    """Within three standard errors √(p (1 - p) / N) of the sample, 0.034 at p = 1/2, and what the bend of the flight
    makes: the second-order shift of the reach, σ_v² R + 2 σ_θ² R, is 1 % of its deviation 2 σ_v R with the machine and
    4 % with the person, and a share changes by less than that."""
    ours, sample = both(scatter, seed)
    for name in ("share_in_zone", "share_over_net"):
        p, q = getattr(ours, name), getattr(sample, name)
        error = 3 * np.sqrt(np.maximum(q * (1 - q), 1 / FLIGHTS) / FLIGHTS)
        assert np.all(np.abs(p - q) < error + bent)
    assert ours.semi_axes == pytest.approx(sample.semi_axes, rel=3 / sqrt(2 * FLIGHTS) + bent)
    assert 0.05 < sample.share_in_zone.mean() < 0.95
    assert 0.3 < sample.share_over_net.mean() < 1


def test_sampled_against_flights_by_scipy() -> None:
    """800 flights with their own random numbers, force law and integrator. Three standard errors of the difference: of
    a share √(p (1 - p) (1/800 + 1/2000)), of a mean σ √(1/800 + 1/2000), of a deviation σ √(1/1600 + 1/4000)."""
    count, air = 800, Air(1.15, (2.0, -1.0, 0.0))
    rng = np.random.default_rng(77)
    speed, elevation, azimuth = np.array([23.0, 20.0]), np.radians([10.0, 16.0]), np.radians([5.0, -6.0])
    topspin, sidespin = np.array([60.0, 150.0]), np.array([0.0, 80.0])
    origin = np.tile([[0.0], [-12.4], [1.0]], 2)
    release, windy = Release(origin, speed, elevation, azimuth, topspin, sidespin), replace(CONDITIONS, air=air)
    stance, full = np.full(2, STANCE), np.zeros(2, bool)
    scatter = Scatter(0.02, radians(0.8), radians(0.6), 12.0, 8.0)
    zone = around(linear(release, stance, full, windy, scatter, anywhere(2)).mean)
    ours = sampled(release, stance, full, windy, scatter, zone, flights=FLIGHTS, seed=5)
    both_ways = sqrt(1 / count + 1 / FLIGHTS)
    for i in range(2):
        z = rng.normal(size=(5, count)) * scatter.deviations()[:, None]
        columns = [
            aimed(
                np.array([elevation[i] + z[1, k]]), azimuth[i] + z[2, k], speed[i] * (1 + z[0, k]),
                topspin[i] + z[3, k], sidespin[i] + z[4, k],
            )
            for k in range(count)
        ]  # fmt: skip
        velocity, spin = (np.concatenate(part, axis=1) for part in zip(*columns, strict=True))
        passing = flown_by_scipy(origin[:, :1], velocity, spin, BALL, air, 2.5)
        net, landing = passing(1, 0.0), passing(2, BALL.radius_m)
        over = net[2] - BALL.radius_m > 0.914 + 0.156 * np.abs(net[0]) / 6.399
        hit = over & (landing[0] > zone.x_low[i]) & (landing[0] < zone.x_high[i])
        hit &= (landing[1] > zone.y_low[i]) & (landing[1] < zone.y_high[i])
        for share, truth in ((ours.share_in_zone[i], hit.mean()), (ours.share_over_net[i], over.mean())):
            assert share == pytest.approx(truth, abs=3 * sqrt(max(truth * (1 - truth), 1 / count)) * both_ways)
        deviation = landing[:2].std(axis=1)
        assert np.all(np.abs(ours.mean[:, i] - landing[:2].mean(axis=1)) < 3 * deviation * both_ways)
        own = np.sqrt(np.diagonal(ours.covariance[:, :, i]))
        assert own == pytest.approx(deviation, rel=3 * both_ways / sqrt(2))
        assert 0.1 < hit.mean() < 0.95
        axes = np.linalg.eigh(ours.covariance[:, :, i])  # numpy's, against the closed form of the ellipse
        assert ours.semi_axes[::-1, i] == pytest.approx(np.sqrt(axes.eigenvalues), rel=1e-9)
        assert abs(axes.eigenvectors[:, 1] @ [cos(ours.angle[i]), sin(ours.angle[i])]) == pytest.approx(1, abs=1e-9)
    assert 0.5 < ours.share_over_net.min() < 1


# Both ends as told on PHYSICS.md: Cross & Lindsey (2014) and one of their spreads less, Štěpánek (1988) and one more.
LEAST, MOST = (
    replace(BALL, drag_offset=0.508 - 0.024, spin_drag=0.0),
    replace(BALL, drag_offset=0.508 + 0.024, spin_drag=1.0),
)


def test_the_ends_of_the_doubt_are_where_scipy_lands_with_such_a_ball() -> None:
    """Reading a fall off every 10 ms makes about 1 mm."""
    values = np.array([24.0, 0.24, -0.05, 190.0, 40.0])
    release = Release(np.array([[0.5], [-12.4], [1.0]]), *values[:, None])
    arguments = release, np.array([STANCE]), np.array([False]), CONDITIONS, MACHINE, anywhere(1)
    for spread in (linear(*arguments), sampled(*arguments, flights=50)):
        for end, ball in enumerate((LEAST, MOST)):
            velocity, spin = aimed(np.array([values[1]]), values[2], values[0], values[3], values[4])
            passing = flown_by_scipy(release.origin, velocity, spin, ball, CONDITIONS.air, 2.5)
            assert spread.ends[:, end, 0] == pytest.approx(passing(2, BALL.radius_m)[:2, 0], abs=2e-3)
            # Its bounce is that of such a ball by itself; test_outcome.py holds those against scipy.
            alone = outcome(release, np.array([STANCE]), np.array([False]), replace(CONDITIONS, ball=ball))
            assert spread.heights_at_ends[end, 0] == pytest.approx(alone.contact.position[2, 0], abs=1e-5)
    assert spread.ends[1, 0, 0] - spread.ends[1, 1, 0] > 0.8  # what the audit of a deep ball saw


@pytest.mark.parametrize(("scatter", "bent"), [(MACHINE, 0.03), (PERSON, 0.06)], ids=["machine", "person"])
def test_the_share_at_the_ends_is_that_of_a_sample_of_such_balls(scatter: Scatter, bent: float) -> None:
    """By brute force: all balls of each shot flown with the other ball. Beside three standard errors of a sample there
    is what the scatter itself changes with the drag: the ellipse of a ball that flies 5 % less far is so much smaller,
    and a share changes by about as much as its edge moves, `bent` at most."""
    count, flights = 6, 1000
    release, stance, full = shots(count)
    zone = around(linear(release, stance, full, CONDITIONS, scatter, anywhere(count)).mean)
    case = release, stance, full, CONDITIONS, scatter, zone
    ours = linear(*case), sampled(*case, flights=flights)
    for end, ball in enumerate((LEAST, MOST)):
        there = sampled(release, stance, full, replace(CONDITIONS, ball=ball), scatter, zone, flights=flights)
        q = there.share_in_zone
        error = 3 * np.sqrt(np.maximum(q * (1 - q), 1 / flights) / flights)
        assert all(np.all(np.abs(one.share_at_ends[end] - q) < error + bent) for one in ours)
        assert q.min() < 0.7 * ours[0].share_in_zone.max()  # it makes a difference


@settings(max_examples=25)
@given(st.integers(0, 10**6), st.floats(0.1, 1.5), st.floats(0.1, 1.5))
def test_mirrored_and_in_order(seed: int, across: float, along: float) -> None:
    release, stance, full = shots(6, seed)
    zone = around(linear(release, stance, full, CONDITIONS, MACHINE, anywhere(6)).mean, across, along)
    one = linear(release, stance, full, CONDITIONS, MACHINE, zone)
    assume(np.isfinite(one.share_in_zone).all())  # a few of the balls drawn do not come as far as they are met
    mirror = replace(
        release, origin=release.origin * [[-1], [1], [1]], azimuth=-release.azimuth, sidespin=-release.sidespin
    )
    turned = replace(zone, x_low=-zone.x_high, x_high=-zone.x_low)
    other = linear(mirror, stance, full, CONDITIONS, MACHINE, turned)
    # Rounding, divided by the way to the neighbours that are flown.
    assert one.share_in_zone == pytest.approx(other.share_in_zone, abs=1e-7)
    assert one.share_over_net == pytest.approx(other.share_over_net, abs=1e-7)
    assert one.semi_axes == pytest.approx(other.semi_axes, abs=1e-7)
    assert np.all(one.share_in_zone <= one.share_over_net + 1e-6)
    wider = linear(release, stance, full, CONDITIONS, MACHINE, around(one.mean, across + 0.1, along + 0.1))
    assert np.all(wider.share_in_zone >= one.share_in_zone - 1e-6)


def test_outside_the_posts_is_not_over_the_net() -> None:
    """From a corner along the side the ball passes 7 m from the middle, where the cord is not."""
    release = Release(np.array([[7.0], [-12.0], [1.0]]), *np.array([[22.0], [0.2], [0.0], [0.0], [0.0]]))
    for way in (linear, sampled):
        wide = way(release, np.array([STANCE]), np.array([False]), CONDITIONS, MACHINE, anywhere(1))
        assert wide.share_over_net[0] == pytest.approx(0.0, abs=2e-3)  # 0.6 m are three deviations
        assert wide.share_in_zone[0] <= wide.share_over_net[0]


def test_no_balls_have_no_landings() -> None:
    """Every entry has the shape that it has of one ball, without the ball."""
    none, one = (sampled(*shots(n), CONDITIONS, MACHINE, anywhere(n), flights=8) for n in (0, 1))
    for name, value in vars(one).items():
        assert getattr(none, name).shape == (*value.shape[:-1], 0), name


def test_half_a_metre_before_the_net_is_the_feeders_side_too() -> None:
    """A level throw 0.5 m high: the net is 0.914 m high and more."""
    release = Release(np.array([[0.5], [-0.5], [0.5]]), *np.array([[9.0], [0.0], [0.0], [0.0], [0.0]]))
    for way in (linear, sampled):
        stopped = way(release, np.array([STANCE]), np.array([False]), CONDITIONS, PERSON, anywhere(1))
        assert stopped.share_over_net[0] == pytest.approx(0.0, abs=1e-6)


def test_by_hand_from_the_players_side_no_net_is_crossed() -> None:
    release = Release(np.array([[0.5], [3.0], [1.0]]), *np.array([[9.0], [0.3], [0.0], [30.0], [0.0]]))
    for way in (linear, sampled):
        near = way(release, np.array([STANCE]), np.array([False]), CONDITIONS, PERSON, anywhere(1))
        assert near.share_over_net[0] == 1.0
        assert near.share_in_zone[0] == pytest.approx(1.0, abs=1e-6)


DIGEST = """
from hashlib import sha256
import numpy as np
from feedwright.compiler.physics.air import Air
from feedwright.compiler.physics.ball import BALLS
from feedwright.compiler.physics.bounce import SURFACES
from feedwright.compiler.physics.outcome import Conditions, Release, outcome
from feedwright.compiler.physics.spread import Scatter, ZoneEdges, sampled
a = np.full(3, 1.0)
release = Release(np.tile([[0.0], [-12.4], [1.0]], 3), 22 * a, np.array([0.15, 0.2, 0.25]), 0 * a, 90 * a, 0 * a)
under = Conditions(BALLS["type 2"], Air(1.2), SURFACES["hard"], 0.914, 1.07, 6.399)
zone, scatter = ZoneEdges(-a, a, 7 * a, 10 * a, np.nan * a, np.nan * a), Scatter(0.015, 0.009, 0.009, 10.0)
def digest(seed):
    found = sampled(release, 12.9 * a, a < 0, under, scatter, zone, seed=seed)
    parts = found.share_in_zone, found.share_over_net, found.mean, found.covariance
    return sha256(b"".join(np.ascontiguousarray(part).tobytes() for part in parts)).hexdigest()
print(digest(7), digest(8))
"""


def test_the_same_seed_gives_the_same_numbers_in_another_process(capsys: pytest.CaptureFixture[str]) -> None:
    there = subprocess.run([sys.executable, "-c", DIGEST], capture_output=True, text=True, check=True).stdout
    exec(DIGEST, {})
    assert capsys.readouterr().out == there
    one, other = there.split()
    assert one != other


def test_a_shot_does_not_depend_on_its_neighbours() -> None:
    """But for rounding, which the place in a batch can change."""
    release, stance, full = shots(7)
    zone = around(linear(release, stance, full, CONDITIONS, MACHINE, anywhere(7)).mean)
    together = sampled(release, stance, full, CONDITIONS, MACHINE, zone, flights=600)
    for i in range(7):
        one = np.array([i])
        small = ZoneEdges(*(edge[one] for edge in zone.values()))
        alone = sampled(release.at(one), stance[one], full[one], CONDITIONS, MACHINE, small, flights=600)
        assert alone.share_in_zone[0] == pytest.approx(together.share_in_zone[i], abs=1.1 / 600)  # one ball on an edge
        assert alone.mean[:, 0] == pytest.approx(together.mean[:, i], abs=1e-9)


def test_the_quadrature_is_that_of_gauss_and_legendre() -> None:
    """Source: numpy.polynomial.legendre.leggauss, which finds the nodes by Newton's method on the polynomial."""
    nodes, weights = np.polynomial.legendre.leggauss(len(NODES))
    assert np.abs(nodes - NODES).max() < 1e-14 and np.abs(weights - WEIGHTS).max() < 1e-14
