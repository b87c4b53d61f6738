"""The program as processes of its own, forked where its libraries are loaded already: half a second less for each.

Whole processes all the same, with signals, terminals and ends of their own; that a new interpreter gets as far is asked
elsewhere, of other commands.
"""

import fcntl
import gc
import multiprocessing
import os
import struct
import sys
import termios
import threading
from multiprocessing import forkserver
from multiprocessing.connection import Connection, wait
from pathlib import Path
from typing import TextIO

from ..whole import WHOLE

SELDOM_S = 0.015
"""How long a forked replay waits for a key before it looks at its line again, as long as a host allows: it mostly
waits, and each look costs. With FEEDWRIGHT_WHOLE it waits as in a practice."""
CODE = "import sys; from feedwright.targets.command.cli import main; sys.exit(main(sys.argv[1:]))"
_NURSERY = multiprocessing.get_context("forkserver")
_NURSERY.set_forkserver_preload([
    __name__, f"{__package__}.loaded", "feedwright.targets.command.cli", "feedwright.targets.command.playing",
    "feedwright.compiler.verify",
    *(f"feedwright.targets.machine.replay.{name}" for name in ("command", "playing", "screen", "terminal_keys")),
    "feedwright.targets.outputs.stream", "rich.console", "rich.panel", "serial.serialposix",
])  # fmt: skip
_ONE_AT_A_TIME = threading.Lock()
"""Tests start and end processes from several threads; how one ended can be read once."""


class Forked:
    """A process that runs `code` with words of its own, on a terminal or with its output on a pipe."""

    def __init__(
        self, code: str, words: tuple[str, ...], environment: dict[str, str], on: "str | Connection",
        folder: Path | None = None,
    ) -> None:  # fmt: skip
        how = (code, words, environment, on, folder or Path.cwd())
        self._process = _NURSERY.Process(target=_run, args=how, daemon=True)
        with _ONE_AT_A_TIME:
            self._process.start()
        assert self._process.pid
        self.pid = self._process.pid

    def ended(self, within_s: float = 0.0) -> bool:
        return bool(wait([self._process.sentinel], within_s))

    @property
    def code(self) -> int | None:
        """As `subprocess` has it; None while it runs."""
        with _ONE_AT_A_TIME:
            return self._process.exitcode


def end() -> None:
    """End all of them, also those that a failed scene left, and then what they were forked from, which waits for the
    last of them. Who measures the tests sees the time of processes that were waited for."""
    with _ONE_AT_A_TIME:
        for left in multiprocessing.active_children():
            left.kill()
            left.join()
    forkserver._forkserver._stop()  # type: ignore[attr-defined]


def opened(size: tuple[int, int]) -> tuple[int, int]:
    """A terminal of so many columns and rows: our end, and the program's."""
    ours, theirs = os.openpty()
    resized(ours, size)
    return ours, theirs


def piped() -> tuple[TextIO, Connection]:
    """A pipe: what the program writes, and its end of it."""
    ours, theirs = _NURSERY.Pipe(duplex=False)
    with ours:
        return os.fdopen(os.dup(ours.fileno()), encoding="utf-8"), theirs


def resized(terminal: int, size: tuple[int, int]) -> None:
    fcntl.ioctl(terminal, termios.TIOCSWINSZ, struct.pack("HHHH", size[1], size[0], 0, 0))


def environment(**changed: str) -> dict[str, str]:
    """Ours, without what tells how wide a terminal is and what colours it has."""
    return {k: v for k, v in os.environ.items() if k not in ("COLUMNS", "LINES", "NO_COLOR")} | changed


def _run(code: str, words: tuple[str, ...], environment: dict[str, str], on: "str | Connection", folder: Path) -> None:
    """What a new interpreter does before it comes to the program."""
    gc.freeze()  # the program's own collections need not look through what came along
    from feedwright.targets.machine.replay import loop

    os.setsid()
    if isinstance(on, str):
        ends = [os.open(on, os.O_RDWR)] * 3  # the first one that a session opens is its own
    else:
        ends = [os.open(os.devnull, os.O_RDONLY), on.fileno(), on.fileno()]
    for number, end in enumerate(ends):
        os.dup2(end, number)
    os.chdir(folder)
    os.environ.clear()
    os.environ.update(environment)
    encoding = environment.get("PYTHONIOENCODING", "utf-8")
    sys.stdin, sys.stdout, sys.stderr = (
        open(number, mode, buffering=1, encoding=encoding, errors=errors, closefd=False)  # noqa: SIM115
        for number, mode, errors in ((0, "r", "strict"), (1, "w", "strict"), (2, "w", "backslashreplace"))
    )
    sys.argv = ["-c", *words]
    if not WHOLE:
        loop.TURN_S = SELDOM_S
    exec(code, {"__name__": "__main__"})
