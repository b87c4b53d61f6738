"""What is heard. A terminal has one bell, so that what is told is told by when it rings: see REPLAY.md.

Moments only, on the clock that is handed in; ringing is the display's.
"""

from collections import deque

from .picture import Heard, Sound

SHORT = (0.0,)
LONG = (0.0, 0.25, 0.5)
"""Several bells as one long one: closer together many terminals swallow them (common practice, no source)."""
PATTERNS: dict[Sound, tuple[float, ...]] = {
    Sound.STOP: tuple(n * 0.25 for n in range(8)),
    Sound.REST: (0.0, 0.6),
    Sound.TIME: (0.0, 0.6),
    Sound.END: (0.0, 0.6, 1.2),
}
AT_S = (3, 2, 1)
LEFT_EARLY_S = 0.2
"""The machine may tell that a ball has left a moment before this clock says so."""


class Bells:
    def __init__(self) -> None:
        self._due: deque[float] = deque()
        self._last = Heard(None, 0.0, None)

    @property
    def over(self) -> bool:
        return not self._due

    def hear(self, now: float, heard: Heard) -> int:
        """What is new since it was last asked; gives how many bells are due now."""
        last, self._last = self._last, heard
        if heard.sound is not None and heard.sound is not last.sound:
            self._ring(now, PATTERNS[heard.sound], alone=True)
        elif heard.ball is not None and heard.ball == last.ball:
            if last.to_go_s > 0 >= heard.to_go_s:
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
            self._due.clear()  # of two signals at once the newer is the true one
        self._due.extend(now + after for after in pattern)
