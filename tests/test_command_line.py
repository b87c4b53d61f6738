"""The command line as its users meet it: outputs whole or not at all, exit codes, bad input in one sentence."""

import contextlib
import io
import json
import os
import subprocess
import sys
from pathlib import Path
from typing import TextIO

import pytest

from feedwright.targets.command.cli import main

ROOT = Path(__file__).parent.parent
WING = ROOT / "programs" / "01-after-the-serve.feed"


def run(
    *arguments: str | Path, cwd: Path | None = None, text: str = "", terminal: TextIO | None = None
) -> subprocess.CompletedProcess[str]:
    """The command line in this process, which spares the start of one; `process` is the real thing. Standard input is
    `text`, or what is typed at a terminal."""
    out, err = (io.TextIOWrapper(io.BytesIO(), "utf-8", write_through=True) for _ in range(2))
    words, before, code = [*map(str, arguments)], sys.stdin, 0
    sys.stdin = terminal or io.TextIOWrapper(io.BytesIO(text.encode()), "utf-8")
    try:
        with contextlib.chdir(cwd or Path()), contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
            code = main(words)
    except SystemExit as ended:  # argparse, of its help
        code = int(ended.code or 0)
    finally:
        sys.stdin = before
    said, told = (stream.buffer.getvalue().decode() for stream in (out, err))  # type: ignore[attr-defined]
    return subprocess.CompletedProcess(words, code, said, told)


def process(
    *arguments: str | Path, cwd: Path | None = None, text: str | None = None
) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "feedwright.targets.command.cli", *map(str, arguments)],
        capture_output=True, text=True, cwd=cwd, input=text, timeout=60, check=False,
    )  # fmt: skip


def test_build_writes_four_files_for_a_machine(tmp_path: Path) -> None:
    done = run("build", WING, "-o", tmp_path / "new" / "folder")
    assert done.returncode == 0, done.stderr
    names = {p.name.partition(".")[2] for p in (tmp_path / "new" / "folder").iterdir()}
    assert names == {"plan.json", "stream", "sheet.html", "table.txt"}


def test_build_writes_no_stream_for_a_person(tmp_path: Path) -> None:
    assert run("build", ROOT / "programs" / "03-basket-feet.feed", "-o", tmp_path).returncode == 0
    assert {p.name.partition(".")[2] for p in tmp_path.iterdir()} == {"plan.json", "sheet.html", "table.txt"}


def test_two_builds_give_the_same_bytes(tmp_path: Path) -> None:
    for way, folder in ((run, "a"), (process, "b")):
        assert way("build", WING, "-o", tmp_path / folder).returncode == 0
    for path in (tmp_path / "a").iterdir():
        assert path.read_bytes() == (tmp_path / "b" / path.name).read_bytes()


def test_check_sums_up_and_writes_nothing(tmp_path: Path) -> None:
    done = run("check", WING, cwd=tmp_path)
    assert done.returncode == 0
    assert "14 kinds" in done.stdout and "25:57 min" in done.stdout and done.stderr == ""
    assert not list(tmp_path.iterdir())


def test_check_json_is_json_alone() -> None:
    found = json.loads(run("check", WING, "--json").stdout)
    assert found["findings"] == [] and found["summary"]["balls"] > 100


def test_standard_input() -> None:
    assert process("check", "-", text=WING.read_text("utf-8")).returncode == 0


def test_a_script_with_errors_builds_nothing(tmp_path: Path) -> None:
    script = tmp_path / "a.feed"
    script.write_text(WING.read_text("utf-8").replace("spin      topspin 900 rpm", "spin      topspin 5000 rpm", 1))
    done = run("build", script, "-o", tmp_path / "out")
    assert done.returncode == 1
    assert "feeder-limit" in done.stderr and "nothing was written" in done.stderr
    assert not (tmp_path / "out").exists()


def bad_files(folder: Path) -> dict[str, Path]:
    (folder / "folder").mkdir()
    (folder / "binary.feed").write_bytes(bytes(range(256)) * 20)
    (folder / "empty.feed").write_bytes(b"")
    (folder / "blank.feed").write_bytes(b"\n  \n")
    (folder / "huge.feed").write_bytes(b"# nothing\n" * 1_000_000)
    (folder / "latin.feed").write_bytes('program "Aufschläge"\n'.encode("latin-1"))
    (folder / "nul.feed").write_bytes(b'program "a\0b"\n')
    os.mkfifo(folder / "pipe.feed")
    names = ("missing.feed", "folder", "binary.feed", "empty.feed", "blank.feed", "huge.feed", "latin.feed", "nul.feed")
    return {name: folder / name for name in (*names, "pipe.feed")}


def test_files_that_are_no_scripts_give_one_sentence(tmp_path: Path) -> None:
    for name, path in bad_files(tmp_path).items():
        for command in (["check", path], ["build", path, "-o", tmp_path / "out"]):
            done = run(*command)
            assert done.returncode == 2, name
            assert done.stderr.startswith("feedwright: ") and done.stderr.count("\n") == 1, (name, done.stderr)
            assert str(path) in done.stderr and "Traceback" not in done.stderr
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("words", [[], ["fly"], ["check"], ["check", "a", "--wings"], ["build"], ["why", "net-hti"]])
def test_wrong_usage_gives_one_sentence(words: list[str]) -> None:
    done = run(*words)
    assert done.returncode == 2
    assert done.stderr.count("\n") == 1 and "Traceback" not in done.stderr


@pytest.mark.skipif(os.geteuid() == 0, reason="root may write anywhere")
def test_an_unwritable_folder(tmp_path: Path) -> None:
    tmp_path.chmod(0o500)
    done = run("build", WING, "-o", tmp_path / "out")
    assert done.returncode == 2 and done.stderr.count("\n") == 1


def test_a_file_where_the_folder_should_be(tmp_path: Path) -> None:
    (tmp_path / "out").write_text("kept")
    done = run("build", WING, "-o", tmp_path / "out")
    assert done.returncode == 2 and "cannot write to" in done.stderr and done.stderr.count("\n") == 1
    assert (tmp_path / "out").read_text() == "kept"


@pytest.mark.parametrize(
    ("profile", "said"),
    [
        ("kind = ", "is not TOML"),
        ("\xff", "is not UTF-8"),
        ("kind = 'machine'", "the profile lacks how"),
        ("CLUB speed.low = nan", "finite number"),
        ("CLUB speed.low = 200", "low is above high"),
        ("CLUB speed.unit = 'knots'", "is not known"),
        ("CLUB hopper = 1.5", "a whole number"),
        ("CLUB magic = 1", "the profile has no key magic"),
        ("#" * 70_000, "larger than"),
    ],
)
def test_a_broken_profile_is_told_at_its_name(tmp_path: Path, profile: str, said: str) -> None:
    text = profile
    if profile.startswith("CLUB "):
        club = (ROOT / "targets" / "machine" / "feeders" / "club.toml").read_text("utf-8")
        key, _, value = profile.removeprefix("CLUB ").partition(" = ")
        table, _, name = key.rpartition(".")
        if table:
            head, mark, rest = club.partition(f"[{table}]\n")
            old = next(line for line in rest.split("\n") if line.startswith(f"{name} ="))
            text = head + mark + rest.replace(old, f"{name} = {value}", 1)
        else:
            old = next((line for line in club.split("\n") if line.startswith(f"{name} =")), "kind")
            text = club.replace(old, f"{name} = {value}\n{old if old == 'kind' else ''}", 1)
    (tmp_path / "mine.toml").write_bytes(text.encode("latin-1"))
    script = tmp_path / "a.feed"
    text = (ROOT / "programs" / "02-first-script.feed").read_text("utf-8").replace("machine club", "machine mine")
    script.write_text(text)
    done = run("check", script, "--short")
    assert done.returncode == 1
    assert "profile-broken" in done.stderr and said in done.stderr and "Traceback" not in done.stderr
    line = text[: text.index("machine mine")].count("\n") + 1
    assert f"{script}:{line}:23" in done.stderr


def test_ten_mistakes_are_ten_findings_each_at_its_place(tmp_path: Path) -> None:
    script = tmp_path / "ten.feed"
    script.write_text(TEN, "utf-8")
    done = run("check", script, "--short")
    told = [line.removeprefix(f"{script}:").split(": ")[:2] for line in done.stderr.splitlines()]
    places = [f"{place} {code.removeprefix('error ')}" for place, code in told]
    assert len(places) == 10
    assert places == [
        "3:5 unexpected-word", "7:17 unfinished", "13:5 misplaced", "14:17 wrong-unit", "16:24 unknown-name",
        "19:5 feeder-limit", "25:5 overdetermined", "26:15 unknown-name", "29:19 unknown-name", "30:28 unexpected-word",
    ], done.stderr  # fmt: skip
    assert done.returncode == 1


TEN = """program "Ten mistakes"
    feeder    machine club
    surfice   hard
    surface   hard
    player    right-handed, 1.72 m tall
variation rally "deep"
    reply     70
feed steady aims rally
    side      middle
    depth     0 to 5 m inside baseline
    spin      topspin 4000 rpm
    height    1 m over net
    goal      8 in a row
    interval  4 km/h
    stance    2 m behind baseline
feed other, like       stady
    depth     deep
feed spinner, like flat-one
    spin      topspin 4000 rpm
feed flat-one, like steady
    spin      flat
    interval  4 s
feed third, like flat-one
    pace      90 km/h
    height    waist, falling
    depth     deap
session "Ten"
    4 min     flat-one
    4 min     mix stedy, third
    ladder    steady, pace 70, 80 km/h
"""
