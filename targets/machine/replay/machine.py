"""What a replay needs of a machine, whatever it speaks: orders go in, happenings come out, the clock is handed in.

There are two: one that keeps the line protocol (protocol.py) and one with commands of its own (own_commands.py). An
adapter knows bytes; which ball is next, what is known of it and what a person wants is the host's alone.
"""

from collections.abc import Callable
from typing import Protocol

from ....compiler.model.device import Settings
from .events import Happening


class Machine(Protocol):
    tell: Callable[[float, Happening], None]
    """Where happenings go; the host sets it."""
    lead_s: float
    """So long ahead of its moment a ball is announced; 0 where the line itself throws."""
    late_s: float
    """With less than this left a ball is not sent at all: nothing is ever caught up."""
    overdue_s: float
    """So long after its moment it is asked what became of a ball that nothing was heard of."""
    feed_s: float
    """A ball that can't be kept back any more may be told of so long before it leaves."""
    leaves_s: float
    """From its moment until a ball has surely left the machine."""
    write: Callable[[bytes], None]

    @property
    def greeted(self) -> bool:
        """Whether anything that keeps its protocol was heard at all."""
        ...

    def facts(self) -> dict[str, object]:
        """What the record says of it."""
        ...

    def busy(self, now: float) -> bool:
        """Whether an answer is waited for, or the line has to rest; no order but `stop` is given then."""
        ...

    def resting(self, now: float) -> bool:
        """Whether no ball may be aimed or sent yet, for the one before is still inside."""
        ...

    def start(self, now: float, run: str, first: int) -> None:
        """`run` and its `first` ball are what is about to be played: a machine may remember them."""
        ...

    def received(self, now: float, data: bytes) -> None: ...
    def step(self, now: float) -> None: ...
    def due(self, now: float) -> float | None: ...

    # ---- orders

    def ready_again(self, now: float) -> None:
        """A person may arm from now on."""
        ...

    def arm(self, now: float, run: str, first: int, last: int) -> None: ...
    def answer(self, now: float, text: str, walk_s: float) -> None: ...

    def until(self, now: float, offset_s: float) -> float:
        """Seconds until the ball that comes `offset_s` after the arming's first."""
        ...

    def aim(self, now: float, ball: int, shot: str, settings: Settings) -> None: ...
    def go(self, now: float, ball: int, shot: str, settings: Settings, offset_s: float) -> None: ...
    def hold(self, now: float) -> None: ...
    def ask_fate(self, now: float, ball: int) -> None: ...

    def decided(self) -> None:
        """What became of the ball on its way is known."""
        ...

    def stop(self, now: float) -> None:
        """Never refused and never late. Confirmed by `Stopped` and then `leave`, or over at once with `Left`."""
        ...

    def leave(self, now: float) -> None: ...

    def lost(self, now: float) -> None:
        """The line is gone while a stop waits."""
        ...
