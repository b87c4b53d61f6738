"""The whole program in terminals of several kinds, from outside: what is heard and seen there, and what is told when
the program itself fails."""

import os
import re
import signal
import time
from collections.abc import Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from itertools import product
from pathlib import Path

import pytest

from ..whole import WHOLE
from .club import built, written
from .outside import Machine, Terminal, replay
from .processes import CODE

# Real processes against the clock, on a machine that may be busy: a moment too late is tried again.
pytestmark = pytest.mark.flaky(reruns=2)


@pytest.fixture
def plan(tmp_path: Path) -> Path:
    return written(tmp_path)


@pytest.fixture
def machine() -> Iterator[Machine]:
    machine = Machine(built()[0].feeder.device)
    yield machine
    machine.close()


# ---- heard and seen


def test_bells_ring_on_the_default_screen_and_move_nothing(plan: Path) -> None:
    terminal = Terminal(*replay(plan, "simulated", "--to", "2"))
    terminal.see("a  arm")
    assert terminal.cells.bells == 0
    terminal.arm()
    time.sleep(0.5)  # the box of the live machine is higher, and has moved up by now
    top = next(n for n, line in enumerate(terminal.cells.text.split("\n")) if "Live" in line)
    terminal.see("1 ball thrown")
    # Three seconds to walk: short bells at 2 and 1 at the latest, and the long one has begun.
    assert terminal.cells.bells >= 3
    assert "Live" in terminal.cells.text.split("\n")[top]
    terminal.press(b" ")
    assert terminal.end() == 0
    assert terminal.cells.bells >= 3 + 8 and terminal.cells.unknown == []
    assert terminal.cells.all.count("╭") == terminal.cells.all.count("╰") == 1
    told = (
        "Stopped by the player.\nThe machine is stopped and said so.\nLast ball surely thrown: 1.\nIn this run: 1 ball"
    )
    assert told in terminal.cells.text


def test_quiet_rings_nothing(plan: Path) -> None:
    terminal = Terminal(*replay(plan, "simulated", "--quiet"))
    terminal.see("a  arm")
    terminal.press(b" ")
    assert terminal.end() == 0 and terminal.cells.bells == 0


@pytest.mark.parametrize(
    ("size", "more"),
    [
        ((60, 20), {}), ((40, 12), {}), ((40, 12), {"PYTHONIOENCODING": "ascii"}), ((80, 24), {"TERM": "dumb"}),
        ((80, 24), {"PYTHONIOENCODING": "latin-1", "NO_COLOR": "1"}),
    ],
)  # fmt: skip
def test_a_run_in_a_small_or_a_simple_terminal(plan: Path, size: tuple[int, int], more: dict[str, str]) -> None:
    terminal = Terminal(*replay(plan, "simulated", "--quiet"), size=size, more=more)
    terminal.arm()
    terminal.see(r"SPACE  STOP")
    terminal.see("2 balls thrown" if size[1] > 12 else "next: ball 3")
    terminal.press(b"\x03")
    assert terminal.end() == 0
    assert "Traceback" not in terminal.cells.all and "fault" not in terminal.cells.all
    assert "The machine is stopped and said so." in terminal.cells.all
    assert (b"\x1b" in terminal.raw) == (more.get("TERM") != "dumb")


def test_a_window_that_changes_its_size_shows_one_whole_box(plan: Path) -> None:
    terminal = Terminal(*replay(plan, "simulated", "--quiet"))
    terminal.see("a  arm")
    terminal.resize(60, 20)
    terminal.see("read on, page 1 of 2")
    time.sleep(0.3)
    assert terminal.cells.text.count("╭") == terminal.cells.text.count("╰") == 1
    assert "Stop is proven" in terminal.cells.all
    terminal.press(b" ")
    assert terminal.end() == 0


def test_control_s_does_not_stop_the_picture_and_the_terminal_is_left_as_it_was(plan: Path) -> None:
    after = CODE.replace(
        "sys.exit(main(sys.argv[1:]))",
        """
before = termios.tcgetattr(0)
code = main(sys.argv[1:])
print('as it was:', termios.tcgetattr(0) == before)
sys.exit(code)""",
    ).replace("import sys", "import sys, termios")
    terminal = Terminal(*replay(plan, "simulated", "--quiet"), code=after)
    terminal.see("Stop is proven")
    terminal.press(b"\x13")
    terminal.see("a  arm")
    terminal.press(b" ")
    assert terminal.end() == 0 and "as it was: True" in terminal.cells.all


@pytest.mark.parametrize(("number", "code"), [(signal.SIGINT, 0), (signal.SIGTERM, 130)])
def test_a_signal_is_a_stop(plan: Path, machine: Machine, number: signal.Signals, code: int) -> None:
    terminal = Terminal(*replay(plan, machine.port, "--quiet"))
    terminal.arm()
    stops = len(machine.stops)
    os.kill(terminal.process.pid, number)
    assert terminal.end() == code and len(machine.stops) > stops
    assert "The machine is stopped and said so." in terminal.cells.all


def test_the_last_ball_is_marked_unmarked_and_marked_anew_and_the_farewell_has_the_row(plan: Path) -> None:
    terminal = Terminal(*replay(plan, "simulated", "--quiet", "--plain", "--to", "2"))
    terminal.arm()
    terminal.see("1 ball thrown")
    terminal.press(b"h")
    terminal.see("1 hit, 0 misses")
    terminal.see("After the last ball")
    for key, counted in ((b"m", "1 hit, 1 miss"), (b"u", "1 hit, 0 misses"), (b"h", "2 hits, 0 misses")):
        before = len(terminal.cells.all)
        terminal.press(key)
        until = time.monotonic() + 3.0
        while f"2 balls thrown, {counted}" not in terminal.cells.all[before:]:
            assert time.monotonic() < until, terminal.cells.all
            time.sleep(0.005)
    assert terminal.end() == 0
    assert "In this run: 2 balls thrown, 2 hits, 0 misses, 0 not judged." in terminal.cells.all
    assert "rally: longest streak 2 hits" in terminal.cells.all


def test_a_line_that_takes_nothing_holds_up_neither_stop_nor_screen(plan: Path, machine: Machine) -> None:
    terminal = Terminal(*replay(plan, machine.port, "--quiet"))
    terminal.arm()
    terminal.see("1 ball thrown")
    machine.full = True
    time.sleep(0.15)  # a tick was due meanwhile; after 0.25 s the line would be given up without any key
    terminal.press(b" ")
    terminal.see("Stopping")
    assert terminal.end() == 4
    # A write that waited let no key through before it was over, and the line was called lost.
    assert "Stopped by the player." in terminal.cells.all
    assert "Stop NOT CONFIRMED - use the machine's own switch." in terminal.cells.all
    assert "Traceback" not in terminal.cells.all


# ---- the program itself fails

PRELUDE = """
import os, sys
from feedwright.targets.command.cli import main
from feedwright.targets.machine.replay import host, loop, picture, screen, flow
def fails(*_, **__):
    raise KeyError('a slip')
def when_live(module, name):
    before = getattr(module, name)
    def act(self, *words, **more):
        live = getattr(self, 'phase', None) or getattr(getattr(self, '_host', None), 'phase', None)
        return fails() if live is flow.RunPhase.LIVE else before(self, *words, **more)
    setattr(module, name, act)
"""
FAULTS = {
    "the host": "when_live(host.Host, '_step')",
    "the host, and its stop": "when_live(host.Host, '_step'); when_live(host.Host, 'stop')",
    "the picture": "when_live(loop.Loop, '_picture')",
    "the keys": "when_live(loop.Loop, '_press')",
    "the screen": "screen.drawn = lambda p, *w, d=screen.drawn: fails() if p.headline == 'Live' else d(p, *w)",
}


FAILED = [
    (what, deaf) for what, deaf in product(FAULTS, (False, True)) if WHOLE or not deaf or what.startswith("the host")
]
"""And whether the machine is deaf to the stop then, which is told alike whatever has failed."""
Failed = tuple[int, str, int, list[tuple[float, int]]]
"""The exit code, what was shown, how many stops came and what was thrown."""


def failed(folder: Path, what: str, deaf: bool) -> Failed:
    plan, machine = written(folder), Machine(built()[0].feeder.device)
    code = f"{PRELUDE}\n{FAULTS[what]}\nsys.exit(main(sys.argv[1:]))"
    terminal = Terminal(*replay(plan, machine.port, "--quiet"), code=code)
    terminal.see("a  arm")
    stops, machine.deaf = len(machine.stops), deaf
    terminal.arm()
    if what == "the keys":
        terminal.press(b"p")
    code = terminal.end()
    machine.close()
    return code, terminal.cells.all, len(machine.stops) - stops, machine.thrown


@pytest.fixture(scope="module")
def failures(tmp_path_factory: pytest.TempPathFactory) -> Iterator[dict[tuple[str, bool], "Future[Failed]"]]:
    """All at once: they mostly wait."""
    with ThreadPoolExecutor(len(FAILED)) as pool:
        yield {case: pool.submit(failed, tmp_path_factory.mktemp("failed"), *case) for case in FAILED}


@pytest.mark.parametrize(("what", "deaf"), FAILED, ids=[f"{w}, {'not ' * d}confirmed" for w, d in FAILED])
def test_a_fault_of_the_program_stops_the_machine_and_is_told(
    request: pytest.FixtureRequest, failures: dict[tuple[str, bool], "Future[Failed]"], tmp_path: Path, what: str,
    deaf: bool,
) -> None:  # fmt: skip
    first = getattr(request.node, "execution_count", 1) == 1
    code, text, stops, thrown = failures[what, deaf].result() if first else failed(tmp_path, what, deaf)
    assert code == (4 if deaf else 5), text
    assert "A fault in the program itself (KeyError)." in text and "Traceback" not in text
    assert ("Stop NOT CONFIRMED - use the machine's own switch." in text) == deaf
    assert ("The machine is stopped and said so." in text) == (not deaf)
    # Three bytes at once; each 50 ms for 1.5 s where no answer comes.
    assert stops >= (3 * 25 if deaf else 3)
    assert thrown == []


def test_the_whole_story_of_a_fault_is_for_who_asks_for_it(plan: Path, machine: Machine) -> None:
    code = f"{PRELUDE}\n{FAULTS['the host']}\nsys.exit(main(sys.argv[1:]))"
    more = {"FEEDWRIGHT_TRACE": "1"}
    terminal = Terminal(*replay(plan, machine.port, "--plain", "--quiet"), code=code, more=more)
    terminal.arm()
    assert terminal.end() == 5 and "Traceback" in terminal.cells.all and "KeyError: 'a slip'" in terminal.cells.all


# ---- a record that cannot be written

FULL = """
import errno, os, sys
from feedwright.targets.command.cli import main
before, left = os.fsync, [4]
def fsync(file):
    left[0] -= 1
    if left[0] < 0:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
    before(file)
os.fsync = fsync
sys.exit(main(sys.argv[1:]))
"""


def test_a_disk_that_is_full_on_the_way_stops_the_run_and_is_told(plan: Path, machine: Machine) -> None:
    terminal = Terminal(*replay(plan, machine.port, "--quiet"), code=FULL)
    terminal.arm()
    assert terminal.end() not in (0, 1)
    assert re.search("The record cannot be written: the disk is full", terminal.cells.all)
    assert "The machine is stopped and said so." in terminal.cells.all
    assert len(machine.thrown) <= 2
