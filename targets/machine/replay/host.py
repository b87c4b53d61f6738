"""The host: hello, proof of stop, silence test, arming, every ball to the last; a stop ends any of these.

No thread, no sleep, no port: the caller supplies bytes, keys and the clock. One state (state.py) holds all that is
known. A machine's messages arrive as happenings (machine.py), and `_heard` says what each leads to in each phase.
"""

import contextlib
from collections import deque
from collections.abc import Callable, Iterator, Mapping
from types import MappingProxyType

from ...log.progress import Verdict
from ..wire import rules
from . import events, words
from .flow import AWAY_S, BEGIN_S, EARLY_S, LISTEN_S, Halt, LinkLost, RunPhase
from .launches import POLL_S, Launches
from .machine import Machine
from .places import Place, RunShelf
from .run import CHANGED, MACHINE, REFUSED, UNCONFIRMED, Ending, Run, RunJournal
from .state import State


class Host:
    def __init__(
        self, machine: Machine, shelf: RunShelf, runs: Iterator[Run], *, walk_s: float,
        unchanged: Callable[[], bool] = lambda: True, earlier: Mapping[str, int] = MappingProxyType({}),
    ) -> None:  # fmt: skip
        """`earlier` are the counts of a run that goes on: gone, missed, hit and miss."""
        self.machine, self.shelf, self._walk_s, self._unchanged = machine, shelf, walk_s, unchanged
        machine.tell = self._heard
        self.state = State(shelf, runs, next(runs), earlier=earlier)
        self._launches = Launches(self.state, machine, self.say)
        self.phase, self.halt, self.why, self.question = RunPhase.GREETING, Halt.START, "", ""
        self.messages: deque[str] = deque(maxlen=50)
        self.said = 0
        self.ending: Ending | None = None
        self.quiet_shown = self.told = False
        self._armed_once = False
        self._records: list[RunJournal] = []
        self._code = 0
        self._until = self._answered = self._seen = 0.0
        self._stopped_at: float | None = None
        self._order_given = False
        """Whether the order of this phase was sent to the machine."""

    # ---- for the screen

    @property
    def run(self) -> Run:
        return self.state.run

    @property
    def counts(self) -> dict[str, int]:
        return self.state.counts

    @property
    def last_gone(self) -> Place | None:
        return self.state.thrown[-1].ball.place if self.state.thrown else None

    def busy(self, now: float) -> bool:
        return self.machine.busy(now)

    def armed_places(self) -> tuple[Place, ...]:
        """What the next arming covers."""
        return self.state.armed_places()

    def first_in_s(self, now: float) -> float:
        """Seconds until the ball on its way, or else until the next armed ball."""
        coming = self.state.coming()
        place = coming[0] if coming else self.last_gone
        return self._launches.to_go(place, now) if place else 0.0

    def serve_in_s(self, now: float) -> float | None:
        """Seconds until the player serves before the next ball, negative afterwards; None without a serve."""
        coming = self.state.coming()
        before = self.state.points.serve_before(self.run, coming[0]) if coming else None
        return None if coming is None or before is None else self._launches.to_go(coming[0], now) - before

    def coming(self) -> tuple[Place, str] | None:
        """The ball on its way until it has left, or else the next, and what is or would be thrown there."""
        return self.state.coming()

    # ---- for the loop

    def start(self, now: float) -> None:
        self._seen = now
        self._guarded(now, lambda: self.machine.start(now, self.run.word, self.run.places[0].number))

    def received(self, now: float, data: bytes) -> None:
        self._guarded(now, lambda: self.machine.received(now, data))

    def step(self, now: float) -> None:
        """Call this often: at least every 20 ms, and at `due`."""
        away, self._seen = now - self._seen, now
        if away > AWAY_S and self.phase not in (RunPhase.STOPPING, RunPhase.ENDED):
            self.stop(now, f"The computer was away for {away:.1f} s", MACHINE)
        self._guarded(now, lambda: self._step(now))

    def due(self, now: float) -> float | None:
        """When `step` next has something to do, if no message comes before."""
        if self.phase is RunPhase.ENDED:
            return None
        moments = [m for m in (self.machine.due(now),) if m is not None]
        if not self.busy(now):
            match self.phase:
                case RunPhase.ASKING:
                    moments.append(now + POLL_S)
                case RunPhase.ANSWERING | RunPhase.WATCHING:
                    moments.append(self._until)
                case RunPhase.STOPPING if self._stopped_at is not None:
                    moments.append(self._stopped_at + LISTEN_S)
                case RunPhase.LIVE:
                    moments.append(now + max(self._launches.due_in(now), 0.0) + 1e-5)
        return min(moments, default=None)

    def lost(self, now: float, why: str) -> None:
        """Reading the line failed."""
        if self.phase is RunPhase.STOPPING:
            self.machine.lost(now)
        self.stop(now, why, MACHINE)

    def arm(self, now: float) -> None:
        """A person asks for the question."""
        if self.phase is RunPhase.READY and not self.busy(now):
            self._guarded(now, lambda: self._arm(now))

    def answer(self, now: float, text: str) -> None:
        """What the person typed."""
        if self.phase is RunPhase.ANSWERING and not self.busy(now):
            self._answered = now
            self._guarded(now, lambda: self.machine.answer(now, text, self._walk_s))

    def pause(self, now: float, why: str = "paused") -> None:
        if self.phase is RunPhase.LIVE:
            self.state.wish = Halt.PAUSED, why

    def skip(self, now: float, why: str = words.SKIPPED) -> None:
        """Go on from the next block, after a new arming."""
        if self.phase is RunPhase.LIVE:
            self.state.wish = Halt.SKIPPED, why
        elif self.phase is RunPhase.READY:
            self.state.skip_block()
            self._guarded(now, lambda: self._ready(now, Halt.SKIPPED, why))

    def mark(self, now: float, hit: bool | None, nth: int | None = None) -> None:
        """Mark the last ball, or the `nth` thrown, counted from 1, a hit or a miss; None takes the mark back."""
        if self.phase is RunPhase.ENDED:
            return
        s, ended = self.state, self.state.over
        s.mark(Verdict.NOT_JUDGED if hit is None else Verdict.HIT if hit else Verdict.MISS, now, nth)
        if s.wish and s.wish[1] == ended and not s.over:  # it still throws, and may hold no longer for the next block
            s.wish = Halt.PAUSED, words.GOES_ON
        elif self.phase in (RunPhase.READY, RunPhase.WATCHING) and s.take_up():
            self._guarded(now, lambda: self._ready(now, Halt.PAUSED, words.GOES_ON))

    def stop(self, now: float, why: str, code: int) -> None:
        """Stop, from any phase and before anything else."""
        if self.phase in (RunPhase.STOPPING, RunPhase.ENDED):
            return
        self.phase, self.why, self._code = RunPhase.STOPPING, why, code
        self._order_given = False
        with contextlib.suppress(LinkLost):  # no answer will come, and the ending says so
            self.machine.stop(now)

    # ---- from phase to phase

    def _heard(self, now: float, happening: events.Happening) -> None:
        """What each happening leads to in each phase. A happening that no case matches comes too late to matter."""
        match self.phase, happening:
            case RunPhase.ENDED, _:
                pass
            case _, events.Left(confirmed, said):
                self._end(confirmed, said)
            case _, events.SaysNothing():
                # A person who stops an armed machine must learn that nothing confirms it. A run played to its end
                # needs no answer from a machine that never gives one.
                needless = not self._armed_once or self.why in (words.PLAYED, words.LEFT)
                self._end(None if needless else False, words.SAYS_NOTHING if needless else "")
            case RunPhase.STOPPING, events.Stopped():
                self._stopped_at = now if self._stopped_at is None else self._stopped_at
            case _, events.Gone(ball):
                self._gone(now, ball)
            case _, events.Missed(ball, why):
                self._missed(now, ball, why)
            case ((RunPhase.LIVE | RunPhase.STOPPING), events.Fate(_, fate)):
                self._fate(now, fate)
            case RunPhase.LIVE, events.FateUnknown():
                self.stop(now, "The fate of the last ball is unknown", MACHINE)
            case RunPhase.STOPPING, _:
                pass
            case _, events.Failed(why):
                self.stop(now, why, MACHINE)
            case _, events.DeviceFault(why):
                self.stop(now, f"The machine reports a fault of its own: {words.why(why)}", MACHINE)
            case _, events.Stopped(why):
                self.stop(now, f"The machine stopped: {words.why(why)}", 0)
            case RunPhase.GREETING, events.Proving(last):
                if last:
                    self.say(f"The machine last threw ball {last} of this program, in another run.")
                self._enter(RunPhase.PROVING)
            case RunPhase.PROVING, events.GoingQuiet():
                self.say("Stop is proven: the machine heard it and said so.")
                self._enter(RunPhase.SILENCE_TEST)
            case ((RunPhase.SILENCE_TEST | RunPhase.GREETING), events.Prepared(said, shown)):
                self.quiet_shown = shown
                self.say(said)
                self._ready(now, Halt.START, "")
            case RunPhase.ASKING, events.Question(code):
                self.question, self.told = code, True
                self._enter(RunPhase.ANSWERING)
                self._until = now + rules.ANSWER_MS[1] / 1000 - 0.2
            case ((RunPhase.ASKING | RunPhase.ANSWERING), events.NotArmed(why)):
                self._ready(now, Halt.HELD, why)
            case RunPhase.ANSWERING, events.Armed():
                self.state.cover()
                self._launches.walk_over = self._answered + self._walk_s
                self._armed_once = True
                self._enter(RunPhase.LIVE)
            case RunPhase.LIVE, events.Aimed():
                self.state.aimed = True
            case RunPhase.LIVE, events.Held(why):
                self.state.held = Halt.HELD, words.why(why)
            case RunPhase.LIVE, events.Holding():
                self._holding()
            case RunPhase.LIVE, events.Unsaid():
                self.state.gone(now, told=False, fate="unknown")
            case RunPhase.LIVE, events.GoRefused(why) if self.state.in_doubt:
                number = self.state.in_doubt.number
                self._not_thrown(told=True)
                self.stop(now, f"The machine refused ball {number}: {why}", MACHINE)

    def _step(self, now: float) -> None:
        if self.phase is RunPhase.ENDED:
            return
        self.machine.step(now)
        if self.phase in (RunPhase.ASKING, RunPhase.ANSWERING, RunPhase.LIVE) and self.run.record.trouble:
            return self.stop(now, self.run.record.trouble, MACHINE)
        if self.busy(now):
            return
        if self.phase in (RunPhase.LIVE, RunPhase.READY) and not self.state.wish and (why := self.state.over):
            self.say(f"{why[:1].upper()}{why[1:]}.")
            self.skip(now, why)
        elif self.phase in (RunPhase.LIVE, RunPhase.READY) and not self.state.wish and self.state.leave_point():
            self.say(words.POINT_LEFT)
            if self.phase is RunPhase.LIVE and self.state.next >= self.state.last:  # the machine waits for these balls
                self.state.wish = Halt.PART_PLAYED, words.PART_PLAYED
            elif self.state.place is None:
                self._ready(now, self.halt, self.why)
        match self.phase:
            case RunPhase.ASKING if not self._order_given:
                self._ask(now)
            case RunPhase.ANSWERING if now >= self._until:
                self._ready(now, Halt.HELD, "no answer in time; nothing is armed")
            case RunPhase.LIVE if pause := self._launches.step(now):
                self._ready(now, *pause)
            case RunPhase.WATCHING if now >= self._until:
                self.stop(now, self.why, 0)
            case RunPhase.WATCHING:
                self._until = self._watch_until()
            case RunPhase.STOPPING if self._stopped_at is not None and now >= self._stopped_at + LISTEN_S:
                self._part(now)

    # ---- arming

    def _arm(self, now: float) -> None:
        if not self._unchanged():
            return self.stop(now, "The program's file was changed since it was checked; start again", CHANGED)
        s, places = self.state, self.run.places
        if odd := [shot for place in places[s.next :] for shot in place.shots if shot not in self.shelf.settings]:
            return self.stop(now, f"The plan names a ball that it does not have: {odd[0]}", REFUSED)
        if not s.begun:
            s.begun = True
            self._records.append(self.run.record)
            self.run.record.begin({"run": self.run.word, "title": self.run.title, "first": places[0].number,
                                   "last": places[-1].number, **self.machine.facts()})  # fmt: skip
        self._enter(RunPhase.ASKING)
        self._until = now + BEGIN_S
        self._step(now)

    def _ask(self, now: float) -> None:
        """Ask the machine for its question once the record is on the disk."""
        if self.run.record.written():
            self._order_given = True
            covered = self.armed_places()
            self.machine.arm(now, self.run.word, covered[0].number, covered[-1].number)
        elif now >= self._until:
            self._ready(now, Halt.HELD, words.RECORD_LATE + "; nothing is armed")

    def _ready(self, now: float, halt: Halt, why: str) -> None:
        s = self.state
        self.state.leave_out()
        s.held = s.wish = None
        s.aimed = False
        self.machine.ready_again(now)
        self.halt, self.why = halt, why
        if s.next_run():
            return self._enter(RunPhase.READY)
        self.why = words.LEFT if halt is Halt.SKIPPED else words.PLAYED
        self._until = self._watch_until()
        if now < self._until:
            return self._enter(RunPhase.WATCHING)
        self.stop(now, self.why, 0)

    def _watch_until(self) -> float:
        """When the time to mark the last ball ends."""
        return self.state.marked_until(self.machine.leaves_s)

    # ---- live

    def _holding(self) -> None:
        s = self.state
        if s.wish and s.wish[0] is Halt.SKIPPED and not s.held:
            self.state.leave_out()
            s.skip_block()
        s.held = s.held or s.wish or (Halt.HELD, "the machine holds")

    def _gone(self, now: float, number: int) -> None:
        """A ball has left the machine: the agreed one at its moment, or one that nobody asked for."""
        s = self.state
        if s.in_doubt and number == s.in_doubt.number and self._stopped_at is None:
            early = self._launches.to_go(s.in_doubt.place, now)
            self._thrown(now, told=True)
            if early > EARLY_S + self.machine.feed_s:
                self._alone(now, f"ball {number}, {early:.1f} s before its moment")
        elif not s.late_news(number):
            s.unasked(number)
            when = "which it was not sent" if self._stopped_at is None else "after it had stopped"
            self._alone(now, f"ball {number}, {when}")

    def _alone(self, now: float, what: str) -> None:
        text = f"The machine threw on its own ({what}): {words.OWN_SWITCH}"
        if self.phase is RunPhase.STOPPING:
            self.why = f"{self.why}. {text}"
        self.stop(now, text, UNCONFIRMED)
        self._code = UNCONFIRMED

    def _missed(self, now: float, number: int, why: str) -> None:
        s = self.state
        if s.in_doubt and number == s.in_doubt.number:
            self.say(f"Ball {number} was not thrown: {words.why(why)}.")
            self._not_thrown(told=True)
            s.held = s.held or (Halt.HELD, words.why(why))
        elif number == s.missed_untold:
            s.missed_untold = 0
        else:
            self.stop(now, f"The machine reports ball {number}, which it was not sent", MACHINE)

    def _fate(self, now: float, fate: str) -> None:
        s = self.state
        if s.in_doubt and fate == "gone":
            self._thrown(now, told=False)
        elif s.in_doubt:
            self.say(f"Ball {s.in_doubt.number} was not thrown.")
            s.held = s.held or (Halt.HELD, "a ball was not thrown")
            self._not_thrown(told=False)

    def _thrown(self, now: float, told: bool) -> None:
        s = self.state
        s.gone(now, told)
        self.machine.decided()
        if self.phase is RunPhase.LIVE and s.next >= s.last and not s.held:
            self._ready(now, Halt.PART_PLAYED, words.PART_PLAYED)

    def _not_thrown(self, told: bool) -> None:
        self.state.not_thrown(told)
        self.machine.decided()

    # ---- stop and end

    def _part(self, now: float) -> None:
        """It has stopped: ask for the fate of a ball in doubt, then leave."""
        if self._order_given or self.state.in_doubt is None:
            return self.machine.leave(now)
        self._order_given = True
        self.machine.ask_fate(now, self.state.in_doubt.number)

    def _end(self, confirmed: bool | None, said: str) -> None:
        self.state.end()
        code = self._code
        if confirmed is False:
            code = UNCONFIRMED if self.machine.greeted else code or MACHINE
        self.ending = Ending(code, self.why, confirmed, self.state.surely_thrown, self.state.unknown, said)
        for record in self._records:
            record.close()
        self._enter(RunPhase.ENDED)

    # ---- small

    def _guarded(self, now: float, act: Callable[[], None]) -> None:
        try:
            act()
        except LinkLost as lost:
            self.stop(now, str(lost), MACHINE)

    def _enter(self, phase: RunPhase) -> None:
        self.phase, self._order_given = phase, False

    def say(self, text: str) -> None:
        self.messages.append(text)
        self.said += 1
