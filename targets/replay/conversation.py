"""The host's side of the line: one numbered line at a time, the same bytes again until answered, ticks, the device's
clock. What is said and when is decided elsewhere (host.py); the clock is handed in."""

from collections.abc import Callable
from dataclasses import dataclass

from ..stream.wire import DEVICE, HOST, LONGEST, NO_SESSION, Frame, Kind, Splitter, decode, encode

TICK_S = 0.1
AGAIN_S = 0.13
TRIES = 4
DRIFT = 0.0005
"""More than two quartz clocks can differ by."""

Answered = Callable[[float, Frame | None], None]
"""Told the answer, or None where none came."""


@dataclass(slots=True)
class Asked:
    verb: str
    number: int
    line: bytes
    again_at: float
    tries: int
    every: float
    answered: Answered


class Conversation:
    def __init__(self, write: Callable[[bytes], None], nonce: str, on_event: Callable[[float, Frame], None]) -> None:
        self._write, self._nonce, self._on_event = write, nonce, on_event
        self._splitter = Splitter(LONGEST[DEVICE])
        self._session, self._number, self._word = NO_SESSION, 1, ""
        self._asked: Asked | None = None
        self._tick_at: float | None = None
        self._ticks = self._saw = 0
        self._ms, self._ms_at = 0, 0.0
        self._offset: float | None = None
        self.state = ""
        """The device's own, by its newest tock."""
        self.other_session = False
        """Whether the device was heard to be in another session: it was reset, or another host came."""

    def clock(self, now: float) -> float:
        """The device's ms, behind by no more than the quickest tock of late was on the way."""
        return self._offset + now * 1000 if self._offset is not None else 0.0

    @property
    def busy(self) -> bool:
        return self._asked is not None

    # ---- out

    def ask(
        self, now: float, verb: str, values: dict[str, object], answered: Answered, tries: int = TRIES,
        every: float = AGAIN_S,
    ) -> None:  # fmt: skip
        """Send a numbered line; the same bytes again until it is answered or has been sent `tries` times."""
        assert self._asked is None
        line = encode(HOST, self._session, self._number, verb, values)
        self._asked = Asked(verb, self._number, line, now + every, tries - 1, every, answered)
        self._number += 1
        self._write(line)

    def hello(self, now: float, version: int, answered: Answered) -> None:
        """Tried for long: opening a port may have reset the device, and it wakes first."""
        self.ask(now, "hello", {"n": self._nonce, "v": version}, answered, tries=20, every=0.3)

    def forget(self, verb: str | None = None) -> None:
        """What was asked is not asked again, and its answer not waited for; with a verb, only if that was asked."""
        if self._asked and verb in (None, self._asked.verb):
            self._asked = None

    def tick(self, on: bool, now: float) -> None:
        self._tick_at = (self._tick_at if self._tick_at is not None else now) if on else None

    def step(self, now: float) -> None:
        if self._tick_at is not None and now >= self._tick_at and self._word:
            self._tick_at = now + TICK_S
            self._ticks = (self._ticks + 1) % 1000
            self._write(encode(HOST, self._session, 0, "tick", {"k": self._word, "q": self._ticks, "saw": self._saw}))
        asked = self._asked
        if asked and now >= asked.again_at:
            if asked.tries == 0:
                self._asked = None
                asked.answered(now, None)
            else:
                asked.tries -= 1
                asked.again_at = now + asked.every
                self._write(asked.line)

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
        if frame.word == "hi" and self._session == NO_SESSION:
            if frame.values.get("n") != self._nonce:
                return  # from a session that has ended
            self._session = frame.session
            self._note(now, frame, "state")
        strange = frame.word == "no" and frame.values.get("why") in ("old-session", "asleep")
        if frame.session != self._session:
            # A late line of an older session is nothing; a refusal says that the device is in no session of ours.
            self.other_session |= strange and self._session != NO_SESSION
            return
        if strange:
            return  # the answer to somebody else's line, though its number may be ours
        if frame.word == "tock":
            self._note(now, frame, "st")
        elif frame.number == 0:
            self._event(now, frame)
        elif self._asked and frame.number == self._asked.number:
            answered, self._asked = self._asked.answered, None
            answered(now, frame)

    def _note(self, now: float, frame: Frame, state: str) -> None:
        ms = frame.natural("t")
        if ms is None or ms < self._ms:
            return  # kept back by the line: older than what is known
        # A tock that waited in a buffer says nothing of the time now: the quickest counts, less what clocks may drift.
        seen, known = ms - now * 1000, self._offset
        drifted = known - DRIFT * (now - self._ms_at) * 1000 if known is not None else seen
        self._offset = max(seen, drifted)
        self._ms, self._ms_at = ms, now
        self._word, self.state = frame.values.get("k", self._word), frame.values.get(state, "")

    def _event(self, now: float, frame: Frame) -> None:
        number = frame.natural("ev")
        if number is not None and number > self._saw:
            self._saw = number
            self._on_event(now, frame)
