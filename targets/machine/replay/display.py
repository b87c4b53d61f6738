"""The terminal's own thread. A terminal may be slow or stopped; the callers of show, say and ring never wait."""

import threading
import time
from collections import deque

from .picture import Picture
from .screen import LiveScreen

LATE_BELL_S = 0.3
"""A bell that comes later would mark the wrong moment, so it is dropped."""


class Display:
    """Shows the newest picture, writes every message in order, rings on time. `gone`: the terminal is gone."""

    def __init__(self, screen: LiveScreen) -> None:
        self._screen = screen
        self._said: deque[str] = deque()
        self._pictures: deque[Picture] = deque(maxlen=1)
        self._bells: deque[float] = deque()
        self._wake, self._ended = threading.Event(), threading.Event()
        self._over = False
        self.gone = False
        self.fault: Exception | None = None
        threading.Thread(target=self._work, name="display", daemon=True).start()

    def say(self, text: str) -> None:
        self._said.append(text)
        self._wake.set()

    def show(self, picture: Picture) -> None:
        self._pictures.append(picture)
        self._wake.set()

    def ring(self) -> None:
        self._bells.append(time.monotonic())
        self._wake.set()

    def pages(self, picture: Picture) -> int:
        return self._screen.pages(picture)

    def close(self, within_s: float) -> bool:
        """Whether everything was shown within that time."""
        self._over = True
        self._wake.set()
        return self._ended.wait(within_s)

    def _work(self) -> None:
        try:
            while not (self._over and self._idle()):
                self._wake.wait()
                self._wake.clear()
                self._turn()
            self._screen.close()
        except OSError:
            self.gone = True
        except Exception as fault:
            self.fault = fault
        self._ended.set()

    def _idle(self) -> bool:
        return not (self._said or self._pictures or self._bells)

    def _turn(self) -> None:
        while self._said:
            self._screen.say(self._said.popleft())
        while self._pictures:
            self._screen.show(self._pictures.popleft())
        while self._bells:
            if time.monotonic() - self._bells.popleft() < LATE_BELL_S:
                self._screen.ring()
