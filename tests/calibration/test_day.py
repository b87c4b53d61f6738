"""The correction of a day: a few balls by eye shift a measured profile as far as they are worth, and no further."""

from pathlib import Path

import numpy as np
import pytest

from feedwright.compiler.calibration import law
from feedwright.compiler.calibration.day import correct
from feedwright.compiler.calibration.invented import InventedMachine
from feedwright.compiler.calibration.law import DEPTH, KINDS, SIDE, Balls
from feedwright.compiler.calibration.learn import Readings
from feedwright.compiler.calibration.outcome import corrected, judge
from feedwright.compiler.model.feeder import Feeder
from feedwright.targets.command.cli import main
from feedwright.targets.document import read
from feedwright.targets.machine.feeders import ProfileShelf
from feedwright.targets.machine.feeders.writing import written

from .invented import chosen, feeder, read_of, stand

SCRIPT = Path(__file__).parents[2] / "programs" / "02-first-script.feed"


def measured() -> Feeder:
    machine = InventedMachine(np.zeros(10), law.scatter(feeder().repeatability))
    learnt = judge(chosen(12), read_of(machine, chosen(12), np.random.default_rng(1)), stand(), feeder(), 11.885).learnt
    made = corrected(feeder(), learnt)
    given = {name: getattr(made, name) for name in made._fields}
    return Feeder(**{**given, "name": "measured", "basis": "measured on 2026-05-01: 12 test balls"})


def by_eye(balls: Balls, profile: Feeder, off: tuple[float, float]) -> Readings:
    """Each ball this far long and right of where the profile expects it."""
    value = np.full((len(KINDS), len(balls.speed)), np.nan)
    now = law.read(balls, np.zeros((10, 1)), stand(), False)
    value[DEPTH], value[SIDE] = now[DEPTH] + off[0], now[SIDE] + off[1]
    return Readings(value, np.full(value.shape, 0.4))


def test_a_shift_is_taken_in_part_and_more_of_it_after_weeks() -> None:
    profile = measured()
    few = law.balls_of(profile, [{"speed": 80, "elevation": 16, "azimuth": 0, "topspin": 600}] * 3)
    fresh, old = (correct(few, by_eye(few, profile, (1.0, 0.3)), stand(), profile, weeks) for weeks in (0, 20))
    assert fresh.read == pytest.approx((1.0, 0.3), abs=1e-9)
    assert 0.1 < fresh.taken[0] < old.taken[0] < 1.0
    assert 0.0 < fresh.taken[1] < old.taken[1] < 0.3


def test_one_ball_is_no_correction() -> None:
    profile = measured()
    one = law.balls_of(profile, [{"speed": 80, "elevation": 16, "azimuth": 0, "topspin": 600}])
    assert "2 are the least" in correct(one, by_eye(one, profile, (1.0, 0.0)), stand(), profile, 0).refused


def test_the_profile_of_the_day_is_another_plan_that_is_checked_anew(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("FEEDWRIGHT_DB", str(tmp_path / "practice.db"))
    (tmp_path / "measured.toml").write_text(written(measured(), "for a test"), "utf-8")
    (tmp_path / "mine.feed").write_text(SCRIPT.read_text("utf-8").replace("machine club", "machine measured"), "utf-8")
    assert main(["build", "mine.feed"]) == 0
    plan = read((tmp_path / "mine.plan.json").read_bytes())
    rows = [f"{shot.id},{shot.predicted.landing_m[1] + 0.8:.2f},{shot.predicted.landing_m[0]:.2f},eye"  # type: ignore[index]
            for shot in plan.shots]  # fmt: skip
    (tmp_path / "eye.csv").write_text("\n".join(["ball,past_net_m,right_m,by", *rows]) + "\n")
    command = ["measure", "today", "mine.plan.json", "eye.csv", "-o", "friday.toml", "--when", "2026-05-15"]
    assert main(command) == 0
    said = capsys.readouterr().out
    assert "measured 2 weeks ago" in said and "0.80 m longer" in said and "arm it again" in said
    made = ProfileShelf(tmp_path).load("friday")
    assert made and "corrected for 2026-05-15 by 2 balls" in made.basis
    assert main(["log", "show"]) == 0
    assert "measured, 1 correction: on 2026-05-15 balls landed 0.80 m longer" in capsys.readouterr().out
    (tmp_path / "friday.feed").write_text(SCRIPT.read_text("utf-8").replace("machine club", "machine friday"), "utf-8")
    assert main(["build", "friday.feed"]) == 0
    again = read((tmp_path / "friday.plan.json").read_bytes())
    assert again.digest != plan.digest and again.feeder.fingerprint != plan.feeder.fingerprint
    slower = [
        new.order.speed_mps <= old.told.speed_mps for new, old in zip(again.shots, plan.shots, strict=True) if new.order
    ]
    lower = [new.told.elevation_deg <= old.told.elevation_deg for new, old in zip(again.shots, plan.shots, strict=True)]
    assert any(slower) or any(lower)
    assert main(["measure", "today", "mine.plan.json", "eye.csv", "--when", "2026-04-01"]) == 2


def test_a_profile_that_was_never_measured_has_no_correction_of_the_day(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "mine.feed").write_text(SCRIPT.read_text("utf-8"), "utf-8")
    assert main(["build", "mine.feed"]) == 0
    (tmp_path / "eye.csv").write_text("ball,past_net_m,right_m,by\nhigh,9,0,eye\nlow,9,0,eye\n")
    assert main(["measure", "today", "mine.plan.json", "eye.csv"]) == 2
    assert "was never measured" in capsys.readouterr().err
