"""The line that a terminal shows during long work and that disappears afterwards."""

import sys
import time
from collections.abc import Callable
from types import TracebackType
from typing import Self

from ...compiler.printable import plural

PATIENCE_S, AGAIN_S = 1.0, 0.2
"""Shorter work shows no line; and the seconds between updates of the line."""


class Waiting:
    """Shows on standard error, if it is a terminal, how many balls are worked out, how much is done and about how long
    the rest takes."""

    def __init__(self) -> None:
        self._terminal = sys.stderr.isatty()
        self._began = self._shown = 0.0
        self._balls, self._work, self._done, self._width = 0, 0.0, 0.0, 0

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._write("")

    def begin(self, balls: int, work: float) -> None:
        self._balls, self._work, self._done = balls, work, 0.0
        self._began = time.monotonic()

    def done(self, work: float) -> None:
        self._done += work
        self.show(self._line)

    def show(self, line: Callable[[float], str]) -> None:
        """What `line` says of the seconds spent, if it is time for that."""
        now = time.monotonic()
        if self._terminal and now - self._began >= PATIENCE_S and now - self._shown >= AGAIN_S:
            self._shown = now
            self._write(line(now - self._began))

    def _line(self, spent: float) -> str:
        share = min(self._done / self._work, 1.0)
        left = f"about {max(spent * (1 - share) / share, 1.0):.0f} s more" if share else f"{spent:.0f} s so far"
        return f"working out {plural(self._balls, 'ball')}: {share:.0%} done, {left}"

    def _write(self, text: str) -> None:
        """Overwrite the old line; spaces clear it, because every terminal understands them."""
        if text or self._width:
            from shutil import get_terminal_size

            text = text[: get_terminal_size().columns - 1]
            print(
                f"\r{text.ljust(self._width)}" if text else f"\r{' ' * self._width}\r",
                end="",
                file=sys.stderr,
                flush=True,
            )
            self._width = len(text)


class Trying:
    """The same line for remedies on trial, of which nobody knows before how many it will take."""

    def __init__(self, waiting: Waiting) -> None:
        self._waiting, self._tried = waiting, 0

    def begin(self, balls: int, work: float) -> None:
        self._tried += 1
        self.done(work)

    def done(self, work: float) -> None:
        self._waiting.show(lambda spent: f"looking for remedies: {self._tried} tried, {spent:.0f} s so far")
