"""The commands beside check and build as their users meet them: new, list, explain, help, colours."""

import json
import os
import pty
import re
import subprocess
import sys
from itertools import cycle
from pathlib import Path

import pytest

from feedwright.compiler.pipeline import compile_source
from feedwright.compiler.report.render import human
from feedwright.compiler.scripts import Refusal
from feedwright.compiler.starter import HANDS, MACHINES, PERSONS, VARIATIONS, Answers, first_script, variations_for
from feedwright.grammar.format import formatted
from feedwright.grammar.source import Source
from feedwright.programs import shipped
from feedwright.targets.command import Parser
from feedwright.targets.command.cli import _parser, main
from feedwright.targets.machine.feeders import SHIPPED, ProfileShelf

from .test_command_line import WING, run

FEEDERS = (*MACHINES, *PERSONS)
COMMANDS: dict[str, Parser] = _parser()._subparsers._group_actions[0].choices  # type: ignore[union-attr, assignment]

# ---- new


@pytest.mark.parametrize("feeder", FEEDERS)
def test_a_first_script_compiles_clean_whatever_is_chosen(feeder: str) -> None:
    known = [*variations_for(feeder)]
    # Each variation with one hand, the first with either.
    for variation, hand in [*zip(known, cycle(HANDS), strict=False), (known[0], HANDS[1])]:
        source = Source("first.feed", first_script(Answers(hand, 1.72, feeder, variation)))
        compiled = compile_source(source, ProfileShelf())
        assert not compiled.findings, human(compiled.findings)
        assert compiled.plan and compiled.plan.totals.duration_s == pytest.approx(600, abs=30)
        assert formatted(source) == (source.text, [])


@pytest.mark.parametrize("stature", [None, 1.0, 1.44, 1.45, 2.3])
def test_a_first_script_compiles_clean_for_everybody(stature: float | None) -> None:
    source = Source("first.feed", first_script(Answers(stature=stature)))
    compiled = compile_source(source, ProfileShelf())
    assert not compiled.findings and compiled.plan
    assert ("m tall" in source.text) == (stature is not None and stature >= 1.45)
    assert formatted(source) == (source.text, [])


def test_the_choices_are_the_shipped_feeders_and_every_variation_has_one() -> None:
    assert set(FEEDERS) <= set(ProfileShelf().names())
    assert {name for feeder in FEEDERS for name in variations_for(feeder)} == set(VARIATIONS)


def test_new_writes_and_never_overwrites(tmp_path: Path) -> None:
    flags = ("--hand", "left", "--stature", "168 cm", "--feeder", "racket", "--variation", "over")
    assert run("new", "a.feed", *flags, cwd=tmp_path).returncode == 0
    text = (tmp_path / "a.feed").read_text("utf-8")
    assert "left-handed, 1.68 m tall" in text and "person racket" in text and "aims over" in text
    done = run("new", "a.feed", cwd=tmp_path)
    assert done.returncode == 2 and "stays unchanged" in done.stderr and done.stderr.count("\n") == 1
    assert (tmp_path / "a.feed").read_text("utf-8") == text


def test_new_copies_a_program(tmp_path: Path) -> None:
    assert run("new", "--from", "01-after-the-serve", cwd=tmp_path).returncode == 0
    assert (tmp_path / "first.feed").read_text("utf-8") == WING.read_text("utf-8")
    for part in ("01", "1", "after-the-s", "01-after-the-serve.feed"):
        done = run("new", f"{part}.feed", "--from", part, cwd=tmp_path)
        assert done.returncode == 0 and "a copy of 01-after-the-serve" in done.stdout
        assert (tmp_path / f"{part}.feed").read_text("utf-8") == WING.read_text("utf-8")


@pytest.mark.parametrize(
    ("flags", "said"),
    [
        (("--from", "01-after-the-sevre"), "did you mean 01-after-the-serve or 10-in-behind-the-serve?"),
        (("--from", "t-"), "t- is in the names of 02-first-script, 03-basket-feet"),
        (("--from", "01-after-the-serve", "--hand", "left"), "so --hand cannot be used with it"),
        (("--hand", "both"), "none of right, left"),
        (("--stature", "17.2 m"), "such as 1.72 or 172 cm"),
        (("--feeder", "clubb"), "did you mean club?"),
        (("--feeder", "basket", "--variation", "between"), "none of past, over"),
    ],
)
def test_new_refuses_in_one_sentence(tmp_path: Path, flags: tuple[str, ...], said: str) -> None:
    done = run("new", *flags, cwd=tmp_path)
    assert done.returncode == 2 and said in done.stderr and done.stderr.count("\n") == 1
    assert not list(tmp_path.iterdir())


def test_new_asks_on_a_terminal_and_asks_again(tmp_path: Path) -> None:
    ours, theirs = pty.openpty()
    command = [sys.executable, "-m", "feedwright.targets.command.cli", "new", "a.feed", "--variation", "over"]
    process = subprocess.Popen(
        command, stdin=theirs, stdout=subprocess.PIPE, stderr=subprocess.PIPE, cwd=tmp_path, text=True
    )
    os.close(theirs)
    os.write(ours, b"both\nleft\n1.80\nacademy\n")
    _, told = process.communicate(timeout=30)
    os.close(ours)
    assert process.returncode == 0, told
    assert told.count("Which hand") == 2 and "What does the player do" not in told
    text = (tmp_path / "a.feed").read_text("utf-8")
    assert "left-handed, 1.80 m tall" in text and "machine academy" in text and "aims over" in text


# ---- list


def test_list_shows_every_program_and_profile() -> None:
    told = json.loads(run("list", "--json").stdout)
    assert {f"{entry['name']}.feed" for entry in told["programs"]} == set(shipped())
    assert {entry["name"] for entry in told["profiles"]} == set(ProfileShelf().names())
    wing = next(entry for entry in told["programs"] if entry["name"] == "01-after-the-serve")
    checked = json.loads(run("check", WING, "--json").stdout)["summary"]
    assert (wing["balls"], wing["distinct_balls"], wing["variety"]) == (
        checked["balls"], checked["distinct_shots"], checked["variety"],
    )  # fmt: skip
    assert (
        wing["minutes"] == 25.9
        and wing["about"].startswith("The ball after")
        and wing["for"].startswith("For a player")
    )
    club = next(entry for entry in told["profiles"] if entry["name"] == "club")
    assert club["title"] == "two-wheel club machine" and "speed 30 to 110 km/h" in club["ranges"]


def test_list_for_searches_what_a_program_says_it_is_for() -> None:
    done = run("list", "--for", "the RETURN is deep")
    assert done.returncode == 0 and "01-after-the-serve" in done.stdout and "05-dials" not in done.stdout
    named = [entry["name"] for entry in json.loads(run("list", "--for", "ball", "--json").stdout)["programs"]]
    told = run("list", "--for", "ball").stdout
    assert len(named) > 2 and [name for name in re.findall(r"\b\d\d-[a-z-]+", told) if name in named] == named
    done = run("list", "--for", "parachute")
    assert done.returncode == 1 and done.stdout == "" and "parachute" in done.stderr


def test_list_tells_a_line_each_and_more_of_one() -> None:
    overview = run("list").stdout.splitlines()
    for name in shipped():
        assert sum(line.startswith(name.removesuffix(".feed")) for line in overview) == 1
    assert any(line.startswith("dials ") and "hand-dialled machine" in line for line in overview)
    one = run("list", "03").stdout
    assert one.startswith("03-basket-feet\n") and "For beginners" in one and "Level: beginner. Person basket." in one
    assert "speed 30 to 110 km/h" in run("list", "club").stdout
    assert run("list", "after-the-serve", "2").stdout.count("Level:") == 2
    done = run("list", "after-the-sevre")
    assert done.returncode == 2 and "did you mean 01-after-the-serve" in done.stderr


def test_list_shows_a_profile_of_ones_own(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    text = (SHIPPED / "answering.toml").read_text("utf-8")
    for name in ("shed", "club"):  # one's own comes before an included one, as in a script
        Path(f"{name}.toml").write_text(text.replace('title = "answering', 'title = "our answering'), "utf-8")
        assert main(["list", name]) == 0
        told = capsys.readouterr().out
        assert told.startswith(f"{name}\n") and "our answering machine" in told and told.count("machine:") == 1
        assert "speed 30 to 110 km/h" in told and "a ball every 2.1 s" in told  # 2 s and 0.1 s of jitter
    Path("shed.toml").write_text(text.replace("[speed]", "[sped]"), "utf-8")
    assert main(["list", "shed"]) == 2
    assert "profile shed cannot be used: the profile has no key sped" in capsys.readouterr().err


def test_list_for_a_level() -> None:
    told = run("list", "--level", "beginners").stdout
    assert "03-basket-feet" in told and "01-after-the-serve" not in told and "99-" not in told
    done = run("list", "--level", "expert")
    assert done.returncode == 2 and "beginner, improver, club player, tournament player" in done.stderr


def test_list_fits_a_terminal_and_tells_a_pipe_all() -> None:
    ours, theirs = pty.openpty()
    subprocess.run(
        [sys.executable, "-m", "feedwright.targets.command.cli", "list"],
        stdout=theirs, env={**os.environ, "COLUMNS": "100", "TERM": "xterm"}, timeout=30, check=True,
    )  # fmt: skip
    os.close(theirs)
    told = os.read(ours, 65536).decode()
    os.close(ours)
    lines = re.sub(r"\x1b\[\d*m", "", told).splitlines()
    assert told.startswith("\x1b[1m") and max(map(len, lines)) <= 100
    assert any(line.endswith(" ...") for line in lines)
    assert " ..." not in run("list").stdout


# ---- help, near names, colours


@pytest.mark.parametrize("name", COMMANDS)
def test_help_leads_with_examples_that_are_commands(name: str) -> None:
    parser = COMMANDS[name]
    text = parser.format_help()
    assert text.startswith("examples:\n") and text.index("examples:") < text.index("usage:")
    for command, _ in parser.examples:
        words = re.sub(r"^eval \"\$\(|\)\"$| <.*| \|.*", "", command)
        found = [word.strip('"') for word in re.findall(r'"[^"]*"|\S+', words)]
        assert found[0] == "feedwright" and found[1] == name
        _parser().parse_args(found[1:])
    assert not re.search(r"\bNone\b", text) and run(name, "--help").stdout == text


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("chekc", "a.feed"), "there is no command chekc; did you mean check?"),
        (("check", "a.feed", "--jsno"), "there is no option --jsno; did you mean --json"),
        (("format", "a.feed", "--chek"), "did you mean --check"),
        (("completion", "zhs"), "did you mean zsh?"),
        (("why", "net-hti"), "did you mean net-hit"),
        (("why", "hopper"), "did you mean no-hopper, hopper-holds or hopper-empty?"),
        (("check", "a.feed", "b.feed"), "b.feed is one word too many"),
        (("check", "a.feed", "--color", "sometimes"), "possible: always, never, auto"),
    ],
)
def test_what_was_probably_meant(words: tuple[str, ...], said: str) -> None:
    done = run(*words)
    assert done.returncode == 2 and said in done.stderr and done.stderr.count("\n") == 1


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ("check", "FILE is missing"),
        ("build a.feed -o", "-o/--output needs a value"),
        ("check a.feed --json=yes", "--json takes no value, so not yes"),
        ("device club --seed fast", "--seed takes a whole number, not fast"),
        ("replay a.plan.json --walk-time soon", "--walk-time takes a number, not soon"),
        ("log forget", "one of --program --before --all is needed"),
        ("log forget --all --program x", "--program and --all exclude each other"),
    ],
)
def test_wrong_usage_is_told_in_plain_words(words: str, said: str) -> None:
    with pytest.raises(Refusal, match=re.escape(said)):
        _parser().parse_args(words.split())


def test_explain_says_how_to_accept_warnings_only() -> None:
    assert "accept many-alike" in run("why", "many-alike").stdout
    assert "accept" not in run("why", "net-hit").stdout


def test_colours_are_where_they_are_wanted(tmp_path: Path) -> None:
    script = tmp_path / "a.feed"
    script.write_text("feed a\n    side middle 3\n")
    for words in (("check", script), ("format", "--check", script)):
        assert "\x1b[" not in run(*words).stderr, "a pipe"
        assert "\x1b[" in run(*words, "--color", "always").stderr
    assert "\x1b[" in run("why", "net-hit", "--color", "always").stdout


@pytest.mark.parametrize(
    ("settings", "flags", "expected"),
    [
        ({}, (), True),
        ({"NO_COLOR": "1"}, (), False),
        ({"NO_COLOR": ""}, (), True),  # no-color.org: counts when it is not empty
        ({"TERM": "dumb"}, (), False),
        ({}, ("--color", "never"), False),
        ({"NO_COLOR": "1"}, ("--color", "always"), True),
    ],
)
def test_colours_on_a_terminal(settings: dict[str, str], flags: tuple[str, ...], expected: bool) -> None:
    ours, theirs = pty.openpty()
    environment = {key: value for key, value in os.environ.items() if key != "NO_COLOR"}
    done = subprocess.run(
        [sys.executable, "-m", "feedwright.targets.command.cli", "why", "net-hit", *flags],
        stdout=theirs, env={**environment, "TERM": "xterm", **settings}, timeout=30, check=False,
    )  # fmt: skip
    os.close(theirs)
    told = os.read(ours, 65536).decode()
    os.close(ours)
    assert done.returncode == 0 and ("\x1b[" in told) == expected
