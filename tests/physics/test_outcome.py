"""Feeds flown whole: against scipy with the physics written a second time, and against the parabola of a vacuum."""

from dataclasses import replace

import numpy as np
import pytest

from feedwright.compiler.physics.air import Air
from feedwright.compiler.physics.outcome import Conditions, Outcome, Release, met_where, outcome

from ..benchmarks.launches import NET_CENTRE, NET_POST, POST_X, conditions, court_of, releases
from ..benchmarks.scalar import feed, launched

# A fiftieth of the 2 mm that matters to a landing, in m, s and m/s: the integrator's 3 µm grow at and after a bounce.
NEAR = 4e-5
LANES = 150


def _numbers(found: Outcome) -> np.ndarray:
    """All that is flown, (15, n)."""
    moments = [np.vstack([m.time, m.position, m.velocity]) for m in (found.landing, found.contact)]
    return np.vstack([found.clearance, *moments])


@pytest.mark.parametrize("bounces", [1, 2])
def test_outcomes_are_those_of_scipy(bounces: int) -> None:
    rng = np.random.default_rng(31)
    c = conditions(surface="clay", bounces=bounces)
    release = releases(rng, LANES)
    release = replace(release, speed=rng.uniform(8, 30, LANES))
    stance, full = rng.uniform(7, 14, LANES), rng.random(LANES) < 0.25
    ours = _numbers(found := outcome(release, stance, full, c))
    seen = np.zeros(3, int)
    for i in range(LANES):
        start, spin = launched(
            release.origin[:, i].tolist(), release.speed[i], release.elevation[i], release.azimuth[i],
            release.topspin[i], release.sidespin[i],
        )  # fmt: skip
        truth = feed(court_of(c), start, spin, stance[i], bool(full[i]), bounces)
        lost = [np.nan] * 7
        theirs = np.array([truth.clearance, *(truth.landing or lost), *(truth.contact or lost)])
        if np.isnan(theirs[0]):  # it lands before the net; ours follows it on below the ground, where it can
            ours[0, i] = np.nan
        assert np.allclose(ours[:, i], theirs, rtol=0, atol=NEAR, equal_nan=True)
        if truth.contact:
            assert found.bounces[i] == truth.bounces
            assert found.met[i] == (truth.contact[3] >= c.ball.radius_m)
            seen[truth.bounces] += 1
        else:
            assert not found.met[i]
    assert (seen[: bounces + 1] > LANES / 15).all()  # each way of being met is among them


@pytest.mark.parametrize("twice", [False, True])
@pytest.mark.parametrize("rising", [False, True])
def test_where_a_ball_has_a_height_behind_either_bounce_scipy_has_it_there_too(rising: bool, twice: bool) -> None:
    rng, asked = np.random.default_rng(32), 0.4
    c, n = conditions(surface="clay", bounces=2), 40
    # No lobs with backspin: they bounce back towards the net.
    release = replace(releases(rng, n), speed=rng.uniform(12, 30, n), elevation=rng.uniform(0.0, 0.6, n))
    every = np.full(n, asked), np.full(n, rising), np.full(n, 12.0), np.full(n, twice), np.full(n, False)
    stance, found = met_where(release, *every, c)
    known = np.flatnonzero(np.isfinite(stance))
    assert len(known) > n / 4
    for i in known:
        start, spin = launched(
            release.origin[:, i].tolist(), release.speed[i], release.elevation[i], release.azimuth[i],
            release.topspin[i], release.sidespin[i],
        )  # fmt: skip
        truth = feed(court_of(c), start, spin, stance[i], False, 2)
        assert truth.contact and truth.bounces == found.bounces[i] == 1 + twice
        z, along, climb = (truth.contact[k] for k in (3, 5, 6))
        assert abs(z - asked) <= 0.005 * abs(climb / along) + NEAR  # nobody stands more exactly than a centimetre
        assert (climb > 0) == rising


def test_a_vacuum_gives_the_parabola() -> None:
    # Textbook: z = h + t v sin θ - g t²/2, y = y0 + t v cos θ; the cord is straight from centre to post (ITF rule 1).
    c = replace(conditions(), air=Air(0.0))
    speed, elevation, azimuth, height, behind, g = 17.0, 0.3, 0.1, 1.1, 11.0, 9.81
    origin = np.array([[0.5], [-behind], [height]])
    one = np.ones(1)
    release = Release(origin, speed * one, elevation * one, azimuth * one, 50.0 * one, 0.0 * one)
    found = outcome(release, 12.0 * one, np.zeros(1, bool), c)
    rise, ahead = speed * np.sin(elevation), speed * np.cos(elevation) * np.cos(azimuth)
    aside = speed * np.cos(elevation) * np.sin(azimuth)
    to_net = behind / ahead
    x = 0.5 + aside * to_net
    cord = NET_CENTRE + (NET_POST - NET_CENTRE) * x / POST_X
    over = height + to_net * rise - g / 2 * to_net**2 - c.ball.radius_m - cord
    lands = (rise + np.sqrt(rise**2 + 2 * g * (height - c.ball.radius_m))) / g
    exact = 1e-9  # a step of fourth order is exact on a parabola, so only rounding is left
    assert found.net_x[0] == pytest.approx(x, abs=exact)
    assert found.clearance[0] == pytest.approx(over, abs=exact)
    assert found.landing.time[0] == pytest.approx(lands, abs=exact)
    assert found.landing.position[1, 0] == pytest.approx(ahead * lands - behind, abs=exact)
    # After the bounce the rise is e times the fall, so this ball's highest point is the one before it.
    assert found.peak[0] == pytest.approx(height + rise**2 / (2 * g), abs=1e-4)  # the vertex from the nearest sample


def test_a_ball_that_bounces_beyond_the_stance_is_not_met() -> None:
    release = releases(np.random.default_rng(2), 300)
    found = outcome(release, np.full(300, 6.0), np.zeros(300, bool), conditions())
    beyond = found.landing.position[1] > 6.0
    assert 20 < beyond.sum() < 280
    assert np.isnan(found.contact.time[beyond]).all() and not found.met[beyond].any()


def test_no_net_is_crossed_on_one_side_of_it() -> None:
    release = replace(releases(np.random.default_rng(3), 1), origin=np.array([[0.0], [1.0], [1.0]]))
    found = outcome(release, np.array([9.0]), np.zeros(1, bool), conditions())
    assert np.isnan(found.clearance[0]) and np.isnan(found.net_x[0])


@pytest.mark.parametrize("bounces", [1, 2])
def test_what_is_met_hangs_on_no_other_ball(bounces: int) -> None:
    rng = np.random.default_rng(5)
    c: Conditions = conditions(bounces=bounces)
    release, stance, full = releases(rng, 60), rng.uniform(6, 14, 60), rng.random(60) < 0.3
    release = replace(release, speed=rng.uniform(6, 30, 60))  # some fall far short of the stance
    together = outcome(release, stance, full, c)
    for i in range(60):
        some = np.array([i])
        alone = outcome(release.at(some), stance[some], full[some], c)
        # Rounding differs with the width of a batch, a clearance below the ground is followed only where it can be.
        both = np.hstack([_numbers(alone)[1:], _numbers(together)[1:, some]])
        assert np.allclose(both[:, 0], both[:, 1], rtol=0, atol=1e-9, equal_nan=True)
        assert alone.met[0] == together.met[i]


def test_only_those_asked_for_are_followed_past_the_bounce() -> None:
    rng = np.random.default_rng(6)
    release, stance, full = releases(rng, 80), rng.uniform(8, 14, 80), rng.random(80) < 0.3
    onward = rng.random(80) < 0.5
    whole, part = (outcome(release, stance, full, conditions(), onward=o) for o in (None, onward))
    same = onward | full
    assert np.allclose(_numbers(whole)[:, same], _numbers(part)[:, same], rtol=0, atol=1e-9, equal_nan=True)
    assert np.isnan(part.contact.time[~same]).all() and np.isfinite(whole.contact.time[~same]).any()
    assert np.array_equal(whole.landing.time, part.landing.time, equal_nan=True)
