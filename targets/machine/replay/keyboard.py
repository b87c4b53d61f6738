"""Where keys come from: the reader that this system has."""

from types import TracebackType
from typing import Protocol, Self


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
