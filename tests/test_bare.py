"""Commands where termios, fcntl, pty, tty, resource, grp and pwd are missing: they work, or say what cannot be had."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
SCRIPT = ROOT / "programs" / "02-first-script.feed"
BARE = str(Path(__file__).parent / "bare")


def run(folder: Path, *words: str, **changed: str) -> tuple[int, str, str]:
    """One command in a folder, on such a system; exit code, standard output, standard error."""
    environment = {**os.environ, "PYTHONPATH": BARE, "FEEDWRIGHT_DB": str(folder / "log.db"), **changed}
    done = subprocess.run(
        [sys.executable, "-m", "feedwright.targets.command.cli", *words],
        cwd=folder, env=environment, stdin=subprocess.DEVNULL, capture_output=True, text=True, check=False,
    )  # fmt: skip
    return done.returncode, done.stdout, done.stderr


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a script and what is built of it there, on such a system."""
    here = tmp_path_factory.mktemp("bare")
    (here / "a.feed").write_bytes(SCRIPT.read_bytes())
    code, _, told = run(here, "build", "a.feed")
    assert (code, told) == (0, "")
    return here


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


@pytest.mark.parametrize(
    "words",
    [
        ("--help",), ("check", "a.feed"), ("sheet", "a.feed", "--partner"), ("cues", "a.feed"), ("show", "a.feed"),
        ("show", "a.feed", "--html"), ("new", "other.feed"), ("format", "--diff", "a.feed"), ("explain", "net-hit"),
        ("list",), ("completion", "bash"), ("replay", "a.plan.json", "--dry-run"),
    ],
    ids=" ".join,
)  # fmt: skip
def test_a_command_works(folder: Path, words: tuple[str, ...]) -> None:
    code, told, wrong = run(folder, *words)
    assert code == 0 and not wrong and (told or words[0] == "format")


def test_the_log_works(folder: Path) -> None:
    (folder / "counts.csv").write_text("block,hits,misses\n0,3,2\n")
    code, told, wrong = run(folder, "log", "add", "a.plan.json", "--csv", "counts.csv")
    assert (code, wrong) == (0, "") and told.startswith("5 balls written")
    assert run(folder, "log", "show")[0] == 0


@pytest.mark.parametrize(
    ("words", "code", "sentence"),
    [
        (("replay", "--list"), 3, "this system has no serial ports"),
        (("device", "club"), 2, "this system has no pseudo-terminals"),
        (("replay", "a.plan.json", "--port", "COM3"), 2, "a person has to answer at a terminal"),
    ],
)
def test_what_cannot_be_had_is_said_in_a_sentence(
    folder: Path, words: tuple[str, ...], code: int, sentence: str
) -> None:
    found, told, wrong = run(folder, *words)
    assert found == code and not told
    assert wrong.startswith(f"feedwright: {sentence}") and wrong.count("\n") == 1


def test_where_no_home_is_named_an_option_or_a_variable_takes_its_place(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # Without `pwd` nobody knows a user's home but HOME.
    for name in ("HOME", "XDG_DATA_HOME", "XDG_STATE_HOME"):
        monkeypatch.delenv(name, raising=False)
    assert run(folder, "check", "a.feed")[0] == 0
    code, _, wrong = run(folder, "log", "show", FEEDWRIGHT_DB="")
    assert code == 2 and "has no home folder; name another place with --db FILE or FEEDWRIGHT_DB" in wrong
    assert "there is no practice log" in run(folder, "log", "--db", "no.db", FEEDWRIGHT_DB="")[2]
