"""What phones ask, done once and in order. No socket, no thread, no clock of its own.

A phone numbers its asks and repeats each until it is told that it was done, over lost answers and reloads. An ask that
was done is never done again, so a repeat cannot mark twice or change what the keyboard marked meanwhile. `Stoppable` is
all of a replay that can be reached from here: it has nothing that arms, answers, goes on, skips or chooses.
"""

from collections import deque
from dataclasses import dataclass, field
from typing import Protocol

from ...log.progress import Verdict
from ..replay.flow import RunPhase
from ..replay.state import State
from . import words
from .asks import MARKS, Ask, PhoneAsk
from .door import Phone

SILENT_S = 1.0
"""A guard that was not heard for so long is lost."""
MOST_UNDONE = 50


class Stoppable(Protocol):
    phase: RunPhase
    state: State

    def stop(self, now: float, why: str, code: int) -> None: ...
    def pause(self, now: float, why: str = ...) -> None: ...
    def mark(self, now: float, hit: bool | None, nth: int | None = None) -> None: ...
    def say(self, text: str) -> None: ...


@dataclass(frozen=True, slots=True)
class PhoneMark:
    """A mark that a phone made: on which ball, what, and what stood there before."""

    ball: int
    verdict: Verdict
    before: Verdict


@dataclass(slots=True)
class Desk:
    """What is known of a phone: its last ask that was done, what became of the last few, and what it can undo."""

    phone: Phone
    seen_s: float
    done: int = 0
    became: deque[tuple[int, str]] = field(default_factory=lambda: deque(maxlen=8))
    marks: deque[PhoneMark] = field(default_factory=lambda: deque(maxlen=MOST_UNDONE))

    def told(self) -> dict[str, object]:
        """For the phone itself."""
        return {"done": self.done, "became": list(self.became), "undo": bool(self.marks)}


class Board:
    def __init__(self, host: Stoppable, guard: bool = False) -> None:
        """`guard`: play only while every phone that joined is heard, and at least one is."""
        self._host, self._guard = host, guard
        self.desks: dict[int, Desk] = {}

    def joined(self, now: float, phone: Phone) -> None:
        self.desks[phone.number] = Desk(phone, now)

    def sent_away(self, number: int) -> None:
        self.desks.pop(number, None)

    def stop(self, now: float, phone: Phone) -> None:
        """From any state, before anything else, and however often it is asked."""
        if not phone.watches:
            self._host.stop(now, f"Stopped by {phone.name}", 0)

    def heard(self, now: float, phone: Phone, asks: tuple[PhoneAsk, ...]) -> None:
        """An exchange of a phone arrived; asks that were done, or whose turn has not come, change nothing."""
        desk = self.desks.get(phone.number)
        if desk is None or desk.phone != phone:  # it was sent away, and another may have its number
            return
        desk.seen_s = max(desk.seen_s, now)
        if phone.watches:
            return
        for asked in asks:
            if asked.number == desk.done + 1:
                desk.done = asked.number
                desk.became.append((asked.number, self._do(now, desk, asked)))

    def silent(self, now: float) -> list[Phone]:
        """The phones that guard and are not heard."""
        return [desk.phone for desk in self._guards() if now - desk.seen_s > SILENT_S]

    def watch(self, now: float) -> None:
        """Pause if the link to a phone that guards is lost, or none guards. Call it often."""
        state = self._host.state
        if not self._guard or self._host.phase is not RunPhase.LIVE or state.wish or state.held:
            return
        if not self._guards():
            self._host.pause(now, words.NO_GUARD)
        elif silent := self.silent(now):
            self._host.pause(now, words.lost(silent[0].name))

    def _guards(self) -> list[Desk]:
        return [desk for desk in self.desks.values() if not desk.phone.watches]

    def _do(self, now: float, desk: Desk, asked: PhoneAsk) -> str:
        """Do an ask; what became of it, for the phone."""
        if self._host.phase is RunPhase.ENDED:
            return words.TOO_LATE
        if asked.ask is Ask.PAUSE:
            if self._host.phase is not RunPhase.LIVE:
                return words.NOT_LIVE
            self._host.pause(now, f"paused by {desk.phone.name}")
            return words.PAUSING
        return self._undo(now, desk) if asked.ask is Ask.UNDO else self._mark(now, desk, asked)

    def _mark(self, now: float, desk: Desk, asked: PhoneAsk) -> str:
        thrown = self._host.state.thrown
        if asked.ball > len(thrown):
            return words.NO_BALL
        hit, ball = MARKS[asked.ask], thrown[asked.ball - 1]
        desk.marks.append(PhoneMark(asked.ball, Verdict.HIT if hit else Verdict.MISS, ball.verdict))
        self._host.mark(now, hit, asked.ball)
        return words.marked(ball.ball.number, hit)

    def _undo(self, now: float, desk: Desk) -> str:
        if not desk.marks:
            return words.NOTHING_TO_UNDO
        last = desk.marks.pop()
        ball = self._host.state.thrown[last.ball - 1]
        if ball.verdict is not last.verdict:
            return words.changed(ball.ball.number)
        before = {Verdict.HIT: True, Verdict.MISS: False}.get(last.before)
        self._host.mark(now, before, last.ball)
        return words.undone(ball.ball.number)
