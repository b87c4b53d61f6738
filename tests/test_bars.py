"""What share of the balls keeps a bar or a height, against balls flown one by one."""

from dataclasses import replace

import numpy as np
import pytest

from feedwright.compiler.physics.bounce import rebound
from feedwright.compiler.physics.flight import fly, launch
from feedwright.compiler.physics.moments import at_plane
from feedwright.compiler.physics.outcome import UNDER, Release, outcome
from feedwright.compiler.physics.spread import Bars, Scatter, linear, sampled

from .physics.test_spread import CONDITIONS, FLIGHTS, MACHINE, PERSON, anywhere, shots


def scattered(release: Release, i: int, scatter: Scatter, balls: int, chance: np.random.Generator) -> Release:
    """So many launches of one of the shots, as numpy draws them."""
    off, one = chance.standard_normal((5, balls)) * scatter.deviations()[:, None], release.at(np.full(balls, i))
    return replace(
        one.with_(one.speed * (1 + off[0]), one.elevation + off[1], one.azimuth + off[2]),
        topspin=one.topspin + off[3], sidespin=one.sidespin + off[4],
    )  # fmt: skip


def test_the_shares_that_keep_a_bar_are_those_of_balls_flown_one_by_one() -> None:
    """As below; 2,000 balls have a standard error of 1.1 % at most, and what is not linear takes another 2 %. With
    another drag no more keep a bar at worst than at best."""
    release, stance, full = shots(5)
    flown, balls = outcome(release, stance, full, CONDITIONS), 2000
    turn = np.hypot(release.topspin, release.sidespin)
    values = np.stack(
        [flown.clearance, flown.contact.position[2], release.speed, flown.contact.time, turn, flown.contact.position[0]]
    )
    off = np.array([0.1, 0.05, 0.2, 0.02, 4.0, 0.1])[:, None] * np.linspace(-1, 1, 5)
    most = np.vstack([np.nan_to_num(values + off, nan=9.0), np.full(5, np.inf)])  # the top: physics/test_top.py
    bars = Bars(np.full((7, 5), -np.inf), most, np.zeros(5))
    ours = linear(release, stance, full, CONDITIONS, MACHINE, anywhere(5), bars)
    drawn_by_us = sampled(release, stance, full, CONDITIONS, MACHINE, anywhere(5), bars, flights=FLIGHTS)
    chance = np.random.default_rng(9)
    for i in np.flatnonzero(np.isfinite(values).all(axis=0)):
        drawn = scattered(release, int(i), MACHINE, balls, chance)
        some = outcome(drawn, np.full(balls, stance[i]), np.full(balls, full[i]), CONDITIONS)
        turned = np.hypot(drawn.topspin, drawn.sidespin)
        every = np.stack(
            [some.clearance, some.contact.position[2], drawn.speed, some.contact.time, turned, some.contact.position[0]]
        )
        truth = 1 - (every > bars.high[:6, i][:, None]).mean(axis=1)
        assert ours.share_within[:6, i] == pytest.approx(truth, abs=0.05)
        assert drawn_by_us.share_within[:6, i] == pytest.approx(truth, abs=0.04)
    for found in (ours, drawn_by_us):
        assert np.all(found.share_within_least <= found.share_within)
        assert found.share_within_least[1].min() < found.share_within[1].min()


def test_the_share_met_as_high_as_asked_is_that_of_balls_flown_one_by_one() -> None:
    """The independent count flies each ball to its contact with `outcome` and draws its launches with numpy. 4,000
    balls have a standard error of 0.8 % at most; another 1.5 % for what is not linear."""
    release, stance, full = shots(6)
    flown, balls = outcome(release, stance, full, CONDITIONS), 4000
    height, half = flown.contact.position[2], 0.06
    zone = replace(anywhere(6), height_low=height - half, height_high=height + half)
    ours = linear(release, stance, full, CONDITIONS, MACHINE, zone)
    chance = np.random.default_rng(4)
    reached = np.flatnonzero(np.isfinite(height))
    assert len(reached) >= 3
    for i in reached:
        drawn = scattered(release, int(i), MACHINE, balls, chance)
        met = outcome(drawn, np.full(balls, stance[i]), np.full(balls, full[i]), CONDITIONS).contact.position[2]
        assert ours.share_at_height[i] == pytest.approx(np.mean(abs(met - height[i]) <= half), abs=0.04)
    assert 0.05 < ours.share_at_height[reached].min() < ours.share_at_height[reached].max() < 0.999
    assert np.all(linear(release, stance, full, CONDITIONS, MACHINE, anywhere(6)).share_at_height == 1)


def heights(release: Release, places: np.ndarray) -> np.ndarray:
    """How high balls are at places along the court after their bounce, each flown once; NaN where no ball is followed,
    as with `outcome`."""
    some = len(release.speed)
    landing = outcome(release, np.full(some, places[0]), np.zeros(some, bool), CONDITIONS).landing
    spin = launch(release.speed, release.elevation, release.azimuth, release.topspin, release.sidespin)[1]
    ball = CONDITIONS.ball
    velocity, turn = rebound(landing.velocity, spin, ball, CONDITIONS.surface)
    path = fly(landing.position, velocity, turn, ball, CONDITIONS.air, floor=UNDER)
    height = np.stack([at_plane(path, np.full(some, place)).position[2] for place in places])
    return np.where(height >= UNDER, height, np.nan)


@pytest.mark.parametrize("step", [0.0, 0.5])
def test_a_player_meets_a_persons_balls_at_a_height_somewhere_within_a_step(step: float) -> None:
    """Feeds of a person from the service line, met near the top of their bounce, where a height is no line in what
    scatters, and farther back. Each ball of a sample that numpy draws is flown to every 10 cm within the step, and is
    met at a height if it is not beyond it everywhere; one that does not come to all these places does not count. 4,000
    balls have a standard error of 0.8 % at most; the rest is for those, and for what is not of the second order."""
    n, balls = 4, 4000
    release = Release(
        np.tile([[0.0], [-6.4], [1.1]], n), np.array([12.5, 14.0, 15.5, 13.0]), np.radians([38.0, 25.0, 15.0, 30.0]),
        np.radians([4.0, -6.0, 5.0, 0.0]), np.zeros(n), np.zeros(n),
    )  # fmt: skip
    stance, full = np.array([11.0, 10.5, 10.0, 12.0]), np.zeros(n, bool)
    height = outcome(release, stance, full, CONDITIONS).contact.position[2]
    low, high = height - np.array([0.4, -0.03, 0.0, 0.3]), height + np.array([0.3, 0.2, 0.1, 0.05])
    bars = Bars(np.full((7, n), -np.inf), np.full((7, n), np.inf), np.full(n, step))
    bars.low[1], bars.high[1] = low, high
    zone = replace(anywhere(n), height_low=low, height_high=high)
    ours = linear(release, stance, full, CONDITIONS, PERSON, zone, bars)
    drawn_by_us = sampled(release, stance, full, CONDITIONS, PERSON, zone, bars, flights=FLIGHTS)
    places = np.linspace(-step, step, 11 if step else 1)
    chance = np.random.default_rng(3)
    for i in range(n):
        drawn = scattered(release, int(i), PERSON, balls, chance)
        met = heights(drawn, stance[i] + places)
        known = np.isfinite(met).all(axis=0)
        assert known.mean() > 0.95
        met = met[:, known]
        truth = ((met.max(axis=0) >= low[i]) & (met.min(axis=0) <= high[i])).mean()
        assert 0.1 < truth < 0.99
        for found, off_by in ((ours, 0.04), (drawn_by_us, 0.03)):
            assert found.share_within[1, i] == pytest.approx(truth, abs=off_by), i
            assert found.share_at_height[i] == pytest.approx(truth, abs=off_by), i


def test_a_forehand_and_its_mirror_image_keep_a_height_alike() -> None:
    release = Release(
        np.tile([[0.0], [-6.4], [1.1]], 2), np.full(2, 14.0), np.radians([25.0, 25.0]), np.radians([6.0, -6.0]),
        np.zeros(2), np.zeros(2),
    )  # fmt: skip
    zone = replace(anywhere(2), height_low=np.full(2, 0.8), height_high=np.full(2, 1.1))
    found = linear(release, np.full(2, 10.5), np.zeros(2, bool), CONDITIONS, PERSON, zone)
    assert 0.1 < found.share_at_height[0] == found.share_at_height[1] < 0.9
