"""What a measured profile is worth for scripts: each from its own place, with the share of balls that is told."""

from pathlib import Path

import numpy as np
import pytest

from feedwright.compiler.calibration import choice, law
from feedwright.compiler.calibration.place import place_of
from feedwright.compiler.calibration.scripts import ScriptBalls, doubts_of, slopes_of, within
from feedwright.targets.command.cli import main
from feedwright.targets.document import read
from feedwright.targets.machine.feeders import ProfileShelf

from .invented import feeder, stand

SCRIPT = Path(__file__).parents[2] / "programs" / "02-first-script.feed"
SETTINGS = ({"speed": 80.0, "elevation": 14.0, "azimuth": 0.0, "topspin": 600.0},)
HEAD = ("surface hard", "feeder machine club, 1 m left of centre, 4 m inside baseline")


def test_the_distance_of_a_round_scatter_is_that_of_the_rayleigh_distribution() -> None:
    """Its quantile is sigma times the root of -2 ln(1 - share): any textbook of statistics."""
    round_ = 0.3**2 * np.eye(2)[:, :, None]
    assert within(round_, 0.9) == pytest.approx(0.3 * np.sqrt(-2 * np.log(0.1)), rel=1e-6)
    assert within(round_, 0.5) == pytest.approx(0.3 * np.sqrt(2 * np.log(2)), rel=1e-6)


def test_long_and_turned_scatters_of_several_balls_are_taken_together() -> None:
    """Against 400,000 drawn balls, which know the distance to about 0.3 %."""
    kinds = np.array([[[1.0, 0.28], [0.28, 0.1]], [[0.04, 0.0], [0.0, 0.02]]]).transpose(1, 2, 0)
    chance = np.random.default_rng(1)
    drawn = np.concatenate([chance.multivariate_normal((0, 0), kinds[:, :, i], 200_000) for i in (0, 1)])
    assert within(kinds) == pytest.approx(np.quantile(np.hypot(*drawn.T), 0.9), rel=0.01)


def test_each_script_counts_from_its_own_place() -> None:
    """The same settings from 4 m nearer to the net: the slopes are those of flights from there, of both scripts."""
    near = place_of(HEAD, ProfileShelf()).stand
    assert near.origin[:2] == pytest.approx((1.0, -7.885))
    two = [ScriptBalls(SETTINGS, stand()), ScriptBalls(SETTINGS, near)]
    by, _ = slopes_of(feeder(), two)
    for i, place in enumerate((stand(), near)):
        one = law.slopes(law.balls_of(feeder(), list(SETTINGS)), np.zeros(10), place, False)[1]
        assert by[:, :, i] == pytest.approx(one[[law.SIDE, law.DEPTH], :, 0])
    middle, one = doubts_of(feeder(), two, law.prior(feeder().doubt))
    assert within(middle) < within(one)
    court = place_of(HEAD, ProfileShelf()).court
    # Only the nearer one: its landing is known less well to a fit that reads balls from the baseline.
    chosen = [choice.choose(6, feeder(), stand(), court, [balls]).after for balls in two]
    assert chosen[0] != chosen[1]


def test_a_fit_tells_of_each_script_how_near_its_balls_will_land(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    text = SCRIPT.read_text("utf-8")
    (tmp_path / "mine.feed").write_text(text, "utf-8")
    (tmp_path / "near.feed").write_text(text.replace("on baseline", "2 m inside baseline"), "utf-8")
    both = ["--for", "mine.feed", "--for", "near.feed"]
    assert main(["measure", "balls", "club", "--count", "3", *both]) == 0
    assert "these scripts' balls" in capsys.readouterr().out
    shots = read((tmp_path / "club-test.plan.json").read_bytes()).shots
    at = [(shot.id, *(shot.predicted.landing_m or (0, 0))) for shot in shots]
    table = [f"{name},{y + 1.2:.2f},{x:.2f}" for name, x, y in at]
    (tmp_path / "seen.csv").write_text("\n".join(["ball,past_net_m,right_m", *table]) + "\n")
    assert main(["measure", "fit", "club-test.plan.json", "seen.csv", *both]) == 0
    said = capsys.readouterr().out
    assert "mine.feed, built with this profile: nine of ten balls land within" in said
    assert "near.feed, built with this profile" in said and said.count("without the machine's scatter within") == 2
    (tmp_path / "hand.feed").write_text(text.replace("machine club", "machine academy"), "utf-8")
    assert main(["measure", "fit", "club-test.plan.json", "seen.csv", "--for", "hand.feed"]) == 2
    assert "is for the feeder academy, not for club" in capsys.readouterr().err
