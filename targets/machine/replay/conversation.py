"""The host's side of the line: one numbered line at a time, repeated with the same bytes until answered; ticks; the
device's clock. protocol.py decides what is sent and when; the caller supplies the clock."""

from collections.abc import Callable
from dataclasses import dataclass

from ..wire.frames import DEVICE, HOST, LONGEST, NO_SESSION, Frame, Kind, Splitter, decode, encode
from .clocks import Clocks
from .events import Answer, Event, Hi, Nonsense, Silence, answer, event, tock

TICK_S = 0.1
AGAIN_S = 0.13
TRIES = 4
TICKS_KEPT = 50
"""How many sent ticks to remember, for the tocks that still come."""

Answered = Callable[[float, Answer], None]


@dataclass(slots=True)
class Asked:
    verb: str
    number: int
    line: bytes
    sent: float
    again_at: float
    tries: int
    every: float
    answered: Answered


class Conversation:
    def __init__(
        self, write: Callable[[bytes], None], nonce: str, on_event: Callable[[float, Event], None],
        on_nonsense: Callable[[float, Nonsense], None],
    ) -> None:  # fmt: skip
        self.write, self._nonce, self._on_event, self._on_nonsense = write, nonce, on_event, on_nonsense
        self._splitter = Splitter(LONGEST[DEVICE])
        self._session, self._number, self._word = NO_SESSION, 1, ""
        self._asked: Asked | None = None
        self._tick_at: float | None = None
        self._ticks = self._saw = self._ms = 0
        self._sent: dict[int, float] = {}
        """When each tick was sent that no tock has answered yet."""
        self.clocks = Clocks()
        self.state = ""
        """The device's state, from its newest tock."""
        self.other_session = False
        """Whether the device spoke from another session: it was reset, or another host came."""

    @property
    def busy(self) -> bool:
        return self._asked is not None

    @property
    def greeted(self) -> bool:
        return self._session != NO_SESSION

    # ---- out

    def ask(
        self, now: float, verb: str, values: dict[str, object], answered: Answered, tries: int = TRIES,
        every: float = AGAIN_S,
    ) -> None:  # fmt: skip
        """Send a numbered line, and the same bytes again until an answer comes or it was sent `tries` times. This
        replaces the line asked before."""
        line = encode(HOST, self._session, self._number, verb, values)
        self._asked = Asked(verb, self._number, line, now, now + every, tries - 1, every, answered)
        self._number += 1
        self.write(line)

    def hello(self, now: float, version: int, answered: Answered) -> None:
        """Keep trying: opening a port may have reset the device, and it needs time to wake."""
        self.ask(now, "hello", {"n": self._nonce, "v": version}, answered, tries=20, every=0.3)

    def forget(self, verb: str | None = None) -> None:
        """Do not repeat the last line or wait for its answer; with `verb`, only if the line had that verb."""
        if self._asked and verb in (None, self._asked.verb):
            self._asked = None

    def tick(self, on: bool, now: float) -> None:
        self._tick_at = (self._tick_at if self._tick_at is not None else now) if on else None

    def step(self, now: float) -> None:
        if self._tick_at is not None and now >= self._tick_at and self._word:
            self._tick_at = now + TICK_S
            self._ticks = (self._ticks + 1) % 1000
            self._sent[self._ticks] = now
            self._sent.pop((self._ticks - TICKS_KEPT) % 1000, None)
            self.write(encode(HOST, self._session, 0, "tick", {"k": self._word, "q": self._ticks, "saw": self._saw}))
        asked = self._asked
        if asked and now >= asked.again_at:
            if asked.tries == 0:
                self._asked = None
                asked.answered(now, Silence())
            else:
                asked.tries -= 1
                asked.again_at = now + asked.every
                self.write(asked.line)

    def due(self) -> float | None:
        moments = [m for m in (self._tick_at, self._asked.again_at if self._asked else None) if m is not None]
        return min(moments, default=None)

    # ---- in

    def received(self, now: float, data: bytes) -> None:
        for kind, line in self._splitter.feed(data):
            frame = decode(DEVICE, line) if kind is Kind.LINE else None
            if frame:
                self._take(now, frame)

    def _take(self, now: float, frame: Frame) -> None:
        if frame.word == "hi" and self._session == NO_SESSION and frame.values.get("n") == self._nonce:
            self._session = frame.session
        strange = frame.word == "no" and frame.values.get("why") in ("old-session", "asleep")
        if frame.session != self._session:
            # A late line of an older session means nothing; a refusal means that the device has left our session.
            self.other_session |= strange and self._session != NO_SESSION
        elif strange or (frame.word == "no" and frame.number == 0):
            pass  # answers another host's line, even if the number matches ours; or a line that arrived damaged
        elif self._asked and frame.number == self._asked.number:
            asked, self._asked = self._asked, None
            said = answer(asked.verb, frame)
            if isinstance(said, Hi):
                self._word, self.state = said.word, said.state
                self._ms = said.ms
                self.clocks.note(asked.sent, now, said.ms)
            asked.answered(now, said)
        elif frame.number == 0 and frame.word == "tock":
            self._tock(now, frame)
        elif frame.number == 0:
            self._event(now, frame)

    def _tock(self, now: float, frame: Frame) -> None:
        said = tock(frame)
        if isinstance(said, Nonsense):
            return self._on_nonsense(now, said)
        sent = self._sent.pop(said.tick, None)
        if said.ms <= self._ms:
            return  # delayed on the line: older than the newest tock
        self._ms, self._word, self.state = said.ms, said.word, said.state
        if sent is not None:
            self.clocks.note(sent, now, said.ms)

    def _event(self, now: float, frame: Frame) -> None:
        said = event(frame)
        if isinstance(said, Nonsense):
            return self._on_nonsense(now, said)
        number, happened = said
        if number > self._saw:
            self._saw = number
            self._on_event(now, happened)
