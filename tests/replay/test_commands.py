"""The replay command before anything is opened: bad input in one sentence, nothing armed, nothing sent."""

import json
import os
import pty
import re
import subprocess
import tty
from collections.abc import Callable
from pathlib import Path
from random import Random
from typing import Any

import pytest

from feedwright.compiler.model.command import CommandField, Template
from feedwright.compiler.model.feeder import Feeder
from feedwright.compiler.model.plan import Plan
from feedwright.compiler.pipeline import compile_source
from feedwright.compiler.verify import verify
from feedwright.grammar.source import Source
from feedwright.targets import document
from feedwright.targets.command.cli import main
from feedwright.targets.machine.feeders import ProfileShelf, read
from feedwright.targets.machine.replay.dry import dry_run
from feedwright.targets.machine.replay.figures import giant
from feedwright.targets.machine.replay.host import Host
from feedwright.targets.machine.replay.keys import split
from feedwright.targets.machine.replay.own_commands import OwnCommands
from feedwright.targets.machine.replay.picture import picture
from feedwright.targets.machine.replay.places import arming, first_balls, places, shelf
from feedwright.targets.machine.replay.run import AtOnce, Run
from feedwright.targets.machine.wire.template import CannotSay, fill

from ..forged import unchecked
from ..test_command_line import run as command
from .club import ROOT, built, quick_profile, script, written
from .world import Disk


def run(*words: str | Path, **how: Any) -> subprocess.CompletedProcess[str]:
    return command("replay", *words, **how)


@pytest.fixture
def plan_file(tmp_path: Path) -> Path:
    return written(tmp_path)


@pytest.fixture
def port() -> Any:
    """A port on which nothing may ever be sent."""
    master, slave = pty.openpty()
    tty.setraw(slave)
    os.set_blocking(master, False)
    yield os.ttyname(slave)
    with pytest.raises(BlockingIOError):
        os.read(master, 1)
    os.close(master)
    os.close(slave)


def edited(path: Path, change: Callable[[dict[str, Any]], None], sealed: bool = False) -> None:
    body = json.loads(path.read_text("utf-8"))
    change(body)
    path.write_text(json.dumps(body), "utf-8")
    if sealed:
        plan = Plan(**body).sealed()
        path.write_bytes(document.render(plan))


def faster(body: dict[str, Any]) -> None:
    body["shots"][0]["launch"]["speed_mps"] += 0.5


def lower(body: dict[str, Any]) -> None:
    body["shots"][0]["launch"]["elevation_deg"] -= 2.0
    body["shots"][0]["settings"]["elevation"] -= 2.0


def other_fingerprint(body: dict[str, Any]) -> None:
    body["feeder"]["fingerprint"] = "0123456789abcdef"


def newer(body: dict[str, Any]) -> None:
    body["version"] = 5


def not_a_number(body: dict[str, Any]) -> None:
    body["shots"][0]["launch"]["speed_mps"] = float("nan")


@pytest.mark.parametrize(
    ("change", "sealed", "said"),
    [
        (faster, False, "was changed after it was checked"),
        (faster, True, "does not give the launch in the plan"),
        (lower, True, "but the flight gives"),
        (other_fingerprint, True, "another profile quick"),
        (newer, False, "has version 5"),
        (not_a_number, False, "NaN, which is not a number"),
    ],
)
def test_a_plan_that_is_not_as_it_was_checked(
    plan_file: Path, port: str, change: Callable[[dict[str, Any]], None], sealed: bool, said: str
) -> None:
    edited(plan_file, change, sealed)
    done = run(plan_file, "--port", port)
    assert done.returncode == 1 and said in done.stderr and done.stderr.count("\n") == 1, done.stderr
    assert done.stdout == ""


def test_a_key_twice(plan_file: Path, port: str) -> None:
    plan_file.write_text(
        plan_file.read_text("utf-8").replace('"speed_mps":', '"speed_mps": 1.0, "speed_mps":', 1), "utf-8"
    )
    done = run(plan_file, "--port", port)
    assert done.returncode == 1 and "twice in one place" in done.stderr


def test_a_plan_for_a_person(tmp_path: Path) -> None:
    source = (Path(__file__).parents[2] / "programs" / "03-basket-feet.feed").read_text("utf-8")
    plan = compile_source(Source("b.feed", source), ProfileShelf()).plan
    assert plan is not None
    (tmp_path / "b.plan.json").write_bytes(document.render(plan))
    done = run(tmp_path / "b.plan.json", "--port", "simulated")
    assert done.returncode == 1 and "for a person" in done.stderr


def test_ports_that_cannot_be_opened(plan_file: Path) -> None:
    # A terminal for standard input: what is refused must be the port.
    master, slave = pty.openpty()
    with open(slave) as keys:
        for name, said in (
            ("/dev/none", "there is no port"),
            (str(plan_file.parent), "is a folder"),
            (str(plan_file), "is a file"),
        ):
            done = run(plan_file, "--port", name, terminal=keys)
            assert done.returncode == 3 and said in done.stderr and done.stderr.count("\n") == 1, done.stderr
    os.close(master)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ([], "which port?"),
        (["--port", "simulated"], "standard input is not a terminal"),
        (["--port", "simulated", "--from", "99"], "there is no ball 99"),
        (["--port", "simulated", "--walk-time", "2"], "3 to 120 s"),
        (["--port", "simulated", "--walk-time", "nan"], "3 to 120 s"),
        (["--port", "simulated", "--faults", "gremlins"], "is not a fault"),
        (["--port", "simulated", "--faults", "lost=2"], "is not a fault"),
        (["--port", "/dev/null", "--faults", "lost=0.1"], "for the simulated machine"),
        (["--yes"], "there is no option --yes"),
        (["--port", "simulated", "--continue", "--loop", "2"], "one of the two"),
        (["--continue", "--dry-run"], "one of the two"),
        (["--port", "simulated", "--from", "one"], "--from takes a whole number, not one"),
    ],
)
def test_wrong_usage(plan_file: Path, words: list[str], said: str) -> None:
    done = run(plan_file, *words)
    assert done.returncode == 2 and said in done.stderr and done.stderr.count("\n") == 1, done.stderr


def test_a_script_in_the_place_of_its_plan(tmp_path: Path) -> None:
    (tmp_path / "quick.feed").write_text(script())
    done = run(tmp_path / "quick.feed", "--dry-run")
    assert done.returncode == 2 and "quick.feed is a script, not a plan; feedwright build makes the plan" in done.stderr


@pytest.mark.parametrize("name", ["none.json", ".", "/dev/zero", "bad\0name"])
def test_files_that_are_no_plans(tmp_path: Path, name: str) -> None:
    if "\0" in name:
        pytest.skip("no process can be given such a name")
    done = run(tmp_path / name if name[0] != "/" else name, "--port", "simulated")
    assert done.returncode == 2 and done.stderr.count("\n") == 1, done.stderr


def test_a_dry_run_of_own_commands_shows_each_line_at_its_second(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = written(tmp_path, "answering", spin="flat", interval="6")
    assert main(["replay", str(path), "--dry-run", "--to", "2", "--walk-time", "5", "--test-balls"]) == 0
    shown = capsys.readouterr().out
    assert "On stop, and at the end: `rest\\r\\n`, waits for `done`, up to 0.8 s" in shown
    assert "Port: 115200 baud, 8 data bits" in shown
    sighting, playing = shown.split("Test balls, nobody in front")[1].split("A person arms")[1:]
    at = [(float(s), what) for s, what in re.findall(r"^ +(\d+\.\d{3}) s  (set for ball|ball)", playing, re.M)]
    # 5 s to walk, 6 s apart; a ball is inside for up to 0.3 + 0.1 s after its line.
    assert at == [(0.0, "set for ball"), (5.0, "ball"), (5.4, "set for ball"), (11.0, "ball")]
    assert "set for ball 1; wheels begin to turn when the four-character code is typed" in playing
    assert sighting.count("throw\\r\\n") == 3 and playing.count("throw\\r\\n") == 2


HAND = 'changes = "between blocks"\n'


def test_what_is_set_by_hand_is_shown_before_arming_and_ends_a_part(tmp_path: Path) -> None:
    text = (ROOT / "targets" / "machine" / "feeders" / "silent.toml").read_text("utf-8").replace("/{azimuth}", "")
    text = text.replace("azimuth = { sign = true, width = 3 }\n", "").replace("[azimuth]\n", f"[azimuth]\n{HAND}")
    feeder = read(text.encode(), "ours")

    class One:
        def names(self) -> list[str]:
            return ["ours"]

        def load(self, name: str) -> Feeder | None:
            return feeder

    source = script("ours", "flat", "6").replace("    4 balls   wide", "    rest 30 s\n    4 balls   wide")
    compiled = compile_source(Source("a.feed", source), One())
    assert compiled.plan is not None, compiled.findings
    played = places(compiled.plan, feeder=feeder)
    assert [place.number for place in arming(played)] == [1, 2, 3, 4]  # the rest alone would not end it
    assert [place.number for place in arming(places(compiled.plan))] == list(range(1, 9))
    angle = compiled.plan.shots[1].settings["azimuth"]
    assert angle < 0 and played[0].by_hand == first_balls(compiled.plan, feeder)[0].by_hand == "side straight ahead"
    assert played[4].by_hand == f"side {-angle:g} deg to the machine's left"
    runs = iter((Run("ab" * 8, "bench", played[4:], AtOnce(Disk(now=lambda: 0.0))),))
    held = shelf(compiled.plan)
    host = Host(OwnCommands(lambda data: None, feeder, held, Random(1)), held, runs, walk_s=3.0)
    host.start(0.0)
    assert f"Set by hand first: {played[4].by_hand}" in picture(host, 0.0).lines
    host.arm(0.0)
    assert f"The code also confirms that this is set by hand: {played[4].by_hand}" in picture(host, 0.0).lines
    assert any(f"Set by hand: {played[4].by_hand}" == line for line in dry_run(host.shelf, [("", played)], 5.0, feeder))


def test_the_profile_that_fits_the_plan_is_found_where_it_lies(plan_file: Path) -> None:
    """`build -o out` writes the plan elsewhere than the profile."""
    here, out = plan_file.parent, plan_file.parent / "out"
    out.mkdir()
    moved, profile = plan_file.rename(out / plan_file.name), here / "quick.toml"
    assert run(moved, "--dry-run", cwd=here).returncode == 0
    done = run(moved, "--dry-run", cwd=out)
    assert done.returncode == 1 and "there is no feeder profile quick beside the plan" in done.stderr
    assert str(out) in done.stderr and "current folder" in done.stderr and "included ones" in done.stderr
    other = out / "quick.toml"
    for text in (profile.read_bytes().replace(b"hopper = ", b"hopper = 1"), b"kind = "):
        other.write_bytes(text)
        assert run(moved, "--dry-run", cwd=here).returncode == 0  # the plan's fingerprint decides
    profile.unlink()
    assert "cannot be used" in run(moved, "--dry-run", cwd=here).stderr


def test_a_dry_run_says_every_second_and_every_caution(plan_file: Path) -> None:
    done = run(plan_file, "--dry-run", "--walk-time", "5")
    assert done.returncode == 0 and done.stderr == ""
    assert done.stdout.count("A person arms") == 2 and done.stdout.count("not an emergency stop") == 1
    assert done.stdout.count("Nobody in front of the machine; its own switch within reach") == 1  # of the second arming
    assert "   5.600 s  ball 2:" in done.stdout and "go b=10 s=" in done.stdout and "Nothing was sent." in done.stdout


def test_list_says_something_where_there_is_no_port() -> None:
    done = run("--list")
    assert done.returncode == 0 and (done.stdout or "no port was found" in done.stderr)


# ---- machines with commands of their own


def test_51_a_ball_over_the_cap_is_refused_by_the_compiler() -> None:
    profile = quick_profile().replace(b"cap_mps = 39.0", b"cap_mps = 20.0")
    found = codes(read(profile, "quick"), script())
    assert [code for code in found if code != "machine-in-the-way"] == ["over-the-cap"]


def codes(feeder: Feeder, text: str) -> list[str]:
    class One:
        def names(self) -> list[str]:
            return [feeder.name]

        def load(self, name: str) -> Feeder | None:
            return feeder if name == feeder.name else None

    return [finding.code for finding in compile_source(Source("a.feed", text), One()).findings]


def shipped(name: str) -> Feeder:
    feeder = ProfileShelf().load(name)
    assert feeder is not None
    return feeder


def test_a_spin_that_the_machine_cannot_be_told_is_a_finding() -> None:
    silent = shipped("silent")
    assert "no-command" in codes(silent, script("silent", "topspin 300 rpm", "6"))
    assert "no-command" not in codes(silent, script("silent", "flat", "6"))


def test_the_lines_of_the_two_invented_machines() -> None:
    # By hand from the profiles: 1250 rpm * 0.02 + 24 = 49; -3.5 in five characters with its sign; 88 in three.
    settings = {"speed": 88.0, "elevation": 17.0, "azimuth": -3.5, "topspin": 1250.0}
    answering, silent = shipped("answering").template, shipped("silent").template
    assert answering is not None and silent is not None and answering.ready is not None
    assert fill(answering, answering.ready, settings) == b"set pace 088 tilt 17.0 turn -03.5 roll 49\r\n"
    assert fill(answering, answering.throw, settings) == b"throw\r\n"
    flat = {"speed": 85.0, "elevation": 9.0, "azimuth": 4.0, "topspin": 0.0}
    assert fill(silent, silent.throw, flat) == b"B0850/09/+04\r"
    with pytest.raises(CannotSay, match="no command for topspin 1250"):
        fill(silent, silent.throw, flat | {"topspin": 1250.0})


@pytest.mark.parametrize(
    ("field", "setting", "text"),
    [
        (CommandField(), 3.0, "3"), (CommandField(), 3.5, None), (CommandField(decimals=1), -0.5, "-0.5"),
        (CommandField(width=3), 7.0, "007"), (CommandField(width=3), -7.0, "-07"), (CommandField(width=2), 100.0, None),
        (CommandField(sign=True), 0.0, "+0"), (CommandField(scale=0.1, decimals=1), 1.0, "0.1"),
        (CommandField(offset=-5.0), 5.0, "0"),
        (CommandField(scale=3.0), 0.1, None), (CommandField(scale=-1.0), 0.0, "0"),
    ],
)  # fmt: skip
def test_a_field_is_written_exactly_or_not_at_all(field: CommandField, setting: float, text: str | None) -> None:
    assert field.written(setting) == text


@pytest.mark.parametrize(
    ("field", "setting", "why"),
    [
        (CommandField(width=4), 1000.5, "more decimals than 0"),
        (CommandField(width=4), -1000.0, "needs 5 characters, and width is 4"),
        (CommandField(width=4, sign=True), 1000.0, "needs 5 characters, and width is 4"),
        (CommandField(width=4, decimals=1), 100.5, "needs 5 characters, and width is 4"),
    ],
)
def test_why_a_setting_cannot_be_written(field: CommandField, setting: float, why: str) -> None:
    assert field.written(setting) is None and why in field.lacks(setting)


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({"throw": "go {speed.__class__}", "fields": {"speed": {}}}, "does not hold the name"),
        ({"throw": "go {speed:>99999999}", "fields": {"speed": {}}}, "does not hold the name"),
        ({"throw": "go {pace}", "fields": {"pace": {}}}, "is not a setting"),
        ({"throw": "go {speed}"}, r"\{speed\} stands in a line but not in \[template.fields\]"),
        ({"throw": "go", "fields": {"speed": {}}}, r"speed stands in \[template.fields\], but no line has \{speed\}"),
        ({"throw": "go\n"}, "plain ASCII text"),
        ({"throw": "go", "reply": ""}, "a reply cannot be empty"),
        ({"throw": "go", "stop": "{speed}"}, "stop has a field"),
        ({"throw": "{speed}", "fields": {"speed": {"scale": 0}}}, "scale of 0"),
        ({"throw": "go", "extra": 1}, "extra unknown"),
        ({"throw": "{speed}", "fields": {"speed": {}}, "fixed": {"speed": 1}}, "cannot be both a field and fixed"),
    ],
)
def test_a_template_that_says_odd_things(more: dict[str, Any], said: str) -> None:
    with pytest.raises(ValueError, match=said):
        Template(**more)


def test_a_profile_whose_template_leaves_an_axis_out() -> None:
    text = (Path(__file__).parents[2] / "targets" / "machine" / "feeders" / "silent.toml").read_bytes()
    with pytest.raises(Exception, match="lacks topspin"):
        read(text.replace(b"fixed = { topspin = 0 }\n", b""), "silent")


# ---- flown again


def test_a_plan_as_built_is_found_good() -> None:
    assert verify(*built()) == []


def test_what_verify_refuses() -> None:
    plan, feeder = built()
    assert "shortest" not in str(verify(plan, feeder))
    close = plan.launches[1].model_copy(update={"at_s": 0.2})
    crowded = plan.model_copy(update={"launches": (plan.launches[0], close, *plan.launches[2:])}).sealed()
    assert "comes 0.20 s after" in verify(crowded, feeder)[0]
    apart = plan.launches[1].at_s - plan.launches[0].at_s
    late = unchecked(feeder, **{"shortest_interval_s": apart - 0.1, "feed_jitter_s": 0.2})
    record = plan.feeder.model_copy(update={"fingerprint": late.fingerprint})
    assert "the feeder needs 0.7 s" in str(verify(plan.model_copy(update={"feeder": record}).sealed(), late))
    capped = unchecked(feeder, device=unchecked(feeder.device, cap_mps=10.0))
    record = plan.feeder.model_copy(update={"fingerprint": capped.fingerprint})
    assert "over the machine's cap" in str(verify(plan.model_copy(update={"feeder": record}).sealed(), capped))
    assert "not the same now" in verify(plan, capped)[0]
    mute = unchecked(feeder, template=shipped("silent").template)  # its commands have whole degrees
    record = plan.feeder.model_copy(update={"fingerprint": mute.fingerprint})
    said = f"Ball {plan.shots[0].id}: the machine has no command for elevation {plan.shots[0].settings['elevation']:g}."
    assert said in verify(plan.model_copy(update={"feeder": record}).sealed(), mute)
    assert "no ball" in verify(plan.model_copy(update={"launches": (), "blocks": ()}).sealed(), feeder)[0]


# ---- keys and figures


def test_keys_and_a_clicker() -> None:
    assert split(b"a \x1b[5~h\x1b[6~") == ["a", "space", "page up", "h", "page down"]
    assert split(b"\x1b") == ["escape"] and split(b"\x1b[99~abc") == ["escape"]
    assert split(b"\r\x7f\xff") == ["enter", "backspace", "\ufffd"]


def test_giant_figures_have_five_lines_of_one_width() -> None:
    lines = giant(120)
    assert len(lines) == 5 and {len(line) for line in lines} == {22}
