"""`measure` and `fly` as an owner uses them, from a guessed profile to balls where they were asked."""

import math
import re
from pathlib import Path

import numpy as np
import pytest

from feedwright.compiler.calibration import law
from feedwright.compiler.calibration.choice import safe
from feedwright.compiler.calibration.law import usual_stand
from feedwright.compiler.model.court import courts
from feedwright.compiler.model.plan import Plan
from feedwright.compiler.pipeline import compile_source
from feedwright.grammar.source import Source
from feedwright.targets.command.cli import main
from feedwright.targets.document import read
from feedwright.targets.machine.feeders import ProfileShelf

from ..whole import WHOLE
from .played import club, played

PAGE = (Path(__file__).parents[2] / "targets" / "machine" / "feeders" / "FEEDERS.md").read_text("utf-8")
SCRIPT = Path(__file__).parents[2] / "programs" / "02-first-script.feed"


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """With the plan of the test balls of the page."""
    here = tmp_path_factory.mktemp("measure")
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(here)
        (here / "mine.feed").write_text(SCRIPT.read_text("utf-8"), "utf-8")
        assert main(["measure", "balls", "club", "--for", "mine.feed"]) == 0
    return here


def plan_in(folder: Path, name: str = "club-test") -> Plan:
    return read((folder / f"{name}.plan.json").read_bytes())


def test_from_a_guess_to_balls_where_they_are_asked(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """The walk-through of the page: the replayed test balls give its table, the table a profile, and the script built
    with that lands on the same machine where it asks, as far as the page says."""
    monkeypatch.chdir(folder)
    thrown = played(plan_in(folder), club(), 11)
    rows = re.search(r"^```csv club-landings.csv\n(.*?)^```", PAGE, re.M | re.S)
    assert rows
    assert [(name, float(y), float(x)) for name, y, x, *_ in (row.split(",") for row in rows[1].splitlines()[1:])] == (
        thrown
    )
    (folder / "club-landings.csv").write_text(rows[1])
    command = ["measure", "fit", "club-test.plan.json", "club-landings.csv", "-o", "ours-measured.toml"]
    assert main([*command, "--when", "2026-05-31"]) == 0
    said = capsys.readouterr().out
    assert "learnt: yes" in said and "learnt: no" in said
    assert 'basis = "measured on 2026-05-31: 12 test balls' in (folder / "ours-measured.toml").read_text("utf-8")
    drawn = (folder / "ours-measured.svg").read_text("utf-8")
    assert drawn.count('r="5"') == 13 and drawn.count('r="7"') == 13  # twelve balls, and one in the legend
    before, after = missed_by(folder, "club", 11), missed_by(folder, "ours-measured", 11)
    assert f"{before:.1f} m from where the script asks, those of `ours.plan.json` {after:.1f} m" in PAGE
    assert main(command) == 2
    assert "already exists" in capsys.readouterr().err


def missed_by(folder: Path, profile: str, number: int, *laws: str) -> float:
    """Mean distance from where the script asks, m, of the first ten balls replayed on the simulated machine, when the
    script is compiled with a profile."""
    script = SCRIPT.read_text("utf-8").replace("machine club", f"machine {profile}")
    shelf = ProfileShelf(folder)
    plan, feeder = compile_source(Source("ours.feed", script), shelf, sample=False).plan, shelf.load(profile)
    assert plan and feeder
    asked = {shot.id: shot.predicted.landing_m for shot in plan.shots}
    return float(np.mean([
        math.dist((x, y), asked[shot]) for shot, y, x in played(plan, feeder, number, *laws, last=10)  # type: ignore[arg-type]
    ]))  # fmt: skip


@pytest.mark.skipif(not WHOLE, reason="FEEDWRIGHT_WHOLE=1 replays it; test_figures.py has other laws in every run")
@pytest.mark.parametrize("laws", [("slip", "tilted"), ("gyro", "worn", "coupled")])
def test_a_machine_of_another_law_lands_nearer_too(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, laws: tuple[str, ...]
) -> None:
    monkeypatch.chdir(tmp_path)
    rows = "".join(f"{name},{y},{x}\n" for name, y, x in played(plan_in(folder), club(), 5, *laws))
    (tmp_path / "seen.csv").write_text(f"ball,past_net_m,right_m\n{rows}")
    assert main(["measure", "fit", str(folder / "club-test.plan.json"), "seen.csv", "-o", "ours.toml"]) == 0
    assert missed_by(tmp_path, "ours", 5, *laws) < missed_by(tmp_path, "club", 5, *laws) / 2


def test_the_boxes_name_every_ball_with_its_settings_and_the_cautions(folder: Path) -> None:
    page = (folder / "club-test.boxes.html").read_text("utf-8")
    assert page.count('class="box"') == 3 * 12
    assert "speed 52 km/h" in page and "Nobody stands in front of the machine" in page and "eye protection" in page


def test_every_machine_has_safe_test_balls_slow_ones_first() -> None:
    """At either end of what is in doubt, by flights: not one of a hundred machines within two standard deviations of
    each unknown, one at a time, sends a test ball into the net or out of the court."""
    court = courts(False)["singles"]
    for name in ("club", "academy", "dials", "answering", "silent"):
        feeder = ProfileShelf().load(name)
        assert feeder
        stand = usual_stand(feeder)
        settings = safe(feeder, stand, court)[0]
        balls = law.balls_of(feeder, settings)
        deviation = np.sqrt(np.diag(law.prior(feeder.doubt)))
        for k in range(8):
            for sign in (-2, 2):
                x = np.zeros((10, 1))
                x[k] = sign * deviation[k]
                found = law.read(balls, x, stand, False)
                assert (found[law.OVER_NET] > 0).all()
                assert ((found[law.DEPTH] > 0) & (found[law.DEPTH] < court.half_length + 0.3)).all()
                assert (np.abs(found[law.SIDE]) < court.half_width).all()


def test_a_profile_that_may_be_anything_has_no_safe_ball(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    from feedwright.targets.machine.feeders import SHIPPED

    text = (SHIPPED / "club.toml").read_text("utf-8") + "\n[doubt]\nelevation_deg = 8\nspeed_percent = 30\n"
    (tmp_path / "wild.toml").write_text(text)
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(tmp_path)
        assert main(["measure", "balls", "wild"]) == 2
    assert "No ball is sure to pass the net" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("table", "said"),
    [
        ("", "is empty"),
        ("ball,past_net\nt1,5\n", 'there is no column "past_net"'),
        ("ball,past_net_m\nt99,5\n", 'row 2: there is no ball "t99"'),
        ("ball,past_net_m\nt1,five\n", 'row 2, past_net: "five" is not a number'),
        ("ball,past_net_m\nt1,nan\n", "is not a number"),
        ("ball,past_net_m\nt1,630\n", "is it in another unit"),
        ("ball,past_net_m,inside_baseline_m\nt1,5,6\n", "a second figure for the same thing"),
        ("ball,past_net_m,by\nt1,5,guess\n", 'by is "guess"'),
        ("ball,height_m\nt1,1\n", "a height needs height_at"),
        ("ball,past_net_m,second_past_net_m\nt1,7,6\n", "row 2: the second bounce would lie before the first"),
        ("ball,past_net_m\nt1,\n", "no row has a figure"),
        ("ball,past_net_m,right_m\nt1,5,1\nt2,5,1\n", "three are the least"),
    ],
)
def test_a_table_that_cannot_be_used_says_where(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], table: str, said: str
) -> None:
    monkeypatch.chdir(folder)
    (folder / "bad.csv").write_text(table)
    assert main(["measure", "fit", "club-test.plan.json", "bad.csv", "-o", "never.toml"]) in (1, 2)
    assert said in capsys.readouterr().err
    assert not (folder / "never.toml").exists()


def test_a_spreadsheet_may_write_feet_semicolons_and_other_lines(folder: Path) -> None:
    from feedwright.compiler.calibration.readings import CourtLines, parsed

    text = "Ball;Inside_Baseline_ft;Left_cm;by\nt1;10,5;40;paces\nt1;11;-40;\n"
    found = parsed(text, ["t1"], CourtLines(11.885, 6.40))
    assert found.readings.value[0] == pytest.approx([11.885 - 10.5 * 0.3048, 11.885 - 11 * 0.3048])
    assert found.readings.value[1] == pytest.approx([-0.4, 0.4])
    assert found.readings.doubt[0] == pytest.approx([0.2, 0.05])
