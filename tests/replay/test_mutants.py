"""A device that lacks one rule is caught: each mutant breaks the promise named beside it in some course.

Rules that guard each other hide a missing one from random faults, so each mutant has a course that needs its rule.
"""

from collections.abc import Callable

import pytest

from feedwright.targets.machine.replay.mechanism import LinkSession, OrderedBall
from feedwright.targets.machine.wire.frames import Frame

from .bench import FP, RUN, STEADY, Bench
from .world import Watched


def without(gate: str) -> type[Watched]:
    class Lacks(Watched):
        def holds(self, name: str, ms: float, ball: OrderedBall) -> bool:
            return name == gate or super().holds(name, ms, ball)

    return Lacks


class WordCountsFromArrival(Watched):
    def _counts_from(self, now: float, issued: float) -> float:
        return self.clock(now)


class StopForgets(Watched):
    """Stop drops the ball and does not latch."""

    def stop(self, now: float, why: str) -> None:
        super().stop(now, why)
        self._enter(now, "live")


class StopKeepsTheBall(Watched):
    def stop(self, now: float, why: str) -> None:
        ball, self._pending = self._pending, None
        super().stop(now, why)
        self._pending = ball
        if ball:
            self._enter(now, "live")


class ArmsUnproven(Watched):
    def _is_proven(self, session: LinkSession) -> bool:
        return True


class AnswersToAnyone(Watched):
    def _misjudged(self, after_ms: float, right: bool) -> str | None:
        return None


class AnswersTooSoon(Watched):
    def _misjudged(self, after_ms: float, right: bool) -> str | None:
        return None if right else "wrong-answer"


class ForgetsWhatWasThrown(Watched):
    def _is_done(self, run: str, first: int) -> bool:
        return False


class TakesLinesAgain(Watched):
    """The same line again is done again, for it knows no numbers."""

    def _take(self, now: float, line: bytes) -> None:
        if self._session and line == self._session.last_line:
            self._session.next -= 1
            self._expected -= b" go " in line
            self._pending = None
        super()._take(now, line)


class HelloKeepsTheBall(Watched):
    def _hello(self, now: float, frame: Frame, line: bytes) -> None:
        ball, self._pending, state = self._pending, None, self.state
        super()._hello(now, frame, line)
        self._pending = ball
        if state == "live":
            self._enter(now, "live")


class ByeClearsTheStop(Watched):
    def _bye(self, now: float, frame: Frame, session: LinkSession) -> str | None:
        why = super()._bye(now, frame, session)
        self._enter(now, "asleep")
        return why


def stale(bench: Bench) -> bool:
    at = bench.armed()
    bench.ready(1)
    bench.go(1, at + 400)
    bench.wait(1000, ticks=False)
    return bench.thrown == []


def repeats_a_word(bench: Bench) -> bool:
    at = bench.armed()
    bench.ready(1)
    bench.go(1, at + 400)
    word = bench.word
    for _ in range(20):
        bench.wait(50, ticks=False)
        bench.tick(word)
    return bench.thrown == []


def refused(why: str, **changes: int) -> Callable[[Bench], bool]:
    def course(bench: Bench) -> bool:
        at = bench.armed(last=1 if why == "range" else 3)
        moment = {"late": int(bench.ms), "early": at + 9000}.get(why, at)
        bench.ready(1)
        return bench.why("go", b=changes.get("b", 1), at=moment, **(STEADY | changes | {})) == why

    return course


def twice(bench: Bench) -> bool:
    at = bench.armed()
    bench.ready(1)
    line = bench.line("go", b=1, at=at, **STEADY)
    bench.raw(line)
    bench.wait(400)
    bench.raw(bench.line("go", b=1, at=at, **STEADY))
    bench.number += 1
    again = bench.go(1, at + 700)
    bench.wait(1000)
    return bench.thrown == [1] and again == "ball"


def backwards(bench: Bench) -> bool:
    at = bench.armed()
    bench.fly(2, at)
    bench.wait(400)
    return bench.ready(1) == "ball"


def same_line(bench: Bench) -> bool:
    at = bench.armed()
    bench.ready(1)
    line = bench.line("go", b=1, at=at, **STEADY)
    first = bench.raw(line)
    bench.wait(350)
    return bench.raw(line) == first and bench.thrown == [1]


def warned(bench: Bench) -> bool:
    bench.up_to_arm()
    at = bench.arm()
    bench.ready(1)
    bench.go(1, int(bench.ms) + 300)
    bench.wait(500)
    return bench.thrown == [] and at > bench.ms


def spaced(bench: Bench) -> bool:
    at = bench.armed()
    bench.fly(1, at)
    bench.wait(400)
    bench.ready(2)
    bench.go(2, at + 300)
    bench.wait(600)
    return bench.thrown == [1]


def one_waits(bench: Bench) -> bool:
    at = bench.armed()
    bench.fly(1, at)
    return bench.ready(2) == "busy"


def stopped(bench: Bench) -> bool:
    bench.fly(1, bench.armed())
    bench.raw(b"\x07")
    bench.wait(800)
    return bench.thrown == [] and bench.state == "stopped"


def unproven(bench: Bench) -> bool:
    bench.hello()
    bench.tick()
    return bench.why("arm", fp=FP, run=RUN, **{"from": 1, "of": 3}) == "stop-unproven"


def asked(wait: int, right: bool) -> Callable[[Bench], bool]:
    def course(bench: Bench) -> bool:
        bench.up_to_arm()
        bench.tick()
        question = bench.say("arm", fp=FP, run=RUN, **{"from": 1, "of": 3}).values["c"]
        bench.wait(wait)
        return bench.why("yes", c=question if right else "aaaa", w=3000) != "ok"

    return course


def done(bench: Bench) -> bool:
    bench.fly(1, bench.armed())
    bench.wait(500)
    bench.why("hold")
    return bench.why("arm", fp=FP, run=RUN, **{"from": 1, "of": 3}) == "done-already"


def hello_again(bench: Bench) -> bool:
    bench.fly(1, bench.armed())
    bench.hello(nonce="12345678")
    bench.wait(600)
    return bench.thrown == []


def bye_in_stop(bench: Bench) -> bool:
    bench.armed()
    bench.raw(b"\x07")
    bench.why("bye")
    return bench.hello(nonce="12345678").values["state"] == "stopped"


def unready(bench: Bench) -> bool:
    return bench.go(1, bench.armed()) == "not-ready"


def off_its_moment(bench: Bench) -> bool:
    at = bench.armed()
    bench.fly(1, at)
    bench.wait(at - bench.ms - 1)
    bench.tick()
    bench.ms = at + 40
    bench.device.advance(bench.now)
    return bench.thrown == []


def slow(bench: Bench) -> bool:
    bench.device.faults.wheels_ms = 5000.0
    bench.fly(1, bench.armed())
    bench.wait(500)
    return bench.thrown == []


def go_after_stop(bench: Bench) -> bool:
    bench.armed()
    bench.ready(1)
    bench.prove()
    return bench.go(1, int(bench.ms) + 300) == "state"


class NeverStale(Watched):
    def _is_fresh(self, ms: float) -> bool:
        return True


MUTANTS: dict[str, tuple[type[Watched], Callable[[Bench], bool]]] = {
    "no state gate": (without("state"), go_after_stop),
    "no freshness": (NeverStale, stale),
    "freshness from arrival": (WordCountsFromArrival, repeats_a_word),
    "no cap": (without("cap"), lambda bench: bench.armed() > 0 and bench.ready(1, s=30001) == "cap"),
    "no range": (without("range"), lambda bench: bench.armed() > 0 and bench.ready(1, e=-1) == "range"),
    "no count": (without("range"), lambda bench: bench.armed(last=1) > 0 and bench.ready(2) == "range"),
    "no order": (without("ball"), backwards),
    "no one at a time": (without("busy"), one_waits),
    "takes the late": (without("late"), refused("late")),
    "takes the far": (without("early"), refused("early")),
    "no warning": (without("walk-time"), warned),
    "no gap": (without("gap"), spaced),
    "no ready": (without("not-ready"), unready),
    "launches off its moment": (without("moment"), off_its_moment),
    "does not wait for wheels": (without("wheels"), slow),
    "stop does not latch": (StopForgets, stopped),
    "stop keeps the ball": (StopKeepsTheBall, stopped),
    "arms unproven": (ArmsUnproven, unproven),
    "any answer": (AnswersToAnyone, asked(500, right=False)),
    "answer at once": (AnswersTooSoon, asked(100, right=True)),
    "forgets what was thrown": (ForgetsWhatWasThrown, done),
    "does lines again": (TakesLinesAgain, same_line),
    "throws a ball again": (without("ball"), twice),
    "hello keeps the ball": (HelloKeepsTheBall, hello_again),
    "bye clears the stop": (ByeClearsTheStop, bye_in_stop),
}


@pytest.mark.parametrize("name", MUTANTS)
def test_a_device_without_a_rule_is_caught(name: str) -> None:
    mutant, course = MUTANTS[name]
    assert course(Bench(Watched)), "the course itself must pass with the rule"
    caught = False
    try:
        caught = not course(Bench(mutant))
    except AssertionError:
        caught = True
    assert caught
