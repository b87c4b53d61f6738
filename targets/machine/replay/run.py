"""A run: its name, the places to play and the record of each ball's fate."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

from .places import Place

REFUSED, CHANGED, MACHINE, UNCONFIRMED = 1, 2, 3, 4
"""Exit codes: the plan is refused; its file was changed; port or machine; a stop that was not confirmed, or a machine
that threw on its own."""


class RunJournal(Protocol):
    """The record of each ball's fate. No call waits: when it returns, its entry is on its way to the disk, and on the
    disk once `written` is true."""

    def begin(self, facts: dict[str, object]) -> None: ...
    def sent(self, ball: int, shot: str) -> None: ...
    def fate(self, ball: int, fate: str) -> None: ...
    def mark(self, ball: int, hit: bool | None) -> None: ...
    def close(self) -> None: ...

    def written(self) -> bool:
        """Whether everything handed over so far is on the disk."""
        ...

    @property
    def trouble(self) -> str:
        """Why the record cannot be written, in one sentence; "" while it can."""
        ...


class Written(Protocol):
    """A file whose calls have written when they return; OSError if they cannot."""

    def begin(self, facts: dict[str, object]) -> None: ...
    def sent(self, ball: int, shot: str) -> None: ...
    def fate(self, ball: int, fate: str) -> None: ...
    def mark(self, ball: int, hit: bool | None) -> None: ...
    def close(self) -> None: ...


class AtOnce:
    """A record whose calls have written when they return."""

    def __init__(self, file: Written) -> None:
        self._file = file
        self.trouble = ""

    def begin(self, facts: dict[str, object]) -> None:
        self._write(lambda: self._file.begin(facts))

    def sent(self, ball: int, shot: str) -> None:
        self._write(lambda: self._file.sent(ball, shot))

    def fate(self, ball: int, fate: str) -> None:
        self._write(lambda: self._file.fate(ball, fate))

    def mark(self, ball: int, hit: bool | None) -> None:
        self._write(lambda: self._file.mark(ball, hit))

    def close(self) -> None:
        self._write(self._file.close)

    def written(self) -> bool:
        return not self.trouble

    def _write(self, write: Callable[[], None]) -> None:
        try:
            write()
        except OSError as error:
            self.trouble = self.trouble or f"The record cannot be written ({error.strerror or error})"


@dataclass(frozen=True, slots=True)
class Run:
    """`word` is new for each run, also for each loop; within a run no ball number is ever sent twice."""

    word: str
    title: str
    places: tuple[Place, ...]
    record: RunJournal


@dataclass(frozen=True, slots=True)
class Identity:
    """What the device must state to count as the one the program was compiled for."""

    id: str
    cap: int
    gap: int
    limits: str


@dataclass(frozen=True, slots=True)
class Ending:
    """How a replay ended. `stopped`: whether the device confirmed its stop; None if nothing had to be confirmed."""

    code: int
    why: str
    stopped: bool | None
    last_gone: int | None
    unknown: int | None
    said: str = ""
    """More about its stop, in words."""
