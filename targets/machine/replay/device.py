"""The simulated machine: the device's side of the conversation (PROTOCOL.md). The caller supplies the clock."""

from ....compiler.model.device import KEYS
from ..wire import rules
from ..wire.frames import DEVICE, HOST, NO_SESSION, Frame, Kind, decode, encode
from .mechanism import Arm, Fact, LinkSession, Mechanism, OrderedBall


class SimulatedDevice(Mechanism):
    # ---- the outside: power, bytes, time

    def receive(self, now: float, data: bytes) -> None:
        if now < self._woke:
            return  # still waking: it hears nothing
        self.advance(now)
        for kind, line in self._splitter.feed(data):
            if kind is Kind.STOP:
                self.stop(now, "byte")
            elif kind is Kind.LINE:
                self._take(now, line)
            elif kind is Kind.GARBLED:
                self._refuse(now, 0, "garbled", line)
            elif self._explain:
                self._explain(line, "swallowed")

    def advance(self, now: float) -> None:
        """Do everything that is due."""
        ms = self.clock(now)
        if self._pending and ms >= self._pending.at - self.faults.feed_ms - self.faults.early_ms:
            self._launch(now, ms, self._pending)
        if self._inside and ms >= self._inside.at:
            self._leave(now, ms)
        if self._alone and now >= self._alone[0]:
            self._throw_alone(now, self._alone[1])
        session = self._session
        if session is None:
            return
        if self.state == "live" and not self._is_fresh(ms):
            self._hold(now, "quiet")
        if self.state == "live" and not self._pending and ms > self._touched + rules.ARMED_MS:
            self._enter(now, "connected")
        if self.state in ("connected", "held") and ms > session.fresh + rules.QUIET_MS:
            self._enter(now, "asleep")
            self._session = None

    # ---- lines

    def _take(self, now: float, line: bytes) -> None:
        frame = decode(HOST, line)
        session = self._session
        if frame is None:
            self._refuse(now, 0, "garbled", line)
        elif frame.word == "hello":
            self._hello(now, frame, line)
        elif session is None:
            self._refuse(now, frame.number, "asleep", line)
        elif frame.session != session.word:
            self._refuse(now, frame.number, "old-session", line)
        elif frame.word == "tick" and frame.number == 0:
            self._tick(now, frame, session)
        elif frame.number == session.next - 1 and line == session.last_line:
            self._write(session.last_answer)
        elif frame.number != session.next or frame.word == "tick":
            self._refuse(now, frame.number, "number", line, want=session.next)
        else:
            session.next += 1
            self.log.append(Fact(now, "line", (frame,)))
            before = len(self._out)
            known = frame.word in _HANDLERS
            why: str | None = getattr(self, _HANDLERS[frame.word])(now, frame, session) if known else "verb"
            if why:
                self._refuse(now, frame.number, why, line)
            session.last_line, session.last_answer = line, bytes(self._out[before:])
            if frame.word == "bye" and not why:
                self._session = None

    def _hello(self, now: float, frame: Frame, line: bytes) -> None:
        if self._session and line == self._session.hello:
            self._write(self._session.hi)
            return
        nonce = frame.values.get("n", "")
        if frame.number != 1 or frame.session != NO_SESSION:
            self._refuse(now, frame.number, "number", line, want=1)
        elif len(nonce) != 8 or frame.natural("v") is None:
            self._refuse(now, 1, "words", line)
        elif frame.natural("v") != rules.VERSION:
            self._refuse(now, 1, "version", line)
        else:
            self._drop(now, "hello")
            ms = self.clock(now)
            self._session = session = LinkSession(f"{self._random.getrandbits(32) or 1:08x}", line, fresh=ms)
            if self.state not in ("stopped", "faulted"):
                self._enter(now, "connected")
            last, lfp, lrun = self._memory
            session.hi = encode(DEVICE, session.word, 1, "hi", {
                "n": nonce, "v": rules.VERSION, "id": self.faults.other_id or self.limits.id, "boot": self.boots,
                "state": self.state, "k": self._issue(now, session), "t": int(ms), "cap": self.limits.cap,
                "gap": self.limits.gap, "limits": self.faults.other_limits or self.limits.checksum,
                "last": last, "lfp": lfp, "lrun": lrun,
            })  # fmt: skip
            self._write(session.hi)

    def _tick(self, now: float, frame: Frame, session: LinkSession) -> None:
        heard = frame.values.get("k")
        self.log.append(Fact(now, "tick", (session.word, heard)))
        for word, issued in session.issued:
            if word == heard:
                session.fresh = max(session.fresh, self._counts_from(now, issued))
        self._tell(0, "tock", k=self._issue(now, session), t=int(self.clock(now)), st=self.state,
                   q=frame.natural("q") or 0, ev=session.events)  # fmt: skip

    def _counts_from(self, now: float, issued: float) -> float:
        """A word's age counts from its issue, however long the line delayed it."""
        return issued

    def _clear(self, now: float, frame: Frame, session: LinkSession) -> str | None:
        if self.state == "faulted" and self._cause:
            return "fault"
        if self.state not in ("stopped", "faulted"):
            return "state"
        self._enter(now, "connected")
        return self._ok(frame)

    def _on_arm(self, now: float, frame: Frame, session: LinkSession) -> str | None:
        first, last = frame.natural("from"), frame.natural("of")
        fp, run = frame.values.get("fp", ""), frame.values.get("run", "")
        if self.state not in ("connected", "held"):
            return "state"
        if first is None or last is None or len(fp) != 16 or len(run) != 16:
            return "words"
        if not self._is_proven(session):
            return "stop-unproven"
        if not self._is_fresh(self.clock(now)):
            return "not-fresh"
        if not 1 <= first <= last:
            return "range"
        if self._is_done(run, first):
            return "done-already"
        question = "".join(self._random.choices(rules.CODE_ALPHABET, k=4))
        session.question = (question, self.clock(now), Arm(fp, run, first, last))
        return self._ok(frame, c=question, fp=fp)

    def _yes(self, now: float, frame: Frame, session: LinkSession) -> str | None:
        warning, ms = frame.natural("w"), self.clock(now)
        question, session.question = session.question, None
        if self.state not in ("connected", "held"):
            return "state"
        if warning is None:
            return "words"
        if not rules.WARNING_MS[0] <= warning <= rules.WARNING_MS[1]:
            return "range"
        if question is None:
            return "no-question"
        if why := self._misjudged(ms - question[1], frame.values.get("c") == question[0]):
            return why
        if not self._is_fresh(ms):
            return "not-fresh"
        arm = question[2]
        if self._arm is None or self._arm.run != arm.run:
            self._fates = {}
        self._arm, self._expected, self._ready = arm, arm.first, None
        self._not_before = self._touched = float(int(ms) + 1 + int(warning * self.faults.walk_time))
        self.log.append(Fact(now, "armed", (*arm, warning)))
        self._enter(now, "live")
        told = int(self._not_before) if self.faults.not_before is None else self.faults.not_before
        return self._ok(frame, **{"not-before": told})

    def _misjudged(self, after_ms: float, right: bool) -> str | None:
        if not right:
            return "wrong-answer"
        return None if rules.ANSWER_MS[0] <= after_ms <= rules.ANSWER_MS[1] else "answer-time"

    def _on_ready(self, now: float, frame: Frame, session: LinkSession) -> str | None:
        ball = _ball(frame)
        if ball is None:
            return "words"
        for gate in ("state", "range", "cap", "ball", "busy"):
            if not self.holds(gate, self.clock(now), ball):
                return gate
        self._ready = (ball.number, ball.settings, self.clock(now) + self.faults.wheels_ms)
        return self._ok(frame, b=ball.number)

    def _go(self, now: float, frame: Frame, session: LinkSession) -> str | None:
        ball, at = _ball(frame), frame.natural("at")
        if ball is None or at is None:
            return "words"
        ball = ball._replace(at=at)
        for gate in rules.GATES:
            if not self.holds(gate, self.clock(now), ball):
                return gate
        self._pending, self._expected = ball, ball.number + 1
        self._fates[ball.number] = "pending"
        self.log.append(Fact(now, "agreed", (ball.number,)))
        return self._ok(frame, b=ball.number)

    def _on_hold(self, now: float, frame: Frame, session: LinkSession) -> str | None:
        if self.state not in ("live", "held"):
            return "state"
        self._drop(now, "hold")
        self._enter(now, "held")
        return self._ok(frame)

    def _fate(self, now: float, frame: Frame, session: LinkSession) -> str | None:
        number = frame.natural("b")
        if number is None:
            return "words"
        return self._ok(frame, b=number, fate=self._fates.get(number, "never"))

    def _bye(self, now: float, frame: Frame, session: LinkSession) -> str | None:
        self._drop(now, "bye")
        if self.state not in ("stopped", "faulted"):
            self._enter(now, "asleep")
        return self._ok(frame)

    def _is_proven(self, session: LinkSession) -> bool:
        return session.proven

    def _is_done(self, run: str, first: int) -> bool:
        return run == self._memory[2] and first <= self._memory[0]

    def _issue(self, now: float, session: LinkSession) -> str:
        word = f"{self._random.getrandbits(32):08x}"
        session.issued.append((word, self.clock(now)))
        self.log.append(Fact(now, "issued", (session.word, word)))
        return word


def _ball(frame: Frame) -> OrderedBall | None:
    """Ball and settings of a ready or go, its moment still open; None where a value is missing or ill-formed."""
    number = frame.natural("b")
    values = [frame.signed(key) for key in KEYS]
    if number is None or None in values:
        return None
    return OrderedBall(number, 0, tuple(values))  # type: ignore[arg-type]


_HANDLERS = {
    "clear": "_clear", "arm": "_on_arm", "yes": "_yes", "ready": "_on_ready", "go": "_go", "hold": "_on_hold",
    "fate": "_fate", "bye": "_bye",
}  # fmt: skip
