"""`compare`: what another air, feeder or script changes, against both compiled alone; which feeder gives a practice."""

import json
import shutil
from pathlib import Path

import pytest

from feedwright.compiler.compare import comparison, with_lines
from feedwright.compiler.pipeline import Compiled, compile_source
from feedwright.grammar.source import Source
from feedwright.grammar.units import KMH
from feedwright.targets.command import cli
from feedwright.targets.machine.feeders import SHIPPED, ProfileShelf

SCRIPT = """\
program "One ball"
    surface   hard
    player    right-handed, 1.75 m tall
    feeder    machine club, on centre, on baseline, behind a screen

feed drive
    side      middle
    depth     1 to 4 m inside baseline
    stance    1 m behind baseline
    pace      90 km/h
    spin      topspin 1500 rpm
    interval  5 s

session "Practice"
    10 balls  drive
"""
HIGH = "air 20 C, altitude 1900 m"


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "one.feed").write_text(SCRIPT)
    return tmp_path


def compiled(text: str) -> Compiled:
    return compile_source(Source("one.feed", text), ProfileShelf(None), remedies=False, plan=False)


def run(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    code = cli.main(["compare", *words])
    told = capsys.readouterr()
    return code, told.out, told.err


def test_a_script_beside_itself_is_the_same(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, "one.feed", "one.feed")
    assert code == 0
    assert "drive            is the same" in out


def test_the_line_replaces_that_of_its_kind_and_nothing_else() -> None:
    changed, slips = with_lines(Source("one.feed", SCRIPT), ["surface clay", HIGH])
    assert changed and not slips
    rows = changed.text.splitlines()
    assert "    surface clay" in rows
    assert f"    {HIGH}" in rows
    assert sorted({*SCRIPT.splitlines()} - {*rows}) == ["    surface   hard"]


@pytest.mark.parametrize(
    ("own", "parts", "whole"),
    [
        ("", ["altitude 1900 m"], "air altitude 1900 m"),
        ("air 9 C, altitude 9 m, humidity 80 %", ["altitude 1 m"], "air 9 C, humidity 80 %, altitude 1 m"),
        ("air 12 C, altitude 300 m", ["30 C", "humidity 80 %"], "air altitude 300 m, 30 C, humidity 80 %"),
        ("air wind 3 m/s from ahead, wind 1 m/s from left", ["wind 2 m/s from right"], "air wind 2 m/s from right"),
        ("air 12 C, altitude 300 m", ["air 30 C"], "air altitude 300 m, 30 C"),
        ("air wind 5 m/s from behind, altitude 300 m", ["air 14 C, sea level"],
         "air wind 5 m/s from behind, 14 C, sea level"),
    ],
)  # fmt: skip
def test_a_part_of_the_air_leaves_its_other_parts_as_they_are(own: str, parts: list[str], whole: str) -> None:
    script = SCRIPT.replace("    surface", f"    {own}\n    surface") if own else SCRIPT
    changed, slips = with_lines(Source("one.feed", script), parts)
    assert changed and not slips
    assert [" ".join(line.split()) for line in changed.text.splitlines() if line.startswith("    air")] == [whole]


def test_the_figures_are_those_of_each_script_compiled_alone(capsys: pytest.CaptureFixture[str]) -> None:
    _, out, _ = run(capsys, "one.feed", "--with", HIGH, "--json")
    told = {one["what"]: one for one in json.loads(out)["balls"][0]["changes"]}
    low = compiled(SCRIPT).shots
    high = compiled(SCRIPT.replace("    feeder", f"    {HIGH}\n    feeder")).shots
    assert low and high
    for what, of in (
        ("met at", lambda shot: shot.predicted.contact[2]),
        ("elevation", lambda shot: shot.elevation),
        ("time", lambda shot: shot.predicted.contact_time),
    ):
        assert told[what]["first"] == [of(low.shots["drive"])] * 2
        assert told[what]["second"] == [of(high.shots["drive"])] * 2
    # Air at 1,900 m has 83 % of the density at sea level (ISO 2533:1975), so drag takes less from a ball.
    assert told["pace when met"]["second"][0] > told["pace when met"]["first"][0] + 1 * KMH


def test_the_table_fits_80_columns_and_proposes_the_ball_for_high_altitude(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, "one.feed", "--with", HIGH)
    assert code == 0
    assert max(map(len, out.splitlines())) <= 80
    assert 'try --with "ball high altitude"' in " ".join(out.split())
    for more in ("ball high altitude", "ball type 2, pressureless"):
        assert "ITF" not in run(capsys, "one.feed", "--with", HIGH, "--with", more)[1]
    assert "ITF" not in run(capsys, "one.feed", "--with", "air 20 C, altitude 1200 m")[1]  # the rules: above 1219 m


def test_what_another_machine_cannot_give_is_said(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, "one.feed", "--with", "feeder machine silent, on centre, on baseline")
    assert code == 1
    assert "cannot be had" in out
    assert "only in changed:\n  error: drive needs 1500 rpm of topspin" in out


def test_two_scripts_with_other_balls(capsys: pytest.CaptureFixture[str]) -> None:
    Path("two.feed").write_text(SCRIPT.replace("drive", "other"))
    _, out, _ = run(capsys, "one.feed", "two.feed")
    assert "drive            is only in 1" in out
    assert "other            is only in 2" in out


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["one.feed"], "needs a second script"),
        (["one.feed", "--with", "fly 9"], "does not fit here"),
        (["one.feed", "--with", "depth deep"], "does not belong"),
        (["one.feed", "--with", 'note "x"'], "takes one line of a program"),
        (["one.feed", "--with", "surface clay\n    ball type 1"], "takes one line"),
        (["one.feed", "--with", ""], "takes one line"),
        (["one.feed", "--with", "air 200 C"], "makes no sense"),
        (["one.feed", "--with", "12 min"], "temperature is not measured in min"),
        (["one.feed", "--with", "air 9 C", "--for-profile"], "takes one script"),
        (["gone.feed", "one.feed"], "gone.feed"),
    ],
)
def test_wrong_use_is_one_sentence_and_exit_2(words: list[str], said: str, capsys: pytest.CaptureFixture[str]) -> None:
    code, out, err = run(capsys, *words)
    assert (code, out) == (2, "")
    assert said in err
    assert err.count("\n") == 1


def test_each_feeder_that_is_said_to_give_a_practice_gives_it(capsys: pytest.CaptureFixture[str]) -> None:
    """Its line, written into the script by hand, checks as it says. A profile beside the script counts too."""
    shutil.copy(SHIPPED / "academy.toml", "shed.toml")
    Path("broken.toml").write_text("kind = 3")
    code, out, _ = run(capsys, "one.feed", "--for-profile", "--json")
    told = {one["profile"]: one for one in json.loads(out)["profiles"]}
    assert code == 0
    assert {"shed", *(path.stem for path in SHIPPED.glob("*.toml"))} == set(told)
    own = next(line for line in SCRIPT.splitlines() if "feeder" in line)
    for name in ("shed", "silent"):
        by_hand = SCRIPT.replace(own, f"    {told[name]['line']}")
        found = compile_source(Source("one.feed", by_hand), ProfileShelf(Path.cwd()), remedies=False, plan=False)
        errors = sum(one.severity.value == "error" for one in found.findings)
        assert errors == told[name]["errors"]
    assert told["shed"]["errors"] == 0
    assert told["silent"]["errors"] > 0 and "topspin" in told["silent"]["why"]


def test_a_comparison_of_scripts_that_hold_errors_shows_what_each_has() -> None:
    broken = SCRIPT.replace("middle", "muddle")
    found = comparison(compiled(SCRIPT), compiled(broken))
    assert [one.code for one in found.come] == ["unknown-name"]
    assert [(one.first, one.second) for one in found.balls] == [(True, None)]


def test_what_each_of_several_players_gets_has_a_name(capsys: pytest.CaptureFixture[str]) -> None:
    pair = (
        "    player    called anna, right-handed, 1.75 m tall\n    player    called ben, left-handed, 1.75 m tall\n"
        "    rotation  changing every 2 balls, changeover 10 s\n"
    )
    Path("pair.feed").write_text(SCRIPT.replace("    player    right-handed, 1.75 m tall\n", pair))
    _, out, _ = run(capsys, "pair.feed", "--with", "air 10 C", "--json")
    loads = json.loads(out)["totals"][0]["loads"]
    assert [(one["player"], one["balls"]) for one in loads] == [("anna", 6), ("ben", 4)]
