"""The keyboard and a presenter's clicker, read without waiting; the terminal is put back whatever happens."""

import contextlib
import os
import select
import sys
from types import TracebackType
from typing import Self

# What terminals send for keys that are more than one byte (ECMA-48 control sequences and their common variants).
_SEQUENCES = {
    b"\x1b[5~": "page up", b"\x1b[6~": "page down", b"\x1b[A": "up", b"\x1b[B": "down", b"\x1b[C": "right",
    b"\x1b[D": "left", b"\x1bOP": "f1", b"\x1b[15~": "f5",
}  # fmt: skip
CLICKER = frozenset({"page up", "page down", "up", "down", "left", "right", "f5"})
_SINGLE = {b" ": "space", b"\r": "enter", b"\n": "enter", b"\x1b": "escape", b"\x7f": "backspace", b"\x08": "backspace",
           b"\x03": "escape"}  # fmt: skip


def split(data: bytes) -> list[str]:
    """Names of the keys in what a terminal sent at once; an unknown sequence is the escape key: that is Stop."""
    keys = []
    while data:
        for sequence, name in _SEQUENCES.items():
            if data.startswith(sequence):
                keys.append(name)
                data = data[len(sequence) :]
                break
        else:
            first = data[:1]
            if first == b"\x1b":
                data = b""
            keys.append(_SINGLE.get(first, first.decode("ascii", "replace").lower()))
            data = data[1:]
    return keys


class Keys:
    """Keys one by one, unechoed, from a terminal. ^C stays a signal."""

    def __init__(self) -> None:
        self._file = sys.stdin.fileno()
        self.gone = False

    def __enter__(self) -> Self:
        import termios
        import tty

        self._before = termios.tcgetattr(self._file)
        tty.setcbreak(self._file)
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        import termios

        with contextlib.suppress(termios.error, OSError):  # the terminal itself may be gone
            termios.tcsetattr(self._file, termios.TCSANOW, self._before)

    def read(self, wait: float) -> list[str]:
        """What was pressed, waiting so many seconds at most."""
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
        """Whatever was typed before a question is no answer to it."""
        import termios

        with contextlib.suppress(termios.error, OSError):
            termios.tcflush(self._file, termios.TCIFLUSH)
