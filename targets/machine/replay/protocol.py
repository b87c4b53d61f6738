"""The adapter for a machine of the line protocol, from hello to stop; see PROTOCOL.md."""

from collections.abc import Callable
from enum import Enum

from ....compiler.model.device import KEYS, Settings, scaled
from ..wire import rules
from ..wire.frames import STOP
from . import events, words
from .conversation import Conversation
from .flow import LinkLost
from .run import Identity

LEAD_MS, LATE_MS, FIRST_MS = 400, 100, 500
"""In order: how long ahead a ball is announced; with less time left it is not sent at all; how long after the device's
not-before the first ball of an arming comes, so that its go, too, is sent after the walk."""
OVERDUE_MS = 150
STOP_AGAIN_S, STOP_FOR_S = 0.05, 1.5
COMPARE_S, SILENCE_S, WARM_S = 0.3, 0.8, 0.3
"""First ticks, so that a clock of another speed shows before anything depends on it; then quiet; then ticks again."""
UNHEARD_S = 2.0
"""Without a tock for this long while live, the device's clock is no longer known."""


class Stage(Enum):
    """The step of the protocol that is under way."""

    GREETING = "greeting"
    PROVING = "proving"
    COMPARING = "comparing"
    SILENCE_TEST = "silence test"
    WARMING = "warming"
    IDLE = "idle"
    LIVE = "live"
    STOPPING = "stopping"
    LEFT = "left"


class ProtocolMachine:
    def __init__(
        self, write: Callable[[bytes], None], identity: Identity, fp: str, *, nonce: str, feed_delay_s: float = 0.0,
    ) -> None:  # fmt: skip
        self.write, self._identity, self._fp, self._run, self._from = write, identity, fp, "", 0
        self.tell: Callable[[float, events.Happening], None] = lambda now, happening: None
        self.talk = Conversation(self._out, nonce, self._event, self._nonsense)
        self.stage = Stage.GREETING
        self._stop_at = self._until = 0.0
        self._not_before, self._asked_at, self._walk_ms = 0, 0.0, 0
        self._delay_ms = scaled(feed_delay_s, 1000)
        self.feed_s, self.leaves_s = feed_delay_s, 0.0
        self.lead_s, self.late_s = (ms / 1000 + feed_delay_s for ms in (LEAD_MS, LATE_MS))
        self.overdue_s = OVERDUE_MS / 1000
        self._quiet_shown = self._confirmed = False

    def _out(self, data: bytes) -> None:
        self.write(data)

    @property
    def greeted(self) -> bool:
        return self.talk.greeted

    def facts(self) -> dict[str, object]:
        return {"fp": self._fp, "device": self._identity.id, "stop_proven": True, "quiet_shown": self._quiet_shown}

    def busy(self, now: float) -> bool:
        return self.talk.busy

    def resting(self, now: float) -> bool:
        """`gone` reports when a ball has left, so nothing has to be waited for."""
        return False

    # ---- time

    def start(self, now: float, run: str, first: int) -> None:
        self._run, self._from = run, first
        self.talk.hello(now, rules.VERSION, self._on_hi)

    def received(self, now: float, data: bytes) -> None:
        self.talk.received(now, data)

    def step(self, now: float) -> None:
        if self.stage is Stage.LEFT:
            return
        if self.stage in (Stage.PROVING, Stage.STOPPING):
            self._send_stop(now)
        self.talk.step(now)
        if self.stage is Stage.STOPPING:
            return
        if self.talk.other_session:
            self._fail(now, "The machine was reset, or another program took it over")
        elif odd := self.talk.clocks.odd:
            self._fail(now, f"The machine's clock runs at another speed than this computer's: {odd.in_words()}")
        elif self.stage is Stage.LIVE and now - self.talk.clocks.heard > UNHEARD_S:
            self._fail(now, "The machine does not answer ticks any more")
        elif self.stage is Stage.LIVE and self.talk.state in ("held", "connected", "asleep") and not self.talk.busy:
            self.tell(now, events.Holding())
        elif self.stage is Stage.COMPARING and now >= self._until:
            # Now test the other promise: ask to arm after the host went quiet; the machine must take no order.
            self.talk.tick(False, now)
            self.stage, self._until = Stage.SILENCE_TEST, now + SILENCE_S
            self.tell(now, events.GoingQuiet())
        elif self.stage is Stage.SILENCE_TEST and now >= self._until and not self.talk.busy:
            # The values do not matter: after so long a quiet the machine refuses before it looks at them.
            self._ask_to_arm(now, self._run, self._from, self._from, self._silence_tested)
        elif self.stage is Stage.WARMING and now >= self._until:
            self.stage = Stage.IDLE
            self.tell(
                now,
                events.Prepared("The silence test is done: the machine takes no order from a silent host.", True),
            )

    def due(self, now: float) -> float | None:
        moments = [m for m in (self.talk.due(),) if m is not None]
        if self.stage in (Stage.PROVING, Stage.STOPPING) and not self.talk.busy and not self._confirmed:
            moments += [self._stop_at, self._until]
        if self.stage in (Stage.COMPARING, Stage.SILENCE_TEST, Stage.WARMING) and not self.talk.busy:
            moments.append(self._until)
        return min(moments, default=None) if self.stage is not Stage.LEFT else None

    def until(self, now: float, offset_s: float) -> float:
        return (self._at(offset_s) - self.talk.clocks.now(now)) / 1000

    def _at(self, offset_s: float) -> int:
        """The device's ms of a launch: when its ball leaves."""
        return self._not_before + FIRST_MS + self._delay_ms + scaled(offset_s, 1000)

    # ---- hello, proof of stop, silence test

    def _on_hi(self, now: float, said: events.Answer) -> None:
        match said:
            case events.Hi():
                pass
            case events.DeviceRefusal(why):
                return self._fail(now, f"The machine refuses to talk: {words.why(why)}")
            case events.Nonsense():
                return self._nonsense(now, said)
            case _:
                return self._fail(now, "Nothing answered that speaks the protocol")
        mine = self._identity
        odd = [f"{key} {found} instead of {wanted}" for key, found, wanted in (
            ("v", said.version, rules.VERSION), ("id", said.id, mine.id), ("cap", said.cap, mine.cap),
            ("gap", said.gap, mine.gap), ("limits", said.limits, mine.limits)) if found != wanted]  # fmt: skip
        if odd:
            return self._fail(now, f"This is not the machine the program was compiled for: {', '.join(odd)}")
        if said.last_run == self._run and said.last >= self._from:
            return self._fail(now, f"The machine has thrown ball {said.last} of this run; the record here is older")
        self.talk.tick(True, now)
        self.stage, self._stop_at, self._until = Stage.PROVING, now, now + STOP_FOR_S
        other = said.last_program == self._fp and said.last_run != self._run
        self.tell(now, events.Proving(said.last if other else 0))
        self._send_stop(now)

    def _proven(self, now: float, said: events.Answer) -> None:
        if not isinstance(said, events.Done):
            return self._fail(now, f"The machine does not clear its stop: {_why(said)}")
        self.stage, self._until = Stage.COMPARING, now + COMPARE_S

    def _silence_tested(self, now: float, said: events.Answer) -> None:
        if said != events.DeviceRefusal("not-fresh"):
            found = "no clear answer" if isinstance(said, events.Silence | events.DeviceRefusal) else "it took an order"
            return self._fail(now, f"The machine did not hold when the link went quiet: {found}")
        # Get in touch again before a person may arm: a fresh word takes two ticks.
        self.talk.tick(True, now)
        self._quiet_shown = True
        self.stage, self._until = Stage.WARMING, now + WARM_S

    # ---- arming

    def ready_again(self, now: float) -> None:
        self.stage = Stage.IDLE
        self.talk.tick(True, now)

    def arm(self, now: float, run: str, first: int, last: int) -> None:
        self._ask_to_arm(now, run, first, last, self._on_question)

    def _ask_to_arm(
        self, now: float, run: str, first: int, last: int, then: Callable[[float, events.Answer], None]
    ) -> None:
        self._ask(now, "arm", {"fp": self._fp, "run": run, "from": first, "of": last}, then)

    def _on_question(self, now: float, said: events.Answer) -> None:
        if isinstance(said, events.Question) and said.program == self._fp:
            self.tell(now, events.Question(said.code))
        elif said == events.DeviceRefusal("not-fresh"):
            self.tell(now, events.NotArmed("the link was quiet just now; arm once more"))
        else:
            self._fail(now, f"The machine does not arm: {_why(said)}")

    def answer(self, now: float, text: str, walk_s: float) -> None:
        if len(text) != 4 or not set(text) <= set(rules.CODE_ALPHABET):
            return self.tell(now, events.NotArmed("that is not a code; nothing is armed"))
        self._asked_at, self._walk_ms = now, scaled(walk_s, 1000)
        self._ask(now, "yes", {"c": text, "w": self._walk_ms}, self._on_yes)

    def _on_yes(self, now: float, said: events.Answer) -> None:
        match said:
            case events.NotBefore(ms):
                soonest = self.talk.clocks.now(self._asked_at) + self._walk_ms
                latest = self.talk.clocks.now(now) + self._walk_ms + rules.WALK_MORE_MS
                # Each end allows for the error of the host's estimate of the device's clock.
                if not soonest - rules.OFF_MS <= ms <= latest + rules.OFF_MS:
                    odd = (ms - self.talk.clocks.now(now)) / 1000
                    return self._fail(now, f"The machine was given {self._walk_ms / 1000:g} s to walk, but it says "
                                           f"{odd:,.1f} s")  # fmt: skip
                self._not_before, self.talk.state, self.stage = ms, "live", Stage.LIVE
                self.tell(now, events.Armed())
            case events.DeviceRefusal(why):
                self.tell(now, events.NotArmed(f"{words.why(why)}; nothing is armed"))
            case _:
                self._fail(now, "The machine did not answer whether it is armed")

    # ---- launches

    def aim(self, now: float, ball: int, shot: str, settings: Settings) -> None:
        self._ask(now, "ready", _ball(ball, settings), self._on_ready)

    def _on_ready(self, now: float, said: events.Answer) -> None:
        if isinstance(said, events.Done):
            self.tell(now, events.Aimed())
        elif said == events.DeviceRefusal("state"):
            self.tell(now, events.Holding())  # it is no longer live; its event or its next tock says why
        else:
            self._fail(now, f"The machine does not get ready: {_why(said)}")

    def go(self, now: float, ball: int, shot: str, settings: Settings, offset_s: float) -> None:
        self._ask(now, "go", _ball(ball, settings) | {"at": self._at(offset_s)}, self._on_go)

    def _on_go(self, now: float, said: events.Answer) -> None:
        if isinstance(said, events.DeviceRefusal):  # in our session, and never accepted before: not thrown
            self.tell(now, events.GoRefused(words.why(said.why)))
        elif not isinstance(said, events.Done):
            self._fail(now, f"The machine does not answer for a ball: {_why(said)}")

    def decided(self) -> None:
        self.talk.forget("go")

    def hold(self, now: float) -> None:
        self._ask(now, "hold", {}, self._on_hold)

    def _on_hold(self, now: float, said: events.Answer) -> None:
        if isinstance(said, events.Done) or said == events.DeviceRefusal("state"):
            self.tell(now, events.Holding())
        else:
            self._fail(now, "The machine did not accept hold")

    def ask_fate(self, now: float, ball: int) -> None:
        def told(at: float, said: events.Answer) -> None:
            known = isinstance(said, events.Fate) and said.ball == ball and said.fate != "pending"
            self.tell(at, said if known and isinstance(said, events.Fate) else events.FateUnknown())

        self.talk.ask(now, "fate", {"b": ball}, told, tries=2)

    # ---- stop and end

    def stop(self, now: float) -> None:
        """End the ticks at once, then send the stop byte until it is confirmed or time is up."""
        self.talk.tick(False, now)
        self.talk.forget()
        self.stage, self._stop_at, self._until = Stage.STOPPING, now, now + STOP_FOR_S
        self._confirmed = False
        self._send_stop(now)

    def _send_stop(self, now: float) -> None:
        if self._confirmed or (self.stage is Stage.PROVING and self.talk.busy):
            return
        if now >= self._until:
            if self.stage is Stage.PROVING:
                self._fail(now, "The machine did not say that it stopped: stop is not proven")
            else:
                self._leave(now, False)
        elif now >= self._stop_at:
            self._stop_at = now + STOP_AGAIN_S
            try:
                self.write(bytes([STOP]) * 3)
            except LinkLost as lost:
                if self.stage is Stage.PROVING:
                    self._fail(now, str(lost))

    def leave(self, now: float) -> None:
        self.talk.ask(now, "bye", {}, lambda at, said: self._leave(at, True), tries=2)

    def _leave(self, now: float, confirmed: bool) -> None:
        self.stage = Stage.LEFT
        self.talk.forget()
        self.tell(now, events.Left(confirmed))

    def lost(self, now: float) -> None:
        """Go on with the stop bytes: the line may come back."""

    # ---- events

    def _event(self, now: float, event: events.Event) -> None:
        match event:
            case events.Stopped() if self.stage is Stage.PROVING:
                if not self.talk.busy:
                    self._ask(now, "clear", {}, self._proven)
            case events.Stopped() if self.stage is Stage.STOPPING:
                self._confirmed = True
                self.tell(now, event)
            case _:
                self.tell(now, event)

    def _ask(
        self, now: float, verb: str, values: dict[str, object], then: Callable[[float, events.Answer], None]
    ) -> None:
        def answered(at: float, said: events.Answer) -> None:
            if isinstance(said, events.Nonsense):
                self._nonsense(at, said)
            else:
                then(at, said)

        self.talk.ask(now, verb, values, answered)

    def _nonsense(self, now: float, said: events.Nonsense) -> None:
        self._fail(now, f"The machine sent a message that the protocol does not have: {said.text}")

    def _fail(self, now: float, why: str) -> None:
        self.tell(now, events.Failed(why))


def _ball(number: int, settings: Settings) -> dict[str, object]:
    return {"b": number, **dict(zip(KEYS, settings, strict=True))}


def _why(said: events.Answer) -> str:
    return words.why(said.why) if isinstance(said, events.DeviceRefusal) else "no clear answer"
