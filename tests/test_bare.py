"""Commands where termios, fcntl, pty, tty, resource, grp and pwd are missing: they work, or say what is missing."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
SCRIPT = ROOT / "programs" / "02-first-script.feed"
BARE = str(Path(__file__).parent / "bare")
Words = tuple[str, ...]


ONE_BY_ONE = """
import io, json, sys
from contextlib import redirect_stderr, redirect_stdout
from feedwright.targets.command.cli import main
for words in json.load(sys.stdin):
    out, err = io.StringIO(), io.StringIO()
    with redirect_stdout(out), redirect_stderr(err):
        try: code = main(words)
        except SystemExit as ended: code = ended.code or 0
    print(json.dumps([code, out.getvalue(), err.getvalue()]))
"""
Told = tuple[int, str, str]
"""Exit code, standard output, standard error."""


def run(folder: Path, *commands: Words, **changed: str) -> list[Told]:
    """Commands one after another in a folder, by one process on such a system."""
    environment = {**os.environ, "PYTHONPATH": BARE, "FEEDWRIGHT_DB": str(folder / "log.db"), **changed}
    done = subprocess.run(
        [sys.executable, "-c", ONE_BY_ONE], input=json.dumps(commands),
        cwd=folder, env=environment, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return [tuple(json.loads(line)) for line in done.stdout.splitlines()]  # type: ignore[misc]


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a script and what is built of it there, on such a system."""
    here = tmp_path_factory.mktemp("bare")
    (here / "a.feed").write_bytes(SCRIPT.read_bytes())
    (here / "counts.csv").write_text("block,hits,misses\n1,3,2\n")
    return here


@pytest.fixture(scope="module")
def told_of(folder: Path) -> dict[Words, Told]:
    first: Words = ("build", "a.feed")
    asked = [first, *WORK, *LOG, *(words for words, _, _ in LACKING)]
    told = dict(zip(asked, run(folder, *asked), strict=True))
    assert told[first][0] == 0 and told[first][2] == ""
    return told


def test_the_system_is_bare() -> None:
    seen = "import os, signal, time\nprint(hasattr(time, 'clock_gettime'), hasattr(signal, 'SIGHUP'))\nimport termios"
    done = subprocess.run(
        [sys.executable, "-c", seen],
        env={**os.environ, "PYTHONPATH": BARE},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.stdout == "False False\n" and "No module named 'termios'" in done.stderr


def test_every_module_loads() -> None:
    folders = ("compiler", "grammar", "programs", "targets")
    paths = [path.relative_to(ROOT).with_suffix("") for part in folders for path in (ROOT / part).rglob("*.py")]
    # The folder of the API is the package itself.
    parts = [path.parts[2:] if path.parts[:2] == ("targets", "api") else path.parts for path in paths]
    # Each system's keys are read by a module that only that system loads.
    parts = [part for part in parts if part[-1] not in ("__main__", "console_keys", "terminal_keys")]
    names = [".".join(("feedwright", *part)).removesuffix(".__init__") for part in parts]
    load = f"from importlib import import_module\nfor name in {names!r}: import_module(name)"
    done = subprocess.run(
        [sys.executable, "-c", load],
        env={**os.environ, "PYTHONPATH": BARE},
        capture_output=True,
        text=True,
        check=False,
    )
    assert (done.returncode, done.stderr) == (0, "")


WORK: list[Words] = [
        ("--help",), ("check", "a.feed"), ("sheet", "a.feed", "--partner"), ("cues", "a.feed"), ("show", "a.feed"),
        ("show", "a.feed", "--html"), ("new", "other.feed"), ("format", "--diff", "a.feed"), ("why", "net-hit"),
        ("list",), ("completion", "bash"), ("replay", "a.plan.json", "--dry-run"),
]  # fmt: skip
LOG: list[Words] = [("log", "add", "a.plan.json", "--csv", "counts.csv"), ("log", "show")]
LACKING: list[tuple[Words, int, str]] = [
    (("replay", "--list"), 3, "this system has no serial ports"),
    (("device", "club"), 2, "this system has no pseudo-terminals"),
    (("replay", "a.plan.json", "--port", "COM3"), 2, "standard input is not a terminal"),
]


@pytest.mark.parametrize("words", WORK, ids=" ".join)
def test_a_command_works(told_of: dict[Words, Told], words: Words) -> None:
    code, told, wrong = told_of[words]
    assert code == 0 and not wrong and (told or words[0] == "format")


def test_the_log_works(told_of: dict[Words, Told]) -> None:
    code, told, wrong = told_of[LOG[0]]
    assert (code, wrong) == (0, "") and told.startswith("5 balls written")
    assert told_of[LOG[1]][0] == 0


@pytest.mark.parametrize(("words", "code", "sentence"), LACKING)
def test_what_is_missing_is_said_in_a_sentence(
    told_of: dict[Words, Told], words: Words, code: int, sentence: str
) -> None:
    found, told, wrong = told_of[words]
    assert found == code and not told
    assert wrong.startswith(f"feedwright: {sentence}") and wrong.count("\n") == 1


def test_where_no_home_is_named_an_option_or_a_variable_takes_its_place(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # Without `pwd` nobody knows a user's home but HOME.
    for name in ("HOME", "XDG_DATA_HOME", "XDG_STATE_HOME"):
        monkeypatch.delenv(name, raising=False)
    check, show, elsewhere = run(
        folder, ("check", "a.feed"), ("log", "show"), ("log", "--db", "no.db"), FEEDWRIGHT_DB=""
    )
    assert check[0] == 0
    assert show[0] == 2 and "has no home folder; name another place with --db FILE or FEEDWRIGHT_DB" in show[2]
    assert "there is no practice log" in elsewhere[2]
