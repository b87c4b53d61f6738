"""Names, titles and files as somebody else may have made them: what a command prints shows them, and obeys none."""

import os
import pty
import re
import subprocess
import sys
from pathlib import Path

import pytest

from feedwright.compiler.printable import visible
from feedwright.targets.command import cli

from .test_command_line import run as command
from .whole import WHOLE

PROGRAMS, FEEDERS = (Path(__file__).parent.parent / part for part in ("programs", "targets/machine/feeders"))
# ECMA-48: ESC ] sets the terminal's title up to BEL, U+009B begins a control sequence as ESC [ does; U+202E turns the
# direction of writing (Unicode UAX #9); a byte FF occurs in no UTF-8 text (RFC 3629).
FORGED = "\x1b]0;owned\x07\r\n\u202e\x9b2J"
HOSTILE = os.fsdecode(f"a{FORGED}".encode() + b"\xff")
QUIET = os.fsdecode("b\u202e".encode() + b"\xff")
"""One that the names of what is built may hold."""
RUN = """
import sys
from feedwright.targets.command import cli
commands = eval(sys.stdin.readline())
sys.argv = ["feedwright"]
def every():
    for words in commands:
        print("==", ascii(words), flush=True)
        code = cli.main(words)
        print("-- exit", code, flush=True)
        sys.stderr.flush()
    return 0
main, cli.main = cli.main, lambda words=None: main(words) if words is not None else every()
cli.program()
"""
COMMANDS = [
    ["check", f"{HOSTILE}.feed"], ["check", "--short", f"{HOSTILE}.feed"], ["check", "--json", f"{HOSTILE}.feed"],
    ["check", "--sarif", f"{HOSTILE}.feed"], ["check", f"{HOSTILE} gone.feed"], ["check", "broken.feed"],
    ["check", "--json", "broken.feed"], ["check", "a.feed", "--set", FORGED], ["build", f"{HOSTILE}.feed"],
    ["build", f"{QUIET}.feed"], ["build", "a.feed", "-o", HOSTILE], ["sheet", f"{QUIET}.feed"],
    ["cues", f"{QUIET}.feed"], ["sheet", "a.feed", "--date", FORGED], ["show", f"{HOSTILE}.feed"],
    ["show", "a.feed", "--feed", FORGED],
    ["show", f"{QUIET}.feed", "--html"], ["new", f"new {HOSTILE}.feed"], ["new", f"new {HOSTILE}.feed"],
    ["new", "c.feed", "--from", FORGED], ["new", "c.feed", "--hand", FORGED], ["format", "--check", f"{HOSTILE}.feed"],
    ["format", "--diff", f"{HOSTILE}.feed"], ["format", f"{HOSTILE}.feed"], ["format", "broken.feed"],
    ["why", FORGED], ["list", FORGED], ["list", "club"], ["list", "--for", FORGED], ["list", "--level", FORGED],
    ["list", "--json", "club"], ["log", "add", HOSTILE], ["log", "add", "a.feed", "--csv", "counts.csv"],
    ["log", "add", "a.feed", "--csv", "counts.csv"], ["log", "--db", HOSTILE, "show"], ["log", "show"],
    ["log", "advice"], ["log", "show", "--html", f"{HOSTILE}.html"], ["log", "show", "--program", FORGED],
    ["log", "export", "-o", f"{HOSTILE}.csv"], ["log", "plan", "a.feed", "-o", f"{QUIET} next.feed"],
    ["log", "merge", HOSTILE], ["replay", f"{QUIET}.plan.json", "--dry-run"], ["replay", HOSTILE, "--dry-run"],
    ["replay", f"{QUIET}.plan.json", "--port", HOSTILE], ["device", FORGED], ["completion", FORGED], [FORGED],
    ["fly", FORGED, "speed", "5"], ["fly", "club", FORGED], ["fly", "club", "speed", FORGED],
    ["fly", "club", "speed", "60", "elevation", "12"], ["measure", "balls", FORGED],
    ["measure", "balls", "club", "--for", HOSTILE], ["measure", "fit", f"{QUIET}.plan.json", HOSTILE],
    ["measure", "fit", f"{QUIET}.plan.json", "counts.csv"], ["measure", "type", HOSTILE],
    ["compare", f"{HOSTILE}.feed", "a.feed"], ["compare", "a.feed", "--with", FORGED],
    ["compare", FORGED, "--for-profile"],
    ["check", f"--{FORGED}"], ["check", "a.feed", FORGED], ["language-server", FORGED], ["desk", FORGED],
    ["desk", f"{HOSTILE}.feed", "--port", "70000"],
]  # fmt: skip


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Sound scripts, one with slips that name what it holds, and a profile whose title is not its own to show."""
    here = tmp_path_factory.mktemp("names")
    # A joiner between letters of no script that needs it, and a title that turns its direction.
    sound = (PROGRAMS / "02-first-script.feed").read_text("utf-8").replace("\nprogram ", "\n# \u202ex\n\nprogram  ")
    sound = re.sub(r'program  "[^"]*"', 'program  "ti\u202etle"', sound)
    for name in (HOSTILE, QUIET, "a"):
        (here / f"{name}.feed").write_text(sound, "utf-8")
    (here / "broken.feed").write_text(sound + f'\nfe\u202eed x{FORGED}\n\tnote "{FORGED}"\n', "utf-8")
    title = 'title = "\\u001b]0;owned\\u0007\\r\\n\\u202e\\u009b2J"'
    (here / "club.toml").write_text(re.sub("title = .*", lambda _: title, (FEEDERS / "club.toml").read_text("utf-8")))
    (here / "counts.csv").write_text("block,hits,misses\n1,3,2\n")
    return here


def started(folder: Path, out: int, commands: list[list[str]]) -> "subprocess.Popen[bytes]":
    environment = {**os.environ, "FEEDWRIGHT_DB": str(folder / f"log {out}.db"), "TERM": "xterm", "PYTHONUTF8": "1"}
    process = subprocess.Popen(
        [sys.executable, "-c", RUN], cwd=folder, env=environment, stdin=subprocess.PIPE, stdout=out, stderr=out
    )
    assert process.stdin
    process.stdin.write(f"{commands!a}\n".encode("ascii"))
    process.stdin.close()
    return process


def on_a_pipe(folder: Path, commands: list[list[str]]) -> bytes:
    ours, theirs = os.pipe()
    process = started(folder, theirs, commands)
    os.close(theirs)
    with open(ours, "rb") as pipe:
        said = pipe.read()
    process.wait()
    return said


def in_a_terminal(folder: Path, commands: list[list[str]]) -> bytes:
    ours, theirs = pty.openpty()
    process = started(folder, theirs, commands)
    os.close(theirs)
    said = b""
    while True:
        try:
            more = os.read(ours, 65536)
        except OSError:  # how Linux tells that the other end is closed
            break
        if not more:
            break
        said += more
    os.close(ours)
    process.wait()
    return said.replace(b"\r\n", b"\n")  # a terminal's own line ends


@pytest.mark.parametrize("medium", [on_a_pipe, in_a_terminal], ids=["pipe", "terminal"])
def test_every_command_shows_a_forged_name_and_obeys_none(folder: Path, medium: object, tmp_path: Path) -> None:
    assert callable(medium)
    for entry in folder.iterdir():
        (tmp_path / entry.name).write_bytes(entry.read_bytes())
    # What is said is the same in a terminal but for its colours and widths: there a sixth is tried.
    commands = COMMANDS if WHOLE or medium is on_a_pipe else COMMANDS[::6]
    said = medium(tmp_path, commands).decode("utf-8")  # whatever is printed is UTF-8
    runs = said.split("== [")[1:]
    assert len(runs) == len(commands)
    for run in runs:
        told = re.sub(r"\x1b\[[0-9;]*m", "", run)  # colours, the only sequences that are ours
        told = re.sub(r"\r(working out [^\r\n]*| +\r)", "", told)  # long work on a busy machine
        assert "fault in the program" not in told, run
        found = {c for c in told if visible(c) != c} - {"\n", "\t"}
        assert not found, f"{found} in {run!a}"
        assert re.search(r"-- exit [0-3]\n", told), run


def test_every_command_is_tried() -> None:
    assert {*cli.COMMANDS} - {words[0] for words in COMMANDS} == set(), "has no line in COMMANDS of this file"


def test_joiners_stay_where_scripts_need_them_alone() -> None:
    # Unicode UAX #31, 2.3: ZWJ and ZWNJ change how some scripts are written; between Latin letters they only hide.
    assert visible("می‌خواهم") == "می‌خواهم" and visible("\U0001f468\u200d\U0001f469") == "\U0001f468\u200d\U0001f469"
    assert visible("a\u200db") == "a\\u200db" and visible("\u200d") == "\\u200d"


def test_each_hidden_character_is_told_by_its_number() -> None:
    assert visible("\x1b\x9b\u202e\ud800\ufeff\U000e0041") == r"\u001b\u009b\u202e\ud800\ufeff\U000e0041"


def test_a_byte_order_mark_is_no_part_of_a_file(tmp_path: Path) -> None:
    mark = b"\xef\xbb\xbf"  # RFC 3629, 6
    (tmp_path / "a.feed").write_bytes(mark + (PROGRAMS / "02-first-script.feed").read_bytes())
    (tmp_path / "club.toml").write_bytes(mark + (FEEDERS / "club.toml").read_bytes())

    def run(*words: str) -> None:
        done = command(*words, cwd=tmp_path)
        assert (done.returncode, done.stderr) == (0, "")

    run("list", "club")
    run("build", "a.feed")
    plan = tmp_path / "a.plan.json"
    plan.write_bytes(mark + plan.read_bytes())
    run("replay", "a.plan.json", "--dry-run")
    run("cues", "a.plan.json")
