"""How far long work has come, for whoever waits: stages tell what they have done; another shows it."""

from typing import Protocol


class Progress(Protocol):
    def begin(self, balls: int, work: float) -> None:
        """So many distinct balls have to be worked out, which is so much work, in a unit of no meaning."""
        ...

    def done(self, work: float) -> None:
        """So much more of it is done."""
        ...


class Silent:
    """For work that nobody waits for."""

    def begin(self, balls: int, work: float) -> None: ...

    def done(self, work: float) -> None: ...


SILENT = Silent()
# How long each part takes for one ball, as measured in ms; only the shares matter.
SOLVING, ESTIMATING, SAMPLING, REPLYING = 1.0, 0.1, 10.0, 3.5
