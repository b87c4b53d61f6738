"""A run: a name of its own, the places to play and the record of what became of each ball."""

from dataclasses import dataclass
from typing import Protocol

from .places import Place

UNCONFIRMED = 4
"""Exit code: a stop was not confirmed, or the machine threw on its own."""


class Record(Protocol):
    """Where the fate of each ball is kept. Each call hands over and returns at once."""

    trouble: str
    """One sentence why it can't be written; empty as long as it can."""

    def begin(self, facts: dict[str, object]) -> None: ...
    def sent(self, ball: int, shot: str) -> None: ...
    def fate(self, ball: int, fate: str) -> None: ...
    def mark(self, ball: int, hit: bool | None) -> None: ...
    def close(self) -> None: ...
    def written(self) -> bool:
        """Whether everything handed over so far is on the disk."""


@dataclass(frozen=True, slots=True)
class Run:
    """`word` is new for each run and each loop; within a run no ball number is ever sent twice."""

    word: str
    title: str
    places: tuple[Place, ...]
    record: Record


@dataclass(frozen=True, slots=True)
class Identity:
    """What the device must state to be taken for the one the program was compiled for."""

    id: str
    cap: int
    gap: int
    fit: str


@dataclass(frozen=True, slots=True)
class Ending:
    """How it came to an end. `stopped`: the device was heard to stop; None where nothing had been opened."""

    code: int
    why: str
    stopped: bool | None
    last_gone: int | None
    unknown: int | None
    said: str = ""
    """What a machine with commands of its own lets one say of its stop."""
