"""What every step of a replay has: where it stands, the way out of it by stop, and the end."""

from collections import deque
from collections.abc import Callable, Iterator
from enum import Enum

from ..stream.wire import STOP, Frame
from . import words
from .conversation import Conversation
from .places import Ladders, Place, Shelf
from .run import Ending, Identity, Run

LEAD_MS, LATE_MS = 400, 100
"""A ball is agreed so long ahead; with less than the second left it is not sent at all: nothing is ever caught up."""
FIRST_MS = 200
OVERDUE_MS = 150
AWAY_S = 1.0
"""A gap in the clock, from sleep or a stopped process, after which nothing goes on by itself."""
STOP_AGAIN_S, STOP_FOR_S = 0.05, 1.5
DRILL_S, WARM_S = 0.8, 0.3


class Phase(Enum):
    GREETING = "greeting"
    PROVING = "proving that stop is heard"
    DRILL = "going quiet on purpose"
    READY = "ready to arm"
    ASKING = "asking to arm"
    ANSWERING = "waiting for the answer"
    LIVE = "live"
    WATCHING = "watching the last ball"
    STOPPING = "stopping"
    ENDED = "ended"


class Halt(Enum):
    """Why nothing is live while a person may arm."""

    START = "nothing was played yet"
    PAUSED = "paused"
    PART_PLAYED = "this part is played"
    SKIPPED = "skipped"
    HELD = "held"

    @classmethod
    def of(cls, why: str, before: "Halt") -> "Halt":
        known = {"paused": cls.PAUSED, "this part is played": cls.PART_PLAYED, words.SKIPPED: cls.SKIPPED}
        return known.get(why, before if "nothing is armed" in why or "once more" in why or not why else cls.HELD)


class LinkLost(Exception):
    """The line is gone, in one sentence."""


class Flow:
    """State and stop. What leads forward is in opening.py and host.py; `_heard` and `_ask_fate` are theirs."""

    def __init__(
        self, write: Callable[[bytes], None], identity: Identity, fp: str, shelf: Shelf, runs: Iterator[Run],
        *, nonce: str, warning_ms: int = 10_000, unchanged: Callable[[], bool] = lambda: True,
    ) -> None:  # fmt: skip
        self._write, self._identity, self._fp, self.shelf = write, identity, fp, shelf
        self._runs, self._warning, self._unchanged = runs, warning_ms, unchanged
        self.talk = Conversation(write, nonce, self._heard)
        self.ladders = Ladders(shelf)
        self.phase, self.since = Phase.GREETING, 0.0
        self.messages: deque[str] = deque(maxlen=50)
        self.said = 0
        self.run = next(runs)
        self.next = 0
        """Index of the place that comes next in the run."""
        self.last = 0
        """Index after the last place that is armed."""
        self.question = ""
        self.not_before = 0
        self.counts = {"gone": 0, "missed": 0, "hit": 0, "miss": 0}
        self.last_gone: Place | None = None
        self.ending: Ending | None = None
        self.why = ""
        self.halt = Halt.START
        self._marked = False
        self._first: Place | None = None
        self._shot = ""
        self._aimed = False
        """Whether wheels and head were told of the ball that is next."""
        self._in_doubt: Place | None = None
        self._handed: Place | None = None
        self._wish = ""
        self._held = ""
        self._begun = False
        self.quiet_shown = False
        self.told = False
        self._stop_at = self._until = 0.0
        self._code, self._confirmed = 0, False
        self._seen: float | None = None

    def stop(self, now: float, why: str, code: int) -> None:
        """From any state: ticks cease at once, then the stop byte until it is confirmed or time is up."""
        if self.phase in (Phase.STOPPING, Phase.ENDED):
            return
        self.talk.tick(False, now)
        self.talk.forget()
        self._wish = ""
        self.why, self._code = why, code
        self._enter(now, Phase.STOPPING)
        self._stop_at, self._until = now, now + STOP_FOR_S
        self._send_stop(now)

    def _heard(self, now: float, event: Frame) -> None:
        raise NotImplementedError

    def _ask_fate(self, now: float) -> None:
        raise NotImplementedError

    # ---- stop and end

    def _send_stop(self, now: float) -> None:
        if now >= self._until:
            if self.phase is Phase.PROVING and not self.talk.busy:
                self.stop(now, "The machine did not say that it stopped: stop is not proven", 3)
            elif self.phase is Phase.STOPPING:
                self._end(now)
        elif now >= self._stop_at and not (self.phase is Phase.PROVING and self.talk.busy):
            self._stop_at = now + STOP_AGAIN_S
            try:
                self._write(bytes([STOP]) * 3)
            except LinkLost as lost:
                if self.phase is Phase.PROVING:
                    self.stop(now, str(lost), 3)

    def _on_stopped(self, now: float) -> None:
        if not self._confirmed:
            self._confirmed = True
            self._until = now + STOP_FOR_S
            if self._in_doubt:
                self._ask_fate(now)
            else:
                self._leave(now)

    def _leave(self, now: float) -> None:
        if self._confirmed and not self.talk.busy:
            self.talk.ask(now, "bye", {}, lambda at, answer: self._end(at), tries=2)

    def _end(self, now: float) -> None:
        doubt = self._in_doubt
        if doubt:
            self._kept(now, lambda: self.run.record.fate(doubt.number, "unknown"))
        code = self._code if self._confirmed or self._code else 3
        gone = self.last_gone.number if self.last_gone else None
        self.ending = Ending(code, self.why, self._confirmed, gone, doubt.number if doubt else None)
        self.talk.forget()
        self._enter(now, Phase.ENDED)

    # ---- small

    def _guarded(self, now: float, act: Callable[[], None]) -> None:
        try:
            act()
        except LinkLost as lost:
            self.stop(now, str(lost), 3)

    def _kept(self, now: float, write: Callable[[], None]) -> bool:
        """Into the record; without a record nothing goes on."""
        try:
            write()
        except OSError as error:
            self.stop(now, f"The record cannot be written ({error.strerror or error})", 3)
            return False
        return True

    def _enter(self, now: float, phase: Phase) -> None:
        self.phase, self.since = phase, now

    def say(self, text: str) -> None:
        self.messages.append(text)
        self.said += 1
