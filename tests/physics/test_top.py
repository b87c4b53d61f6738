"""How high a flight is at its top: asked for, bounded and counted, against the parabola and against scipy.

Without air the top is v² sin² / 2g above the launch (any textbook of mechanics, e.g. Halliday, Resnick and Walker,
Fundamentals of Physics, ch. 4). With air scipy.integrate.solve_ivp flies, with the force law written a second time, and
scipy.optimize.brentq looks for the moment at which the speed upwards is zero.
"""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.stats import norm

from feedwright.compiler.physics import launches
from feedwright.compiler.physics.air import Air
from feedwright.compiler.physics.launches import Wanted
from feedwright.compiler.physics.outcome import Conditions, Release, outcome
from feedwright.compiler.physics.spread import Bars, Scatter, linear, sampled
from feedwright.compiler.pipeline import compile_source
from feedwright.grammar.source import Source
from feedwright.targets.machine.feeders import ProfileShelf

from ..flown import Reference, launched
from .test_spread import BALL, CONDITIONS, anywhere

VACUUM = replace(CONDITIONS, air=Air(1e-9))
G = 9.81
TOPS = np.array([2.0, 3.0, 6.0, 9.0])
HEAD = """\
program "Lobs"
    surface   hard
    player    right-handed, 1.75 m tall
    feeder    machine academy, on centre, on baseline, behind a screen

feed ball
    side      1 m right of centre
    interval  9 s
"""


def wanted(full: bool, value: np.ndarray = TOPS) -> Wanted:
    """Flights of these tops, to 8 m from the net or met there 1.5 m high, with two kinds of spin."""
    n = len(value)
    return Wanted(
        np.tile([[0.5], [-11.9], [0.7]], n), np.tile([[1.0], [8.0], [1.5 if full else BALL.radius_m]], n),
        np.full(n, 8.0 if full else 12.0), np.full(n, full), np.linspace(-60.0, 150.0, n), np.zeros(n),
        np.full(n, launches.TOP), value,
    )  # fmt: skip


def flown(asked: Wanted, conditions: Conditions) -> tuple[launches.Roots, Release]:
    roots, _ = launches.solve(asked, conditions)
    assert roots.request.tolist() == list(range(len(asked.value)))  # one arc each
    return roots, asked.release(roots.speed, roots.elevation, roots.azimuth)


@pytest.mark.parametrize("full", [False, True])
def test_without_air_the_top_is_that_of_the_parabola(full: bool) -> None:
    roots, _ = flown(wanted(full), VACUUM)
    assert 0.7 + (roots.speed * np.sin(roots.elevation)) ** 2 / (2 * G) == pytest.approx(TOPS, abs=1e-3)


def test_a_ball_that_only_falls_is_highest_where_it_leaves() -> None:
    """None has a top as low as that, and the launches that were tried say so."""
    asked = wanted(True, np.array([1.0, 1.5]))
    asked = replace(asked, origin=np.tile([[0.5], [-11.9], [2.5]], 2))
    roots, scan = launches.solve(asked, CONDITIONS)
    assert not len(roots.request) and np.nanmin(scan.measure) == pytest.approx(2.5)


@pytest.mark.parametrize("lines", [
    ("depth 2 m behind service line", "stance on baseline", "spin flat"),
    ("depth 3 m inside baseline", "stance 2 m behind baseline", "spin topspin 900 rpm"),
    ("stance 7 m from net", "height 2.4 m, on the full", "spin flat"),
])  # fmt: skip
@pytest.mark.parametrize("top", [3.5, 6.0])
def test_a_ball_of_a_plan_is_as_high_as_its_line_says(lines: tuple[str, ...], top: float) -> None:
    written = HEAD + "".join(f"    {line}\n" for line in (*lines, f"height {top} m at the top"))
    script = Source("top.feed", f'{written}session "x"\n    8 balls   ball\n')
    found = compile_source(script, ProfileShelf(), remedies=False)
    assert found.plan
    plan: dict[str, Any] = found.plan.data()
    (shot,) = plan["shots"]
    flight = Reference(plan).fly(*launched(shot["launch"]), 0.0)
    moment = brentq(lambda time: flight.sol(time)[5], 0.0, flight.t[-1])
    assert float(flight.sol(moment)[2]) == pytest.approx(shot["predicted"]["peak_m"], abs=1e-3)
    assert shot["predicted"]["peak_m"] == pytest.approx(top, abs=0.1)  # as finely as that machine can be set


@pytest.mark.parametrize("full", [False, True])
def test_the_share_under_a_limit_is_that_of_the_parabola(full: bool) -> None:
    """Without air, and with nothing but the speed that scatters, a ball is too high from one speed on."""
    few = wanted(full).at(np.arange(len(TOPS)))
    roots, release = flown(few, VACUUM)
    most = TOPS + np.array([0.1, -0.1, 0.2, 0.0])
    bars = Bars.none(len(TOPS))
    high = bars.high.copy()
    high[6] = most
    speed = np.sqrt(2 * G * (most - 0.7)) / np.sin(roots.elevation)
    share = norm.cdf((speed / roots.speed - 1) / 0.02)
    asked = release, few.stance, few.full, VACUUM, Scatter(0.02, 0.0, 0.0, 0.0), anywhere(len(TOPS))
    tried = sampled(*asked, replace(bars, high=high)).share_within[6]
    told = linear(*asked, replace(bars, high=high)).share_within[6]
    assert tried == pytest.approx(share, abs=0.03)  # of 2000 balls a share is off by a hundredth, seldom by three
    assert told == pytest.approx(share, abs=0.02)  # the square of the speed, taken as a line


def test_no_ball_bounces_higher_than_it_fell() -> None:
    """So the highest point until the bounce is that until the contact, also of steep balls and heavy topspin."""
    rng, n = np.random.default_rng(5), 400
    release = Release(
        np.tile([[0.0], [-11.9], [0.6]], n), rng.uniform(15, 40, n), rng.uniform(-0.05, 1.2, n), np.zeros(n),
        rng.uniform(-300, 400, n), np.zeros(n),
    )  # fmt: skip
    here = outcome(release, np.full(n, 15.0), np.zeros(n, bool), CONDITIONS)
    there = outcome(release, np.full(n, 15.0), np.zeros(n, bool), CONDITIONS, np.zeros(n, bool))
    bounced = np.isfinite(here.contact.time)
    assert bounced.sum() > 50
    assert here.peak[bounced] == pytest.approx(there.peak[bounced], abs=1e-9)
