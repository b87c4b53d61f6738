"""What measuring is worth, on invented machines that the fit has never seen.

Their errors are drawn from the profile's doubt, their balls scatter by 1.2 % and 0.35 degrees, landings are read with a
tape to 5 cm. FEEDWRIGHT_WHOLE=1 takes 200 machines, an ordinary run a few, with bounds as much wider as so few need.
"""

from functools import cache

import numpy as np
import pytest

from feedwright.compiler.calibration import choice, law
from feedwright.compiler.calibration.invented import InventedMachine
from feedwright.compiler.calibration.law import DEPTH, SIDE
from feedwright.compiler.calibration.scripts import balls_of_script, slopes_of
from feedwright.compiler.model.court import courts

from .. import shipped
from ..whole import WHOLE
from .invented import Trial, chosen, feeder, stand, tried
from .ranks import BARS, PICTURE, counts

MACHINES = 200 if WHOLE else 10
NINETY = 1.645
"""Standard deviations to each side that hold 90 % of a normal distribution."""


@cache
def trials(count: int, machines: int = MACHINES, other: tuple[str, ...] = ()) -> list[Trial]:
    chance = np.random.default_rng(count)
    return [
        tried(InventedMachine.drawn(feeder(), chance, other), chosen(count), chance) for _ in range(machines)
    ]  # fmt: skip


@pytest.mark.parametrize(("count", "most"), [(6, 0.30), (12, 0.22)])
def test_few_balls_bring_a_guessed_profile_to_a_quarter_of_a_metre(count: int, most: float) -> None:
    """From about 1.5 m. Of 10 machines the mean is known to a tenth of itself."""
    found = trials(count)
    assert np.mean([one.before for one in found]) > 1.0
    assert np.mean([one.after for one in found]) <= most * (1.0 if WHOLE else 1.25)


def test_intervals_hold_the_truth_as_often_as_they_say() -> None:
    """Simulation-based calibration: S. Talts, M. Betancourt, D. Simpson, A. Vehtari & A. Gelman, arXiv:1804.06788
    (2018). The 25 landings of a machine hang together, so that few machines leave the share uncertain by 6 %."""
    found = trials(12)
    inside = np.mean([np.abs(one.landings) <= NINETY for one in found])
    unknowns = np.mean([np.abs(one.unknowns) <= NINETY for one in found])
    low, high = (0.85, 0.95) if WHOLE else (0.75, 1.0)
    assert low <= inside <= high
    assert low <= unknowns <= high


def test_nine_of_ten_balls_land_within_what_is_told() -> None:
    """The distance that is told of each machine, without scatter, and how many of 25 balls keep it."""
    found = trials(12)
    share = np.mean([one.inside for one in found])
    assert (0.85 if WHOLE else 0.75) <= share <= (0.95 if WHOLE else 1.0)


def test_no_part_of_the_posterior_holds_the_truth_too_often() -> None:
    """The rank histogram, which compiler/calibration/ranks.svg draws. Four standard deviations of a bar: the eight
    unknowns of a machine hang together, which makes bars less even than chance alone."""
    found = counts(np.array([one.unknowns[:8] for one in trials(12)]))
    even = found.sum() / BARS
    assert np.abs(found - even).max() <= 4 * np.sqrt(even)
    assert "1600 unknowns" in PICTURE.read_text("utf-8")


@pytest.mark.parametrize("program", ["02", "16", "18"] if WHOLE else ["02"])
def test_chosen_test_balls_leave_less_doubt_than_random_ones(program: str) -> None:
    """About the landings of a script at most 0.8 of what as many random safe balls leave in the mean; about balls all
    over the court, where random ones are good already, 0.9."""
    court = courts(False)["singles"]
    settings, _, by, spread = choice.safe(feeder(), stand(), court)
    script = shipped.compiled(next(path for path in shipped.PROGRAMS if path.stem.startswith(program)))
    assert script.program and script.shots
    balls = balls_of_script(script.program, script.shots)
    before, chance = law.prior(feeder().doubt), np.random.default_rng(1)
    for wanted, most in (([balls], 0.8), ([], 0.9)):
        asked = slopes_of(feeder(), wanted)[0] if wanted else by[[SIDE, DEPTH]]
        aims = asked.transpose(1, 0, 2).reshape(10, -1)
        for count in (6, 12):
            best = choice.choose(count, feeder(), stand(), court, wanted).after
            drawn = [
                choice.left_by(list(chance.choice(len(settings), count, replace=False)), before, by, spread, aims)
                for _ in range(60)
            ]
            assert best <= most * np.mean(drawn)


@pytest.mark.parametrize("other", ["slip", "coupled", "tilted", "gyro", "worn"] if WHOLE else ["slip,tilted,gyro,worn"])
def test_a_machine_of_another_law_is_still_met_twice_as_well(other: str) -> None:
    """In 9 of 10; no unknown of the fit describes these laws. Those that were right before cannot be halved."""
    tried = trials(12, MACHINES // 2 + 3, tuple(other.split(",")))
    found = [one for one in tried if one.before > 0.5]
    halved = np.mean([one.after <= one.before / 2 for one in found])
    assert halved >= (0.9 if WHOLE else 0.8)
    # Nine of ten are told; so few machines leave the share uncertain by 6 %.
    assert np.mean([one.inside for one in tried]) >= (0.85 if WHOLE else 0.75)


@pytest.mark.skipif(not WHOLE, reason="FEEDWRIGHT_WHOLE=1: a difference of a tenth needs many machines")
@pytest.mark.parametrize("laws", [("coupled",), ("tilted",), ("slip", "coupled", "tilted", "gyro", "worn")])
def test_what_no_correction_explains_makes_the_doubt_wider(laws: tuple[str, ...]) -> None:
    """The same machines with and without another law, read with the same slips of the tape. Gyrospin and a worn ball
    are left out: their doubt need not be wider, because corrections take them in (the share above shows that)."""
    machines = 60
    plain, other = ([one.told for one in trials(12, machines, of)] for of in ((), laws))
    assert np.median(np.array(other) / np.array(plain)) > 1.04
    assert np.mean(np.array(other) > np.array(plain)) > 0.6
