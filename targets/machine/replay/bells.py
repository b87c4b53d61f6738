"""When the bell rings. A terminal has one bell, so the pattern of the rings carries the meaning: see REPLAY.md.

This module only computes moments on the clock it is given; the display rings.
"""

from collections import deque

from .picture import Heard, Sound

SHORT = (0.0,)
LONG = (0.0, 0.25, 0.5)
"""Several bells sound as one long one. Closer together, many terminals drop some (common practice, no source)."""
PATTERNS: dict[Sound, tuple[float, ...]] = {
    Sound.STOP: tuple(n * 0.25 for n in range(8)),
    Sound.REST: (0.0, 0.6),
    Sound.TIME: (0.0, 0.6),
    Sound.END: (0.0, 0.6, 1.2),
}
AT_S = (3, 2, 1)
LEFT_EARLY_S = 0.2
"""The machine may report that a ball has left a moment before it is due by this clock."""


class Bells:
    def __init__(self) -> None:
        self._due: deque[float] = deque()
        self._last = Heard(None, 0.0, None)

    @property
    def over(self) -> bool:
        return not self._due

    def hear(self, now: float, heard: Heard) -> int:
        """Take in what is new since the last call. Returns the number of bells due now."""
        last, self._last = self._last, heard
        if heard.sound is not None and heard.sound is not last.sound:
            self._ring(now, PATTERNS[heard.sound], alone=True)
        elif heard.ball is not None and heard.ball == last.ball:
            if last.serve_in_s is not None and heard.serve_in_s is not None and last.serve_in_s > 0:
                if heard.serve_in_s <= 0:
                    self._ring(now, LONG, alone=True)
                elif any(last.serve_in_s > at >= heard.serve_in_s for at in AT_S):
                    self._ring(now, SHORT)
            elif last.to_go_s > 0 >= heard.to_go_s:
                self._ring(now, LONG, alone=True)
            elif any(last.to_go_s > at >= heard.to_go_s for at in AT_S):
                self._ring(now, SHORT)
        elif last.ball is not None and 0 < last.to_go_s <= LEFT_EARLY_S and heard.sound is None:
            self._ring(now, LONG, alone=True)
        rung = 0
        while self._due and self._due[0] <= now:
            self._due.popleft()
            rung += 1
        return rung

    def _ring(self, now: float, pattern: tuple[float, ...], alone: bool = False) -> None:
        if alone:
            self._due.clear()  # the newer of two signals replaces the older
        self._due.extend(now + after for after in pattern)
