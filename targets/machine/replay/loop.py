"""The loop that joins line, host, keys and screen. Nothing in it waits longer than a few milliseconds: the disk, the
log and the terminal, which may be slow, have threads of their own (writer.py, display.py)."""

import contextlib
import gc
import signal
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import Protocol

from .bells import Bells
from .brake import Brake, pull
from .display import Display
from .flow import LinkLost, RunPhase
from .keyboard import Keyboard
from .keys import BACK, CLICKER, FORWARD
from .link import Link
from .picture import Heard, Picture, Playing, Sound, heard, picture
from .run import UNCONFIRMED, Ending
from .screen import LiveScreen

TURN_S, SHOW_S = 0.004, 0.1
MOST_BYTES = 1024
"""Most bytes of the line handed to the host at once, so that noise never keeps a key waiting."""
TWICE_S = 0.6
"""The same key of a clicker again within this time is Stop: pressed twice, or held down."""
PAGE_S = 0.5
"""A page shown for less time was not read."""
SWITCH_S = 0.001
"""Longest time that another thread may keep the interpreter (sys.setswitchinterval)."""
FAULT, INTERRUPTED = 5, 130
UNKNOWN_BALL = "A ball that was on its way counts as thrown."


class LiveHost(Playing, Protocol):
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


class Beside(Protocol):
    """Phones beside the replay. Nothing in it waits."""

    @property
    def keys(self) -> tuple[str, ...]:
        """Further keys, for the screen."""
        ...

    @property
    def card(self) -> Picture | None:
        """What is shown in place of the replay, until a key closes it."""
        ...

    def took(self, key: str) -> bool:
        """Whether a key closed it, or was the answer to another."""
        ...

    def turn(self, now: float) -> None: ...
    def pressed(self, now: float, key: str) -> None: ...


def clock() -> float:
    """Seconds that also count while the computer sleeps, if the system has such a clock."""
    kind = getattr(time, "CLOCK_BOOTTIME", None)
    return time.clock_gettime(kind) if kind is not None else time.monotonic()


class Loop:
    """`fault` is the error in the program itself, None if there was none."""

    def __init__(
        self, host: LiveHost, link: Link, brake: Brake, keys: Keyboard, screen: Callable[[], LiveScreen], *,
        bells: bool = True, marks: bool = False, phones: Beside | None = None,
    ) -> None:  # fmt: skip
        self._phones = phones
        self._host, self._link, self._brake, self._keys, self._open_screen = host, link, brake, keys, screen
        self._bells, self._loud, self._marks = Bells(), bells, marks
        self._typed, self._said, self._shown, self._page = "", 0, 0.0, 0
        self._phase: RunPhase | None = None
        self._since = self._turned = 0.0
        self._heard = Heard(None, 0.0, None)
        self._clicked: tuple[str, float] = "", 0.0
        self._display: Display | None = None
        self._signals: list[int] = []
        self.fault: BaseException | None = None

    def play(self) -> Ending:
        """From hello to the end. Once begun, the host's stop runs to its end, whatever is pressed. Raises nothing:
        after any failure the machine is stopped, and the ending says whether it confirmed that."""
        begun, ending = False, None
        # Signals first: from here on no signal can skip the restoring of the terminal.
        with _signals(self._signals.append), contextlib.ExitStack() as opened:
            try:
                opened.enter_context(self._keys)
                self._display = Display(self._open_screen())
                opened.enter_context(_still())
                begun = True
                self._host.start(clock())
                while self._host.ending is None:
                    self._turn(clock())
                ending = self._host.ending
                if self._phones is not None:
                    self._phones.turn(clock())  # phones see the end, too
                self._show(clock())
            except BaseException as fault:
                self.fault = fault
                if ending is None:
                    ending = self._failed(fault, begun)
            self._ring_out()
        return ending

    def _failed(self, fault: BaseException, begun: bool) -> Ending:
        """Neither the host nor the screen can be trusted now. The record holds every ball that was sent."""
        stopped = pull(self._brake, self._link) if begun else None
        gone = getattr(getattr(self._host, "last_gone", None), "number", None)
        why = f"A fault in the program itself ({type(fault).__name__})"
        code = FAULT if stopped is not False else UNCONFIRMED
        if self._display is not None:
            giant = ("STOPPED",) if stopped else ("NOT", "CONFIRMED")
            self._display.show(Picture("Ended", giant, None, (), (why,), "", (), alarm=True))
        self._heard = Heard(None, 0.0, Sound.STOP)
        return Ending(code, why, stopped, gone, None, UNKNOWN_BALL if begun else "")

    def _ring_out(self) -> None:
        """The last bells and the last output. If the terminal accepts nothing, wait until it does or a signal comes, so
        that no message is lost."""
        if self._display is None:
            return
        signals = len(self._signals)
        with contextlib.suppress(Exception):
            self._ring(clock())
            while self._loud and not self._bells.over and len(self._signals) == signals:
                if self._keys.read(TURN_S):
                    break
                self._ring(clock())
        while not self._display.close(0.05) and len(self._signals) == signals:
            pass

    def _turn(self, now: float) -> None:
        host = self._host
        if self._signals:
            if self._signals[0] == signal.SIGINT:
                host.stop(now, "Stopped by the player", 0)
            else:
                host.stop(now, "Interrupted", INTERRUPTED)
        self._hands(TURN_S)
        if self._keys.gone:
            host.stop(clock(), "The keyboard is gone", 3)
        self._line(clock())
        host.step(clock())
        self._hear(clock())
        if now - self._shown >= SHOW_S or host.phase is not self._phase:
            self._show(clock())

    def _line(self, now: float) -> None:
        try:
            data = self._link.read()
        except LinkLost as lost:
            self._host.lost(now, str(lost))
            return
        for at in range(0, len(data), MOST_BYTES):
            self._host.received(clock(), data[at : at + MOST_BYTES])
            if at + MOST_BYTES < len(data):
                self._hands(0.0)

    def _hands(self, wait_s: float) -> None:
        """What people ask, at the keyboard and on their phones."""
        for key in self._keys.read(wait_s):
            self._press(clock(), key)
        if self._phones is not None:
            self._phones.turn(clock())

    # ---- what is shown and heard

    def _show(self, now: float) -> None:
        host, display = self._host, self._display
        assert display is not None
        if host.phase is not self._phase:
            if host.phase is RunPhase.ANSWERING:
                self._keys.forget()
                self._typed = ""
            self._since = self._turned = now
            self._page = 0
        self._phase, self._shown = host.phase, now
        new = list(host.messages)[len(host.messages) - (host.said - self._said) :]  # type: ignore[call-overload,arg-type]
        for text in new:
            display.say(text)
        self._said = host.said
        display.show(self._picture(now))
        if display.gone:
            host.stop(now, "The screen is gone", 3)
        elif display.fault is not None:
            raise display.fault

    def _picture(self, now: float) -> Picture:
        made = picture(self._host, now, self._typed, self._since, self._page)
        if self._phones is None or self._host.phase in (RunPhase.ANSWERING, RunPhase.ENDED):
            return made
        if self._phones.card is not None:
            return self._phones.card
        return replace(made, keys=(*made.keys[:-1], *self._phones.keys, made.keys[-1]))

    def _hear(self, now: float) -> None:
        self._heard = heard(self._host, now, self._since)
        self._ring(now)

    def _ring(self, now: float) -> None:
        if self._bells.hear(now, self._heard) and self._loud and self._display is not None:
            self._display.ring()

    # ---- keys

    def _press(self, now: float, key: str) -> None:
        host = self._host
        if key in ("space", "escape"):
            host.stop(now, "Stopped by the player", 0)
        elif key in CLICKER:
            self._click(now, key)
        elif host.phase is RunPhase.ANSWERING:
            self._type(now, key)
        elif self._phones is not None and self._phones.took(key):
            self._shown = 0.0
        elif host.phase is RunPhase.READY and key in ("a", "enter"):
            self._read_on(now)
        elif host.phase is RunPhase.READY and key == "backspace":
            self._page, self._shown = max(0, self._page - 1), 0.0
        elif key == "p":
            host.pause(now)
        elif key == "n":
            host.skip(now)
        elif key in ("h", "m", "u"):
            host.mark(now, {"h": True, "m": False}.get(key))
        elif self._phones is not None:
            self._phones.pressed(now, key)

    def _click(self, now: float, key: str) -> None:
        """The clicker may be in a pocket: a press that is not certainly a mark is Stop."""
        before, at = self._clicked
        self._clicked = key, now
        if not self._marks or key not in FORWARD | BACK or (key == before and now - at < TWICE_S):
            self._host.stop(now, "Stopped by the clicker", 0)
        else:
            self._host.mark(now, key in FORWARD)

    def _read_on(self, now: float) -> None:
        """Show the next page that must be read; on the last page, arm."""
        assert self._display is not None
        pages = self._display.pages(self._picture(now))
        if self._page + 1 >= pages:
            self._host.arm(now)
        elif now - self._turned >= PAGE_S:
            self._page, self._turned, self._shown = min(self._page, pages - 1) + 1, now, 0.0

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
    """Only note signals: a second ^C must not interrupt the stop that the first one began."""
    names = [name for name in ("SIGINT", "SIGTERM", "SIGHUP", "SIGBREAK") if hasattr(signal, name)]
    before = {name: signal.signal(getattr(signal, name), lambda number, frame: note(number)) for name in names}
    try:
        yield
    finally:
        for name, handler in before.items():
            signal.signal(getattr(signal, name), handler)


@contextlib.contextmanager
def _still() -> Iterator[None]:
    """No garbage collection during a launch, and no thread that keeps the interpreter for long."""
    before = sys.getswitchinterval()
    gc.collect()
    gc.freeze()
    gc.disable()
    sys.setswitchinterval(SWITCH_S)
    try:
        yield
    finally:
        sys.setswitchinterval(before)
        gc.enable()
        gc.unfreeze()
