"""What a machine does by itself: its clock, the gates before a launch, the launch, its log.

World time is in seconds; the machine's own clock is in ms since it woke, with a drift of its own. Everything it does
goes into `log` as plain facts. Tests judge by these facts and never by what the machine says.
"""

from collections import deque
from collections.abc import Callable
from dataclasses import dataclass, field
from random import Random
from typing import NamedTuple

from ....compiler.model.device import KEYS, Limits, Settings
from ..wire import rules
from ..wire.frames import DEVICE, HOST, LONGEST, NO_SESSION, Frame, Splitter, encode

NOTHING_THROWN = "0" * 16
UNSENT = 2048
"""Bytes kept for a host that does not read; more are dropped, and the device never waits."""


class OrderedBall(NamedTuple):
    number: int
    at: int
    settings: Settings


class Fact(NamedTuple):
    """At a second of the world: line (a frame with the right number), tick, stop, issued, state, no, armed, agreed,
    drop, throw; alone is a launch that nobody asked for."""

    now: float
    what: str
    about: tuple[object, ...]


@dataclass(slots=True)
class LinkSession:
    word: str
    hello: bytes
    hi: bytes = b""
    next: int = 2
    last_line: bytes = b""
    last_answer: bytes = b""
    issued: deque[tuple[str, float]] = field(default_factory=lambda: deque(maxlen=8))
    fresh: float = 0.0
    """When the newest word that a tick brought back was issued."""
    proven: bool = False
    question: tuple[str, float, "Arm"] | None = None
    events: int = 0


class Arm(NamedTuple):
    fp: str
    run: str
    first: int
    last: int


@dataclass(slots=True)
class Faults:
    """Faults of the machine itself, to be switched on."""

    mute: bool = False
    jam_at: int | None = None
    reset_at: int | None = None
    """It resets at the moment of this ball, once."""
    hopper: int | None = None
    wheels_ms: float = 0.0
    forget: bool = False
    """It loses the last ball when it resets."""
    other_id: str | None = None
    other_limits: str | None = None
    invents: bool = False
    """It reports a ball that nobody sent."""
    throws_again: bool = False
    """It throws each ball a second time 200 ms later, with an event of its own."""
    after_stop: bool = False
    """200 ms after it said that it stopped, it throws the ball that was on its way and reports it."""
    early_ms: float = 0.0
    """How long before the agreed moment it throws."""
    walk_time: float = 1.0
    """The share of the walk time that it keeps."""
    not_before: int | None = None
    """What it says instead of its own not-before."""
    speed: float = 1.0
    """Its seconds to one of the world's."""
    feed_ms: float = 0.0
    """Not a fault: the time from the start of its feed until the ball leaves; nothing can stop the ball in between."""


class Mechanism:
    def __init__(
        self, limits: Limits, random: Random, faults: Faults | None = None, *, now: float = 0.0, drift_ppm: float = 0.0,
        boots_s: float = 0.0, explain: Callable[[bytes, str], None] | None = None,
    ) -> None:  # fmt: skip
        self.limits, self.faults, self.log = limits, faults or Faults(), list[Fact]()
        self.state = "asleep"
        self.boots = 1
        self._session: LinkSession | None = None
        self._random, self._boots_s = random, boots_s
        self._rate = 1000.0 * (1.0 + drift_ppm * 1e-6) * self.faults.speed
        self._explain = explain
        self._memory: tuple[int, str, str] = (0, NOTHING_THROWN, NOTHING_THROWN)
        self._cause = False  # whether the cause of its jam is still there
        self._wake(now)

    def reset(self, now: float) -> None:
        """Reset, as after a brown-out or a pulse on DTR: it forgets all but a latched stop and the last ball."""
        self.boots += 1
        self._drop(now, "reset")
        self._session = None
        if self.state not in ("stopped", "faulted"):
            self._enter(now, "asleep")
        if self.faults.forget:
            self._memory = (0, NOTHING_THROWN, NOTHING_THROWN)
        self._wake(now + self._boots_s)

    def _wake(self, at: float) -> None:
        self._woke, self._out = at, bytearray()
        self._splitter = Splitter(LONGEST[HOST])
        self._session = None
        self._arm: Arm | None = None
        self._expected = 0
        self._pending: OrderedBall | None = None
        self._inside: OrderedBall | None = None
        """The ball in the feed: it will leave, whatever the host sends."""
        self._alone: tuple[float, int] | None = None
        """The second of the world at which a fault throws a ball, and its number."""
        self._ready: tuple[int, Settings, float] | None = None
        self._not_before = 0.0
        self._touched = self._launched = 0.0  # earlier launches are not known: the gap counts from here
        self._fates: dict[int, str] = {}

    def clock(self, now: float) -> float:
        """The device's own ms."""
        return (now - self._woke) * self._rate

    def send(self) -> bytes:
        """The bytes it has to send since the last call."""
        out = b"" if self.faults.mute else bytes(self._out)
        self._out.clear()
        return out

    def due(self) -> float | None:
        """The second of the world at which it next does something by itself."""
        moments = []
        if self._pending:
            moments.append(self._pending.at - self.faults.feed_ms - self.faults.early_ms)
        if self._inside:
            moments.append(float(self._inside.at))
        if self._alone:
            moments.append((self._alone[0] - self._woke) * self._rate)
        if self._session and self.state == "live":
            moments += [self._session.fresh + rules.FRESH_MS, self._touched + rules.ARMED_MS]
        elif self._session and self.state in ("connected", "held"):
            moments.append(self._session.fresh + rules.QUIET_MS)
        # A hair later: at the exact moment of a limit the limit still holds.
        return self._woke + (min(moments) + 1e-3) / self._rate if moments else None

    def stop(self, now: float, why: str) -> None:
        """The stop byte, a break on the line, or the machine's own key."""
        self.log.append(Fact(now, "stop", (why,)))
        if self.faults.after_stop and self._pending:
            self._alone = now + 0.2, self._pending.number
        self._drop(now, "stop")
        if self._session:
            self._session.question = None
            self._session.proven |= why != "key"
        if self.state != "faulted":
            self._enter(now, "stopped")
        self._event("stopped", why=why)

    def jam(self, now: float) -> None:
        self._cause = True
        self._drop(now, "jam")
        self._enter(now, "faulted")
        self._event("fault", why="jam")

    def clear_jam(self) -> None:
        self._cause = False

    # ---- gates

    def holds(self, gate: str, ms: float, ball: OrderedBall) -> bool:
        """Whether one of the gates before a ball holds at the device's ms."""
        match gate:
            case "state":
                return self.state == "live"
            case "not-fresh":
                return self._is_fresh(ms)
            case "range":
                pairs = zip(KEYS, ball.settings, strict=True)
                inside = all(self.limits.ranges[k][0] <= v <= self.limits.ranges[k][1] for k, v in pairs if k != "s")
                slow = ball.settings[0] < self.limits.ranges["s"][0]
                return inside and not slow and self._arm is not None and ball.number <= self._arm.last
            case "cap":
                return ball.settings[0] <= min(self.limits.cap, self.limits.ranges["s"][1])
            case "ball":
                return ball.number >= self._expected
            case "busy":
                return self._pending is None
            case "late":
                return ball.at - self.faults.feed_ms - ms >= rules.AHEAD_MS[0]
            case "early":
                return ball.at - ms <= rules.AHEAD_MS[1]
            case "walk-time":
                return ball.at >= self._not_before
            case "gap":
                return ball.at >= self._launched + self.limits.gap
            case "not-ready":
                full = self.faults.hopper is None or self.faults.hopper > 0
                return full and self._ready is not None and self._ready[:2] == (ball.number, ball.settings)
            case "moment":
                return abs(ms + self.faults.feed_ms - ball.at) <= rules.OFF_MS
            case "wheels":
                return self._ready is not None and self._ready[2] <= ms
        raise AssertionError(gate)

    # ---- the launch

    def _launch(self, now: float, ms: float, ball: OrderedBall) -> None:
        if self.faults.reset_at == ball.number:
            self.faults.reset_at = None
            return self.reset(now)
        self._pending = None
        if self.faults.early_ms and self.state == "live":
            self._throw_alone(now, ball.number)
            return
        gates = ("state", "not-fresh", "range", "cap", "moment", "walk-time", "gap", "not-ready", "wheels")
        failed = next((gate for gate in gates if not self.holds(gate, ms, ball)), None)
        if self.faults.jam_at == ball.number:
            self._pending = ball
            self.jam(now)
        elif failed:
            self._pending = ball
            self._hold(now, failed)
        else:
            self._inside = ball
            if not self.faults.feed_ms:
                self._leave(now, ms)

    def _leave(self, now: float, ms: float) -> None:
        """The ball that is in the feed leaves the machine."""
        ball, self._inside, arm = self._inside, None, self._arm
        if ball is None or arm is None:
            return
        self.log.append(Fact(now, "throw", (arm.run, arm.fp, ball, ms, self._session)))
        self._launched = self._touched = ms
        if self.faults.hopper is not None:
            self.faults.hopper -= 1
        self._tell_gone(ball)
        if self.faults.invents:
            self.log.append(Fact(now, "alone", (ball.number + 1,)))
            self._event("gone", b=ball.number + 1, t=int(ms))
        if self.faults.throws_again:
            self._alone = now + 0.2, ball.number
        if ball.number == arm.last and self.state == "live":
            self._enter(now, "connected")

    def _tell_gone(self, ball: OrderedBall) -> None:
        """Report `gone` once: when the ball leaves, or when something comes too late to drop it."""
        if self._fates.get(ball.number) != "gone" and self._arm is not None:
            self._fates[ball.number] = "gone"
            self._memory = (ball.number, self._arm.fp, self._arm.run)
            self._event("gone", b=ball.number, t=ball.at)

    def _throw_alone(self, now: float, number: int) -> None:
        self._alone = None
        self.log.append(Fact(now, "alone", (number,)))
        self._event("gone", b=number, t=int(self.clock(now)))

    def _is_fresh(self, ms: float) -> bool:
        return self._session is not None and ms - self._session.fresh <= rules.FRESH_MS

    def _hold(self, now: float, why: str) -> None:
        self._drop(now, why)
        self._enter(now, "held")
        self._event("held", why=why)

    def _drop(self, now: float, why: str) -> None:
        ball, self._pending = self._pending, None
        if self._inside:
            self._tell_gone(self._inside)
        if ball:
            self.log.append(Fact(now, "drop", (ball.number, why)))
            self._fates[ball.number] = "missed"
            self._event("miss", b=ball.number, why=why)

    def _enter(self, now: float, state: str) -> None:
        if state != self.state:
            self.log.append(Fact(now, "state", (self.state, state)))
            self.state = state

    # ---- what it says

    def _ok(self, frame: Frame, **values: object) -> str | None:
        self._tell(frame.number, "ok", **values)
        return None

    def _refuse(self, now: float, number: int, why: str, line: bytes, **more: object) -> None:
        self.log.append(Fact(now, "no", (why,)))
        self._tell(number, "no", why=why, **more)
        if self._explain:
            self._explain(line, why)

    def _event(self, word: str, **values: object) -> None:
        if self._session:
            self._session.events += 1
            self._tell(0, word, ev=self._session.events, **values)

    def _tell(self, number: int, word: str, **values: object) -> None:
        self._write(encode(DEVICE, self._session.word if self._session else NO_SESSION, number, word, values))

    def _write(self, line: bytes) -> None:
        if len(self._out) + len(line) <= UNSENT:
            self._out += line
