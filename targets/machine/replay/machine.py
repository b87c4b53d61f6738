"""A machine as the replay sees it: orders go in, happenings come out, and the caller supplies the clock.

There are two adapters: one for the line protocol (protocol.py) and one for commands of the machine's own
(own_commands.py). An adapter knows bytes. Only the host knows the next ball, its fate and what a person wants.
"""

from collections.abc import Callable
from typing import Protocol

from ....compiler.model.device import Settings
from .events import Happening


class Machine(Protocol):
    tell: Callable[[float, Happening], None]
    """Where happenings go; the host sets it."""
    lead_s: float
    """Seconds before its moment at which a ball is announced; 0 if the line itself throws."""
    late_s: float
    """With less time left than this, a ball is not sent at all; no later ball makes up for it."""
    overdue_s: float
    """Seconds after its moment at which the host asks for the fate of a ball without news."""
    feed_s: float
    """How early the launch of a ball in the feed may be reported, in seconds before it leaves."""
    leaves_s: float
    """Seconds from its moment until a ball has certainly left the machine."""
    write: Callable[[bytes], None]

    @property
    def greeted(self) -> bool:
        """Whether anything that keeps the machine's protocol has answered."""
        ...

    def facts(self) -> dict[str, object]:
        """The facts for the record."""
        ...

    def busy(self, now: float) -> bool:
        """Whether an answer is pending or the line must rest; until then the only order allowed is `stop`."""
        ...

    def resting(self, now: float) -> bool:
        """Whether no ball may be aimed or sent yet, because the one before is still inside."""
        ...

    def start(self, now: float, run: str, first: int) -> None:
        """`run` and its `first` ball are about to be played: the machine may remember having thrown them."""
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
        """Seconds until the ball that comes `offset_s` after the first ball of the arming."""
        ...

    def aim(self, now: float, ball: int, shot: str, settings: Settings) -> None: ...
    def go(self, now: float, ball: int, shot: str, settings: Settings, offset_s: float) -> None: ...
    def hold(self, now: float) -> None: ...
    def ask_fate(self, now: float, ball: int) -> None: ...

    def decided(self) -> None:
        """The fate of the ball on its way is known."""
        ...

    def stop(self, now: float) -> None:
        """Never refused and never late. It ends with `Stopped` and then `leave`, or at once with `Left`."""
        ...

    def leave(self, now: float) -> None: ...

    def lost(self, now: float) -> None:
        """The line was lost during a stop."""
        ...
