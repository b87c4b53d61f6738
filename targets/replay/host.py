"""The host: from hello over stop proof, drill and arming to the last ball, and out of all of it by stop.

No thread, no sleep, no port: bytes, keys and the clock are handed in, so that every course of things can be played
through in virtual time. The same loop that looks at Stop calls `step`, and `step` alone sends ticks.
"""

from ...compiler.model.device import KEYS, scaled
from ..stream import rules
from ..stream.wire import Frame
from . import words
from .flow import AWAY_S, FIRST_MS, LATE_MS, LEAD_MS, OVERDUE_MS, Phase
from .opening import Opening
from .places import Place


class Host(Opening):
    # ---- what the loop calls

    def start(self, now: float) -> None:
        self._seen = now
        self._guarded(now, lambda: self.talk.hello(now, rules.VERSION, self._on_hi))

    def received(self, now: float, data: bytes) -> None:
        self._guarded(now, lambda: self.talk.received(now, data))

    def step(self, now: float) -> None:
        """To be called often, at least each 20 ms and at `due`."""
        away = now - (self._seen if self._seen is not None else now)
        self._seen = now
        if away > AWAY_S and self.phase not in (Phase.STOPPING, Phase.ENDED):
            self.stop(now, f"The computer was away for {away:.1f} s", 3)
        self._guarded(now, lambda: self._step(now))

    def due(self, now: float) -> float | None:
        """When `step` has something to do, if nothing is heard."""
        if self.phase is Phase.ENDED:
            return None
        moments = [m for m in (self.talk.due(),) if m is not None]
        if self.phase in (Phase.PROVING, Phase.STOPPING) and not self._confirmed and not self.talk.busy:
            moments += [self._stop_at, self._until]
        if self.phase in (Phase.DRILL, Phase.ANSWERING) and not self.talk.busy:
            moments.append(self._until)
        if self.phase is Phase.LIVE and not self.talk.busy and (self._in_doubt or self._aimed):
            to_go = self._at(self._in_doubt or self.run.places[self.next]) - self.talk.clock(now)
            wait = to_go + OVERDUE_MS if self._in_doubt else to_go - LEAD_MS
            moments.append(now + max(wait, 0.0) / 1000 + 1e-5)
        return min(moments, default=None)

    def lost(self, now: float, why: str) -> None:
        """Reading the line failed."""
        self.stop(now, why, 3)

    def arm(self, now: float) -> None:
        """A person asks for the question."""
        if self.phase is Phase.READY and not self.talk.busy:
            self._guarded(now, lambda: self._arm(now))

    def answer(self, now: float, text: str) -> None:
        """What the person typed; the device judges it."""
        if self.phase is Phase.ANSWERING and not self.talk.busy:
            self._guarded(now, lambda: self._answer(now, text))

    def pause(self, now: float) -> None:
        if self.phase is Phase.LIVE:
            self._wish = "pause"

    def skip(self, now: float) -> None:
        """Go on from the next block; armed anew."""
        if self.phase is Phase.LIVE:
            self._wish = "skip"
        elif self.phase is Phase.READY:
            self._skip()
            self._guarded(now, lambda: self._ready(now, words.SKIPPED))

    def mark(self, now: float, hit: bool | None) -> None:
        """A hit or a miss, of the ball just played; each ball once."""
        if self.last_gone is None or hit is None or self._marked or self.phase is Phase.ENDED:
            return
        self._marked = True
        self.counts["hit" if hit else "miss"] += 1
        self.ladders.mark(self.last_gone, hit)
        self._kept(now, lambda ball=self.last_gone: self.run.record.mark(ball.number, hit))  # type: ignore[misc]

    # ---- live

    def _at(self, place: Place) -> int:
        """The device's ms of a place's launch."""
        assert self._first is not None
        return self.not_before + FIRST_MS + scaled(place.at_s - self._first.at_s, 1000)

    def first_in_s(self, now: float) -> float:
        """Seconds until the ball on its way, or else the next that is armed."""
        place = self._in_doubt or self.run.places[min(self.next, len(self.run.places) - 1)]
        return (self._at(place) - self.talk.clock(now)) / 1000

    def coming(self) -> tuple[Place, str] | None:
        """The ball on its way until it has left, or else the next, and what is or would be thrown there."""
        if self._in_doubt:
            return self._in_doubt, self._shot
        if self.next >= len(self.run.places):
            return None
        place = self.run.places[self.next]
        return place, self._shot if self._aimed else self.ladders.choose(place)

    def _step(self, now: float) -> None:
        if self.phase in (Phase.PROVING, Phase.STOPPING) and not self._confirmed:
            self._send_stop(now)
        if self.phase is Phase.ENDED:
            return
        self.talk.step(now)
        if self.phase is Phase.DRILL and self.quiet_shown and now >= self._until:
            self._ready(now, "")
        elif self.phase is Phase.DRILL and now >= self._until and not self.talk.busy:
            self.talk.ask(now, "arm", self._arm_words(), self._drilled)
        elif self.phase is Phase.ANSWERING and now >= self._until and not self.talk.busy:
            self._ready(now, "no answer in time; nothing is armed")
        elif self.talk.other_session and self.phase is not Phase.STOPPING:
            self.stop(now, "The machine was reset, or another program took it over", 3)
        elif self.phase is Phase.LIVE and not self.talk.busy:
            self._live(now)

    def _live(self, now: float) -> None:
        if not self._held and self.talk.state in ("held", "met", "asleep"):
            self._held = "the machine let go"
        if self._held:
            return self._settle(now)
        if self._wish:
            return self.talk.ask(now, "hold", {}, self._on_hold)
        if self._in_doubt:
            if self.talk.clock(now) - self._at(self._in_doubt) > OVERDUE_MS:
                self._ask_fate(now)
            return
        place = self.run.places[self.next]
        to_go = self._at(place) - self.talk.clock(now)
        if not self._aimed:
            self._shot = self.ladders.choose(place)
            self.talk.ask(now, "ready", self._ball(place), self._on_ready)
        elif to_go < LATE_MS:
            self.say(f"Ball {place.number} was not sent: its moment came too near. Nothing is caught up.")
            self._wish = "late"
        elif to_go <= LEAD_MS and self._on_disk(now, place):
            # Written first: from here on the ball counts as thrown until the machine says otherwise.
            self._in_doubt = place
            self.ladders.thrown(place, self._shot)
            self.next += 1
            self.talk.ask(now, "go", self._ball(place) | {"at": self._at(place)}, self._on_go)

    def _on_disk(self, now: float, place: Place) -> bool:
        if self._handed is not place and self._kept(now, lambda: self.run.record.sent(place.number, self._shot)):
            self._handed = place
        if self.run.record.trouble:
            self.stop(now, self.run.record.trouble, 3)
        return self.phase is Phase.LIVE and self.run.record.written()

    def _ball(self, place: Place) -> dict[str, object]:
        return {"b": place.number, **dict(zip(KEYS, self.shelf.settings[self._shot], strict=True))}

    def _on_ready(self, now: float, answer: Frame | None) -> None:
        if answer is not None and answer.word == "ok":
            self._aimed = True
        elif answer is not None and (self._held or self.talk.state == "held"):
            self._held = self._held or "the machine let go"
        else:
            why = words.why(answer.values.get("why", "")) if answer else "no answer"
            self.stop(now, f"The machine does not get ready: {why}", 3)

    def _on_go(self, now: float, answer: Frame | None) -> None:
        if self._in_doubt is None or (answer is not None and answer.word == "ok"):
            return
        if answer is None:
            self.stop(now, f"Ball {self._in_doubt.number}: no answer", 3)
        else:  # refused in our own session, and never taken before: it was not thrown
            number, why = self._in_doubt.number, answer.values.get("why", "")
            self._decided(now, "missed")
            self.stop(now, f"The machine refused ball {number}: {words.why(why)}", 3)

    def _heard(self, now: float, event: Frame) -> None:
        ball, why = event.natural("b"), words.why(event.values.get("why", ""))
        doubt = self._in_doubt.number if self._in_doubt else None
        if event.word in ("gone", "miss"):
            if event.word == "gone" and self.last_gone and ball == self.last_gone.number:
                return  # told before, by what
            if ball != doubt:
                self.stop(now, f"The machine tells of ball {ball}, which it was not sent", 3)
            elif event.word == "gone":
                self._decided(now, "gone")
            else:
                self.say(f"Ball {ball} was not thrown: {why}.")
                self._decided(now, "missed")
                self._held = self._held or why
        elif event.word == "held":
            self._held = why
        elif event.word == "fault":
            self.stop(now, f"The machine reports a fault of its own: {why}", 3)
        elif event.word == "stopped" and self.phase is Phase.PROVING:
            if not self.talk.busy:
                self.talk.ask(now, "clear", {}, self._proven)
        elif event.word == "stopped" and self.phase is Phase.STOPPING:
            self._on_stopped(now)
        elif event.word == "stopped":
            self.stop(now, f"The machine stopped: {why}", 0)

    def _decided(self, now: float, fate: str) -> None:
        """What became of the ball in doubt is known."""
        place, self._in_doubt = self._in_doubt, None
        assert place is not None
        self.counts[fate] += 1
        if fate == "gone":
            self.last_gone, self._marked = place, False
        self._kept(now, lambda: self.run.record.fate(place.number, fate))
        if self.phase is Phase.LIVE:
            self.talk.forget("go")
            self._aimed = False
            if self.next >= self.last and fate == "gone":
                self._ready(now, "this part is played")

    def _on_hold(self, now: float, answer: Frame | None) -> None:
        if answer is None or (answer.word != "ok" and answer.values.get("why") != "state"):
            return self.stop(now, "The machine did not take hold", 3)
        self._held = {"pause": "paused", "skip": words.SKIPPED}.get(self._wish, "a ball was not sent")
        if self._wish == "skip":
            self._skip()

    def _skip(self) -> None:
        here = self.run.places[min(self.next, len(self.run.places) - 1)].block
        while self.next < len(self.run.places) and self.run.places[self.next].block == here:
            self.next += 1

    def _settle(self, now: float) -> None:
        """The device holds; before anything else, what became of the ball on its way."""
        if self._in_doubt:
            self._ask_fate(now)
        else:
            self._ready(now, self._held)

    def _ask_fate(self, now: float) -> None:
        assert self._in_doubt is not None
        self.talk.ask(now, "what", {"b": self._in_doubt.number}, self._on_fate, tries=2)

    def _on_fate(self, now: float, answer: Frame | None) -> None:
        fate = answer.values.get("fate") if answer else None
        if self._in_doubt is not None and fate in ("gone", "missed", "never"):
            if fate != "gone":
                self.say(f"Ball {self._in_doubt.number} was not thrown.")
                self._held = self._held or "a ball was not thrown"
            self._decided(now, "gone" if fate == "gone" else "missed")
        elif self.phase is Phase.LIVE:
            self.stop(now, "What became of the last ball is not known", 3)
        if self.phase is Phase.STOPPING:
            self._leave(now)
