"""The device's clock compared with the host's own: its reading now, and whether it runs at the same speed.

A tock answers a tick: the device read its clock between the moment the tick was sent and the moment the tock arrived.
Two such readings bound the speed of one clock by the other, whatever the line does in between.
"""

from collections import deque
from dataclasses import dataclass

DRIFT = 0.02
"""Largest relative difference of the speeds at which two clocks can agree on a moment; quartz stays below 0.0005."""
KEPT = 64
"""Readings compared with each new one, about six seconds of them, so that a later change of speed shows too."""


@dataclass(frozen=True, slots=True)
class Reading:
    """The device said `ms` at some moment from `sent` to `heard`, in the host's seconds."""

    sent: float
    heard: float
    ms: int


@dataclass(frozen=True, slots=True)
class Rate:
    """The device's seconds to one of the host's: no less than `low` and no more than `high`."""

    low: float = 0.0
    high: float = float("inf")

    @property
    def off(self) -> bool:
        return self.low > 1.0 + DRIFT or self.high < 1.0 - DRIFT

    def in_words(self) -> str:
        if self.low > 1.0:
            return f"at least {self.low:.2f} of its seconds pass in one of ours"
        return f"at most {self.high:.2f} of its seconds pass in one of ours"


def between(one: Reading, two: Reading) -> Rate:
    """Bounds of the speed from `one` to the later `two`. A device reports whole ms, so up to 1 ms may be cut off."""
    longest, shortest = two.heard - one.sent, two.sent - one.heard
    passed = two.ms - one.ms
    return Rate(
        max(passed - 1, 0) / 1000 / longest if longest > 0 else 0.0,
        max(passed + 1, 0) / 1000 / shortest if shortest > 0 else float("inf"),
    )


def agree(one: Reading, two: Reading) -> bool:
    """Whether `between` is not off, in a third of the time: each new reading is compared with all that are kept."""
    longest, shortest = two.heard - one.sent, two.sent - one.heard
    passed = two.ms - one.ms
    slow = shortest > 0 and passed + 1 < (1.0 - DRIFT) * 1000 * shortest
    return not slow and (longest <= 0 or passed - 1 <= (1.0 + DRIFT) * 1000 * longest)


class Clocks:
    def __init__(self) -> None:
        self._first: Reading | None = None
        self._recent: deque[Reading] = deque(maxlen=KEPT)
        self._ahead = self.heard = 0.0
        """`heard`: when the newest reading arrived."""
        self.rate = Rate()
        """From the first and the newest reading."""
        self.odd: Rate | None = None
        """Bounds that show a wrong speed; None while none do."""

    def now(self, now: float) -> float:
        """The device's ms, late by at most the travel time of the quickest recent tock; 0 before the first reading."""
        return self._ahead + now * 1000 if self._first else 0.0

    def note(self, sent: float, heard: float, ms: int) -> None:
        new = Reading(sent, heard, ms)
        seen = ms - heard * 1000
        # A tock that waited in a buffer is out of date: the quickest one counts, less what the clocks may drift since.
        self._ahead = max(seen, self._ahead - DRIFT * (heard - self.heard) * 1000) if self._first else seen
        self.heard = heard
        if self._first is None:
            self._first = new
        self.rate = between(self._first, new)
        for old in (self._first, *self._recent):
            if not agree(old, new):
                self.odd = between(old, new)
        self._recent.append(new)
