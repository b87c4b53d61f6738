"""How far long work has come: stages report what they have done, and another module shows it to whoever waits."""

from collections.abc import Callable
from typing import Protocol


class Progress(Protocol):
    def begin(self, balls: int, work: float) -> None:
        """This many distinct balls have to be worked out; `work` is the total, in an arbitrary unit."""
        ...

    def done(self, work: float) -> None:
        """This much more of it is done."""
        ...


class Silent:
    """For work that nobody waits for."""

    def begin(self, balls: int, work: float) -> None: ...

    def done(self, work: float) -> None: ...


class Overtaken(Exception):
    """Nobody wants what is being worked out any more."""


class WhileWanted:
    """Ends work that is no longer `wanted`, at its next report, with Overtaken."""

    def __init__(self, wanted: Callable[[], bool]) -> None:
        self._wanted = wanted

    def begin(self, balls: int, work: float) -> None:
        self.done(work)

    def done(self, work: float) -> None:
        if not self._wanted():
            raise Overtaken


class Uncounted:
    """For work that the total does not count: says that it goes on, so that it can end when nobody wants it."""

    def __init__(self, progress: Progress) -> None:
        self._progress = progress

    def begin(self, balls: int, work: float) -> None:
        self.done(work)

    def done(self, work: float) -> None:
        self._progress.done(0.0)


SILENT = Silent()
# How long each part takes for one ball, measured in ms; only the shares matter. What a feed leaves open is sought.
SOLVING, SEEKING, ESTIMATING, SAMPLING, REPLYING = 1.0, 300.0, 0.1, 10.0, 3.5
