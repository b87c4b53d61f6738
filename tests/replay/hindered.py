"""What may hinder a run: a log that is held, disks that are full or stalled, a device that floods, a terminal that
takes nothing. In each the time from SPACE, written to the terminal, to the stop byte, read on the device's side."""

import sqlite3
import termios
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from .club import built, written
from .outside import Machine, Terminal, replay
from .processes import CODE

STALLED = """
import os, sys, time
from feedwright.targets.command.cli import main
before, left = os.fsync, [3]
def fsync(file):
    left[0] -= 1
    time.sleep(600 if left[0] < 0 else 0)
    before(file)
os.fsync = fsync
sys.exit(main(sys.argv[1:]))
"""
SMALL = """
import os, resource, sys
from feedwright.targets.command.cli import main
before = os.fsync
def fsync(file):
    resource.setrlimit(resource.RLIMIT_FSIZE, (LARGEST, LARGEST))
    before(file)
os.fsync = fsync
sys.exit(main(sys.argv[1:]))
""".replace("LARGEST", str(40_000))
"""From the record's first line on no file may grow beyond this: room for the record, and for a few balls of the log's
own journal. Before, there was room enough, or no run would begin."""
HINDRANCES = (
    "nothing",
    "a log that is held",
    "a full disk",
    "a stalled disk",
    "a flooding device",
    "a stopped terminal",
)


@contextmanager
def held(db: Path, hindrance: str) -> Iterator[None]:
    """The log, there already, and held by another program if that is the hindrance."""
    from feedwright.targets.log.record import Recorder

    Recorder(built()[0], db).close()
    other = sqlite3.connect(db, isolation_level=None)
    if hindrance == "a log that is held":
        other.execute("BEGIN IMMEDIATE")
    try:
        yield
    finally:
        other.close()


def output(terminal: Terminal, action: int) -> None:
    termios.tcflow(terminal.own, action)


def key_to_line(folder: Path, hindrance: str, wait_s: float = 0.5) -> tuple[float, int, str]:
    """Seconds from key to line, the exit code, and all that was shown."""
    plan, db = written(folder), folder / "practice.db"
    machine = Machine(built()[0].feeder.device, noise=hindrance == "a flooding device")
    code = {"a stalled disk": STALLED, "a full disk": SMALL}.get(hindrance, CODE)
    with held(db, hindrance):
        terminal = Terminal(*replay(plan, machine.port, "--quiet", "--db", str(db)), code=code)
        try:
            terminal.arm()
            until(lambda: bool(machine.thrown))
            if hindrance == "a stopped terminal":
                output(terminal, termios.TCOOFF)
            time.sleep(wait_s)
            before = len(machine.stops)
            pressed = terminal.press(b" ")
            until(lambda: len(machine.stops) > before)
            took = machine.stops[before] - pressed
            if hindrance == "a stopped terminal":
                time.sleep(0.3)
                output(terminal, termios.TCOON)
            return took, terminal.end(20.0), terminal.cells.all
        finally:
            machine.close()


def until(true: Callable[[], bool]) -> None:
    end = time.monotonic() + 20
    while not true():
        assert time.monotonic() < end
        time.sleep(0.005)
