"""A person who feeds: place, scatter and the share in the zone, from landings."""

import csv
from pathlib import Path

import numpy as np
import pytest

from feedwright.compiler.calibration.person import fed, times_stated
from feedwright.targets.command.cli import main
from feedwright.targets.document import read
from feedwright.targets.machine.feeders import ProfileShelf

SCRIPT = Path(__file__).parents[2] / "programs" / "03-basket-feet.feed"


def test_place_scatter_and_share_are_those_of_the_landings() -> None:
    """A thousand balls: the share is the counted one within 4 %, the ranges those of the chi-squared distribution."""
    chance = np.random.default_rng(2)
    landings = np.array([[1.0], [6.0]]) + chance.normal(size=(2, 1000)) * np.array([[0.4], [0.8]])
    found = fed("a", landings, (0.8, 6.5), (0.5, 1.5, 5.0, 7.0))
    counted = np.mean((abs(landings[0] - 1) <= 0.5) & (abs(landings[1] - 6) <= 1))
    assert found.share == pytest.approx(counted, abs=0.04)
    assert found.off == pytest.approx((0.2, -0.5), abs=0.08)
    from scipy.stats import chi2  # takes half a second to load, wherever tests are collected

    ten = fed("a", landings[:, :10], (0.8, 6.5), (0.5, 1.5, 5.0, 7.0))
    s = np.std(landings[1, :10], ddof=1)
    assert ten.scatter_range[1] == pytest.approx([s * np.sqrt(9 / chi2.ppf(q, 9)) for q in (0.95, 0.05)], rel=0.01)
    assert times_stated([found], {"a": (0.4, 0.4)}) == pytest.approx((1.0, 2.0), rel=0.05)


def test_ten_landings_make_a_profile_of_that_person(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "feet.feed").write_text(SCRIPT.read_text("utf-8"), "utf-8")
    assert main(["build", "feet.feed"]) == 0
    plan = read((tmp_path / "feet.plan.json").read_bytes())
    shot = next(shot for shot in plan.shots if shot.predicted.landing_m and shot.zone_m)
    chance = np.random.default_rng(4)
    with (tmp_path / "fed.csv").open("w", newline="") as file:
        rows = csv.writer(file)
        rows.writerow(["ball", "past_net_m", "right_m"])
        for _ in range(10):
            x, y = np.array(shot.predicted.landing_m) + chance.normal(size=2) * 0.3
            rows.writerow([shot.id, f"{y:.2f}", f"{x:.2f}"])
    capsys.readouterr()
    assert main(["measure", "person", "feet.plan.json", "fed.csv", "-o", "ana.toml", "--who", "A"]) == 0
    said = capsys.readouterr().out
    assert f"{shot.id}: 10 balls" in said and "in the zone" in said and "the profile says" in said
    made = ProfileShelf(tmp_path).load("ana")
    assert made and made.basis.startswith("scatter of A from 10 landings")
    (tmp_path / "two.csv").write_text(f"ball,past_net_m,right_m\n{shot.id},3,0\n{shot.id},3,0\n")
    assert main(["measure", "person", "feet.plan.json", "two.csv"]) == 2
    assert "2 landings; 3 are the least" in capsys.readouterr().err
