"""Where keys come from: the reader for this system."""

from types import TracebackType
from typing import Protocol, Self


class NoKeyboard(Exception):
    """Keys cannot be read one by one here; the message is one sentence."""


class Keyboard(Protocol):
    gone: bool
    """Whether the terminal is gone."""

    def __enter__(self) -> Self: ...
    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None: ...

    def read(self, wait: float) -> list[str]:
        """The keys pressed, after at most `wait` seconds."""

    def forget(self) -> None:
        """Drop what was typed before a question: it does not answer it."""


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
