"""The loop that joins line, host, keys and screen. Nothing in it waits longer than a few milliseconds."""

import contextlib
import gc
import signal
import time
from collections.abc import Callable, Iterator
from types import TracebackType
from typing import Protocol

from .flow import LinkLost, Phase
from .keys import CLICKER
from .link import Link
from .picture import Playing, picture
from .run import Ending
from .screen import Bells, Screen

TURN_S, SHOW_S = 0.004, 0.1
INTERRUPTED = 130


class Host(Playing, Protocol):
    said: int

    @property
    def messages(self) -> "object": ...
    def start(self, now: float) -> None: ...
    def received(self, now: float, data: bytes) -> None: ...
    def step(self, now: float) -> None: ...
    def lost(self, now: float, why: str) -> None: ...
    def stop(self, now: float, why: str, code: int) -> None: ...
    def arm(self, now: float) -> None: ...
    def answer(self, now: float, text: str) -> None: ...
    def pause(self, now: float) -> None: ...
    def skip(self, now: float) -> None: ...
    def mark(self, now: float, hit: bool | None) -> None: ...


class Keyboard(Protocol):
    gone: bool

    def __enter__(self) -> object: ...
    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None: ...

    def read(self, wait: float) -> list[str]: ...
    def forget(self) -> None: ...


def clock() -> float:
    """Seconds that go on while the computer sleeps, where the system has such a clock."""
    kind = getattr(time, "CLOCK_BOOTTIME", None)
    return time.monotonic() if kind is None else time.clock_gettime(kind)


class Sitting:
    def __init__(
        self, host: Host, link: Link, keys: Keyboard, screen: Callable[[], Screen], bells: Bells, marks: bool
    ) -> None:
        self._host, self._link, self._keys, self._open_screen, self._bells = host, link, keys, screen, bells
        self._marks, self._typed, self._said, self._shown = marks, "", 0, 0.0
        self._phase: Phase | None = None
        self.signalled = 0

    def play(self) -> Ending:
        """From hello to the end; the host's own stop runs to its end whatever is pressed meanwhile."""
        host = self._host
        # Signals first: from here on none can leave the terminal as the keys or the screen need it.
        with _signals(self._signal), self._keys, contextlib.closing(self._open_screen()) as self._screen, _still():
            try:
                host.start(clock())
                while host.ending is None:
                    self._turn(clock())
            except BaseException as error:
                # A fault of this program: stop first, then let it be known.
                host.stop(clock(), f"A fault in the program itself ({type(error).__name__})", 3)
                while host.ending is None:
                    self._line(clock())
                    host.step(clock())
                    time.sleep(TURN_S)
                raise
        return host.ending

    def _signal(self, number: int) -> None:
        self.signalled = number

    def _turn(self, now: float) -> None:
        host = self._host
        if self.signalled:
            host.stop(now, "Interrupted", INTERRUPTED)
        self._line(now)
        host.step(clock())
        for key in self._keys.read(TURN_S):
            self._press(clock(), key)
        if self._keys.gone:
            host.stop(clock(), "The keyboard is gone", 3)
        if now - self._shown >= SHOW_S or host.phase is not self._phase:
            self._show(now)

    def _line(self, now: float) -> None:
        try:
            data = self._link.read()
        except LinkLost as lost:
            self._host.lost(now, str(lost))
            return
        if data:
            self._host.received(now, data)

    def _show(self, now: float) -> None:
        host = self._host
        if host.phase is Phase.ANSWERING and self._phase is not Phase.ANSWERING:
            self._keys.forget()
            self._typed = ""
        self._phase, self._shown = host.phase, now
        shown = picture(host, now, self._typed)
        try:
            new = list(host.messages)[len(host.messages) - (host.said - self._said) :]  # type: ignore[call-overload,arg-type]
            for text in new:
                self._screen.say(text)
            self._said = host.said
            self._screen.show(shown)
            self._bells.hear(shown.seconds)
        except OSError:
            host.stop(now, "The screen is gone", 3)

    def _press(self, now: float, key: str) -> None:
        host = self._host
        if key in ("space", "escape"):
            host.stop(now, "Stopped by the player", 0)
        elif key in CLICKER and not self._marks:
            host.stop(now, "Stopped by a key", 0)
        elif host.phase is Phase.ANSWERING:
            self._type(now, key)
        elif key in ("a", "enter") and host.phase is Phase.READY:
            host.arm(now)
        elif key == "p":
            host.pause(now)
        elif key == "n":
            host.skip(now)
        elif key in ("h", "m") or key in CLICKER:
            host.mark(now, key in ("h", "page down", "right", "down"))

    def _type(self, now: float, key: str) -> None:
        if key == "enter":
            self._host.answer(now, self._typed)
        elif key == "backspace":
            self._typed = self._typed[:-1]
        elif len(key) == 1 and len(self._typed) < 4:
            self._typed += key
        self._shown = 0.0


@contextlib.contextmanager
def _signals(note: Callable[[int], None]) -> Iterator[None]:
    """Signals are noted and nothing else: a second ^C must not cut off the stop that the first one began."""
    names = [name for name in ("SIGINT", "SIGTERM", "SIGHUP") if hasattr(signal, name)]
    before = {name: signal.signal(getattr(signal, name), lambda number, frame: note(number)) for name in names}
    try:
        yield
    finally:
        for name, handler in before.items():
            signal.signal(getattr(signal, name), handler)


@contextlib.contextmanager
def _still() -> Iterator[None]:
    """No garbage collection in the middle of a launch."""
    gc.collect()
    gc.freeze()
    gc.disable()
    try:
        yield
    finally:
        gc.enable()
        gc.unfreeze()
