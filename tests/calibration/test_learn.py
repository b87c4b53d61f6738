"""What readings say: a machine found again, a ball far off named, slips named, a profile that is right left alone."""

import numpy as np
import pytest

from feedwright.compiler.calibration import law
from feedwright.compiler.calibration.invented import InventedMachine
from feedwright.compiler.calibration.law import DEPTH, SIDE, TIME
from feedwright.compiler.calibration.learn import Readings, learn
from feedwright.compiler.calibration.outcome import Calibration, corrected, judge

from ..whole import WHOLE
from .invented import chosen, everywhere, feeder, read_of, stand

HALF_LENGTH = 11.885


def a_machine(**unknowns: float) -> InventedMachine:
    """By default 6 % too fast, 1.2 degrees too low, 0.9 degrees to the right."""
    x = np.array([0.06, 0.0, -0.021, 0.016, -0.1, 0.03, 0.02, -0.2, 0, 0])
    for name, value in unknowns.items():
        x[int(name[1:])] = value
    return InventedMachine(x, law.scatter(feeder().repeatability))


def judged(machine: InventedMachine, change: Readings | None = None, seed: int = 3) -> Calibration:
    readings = change or read_of(machine, chosen(12), np.random.default_rng(seed))
    return judge(chosen(12), readings, stand(), feeder(), HALF_LENGTH)


def test_the_new_profile_predicts_what_the_machine_does() -> None:
    """Settings of the corrected profile flown by the machine's own law: balls that the fit has not seen."""
    found, machine = judged(a_machine()), a_machine()
    assert found.refused == "" and found.mistaken == "" and found.odd == ()
    before, after, left_out = found.misses
    assert after < left_out < before / 2
    settings = [{"speed": v, "elevation": e, "azimuth": a, "topspin": t} for v, e, a, t in
                ((80, 18, 0, 600), (70, 20, 4, 0), (88, 14.5, -4, 1200), (62, 26, 2, -400))]  # fmt: skip
    told = machine.thrown(law.balls_of(feeder(), settings), stand())[[SIDE, DEPTH]]
    new = found.profile
    ball = new.measured.ball(stand().conditions.ball)
    world = law.Stand(stand().origin, stand().conditions.__class__(*(ball, *stand().conditions.values()[1:])),
                      new.measured.roll_deg * law.DEG)  # fmt: skip
    predicted = law.read(law.balls_of(new, settings), np.zeros((10, 1)), world, False)[[SIDE, DEPTH]]
    assert np.hypot(*(told - predicted)).max() < 0.6  # 0.2 m in the mean
    assert np.hypot(*(told - predicted)).mean() < 0.3


def test_a_netcord_weighs_little_and_is_named() -> None:
    """One ball 4 m short: what is learnt hardly changes."""
    machine = a_machine()
    readings = read_of(machine, chosen(12), np.random.default_rng(3))
    plain = judged(machine, readings)
    value = readings.value.copy()
    value[DEPTH, 5] -= 4.0
    found = judged(machine, Readings(value, readings.doubt))
    assert found.odd == (5,)
    unseen = everywhere()
    two = [law.read(unseen, one.learnt.unknowns[:, None], stand(), False)[DEPTH] for one in (plain, found)]
    assert np.abs(two[0] - two[1]).mean() < 0.25


@pytest.mark.parametrize(
    ("slip", "said"),
    [
        (lambda value: np.stack([value[DEPTH], -value[SIDE]]), "left and right"),
        (lambda value: np.stack([value[DEPTH] / 0.3048, value[SIDE] / 0.3048]), "in feet"),
        (lambda value: np.stack([HALF_LENGTH - value[DEPTH], value[SIDE]]), "from the baseline"),
    ],
)  # fmt: skip
def test_a_slip_that_explains_the_figures_is_named_and_not_fitted_away(slip, said: str) -> None:  # type: ignore[no-untyped-def]
    readings = read_of(a_machine(), chosen(12), np.random.default_rng(3))
    value = readings.value.copy()
    value[[DEPTH, SIDE]] = slip(readings.value)
    found = judged(a_machine(), Readings(value, readings.doubt))
    assert said in found.mistaken and found.refused


def test_good_readings_are_not_taken_for_a_slip() -> None:
    for seed in range(100 if WHOLE else 2):
        chance = np.random.default_rng(seed)
        assert judged(InventedMachine.drawn(feeder(), chance), seed=seed).mistaken == ""


def test_a_profile_that_is_right_already_is_left_alone() -> None:
    """Balls that land where they are predicted, but for their scatter: nothing is gained, and that is said."""
    right = InventedMachine(np.zeros(10), law.scatter(feeder().repeatability))
    refused = [judged(right, seed=seed).refused for seed in range(3)]
    assert all("no better" in words for words in refused)


def test_balls_that_go_anywhere_are_refused() -> None:
    readings = read_of(a_machine(), chosen(12), np.random.default_rng(3))
    value = readings.value.copy()
    value[SIDE] = np.random.default_rng(1).uniform(-4, 4, 12)
    assert "no correction explains" in judged(a_machine(), Readings(value, readings.doubt)).refused


def test_two_balls_tell_nothing() -> None:
    readings = read_of(a_machine(), chosen(12), np.random.default_rng(3))
    value = readings.value.copy()
    value[:, 2:] = np.nan
    assert "three are the least" in judged(a_machine(), Readings(value, readings.doubt)).refused


def test_the_time_of_flight_tells_more() -> None:
    machine, chance = a_machine(), np.random.default_rng(3)
    without = learn(chosen(12), read_of(machine, chosen(12), chance), stand(), feeder())
    timed = learn(chosen(12), read_of(machine, chosen(12), np.random.default_rng(3), 0.04), stand(), feeder())
    assert np.isfinite(timed.now[TIME]).all()
    assert timed.shares[0] < without.shares[0]


def test_a_bounce_is_learnt_from_what_comes_after_it() -> None:
    """A court that gives back a tenth less of the fall, told by second bounces alone."""
    balls = chosen(12)
    x = np.zeros((10, 1))
    x[8] = -0.1
    value, doubt = np.full((6, 12), np.nan), np.full((6, 12), 0.05)
    told = law.read(balls, x, stand())
    for row in (0, 1, 5):
        value[row] = told[row]
    learnt = learn(balls, Readings(value, doubt), stand(), feeder())
    assert learnt.unknowns[8] == pytest.approx(-0.1, abs=2.5 * np.sqrt(learnt.covariance[8, 8]) + 0.02)
    assert learnt.shares[8] < 0.6


def test_the_doubt_that_is_left_is_the_prior_of_the_next_time() -> None:
    learnt = judged(a_machine()).learnt
    again = law.prior(corrected(feeder(), learnt).doubt)
    scale = np.sqrt(np.outer(np.diag(learnt.covariance), np.diag(learnt.covariance)))
    assert np.abs((again - learnt.covariance) / scale)[:8, :8].max() < 0.03  # figures are rounded


def test_the_slopes_are_those_of_one_flight_after_the_other() -> None:
    """A batch of flights against single ones with half the step."""
    balls = chosen(6)
    _, by, _ = law.slopes(balls, np.zeros(10), stand())
    for k, step in enumerate(law.STEPS / 2):
        up, down = np.zeros((10, 1)), np.zeros((10, 1))
        up[k], down[k] = step, -step
        single = (law.read(balls, up, stand()) - law.read(balls, down, stand())) / (2 * step)
        size = np.abs(single[:3]).max() + 1e-6
        assert np.abs(by[:3, k] - single[:3]).max() < 0.03 * size


def test_a_fit_flies_few_batches_however_many_balls(monkeypatch: pytest.MonkeyPatch) -> None:
    """Each step is one batch of flights; for 24 balls that is below 1 s by far."""
    batches, fly = [], law.slopes
    monkeypatch.setattr(law, "slopes", lambda *given: batches.append(1) or fly(*given))  # type: ignore[func-returns-value]
    for count in (6, 24):
        batches.clear()
        learn(chosen(count), read_of(a_machine(), chosen(count), np.random.default_rng(3)), stand(), feeder())
        assert len(batches) <= 30
