"""Keys from a console that msvcrt reads, on systems without termios; the interface of terminal_keys.py.

`keyboard.py` imports this only where the system has msvcrt.
"""

import msvcrt
import time
from types import TracebackType
from typing import Self

from .keys import named

# The second character of a key that sends two: the codes of the PC keyboard that `getwch` documents.
_SECOND = {"H": "up", "P": "down", "K": "left", "M": "right", "I": "page up", "Q": "page down", "?": "f5"}
_MOST = 64


class ConsoleKeys:
    gone = False

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        pass

    def read(self, wait: float) -> list[str]:
        """The keys pressed, after at most `wait` seconds."""
        until = time.monotonic() + wait
        while not msvcrt.kbhit():  # type: ignore[attr-defined]
            if time.monotonic() >= until:
                return []
            time.sleep(0.001)
        keys: list[str] = []
        while msvcrt.kbhit() and len(keys) < _MOST:  # type: ignore[attr-defined]
            keys.append(_key())
        return keys

    def forget(self) -> None:
        """Drop what was typed before a question: it does not answer it."""
        while msvcrt.kbhit():  # type: ignore[attr-defined]
            msvcrt.getwch()  # type: ignore[attr-defined]


def _key() -> str:
    """An unknown key that sends two characters counts as escape, which is Stop."""
    sign: str = msvcrt.getwch()  # type: ignore[attr-defined]
    if sign in ("\x00", "\xe0"):
        return _SECOND.get(msvcrt.getwch(), "escape")  # type: ignore[attr-defined]
    return named(sign.encode("ascii", "replace"))
