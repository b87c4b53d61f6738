"""Keys from a terminal that termios controls, read without waiting; the terminal's mode is always restored.

`keyboard.py` imports this only where the system has termios.
"""

import contextlib
import os
import select
import sys
import termios
from types import TracebackType
from typing import Self

from .keys import split


class TerminalKeys:
    """Keys one by one, unechoed. ^C stays a signal."""

    def __init__(self) -> None:
        self._file = sys.stdin.fileno()
        self.gone = False

    def __enter__(self) -> Self:
        self._before = termios.tcgetattr(self._file)
        mode = termios.tcgetattr(self._file)
        mode[3] &= ~(termios.ECHO | termios.ICANON)
        # ^S must not freeze the screen: a player would rely on an old picture.
        mode[0] &= ~termios.IXON
        mode[6][termios.VMIN], mode[6][termios.VTIME] = 1, 0
        termios.tcsetattr(self._file, termios.TCSANOW, mode)  # TCSANOW, because a stopped terminal never drains
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        with contextlib.suppress(termios.error, OSError):  # the terminal itself may be gone
            termios.tcsetattr(self._file, termios.TCSANOW, self._before)

    def read(self, wait: float) -> list[str]:
        """The keys pressed, after at most `wait` seconds."""
        try:
            ready, _, _ = select.select([self._file], [], [], wait)
            data = os.read(self._file, 64) if ready else None
        except InterruptedError:
            return []
        except OSError:
            data = b""
        if data == b"":
            self.gone = True
        return split(data) if data else []

    def forget(self) -> None:
        """Drop what was typed before a question: it does not answer it."""
        with contextlib.suppress(termios.error, OSError):
            termios.tcflush(self._file, termios.TCIFLUSH)
