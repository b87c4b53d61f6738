"""The whole program in terminals of several kinds, from outside: what is heard and seen there, and what is told when
the program itself fails.

A scene mostly waits, so some are played beside each other.
"""

import os
import re
import signal
import time
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import closing
from itertools import product
from pathlib import Path
from typing import Any

import pytest

from ..whole import WHOLE
from .club import built, written
from .outside import Machine, Terminal, replay
from .processes import CODE

# Real processes against the clock, on a machine that may be busy: a moment too late is tried again.
pytestmark = pytest.mark.flaky(reruns=2)


AT_ONCE = 6
SCENES: dict[str, tuple[Callable[..., None], tuple[Any, ...]]] = {}
"""By name what is played, and with what besides a folder of its own."""


def scene(*cases: tuple[Any, ...]) -> Callable[[Callable[..., None]], Callable[..., None]]:
    """To be played with each of the cases."""

    def noted(act: Callable[..., None]) -> Callable[..., None]:
        for n, case in enumerate(cases or [()]):
            SCENES[f"{act.__name__} {n + 1}" if cases else act.__name__] = act, case
        return act

    return noted


@pytest.fixture(scope="module")
def together(tmp_path_factory: pytest.TempPathFactory) -> Iterator[dict[str, "Future[None]"]]:
    with ThreadPoolExecutor(AT_ONCE) as pool:
        yield {name: pool.submit(act, tmp_path_factory.mktemp("scene"), *case) for name, (act, case) in SCENES.items()}


def machine() -> "closing[Machine]":
    return closing(Machine(built()[0].feeder.device))


# ---- heard and seen


@scene()
def bells_ring_on_the_default_screen_and_move_nothing(folder: Path) -> None:
    terminal = Terminal(*replay(written(folder), "simulated", "--to", "2"))
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


@scene()
def quiet_rings_nothing(folder: Path) -> None:
    terminal = Terminal(*replay(written(folder), "simulated", "--quiet"))
    terminal.see("a  arm")
    terminal.press(b" ")
    assert terminal.end() == 0 and terminal.cells.bells == 0


@scene(
    ((60, 20), {}), ((40, 12), {}), ((40, 12), {"PYTHONIOENCODING": "ascii"}), ((80, 24), {"TERM": "dumb"}),
    ((80, 24), {"PYTHONIOENCODING": "latin-1", "NO_COLOR": "1"}),
)  # fmt: skip
def a_run_in_a_small_or_a_simple_terminal(folder: Path, size: tuple[int, int], more: dict[str, str]) -> None:
    terminal = Terminal(*replay(written(folder), "simulated", "--quiet"), size=size, more=more)
    terminal.arm()
    terminal.see(r"SPACE  STOP")
    terminal.see("2 balls thrown" if size[1] > 12 else "next: ball 3")
    terminal.press(b"\x03")
    assert terminal.end() == 0
    assert "Traceback" not in terminal.cells.all and "fault" not in terminal.cells.all
    assert "The machine is stopped and said so." in terminal.cells.all
    assert (b"\x1b" in terminal.raw) == (more.get("TERM") != "dumb")


@scene()
def a_window_that_changes_its_size_shows_one_whole_box(folder: Path) -> None:
    terminal = Terminal(*replay(written(folder), "simulated", "--quiet"))
    terminal.see("a  arm")
    terminal.resize(60, 20)
    terminal.see("read on, page 1 of 2")
    time.sleep(0.3)
    assert terminal.cells.text.count("╭") == terminal.cells.text.count("╰") == 1
    assert "Stop is proven" in terminal.cells.all
    terminal.press(b" ")
    assert terminal.end() == 0


@scene()
def control_s_does_not_stop_the_picture_and_the_terminal_is_left_as_it_was(folder: Path) -> None:
    after = CODE.replace(
        "sys.exit(main(sys.argv[1:]))",
        """
before = termios.tcgetattr(0)
code = main(sys.argv[1:])
print('as it was:', termios.tcgetattr(0) == before)
sys.exit(code)""",
    ).replace("import sys", "import sys, termios")
    terminal = Terminal(*replay(written(folder), "simulated", "--quiet"), code=after)
    terminal.see("Stop is proven")
    terminal.press(b"\x13")
    terminal.see("a  arm")
    terminal.press(b" ")
    assert terminal.end() == 0 and "as it was: True" in terminal.cells.all


@scene((signal.SIGINT, 0), (signal.SIGTERM, 130))
def a_signal_is_a_stop(folder: Path, number: signal.Signals, code: int) -> None:
    with machine() as device:
        terminal = Terminal(*replay(written(folder), device.port, "--quiet"))
        terminal.arm()
        stops = len(device.stops)
        os.kill(terminal.process.pid, number)
        assert terminal.end() == code and len(device.stops) > stops
        assert "The machine is stopped and said so." in terminal.cells.all


@scene()
def the_last_ball_is_marked_unmarked_and_marked_anew_and_the_farewell_has_the_row(folder: Path) -> None:
    terminal = Terminal(*replay(written(folder), "simulated", "--quiet", "--plain", "--to", "2"))
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


@scene()
def a_line_that_takes_nothing_holds_up_neither_stop_nor_screen(folder: Path) -> None:
    with machine() as device:
        terminal = Terminal(*replay(written(folder), device.port, "--quiet"))
        terminal.arm()
        terminal.see("1 ball thrown")
        device.full = True
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


@scene(*FAILED)
def a_fault_of_the_program_stops_the_machine_and_is_told(folder: Path, what: str, deaf: bool) -> None:
    with machine() as device:
        code = f"{PRELUDE}\n{FAULTS[what]}\nsys.exit(main(sys.argv[1:]))"
        terminal = Terminal(*replay(written(folder), device.port, "--quiet"), code=code)
        terminal.see("a  arm")
        stops, device.deaf = len(device.stops), deaf
        terminal.arm()
        if what == "the keys":
            terminal.press(b"p")
        ended, text = terminal.end(), terminal.cells.all
    assert ended == (4 if deaf else 5), text
    assert "A fault in the program itself (KeyError)." in text and "Traceback" not in text
    assert ("Stop NOT CONFIRMED - use the machine's own switch." in text) == deaf
    assert ("The machine is stopped and said so." in text) == (not deaf)
    # Three bytes at once; each 50 ms for 1.5 s where no answer comes.
    assert len(device.stops) - stops >= (3 * 25 if deaf else 3)
    assert device.thrown == []


@scene()
def the_whole_story_of_a_fault_is_for_who_asks_for_it(folder: Path) -> None:
    with machine() as device:
        code = f"{PRELUDE}\n{FAULTS['the host']}\nsys.exit(main(sys.argv[1:]))"
        more = {"FEEDWRIGHT_TRACE": "1"}
        terminal = Terminal(*replay(written(folder), device.port, "--plain", "--quiet"), code=code, more=more)
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


@scene()
def a_disk_that_is_full_on_the_way_stops_the_run_and_is_told(folder: Path) -> None:
    with machine() as device:
        terminal = Terminal(*replay(written(folder), device.port, "--quiet"), code=FULL)
        terminal.arm()
        assert terminal.end() not in (0, 1)
        assert re.search("The record cannot be written: the disk is full", terminal.cells.all)
        assert "The machine is stopped and said so." in terminal.cells.all
        assert len(device.thrown) <= 2


@pytest.mark.parametrize("name", SCENES)
def test_in_a_terminal(
    request: pytest.FixtureRequest, together: dict[str, "Future[None]"], tmp_path: Path, name: str
) -> None:
    """Each scene by its name; alone when it is tried again."""
    if getattr(request.node, "execution_count", 1) == 1:
        together[name].result()
    else:
        act, case = SCENES[name]
        act(tmp_path, *case)
