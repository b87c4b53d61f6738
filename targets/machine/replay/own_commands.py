"""The adapter for a machine with commands of its own: one ball at a time, no line ever repeated, no promise that such a
machine cannot keep. The rest stays: the code that a person types, the walk time, the record, Stop."""

from collections.abc import Callable
from random import Random

from ....compiler.model.command import ReplyLines
from ....compiler.model.device import Settings
from ....compiler.model.feeder import Feeder
from ..wire import rules
from ..wire.template import fill
from . import events, words
from .flow import LinkLost
from .places import RunShelf

LATE_S = -0.1
"""A ball whose moment passed longer ago than this is not sent at all."""


class OwnCommands:
    greeted = True
    lead_s = feed_s = 0.0
    late_s = LATE_S
    overdue_s = 0.0

    def __init__(self, write: Callable[[bytes], None], feeder: Feeder, shelf: RunShelf, random: Random) -> None:
        """ValueError if the profile has no template."""
        if feeder.template is None:
            raise ValueError(f"the profile {feeder.name} has no commands of its own")
        self.write, self._template, self._shelf, self._random = write, feeder.template, shelf, random
        self.tell: Callable[[float, events.Happening], None] = lambda now, happening: None
        self.leaves_s = feeder.slowest_feed_s
        self._code, self._asked = "", 0.0
        self._zero = self._free = self._out = 0.0
        """`_out`: when the ball before has left the machine."""
        self._replies = ReplyLines(feeder.template)
        self._waits: tuple[float, events.Happening | None] | None = None
        """When the wait for a reply ends, and what the reply would mean."""
        self._stopping: tuple[float, int] | None = None
        """When the wait for an answer to the stop line ends, and how many replies are still to come."""
        self._over = False

    def facts(self) -> dict[str, object]:
        return {"stop_proven": False, "quiet_shown": False}

    def busy(self, now: float) -> bool:
        return self._waits is not None or self._stopping is not None or now < self._free

    def resting(self, now: float) -> bool:
        """While a ball is inside, a setting would change that ball."""
        return now < self._out

    # ---- time

    def start(self, now: float, run: str, first: int) -> None:
        template = self._template
        silent = "" if template.reply else "It does not answer, so a ball counts as thrown when its line is sent. "
        stops = "" if template.stop is not None else "It knows no stop line: use its own switch. "
        turns = "Its wheels may begin to turn when the four-character code is typed. " * (template.ready is not None)
        self.tell(now, events.Prepared(
            f"This machine has commands of its own and promises little. {silent}{stops}One ball at a time, no repeats. "
            f"{turns}Its port is set to {words.port(template.baud)}.", quiet_shown=False))  # fmt: skip

    def received(self, now: float, data: bytes) -> None:
        heard = self._replies.feed(data)
        if self._stopping:
            until, owed = self._stopping
            self._stopping = until, owed - heard
        elif self._waits and heard:
            (_, means), self._waits = self._waits, None
            if means:
                self.tell(now, means)

    def step(self, now: float) -> None:
        if self._over:
            return
        if self._stopping:
            until, owed = self._stopping
            if owed <= 0:
                self._left(now, events.Left(None, words.HEARD))
            elif now > until:
                self._left(now, events.Left(False))
        elif self._waits and now > self._waits[0]:
            self._waits = None
            self.tell(now, events.Failed("The machine did not answer; its line is not sent again"))

    def due(self, now: float) -> float | None:
        moments = [until[0] for until in (self._waits, self._stopping) if until]
        moments += [moment for moment in (self._free, self._out) if moment > now]
        return min(moments, default=None) if not self._over else None

    def until(self, now: float, offset_s: float) -> float:
        return self._zero + offset_s - now

    # ---- arming

    def ready_again(self, now: float) -> None:
        """Nothing to send."""

    def arm(self, now: float, run: str, first: int, last: int) -> None:
        self._code, self._asked = "".join(self._random.choices(rules.CODE_ALPHABET, k=4)), now
        self.tell(now, events.Question(self._code))

    def answer(self, now: float, text: str, walk_s: float) -> None:
        soon, late = (ms / 1000 for ms in rules.ANSWER_MS)
        if not soon <= now - self._asked <= late:
            return self.tell(now, events.NotArmed("the answer came too early or too late; nothing is armed"))
        if text != self._code:
            return self.tell(now, events.NotArmed("the code was wrong; nothing is armed"))
        self._zero = now + walk_s
        self.tell(now, events.Armed())

    # ---- launches

    def aim(self, now: float, ball: int, shot: str, settings: Settings) -> None:
        if self._template.ready is not None:
            self._send(now, self._template.ready, shot, events.Aimed())
        else:
            self.tell(now, events.Aimed())

    def go(self, now: float, ball: int, shot: str, settings: Settings, offset_s: float) -> None:
        self._out = now + self.leaves_s
        self._send(now, self._template.throw, shot, events.Gone(ball))
        if self._template.reply is None:
            self.tell(now, events.Unsaid(ball))

    def _send(self, now: float, text: str, shot: str, means: events.Happening) -> None:
        self._replies.clear()
        self._free = now + self._template.pause_s
        self.write(fill(self._template, text, self._shelf.shots[shot].settings))
        if self._template.reply is not None:
            self._waits = now + self._template.reply_s, means
        elif means == events.Aimed():
            self.tell(now, means)

    def decided(self) -> None:
        """No line is repeated, so there is nothing to cancel."""

    def hold(self, now: float) -> None:
        self.tell(now, events.Holding())

    def ask_fate(self, now: float, ball: int) -> None:
        """This machine cannot be asked: the reply to its line decides, or the end of the wait for one."""

    # ---- stop

    def stop(self, now: float) -> None:
        """Send only the machine's own stop line, once, if it has one, and wait for its answer."""
        owed = 1 + (self._waits is not None)  # a late reply to the line before does not answer this one
        self._waits = None
        if self._template.stop is None:
            return self._left(now, events.SaysNothing())
        if owed == 1:
            self._replies.clear()
        try:
            self.write(self._template.stop.encode("ascii") + self._template.end)
        except LinkLost:
            return self._left(now, events.Left(False, words.STOP_UNSENT))
        if self._template.reply is None:
            return self._left(now, events.SaysNothing())
        self._stopping = now + self._template.reply_s, owed

    def leave(self, now: float) -> None:
        """Nothing follows its stop."""

    def lost(self, now: float) -> None:
        if self._stopping:
            self._left(now, events.Left(False))

    def _left(self, now: float, how: events.Left | events.SaysNothing) -> None:
        self._over, self._stopping = True, None
        self.tell(now, how)
