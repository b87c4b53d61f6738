"""Keys by name, from a keyboard or a presenter's clicker; which of the two readers there are a system has."""

from types import TracebackType
from typing import Protocol, Self

FORWARD = frozenset({"page down", "right", "down"})
BACK = frozenset({"page up", "left", "up"})
CLICKER = FORWARD | BACK | {"f5", ".", "b", "tab"}
"""What presenters send: forward and back as one of three keys each, "start" as F5, "black screen" as . or b (common
practice, no source)."""
# What terminals send for keys that are more than one byte (ECMA-48 control sequences and their common variants).
_SEQUENCES = {
    b"\x1b[5~": "page up", b"\x1b[6~": "page down", b"\x1b[A": "up", b"\x1b[B": "down", b"\x1b[C": "right",
    b"\x1b[D": "left", b"\x1bOA": "up", b"\x1bOB": "down", b"\x1bOC": "right", b"\x1bOD": "left", b"\x1b[15~": "f5",
}  # fmt: skip
_SINGLE = {b" ": "space", b"\r": "enter", b"\n": "enter", b"\x1b": "escape", b"\x7f": "backspace", b"\x08": "backspace",
           b"\x03": "escape", b"\t": "tab"}  # fmt: skip


class NoKeyboard(Exception):
    """Keys cannot be read one by one here, in one sentence."""


class Keyboard(Protocol):
    gone: bool
    """Whether nobody is there any more."""

    def __enter__(self) -> Self: ...
    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None: ...

    def read(self, wait: float) -> list[str]:
        """What was pressed, waiting so many seconds at most."""

    def forget(self) -> None:
        """Whatever was typed before a question is no answer to it."""


def keyboard() -> Keyboard:
    """The reader for this system."""
    try:
        from .terminal_keys import TerminalKeys
    except ImportError:
        pass
    else:
        return TerminalKeys()
    try:
        from .console_keys import ConsoleKeys
    except ImportError:
        raise NoKeyboard("this system has no way to read keys one by one; without Stop nothing is played") from None
    return ConsoleKeys()


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
            keys.append(named(first))
            data = data[1:]
    return keys


def named(byte: bytes) -> str:
    """One byte's key."""
    return _SINGLE.get(byte, byte.decode("ascii", "replace").lower())
