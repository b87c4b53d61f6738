"""The host for a machine with commands of its own: one ball at a time, no line ever repeated, nothing promised that
such a machine can't promise. It keeps the person's part: the answer, the warning time, the record, Stop."""

from collections import deque
from collections.abc import Callable, Iterator, Mapping
from random import Random

from ...compiler.model.feeder import Feeder
from ..stream import rules
from ..stream.template import fill
from . import words
from .flow import AWAY_S, Halt, LinkLost, Phase
from .places import Ladders, Place, Shelf, arming
from .run import Ending, Run

LATE_S = 0.1
"""A ball whose moment is further past than this is not sent at all."""


class Commanded:
    def __init__(
        self, write: Callable[[bytes], None], feeder: Feeder, shelf: Shelf, runs: Iterator[Run], random: Random,
        *, warning_s: float, unchanged: Callable[[], bool] = lambda: True,
    ) -> None:  # fmt: skip
        assert feeder.template is not None
        self._write, self._template, self.shelf, self._runs = write, feeder.template, shelf, runs
        self._inside = feeder.slowest_feed_s
        self._random, self._warning, self._unchanged = random, warning_s, unchanged
        self.ladders = Ladders(shelf)
        self.phase, self.why, self.question = Phase.READY, "", ""
        self.messages: deque[str] = deque(maxlen=50)
        self.said = 0
        self.run, self.next, self._begun = next(runs), 0, False
        self.counts = {"gone": 0, "missed": 0, "hit": 0, "miss": 0}
        self.last_gone: Place | None = None
        self.ending: Ending | None = None
        self.quiet_shown = self.armed = self.told = False
        self._marked, self.halt = False, Halt.START
        self._asked = self._zero = self._free = self._out = 0.0
        """`_out`: when the ball before has left the machine. Until then a setting would be that ball's."""
        self._first: Place | None = None
        self._last = 0
        self._shot = ""
        self._aimed = False
        self._heard = b""
        self._wait: tuple[float, Place | None] | None = None
        """Until when a reply is waited for, and the ball it is about."""
        self._stopping: tuple[float, int, int] | None = None
        """Until when an answer to the stop line is waited for, how many replies are owed, and the exit code."""
        self._unknown: int | None = None
        self._seen: float | None = None

    def start(self, now: float) -> None:
        self._seen = now
        silent = "It answers nothing, so that a ball counts as thrown when its line is sent. " * (
            not self._template.reply
        )
        stops = "" if self._template.stop is not None else "It knows no stop line: use its own switch. "
        turns = "Its wheels may begin to turn when the four signs are typed. " * (self._template.ready is not None)
        self.say(
            f"This machine has commands of its own and promises little. {silent}{stops}One ball at a time, no repeats. "
            f"{turns}Its port is set to {words.port(self._template.baud)}."
        )

    def armed_places(self) -> tuple[Place, ...]:
        return arming(self.run.places[self.next :])

    def first_in_s(self, now: float) -> float:
        place = self.run.places[min(self.next, len(self.run.places) - 1)]
        return self._zero + place.at_s - (self._first.at_s if self._first else 0.0) - now

    def coming(self) -> tuple[Place, str] | None:
        """The next ball, and what was made ready or would be thrown there. A ball's line goes out as it leaves."""
        if self.next >= len(self.run.places):
            return None
        place = self.run.places[self.next]
        ready = self._aimed and not (self._wait and self._wait[1])
        return place, self._shot if ready else self.ladders.choose(place)

    # ---- the person

    def arm(self, now: float) -> None:
        if self.phase is not Phase.READY:
            return
        if not self._unchanged():
            return self.stop(now, "The program's file was changed since it was checked; start anew", 2)
        places = self.run.places
        facts: dict[str, object] = {"run": self.run.word, "title": self.run.title, "first": places[0].number,
                                    "last": places[-1].number, "stop_proven": False, "quiet_shown": False}  # fmt: skip
        if not self._begun and not self._kept(now, lambda: self.run.record.begin(facts)):
            return
        self._begun = True
        self.question = "".join(self._random.choices(rules.EYE_SIGNS, k=4))
        self.phase, self._asked, self.told = Phase.ANSWERING, now, True

    def answer(self, now: float, text: str) -> None:
        if self.phase is not Phase.ANSWERING:
            return
        soon, late = (ms / 1000 for ms in rules.ANSWER_MS)
        if not soon <= now - self._asked <= late:
            return self._ready("that was no answer in its time; nothing is armed")
        if text != self.question:
            return self._ready("the signs were wrong; nothing is armed")
        covered = self.armed_places()
        self._first, self._last = covered[0], self.next + len(covered)
        self._zero, self._aimed = now + self._warning, False
        self.phase, self.armed, self.why = Phase.LIVE, True, ""

    def pause(self, now: float) -> None:
        if self.phase is Phase.LIVE and self._wait is None and self.next < self._last:
            self._ready("paused")

    def skip(self, now: float) -> None:
        if self.phase in (Phase.LIVE, Phase.READY) and self._wait is None and self.next < len(self.run.places):
            here = self.run.places[self.next].block
            while self.next < len(self.run.places) and self.run.places[self.next].block == here:
                self.next += 1
            self._ready(words.SKIPPED)
            if self.next >= len(self.run.places):
                self.phase, self._last = Phase.LIVE, self.next  # it ends when the ball before has left

    def mark(self, now: float, hit: bool | None) -> None:
        place = self.last_gone
        if place is not None and hit is not None and not self._marked:
            self._marked = True
            self.counts["hit" if hit else "miss"] += 1
            self.ladders.mark(place, hit)
            self._kept(now, lambda: self.run.record.mark(place.number, hit))

    # ---- the line

    def received(self, now: float, data: bytes) -> None:
        self._heard = (self._heard + data)[-1024:]

    def lost(self, now: float, why: str) -> None:
        if self._stopping:
            return self._end(self._stopping[2], False)
        self.stop(now, why, 3)

    def stop(self, now: float, why: str, code: int) -> None:
        """Nothing is sent any more but the machine's own stop line, once, if it has one; its answer is waited for."""
        if self.phase in (Phase.STOPPING, Phase.ENDED):
            return
        self.phase, self.why = Phase.STOPPING, why
        owed = 1 + (self._wait is not None)  # what still answers the line before is no answer to this one
        if self._wait and self._wait[1]:
            self._unknown = self._wait[1].number
        if self._template.stop is None:
            return self._end(code, False)
        if owed == 1:
            self._heard = b""
        try:
            self._write(self._template.stop.encode("ascii") + self._template.end)
            self.say("The machine's stop line was sent; whether it obeyed is not known.")
        except LinkLost:
            self.say("The machine's stop line could not be sent.")
            return self._end(code, False)
        if self._template.reply is None:
            return self._end(code, False)
        self._stopping = now + self._template.reply_s, owed, code

    def _end(self, code: int, heard: bool) -> None:
        """Whoever stops a machine that was armed and hears nothing of it gets 3; to play to the end needs no answer
        from a machine that never gives one."""
        silent = self._template.stop is None or self._template.reply is None
        needless = silent and (not self.armed or self.why in (words.PLAYED, words.LEFT))
        gone = self.last_gone.number if self.last_gone else None
        said = words.HEARD if heard else words.SAYS_NOTHING if needless else ""
        self.phase = Phase.ENDED
        stopped = None if said else False
        self.ending = Ending(code or (0 if said else 3), self.why, stopped, gone, self._unknown, said)

    def _hear_stop(self, now: float, until: float, owed: int, code: int) -> None:
        assert self._template.reply is not None
        if self._heard.count(self._template.reply.encode("ascii")) >= owed:
            self._end(code, True)
        elif now > until:
            self._end(code, False)

    def step(self, now: float) -> None:
        if self._stopping and self.ending is None:
            return self._hear_stop(now, *self._stopping)
        away, self._seen = now - (self._seen if self._seen is not None else now), now
        if away > AWAY_S:
            return self.stop(now, f"The computer was away for {away:.1f} s", 3)
        if self.phase is Phase.ANSWERING and now - self._asked > rules.ANSWER_MS[1] / 1000:
            self._ready("no answer in time; nothing is armed")
        if self._wait:
            self._await(now, *self._wait)
        elif self.phase is Phase.LIVE and now >= self._free:
            try:
                self._live(now)
            except LinkLost as lost:
                self.stop(now, str(lost), 3)

    def _live(self, now: float) -> None:
        if self.next >= self._last:
            if now >= self._out:
                self._played(now)
            return
        place = self.run.places[self.next]
        to_go = self.first_in_s(now)
        if to_go < -LATE_S:
            self._ready(f"ball {place.number} was not sent: its moment was past. Nothing is caught up")
        elif now < self._out:
            return
        elif not self._aimed:
            self._shot, self._aimed = self.ladders.choose(place), True
            if self._template.ready is not None:
                self._send(now, self._template.ready, None)
        elif to_go <= 0 and self._kept(now, lambda: self.run.record.sent(place.number, self._shot)):
            self.ladders.thrown(place, self._shot)
            self.next += 1
            self._unknown = place.number  # until something is heard, and for ever where nothing ever is
            self._out = now + self._inside
            self._send(now, self._template.throw, place)

    def _settings(self) -> Mapping[str, float]:
        return self.shelf.shots[self._shot].settings

    def _send(self, now: float, text: str, place: Place | None) -> None:
        self._heard, self._free = b"", now + self._template.pause_s
        self._wait = (now + self._template.reply_s, place) if self._template.reply is not None else None
        self._write(fill(self._template, text, self._settings()))
        if place and self._template.reply is None:
            self._thrown(now, place, "unknown")

    def _await(self, now: float, until: float, place: Place | None) -> None:
        assert self._template.reply is not None
        if self._template.reply.encode("ascii") in self._heard:
            self._wait = None
            if place:
                self._unknown = None
                self._thrown(now, place, "gone")
        elif now > until:
            self.stop(now, "The machine did not answer; its line is not sent again", 3)

    def _thrown(self, now: float, place: Place, fate: str) -> None:
        self.counts["gone"] += 1
        self.last_gone, self._marked, self._aimed = place, False, False
        self._kept(now, lambda: self.run.record.fate(place.number, fate))

    def _played(self, now: float) -> None:
        """The last ball of this part has left."""
        left = words.LEFT if self.why == words.SKIPPED else words.PLAYED
        self._ready("this part is played")
        if self.next < len(self.run.places):
            return
        following = next(self._runs, None)
        if following is None:
            return self.stop(now, left, 0)
        self.run, self.next, self._begun = following, 0, False

    def _ready(self, why: str) -> None:
        self.phase, self.why, self.halt = Phase.READY, why, Halt.of(why, self.halt)

    def _kept(self, now: float, write: Callable[[], None]) -> bool:
        try:
            write()
        except OSError as error:
            self.stop(now, f"The record cannot be written ({error.strerror or error})", 3)
            return False
        return True

    def say(self, text: str) -> None:
        self.messages.append(text)
        self.said += 1
