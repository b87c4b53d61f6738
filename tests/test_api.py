"""`import feedwright`: what API.md tells, against the commands, closed forms and the plan's own figures."""

import json
import math
import subprocess
import sys
import tomllib
from pathlib import Path

import numpy as np
import pytest

import feedwright
from feedwright.programs import shipped
from feedwright.targets.command.cli import main
from feedwright.targets.document import read

ROOT = Path(__file__).parent.parent
FIRST = shipped()["02-first-script.feed"]


def test_importing_loads_nothing_until_something_is_asked_for() -> None:
    script = """
import sys
before = set(sys.modules)
import feedwright
assert feedwright.__version__
print(*sorted(set(sys.modules) - before))
"""
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    loaded = {name.partition(".")[0] for name in done.stdout.split()}
    assert not loaded & {"numpy", "lark", "pydantic", "dataclasses", "rich", "serial"}


def test_every_public_name_is_there_and_on_the_page() -> None:
    page = (ROOT / "targets" / "api" / "API.md").read_text("utf-8")
    for name in feedwright.__all__:
        assert getattr(feedwright, name) is not None
        assert f"`{name}" in page, name
    assert set(feedwright.__all__) <= set(dir(feedwright))
    with pytest.raises(AttributeError, match="no attribute 'throw'"):
        feedwright.throw  # noqa: B018


def test_the_version_has_one_owner(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        main(["--version"])
    assert ended.value.code == 0 and capsys.readouterr().out == f"feedwright {feedwright.__version__}\n"
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))
    assert "version" not in project["project"]
    assert project["tool"]["setuptools"]["dynamic"]["version"] == {"attr": "feedwright.__version__"}


def test_python_m_is_the_command() -> None:
    done = subprocess.run([sys.executable, "-m", "feedwright", "why", "nett-hit"], capture_output=True, text=True)
    assert done.returncode == 2 and "net-hit" in done.stderr and "Traceback" not in done.stderr


# ---- compile


def test_a_plan_is_the_one_that_build_writes(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "mine.feed").write_text(FIRST, "utf-8")
    assert main(["build", str(tmp_path / "mine.feed"), "-o", str(tmp_path)]) == 0
    plan = feedwright.compile(FIRST, tmp_path, name=str(tmp_path / "mine.feed")).plan
    assert plan == read((tmp_path / "mine.plan.json").read_bytes())
    assert feedwright.compile(FIRST.replace("\n", "\r\n"), name=str(tmp_path / "mine.feed")).plan == plan


def test_findings_are_those_of_check(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    broken = FIRST.replace("topspin 1200 rpm", "topspin 4000 rpm")
    file = tmp_path / "mine.feed"
    file.write_text(broken, "utf-8")
    result = feedwright.compile(broken, name=str(file))
    assert main(["check", "--json", str(file)]) == 1
    assert result.plan is None and result.records() == json.loads(capsys.readouterr().out)["findings"]
    assert main(["check", str(file)]) == 1
    assert result.text().strip() == capsys.readouterr().err.strip()
    assert [finding.code for finding in result.errors] == ["feeder-limit"]


def test_a_folder_gives_scripts_and_profiles_first(tmp_path: Path) -> None:
    text = 'use "mine.feed"\n\nsession "One minute"\n    1 min     cycle high\n'
    head, _, _ = FIRST.partition("session")
    (tmp_path / "mine.feed").write_text(head[head.index("variation") :], "utf-8")
    whole = head[: head.index("variation")].replace("machine club", "machine own") + text
    club = (ROOT / "targets" / "machine" / "feeders" / "club.toml").read_text("utf-8")
    (tmp_path / "own.toml").write_text(club, "utf-8")
    assert feedwright.compile(whole).plan is None
    plan = feedwright.compile(whole, tmp_path).plan
    assert plan and plan.feeder.name == "own"
    assert feedwright.verify(plan, folder=tmp_path) == ()
    assert feedwright.verify(plan) == ("There is no profile of the feeder own, for which the plan was made.",)
    (tmp_path / "own.toml").write_text("title = 3", "utf-8")
    (told,) = feedwright.verify(plan, folder=tmp_path)
    assert told.startswith("The profile of the feeder own cannot be used: ")


@pytest.mark.parametrize(
    ("text", "more", "said"),
    [
        ("", {}, "script.feed is empty"),
        ("a\0", {}, "holds a NUL character in line 1"),
        ("#" * (256 * 1024 + 1), {}, "larger than 256 KB"),
        (FIRST, {"folder": "/no/such/folder"}, "/no/such/folder is not a folder"),
        (FIRST, {"settings": {"rhythm": "3"}}, "rhythm takes a number with a unit, such as 3.5 s; not 3"),
        (FIRST, {"settings": {"rhythm": "3 parsecs"}}, "not 3 parsecs"),
    ],
)
def test_what_is_no_script_is_told(text: str, more: dict, said: str) -> None:
    with pytest.raises(ValueError, match=said):
        feedwright.compile(text, **more)


# ---- fly


def test_without_air_a_ball_flies_the_parabola() -> None:
    """Closed form: z = h + v sin(a) t - g t²/2 down to the radius; the fourth-order steps are exact for a parabola."""
    speed, angle, height = 20.0, np.radians([5.0, 10.0, 15.0]), 1.0
    flown = feedwright.fly((0.3, -11.0, height), speed, angle, air=feedwright.Air(0.0))
    up, drop = speed * np.sin(angle), height - feedwright.BALLS["type 2"].radius_m
    time = (up + np.sqrt(up**2 + 2 * 9.81 * drop)) / 9.81
    assert flown.landing.time == pytest.approx(time, abs=1e-9)
    assert flown.landing.position[0] == pytest.approx(0.3)
    assert flown.landing.position[1] == pytest.approx(-11.0 + speed * np.cos(angle) * time, abs=1e-8)
    assert flown.peak == pytest.approx(height + up**2 / (2 * 9.81), abs=1e-3)  # read off the steps


def test_a_plans_launch_flies_as_the_plan_says() -> None:
    plan = feedwright.compile(FIRST).plan
    assert plan
    for shot in plan.shots:
        one = shot.launch
        degrees = math.radians(one.elevation_deg), math.radians(one.azimuth_deg)
        spins = one.topspin_rpm * math.pi / 30, one.sidespin_rpm * math.pi / 30
        flown = feedwright.fly(one.origin_m, one.speed_mps, *degrees, *spins, stance=shot.stance_y_m)
        # A plan's places are rounded to 1e-4 and its launches to 1e-6.
        assert flown.landing.position[:2, 0] == pytest.approx(shot.predicted.landing_m, abs=2e-4)
        assert flown.contact.position[:, 0] == pytest.approx(shot.predicted.contact_m, abs=2e-4)
        assert flown.met.all() and flown.bounces.tolist() == [shot.predicted.bounces]


def test_signs_are_those_of_the_frame() -> None:
    straight, right, side, top, back = (
        feedwright.fly((0, -11.885, 1.0), 25.0, math.radians(10), **more)
        for more in ({}, {"azimuth": 0.1}, {"sidespin": 150.0}, {"topspin": 150.0}, {"topspin": -150.0})
    )
    x = [flown.landing.position[0, 0] for flown in (side, straight, right)]
    assert x[0] < -0.1 and abs(x[1]) < 1e-12 and x[2] > 1.0
    assert top.landing.position[1, 0] < straight.landing.position[1, 0] < back.landing.position[1, 0]


def test_a_ball_on_the_full_and_one_that_may_bounce_twice() -> None:
    full = feedwright.fly((0, -11.885, 1.0), 25.0, math.radians(12), stance=4.0, full=True)
    assert full.met.all() and np.isnan(full.landing.time).all() and full.bounces.tolist() == [0]
    deep = [
        feedwright.fly((0, -11.885, 1.0), 15.0, math.radians(12), stance=12.0, bounces=count).bounces.tolist()
        for count in (1, 2)
    ]
    assert deep == [[1], [2]]


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({"ball": "type 9"}, "there is no ball type 9; there are type 1, type 2"),
        ({"surface": "ice"}, "there is no surface ice; there are clay, hard, grass"),
        ({"court": "table"}, "there is no court table"),
        ({"speed": -1.0}, "a speed is negative"),
        ({"speed": math.nan}, "a number of the speed is not finite"),
        ({"origin": (0, math.inf, 1)}, "a number of the origin is not finite"),
        ({"origin": (0, -11.885, 0.01)}, "starts in the ground"),
        ({"origin": (0, 1)}, "the origin needs three numbers"),
        ({"speed": [20.0, 21.0], "elevation": [0.1, 0.2, 0.3]}, "the shapes do not match"),
        ({"speed": [[20.0]]}, "single values or rows"),
        ({"speed": [20.0, 21.0, 22.0], "full": [True, False]}, "the shapes do not match"),
        ({"bounces": 3}, "once or twice, not 3 times"),
    ],
)
def test_a_launch_that_cannot_be_is_told(more: dict, said: str) -> None:
    with pytest.raises(ValueError, match=said):
        feedwright.fly(**{"origin": (0, -11.885, 1.0), "speed": 25.0, "elevation": 0.1, **more})
