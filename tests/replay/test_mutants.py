"""A device or a host that lacks one rule is caught: each mutant breaks the promise named beside it in some course.

Rules that guard each other hide a missing one from random faults, so each mutant has a course that needs its rule.
"""

from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import Any

import pytest

from feedwright.compiler.model.device import Settings
from feedwright.targets.replay import events
from feedwright.targets.replay.flow import Phase
from feedwright.targets.replay.host import Host
from feedwright.targets.replay.machine import Machine
from feedwright.targets.replay.mechanism import Ball, Faults, Session
from feedwright.targets.replay.places import Shelf
from feedwright.targets.replay.protocol import ProtocolMachine
from feedwright.targets.replay.run import Run
from feedwright.targets.stream.wire import Frame

from .bench import FP, RUN, STEADY, Bench
from .invariants import broken
from .world import Watched, World


def without(gate: str) -> type[Watched]:
    class Lacks(Watched):
        def holds(self, name: str, ms: float, ball: Ball) -> bool:
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
    def _is_proven(self, session: Session) -> bool:
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
    def _bye(self, now: float, frame: Frame, session: Session) -> str | None:
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
    "no order": (without("ball"), lambda bench: bench.armed() > 0 and bench.ready(2) == "ball"),
    "no one at a time": (without("busy"), one_waits),
    "takes the late": (without("late"), refused("late")),
    "takes the far": (without("early"), refused("early")),
    "no warning": (without("warning"), warned),
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


# ---- the host


class PlaysABallAgain(Host):
    """Takes a ball that has gone for one that is still to come."""

    def _thrown(self, now: float, told: bool) -> None:
        super()._thrown(now, told)
        if self.phase is Phase.LIVE and self.state.next < self.state.last:
            self.state.next -= 1


class ThrowsWhatIsNotChecked(ProtocolMachine):
    def go(self, now: float, ball: int, shot: str, settings: Settings, offset_s: float) -> None:
        super().go(now, ball, shot, (settings[0], 13000, *settings[2:]), offset_s)

    def aim(self, now: float, ball: int, shot: str, settings: Settings) -> None:
        super().aim(now, ball, shot, (settings[0], 13000, *settings[2:]))


class WaitsForNoRecord(Host):
    def __init__(self, machine: Machine, shelf: Shelf, runs: Iterator[Run], **how: Any) -> None:
        super().__init__(machine, shelf, runs, **how)
        record = self.run.record
        record.written = lambda: True  # type: ignore[method-assign]


class TicksOn(Host):
    """Goes on ticking and playing when Stop is pressed and nothing confirms it."""

    def stop(self, now: float, why: str, code: int) -> None:
        if why != "Stopped by the player":
            super().stop(now, why, code)


class SkipsTheDrill(ProtocolMachine):
    def _drilled(self, now: float, said: events.Answer) -> None:
        self.tell(now, events.Prepared("", True))


class TakesAnyMachine(ProtocolMachine):
    def _on_hi(self, now: float, said: events.Answer) -> None:
        if isinstance(said, events.Hi):
            said = replace(said, id=self._identity.id, fit=self._identity.fit)
        super()._on_hi(now, said)


class TellsGoneAsMissed(Host):
    def _thrown(self, now: float, told: bool) -> None:
        self._not_thrown(told)


class NeverRests(Host):
    def _end(self, confirmed: bool | None, said: str) -> None:
        self._until = 0.0


class BelievesAnyWarning(ProtocolMachine):
    def _on_yes(self, now: float, said: events.Answer) -> None:
        if isinstance(said, events.NotBefore):
            self._warning_ms = said.ms - int(self.talk.clocks.now(now))
        super()._on_yes(now, said)


class TrustsTheDevicesWalk(Host):
    """Announces by the device's clock alone."""

    def _heard(self, now: float, happening: events.Happening) -> None:
        super()._heard(now, happening)
        self._launches.walk_over = 0.0


class LooksAtNoClock(ProtocolMachine):
    def step(self, now: float) -> None:
        self.talk.clocks.odd = None
        super().step(now)


class OverlooksALaunch(Host):
    def _alone(self, now: float, what: str) -> None:
        pass


class StopsAtTheLastBall(Host):
    """Ends while the last ball is in the air."""

    def _watch_until(self) -> float:
        return 0.0


Course = Callable[[type[Host], type[ProtocolMachine]], World]


def stop_in_the_middle(host: type[Host], adapter: type[ProtocolMachine]) -> World:
    world = World(3, balls=5, host=host, adapter=adapter)
    world.at(6.0, world.press_stop)
    return world


def another_machine(host: type[Host], adapter: type[ProtocolMachine]) -> World:
    return World(3, host=host, adapter=adapter, machine=Faults(other_fit="00000000"))


def with_faults(**faults: Any) -> Course:
    def course(host: type[Host], adapter: type[ProtocolMachine]) -> World:
        return World(3, host=host, adapter=adapter, machine=Faults(**faults))

    return course


def plain(host: type[Host], adapter: type[ProtocolMachine]) -> World:
    return World(3, host=host, adapter=adapter)


def stalled(host: type[Host], adapter: type[ProtocolMachine]) -> World:
    return World(3, host=host, adapter=adapter, stalled_after=1)


HOSTS: dict[str, tuple[type[Host], type[ProtocolMachine], Course, str]] = {
    "plays a ball again": (PlaysABallAgain, ProtocolMachine, plain, "I13"),
    "throws what is not checked": (Host, ThrowsWhatIsNotChecked, plain, "I1"),
    "waits for no record": (WaitsForNoRecord, ProtocolMachine, stalled, "I9"),
    "ticks on after Stop": (TicksOn, ProtocolMachine, stop_in_the_middle, "I3b"),
    "takes any machine": (Host, TakesAnyMachine, another_machine, "I8"),
    "tells gone as missed": (TellsGoneAsMissed, ProtocolMachine, plain, "I9"),
    "never rests": (NeverRests, ProtocolMachine, plain, "I12"),
    "believes any warning": (Host, BelievesAnyWarning, with_faults(warning=3.0), "I14"),
    "believes a short warning": (TrustsTheDevicesWalk, BelievesAnyWarning, with_faults(warning=0.1), "I5"),
    "looks at no clock": (Host, LooksAtNoClock, with_faults(speed=1.1), "I14"),
    "looks at no fast clock": (TrustsTheDevicesWalk, LooksAtNoClock, with_faults(speed=2.0), "I5"),
    "overlooks a launch": (OverlooksALaunch, ProtocolMachine, with_faults(throws_again=True), "I15"),
    "ends while the last ball flies": (StopsAtTheLastBall, ProtocolMachine, plain, "I16"),
}


@pytest.mark.parametrize("name", HOSTS)
def test_a_host_without_a_rule_is_caught(name: str) -> None:
    host, adapter, course, promise = HOSTS[name]
    assert broken(course(Host, ProtocolMachine).play()) == []
    world = course(host, adapter).play(40.0)
    found = broken(world) + ["I13: not every ball"] * (world.thrown != [1, 2, 3, 4])
    assert any(text.startswith(f"{promise}:") for text in found), found


def test_a_host_that_skips_the_drill_arms_a_machine_that_never_holds_itself() -> None:
    safe = World(3, device=NeverStale).play(20.0)
    assert safe.thrown == [] and "did not hold itself" in safe.host.why  # type: ignore[union-attr]
    assert World(3, device=NeverStale, adapter=SkipsTheDrill).play(20.0).thrown != []
