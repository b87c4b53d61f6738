"""A host that lacks one rule is caught: each mutant breaks the promise named beside it in some course."""

from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import Any

import pytest

from feedwright.compiler.model.device import Settings
from feedwright.targets.machine.replay import events
from feedwright.targets.machine.replay.flow import RunPhase
from feedwright.targets.machine.replay.host import Host
from feedwright.targets.machine.replay.machine import Machine
from feedwright.targets.machine.replay.mechanism import Faults
from feedwright.targets.machine.replay.places import RunShelf
from feedwright.targets.machine.replay.protocol import ProtocolMachine
from feedwright.targets.machine.replay.run import Run

from .invariants import broken
from .test_mutants import NeverStale
from .world import World


class PlaysABallAgain(Host):
    """Takes a ball that has gone for one that is still to come."""

    def _thrown(self, now: float, told: bool) -> None:
        super()._thrown(now, told)
        if self.phase is RunPhase.LIVE and self.state.next < self.state.last:
            self.state.next -= 1


class ThrowsWhatIsNotChecked(ProtocolMachine):
    def go(self, now: float, ball: int, shot: str, settings: Settings, offset_s: float) -> None:
        super().go(now, ball, shot, (settings[0], 13000, *settings[2:]), offset_s)

    def aim(self, now: float, ball: int, shot: str, settings: Settings) -> None:
        super().aim(now, ball, shot, (settings[0], 13000, *settings[2:]))


class WaitsForNoRecord(Host):
    def __init__(self, machine: Machine, shelf: RunShelf, runs: Iterator[Run], **how: Any) -> None:
        super().__init__(machine, shelf, runs, **how)
        record = self.run.record
        record.written = lambda: True  # type: ignore[method-assign]


class TicksOn(Host):
    """Goes on ticking and playing when Stop is pressed and nothing confirms it."""

    def stop(self, now: float, why: str, code: int) -> None:
        if why != "Stopped by the player":
            super().stop(now, why, code)


class SkipsTheSilenceTest(ProtocolMachine):
    def _silence_tested(self, now: float, said: events.Answer) -> None:
        self.tell(now, events.Prepared("", True))


class TakesAnyMachine(ProtocolMachine):
    def _on_hi(self, now: float, said: events.Answer) -> None:
        if isinstance(said, events.Hi):
            said = replace(said, id=self._identity.id, limits=self._identity.limits)
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
            self._walk_ms = said.ms - int(self.talk.clocks.now(now))
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
    return World(3, host=host, adapter=adapter, machine=Faults(other_limits="00000000"))


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
    "believes any warning": (Host, BelievesAnyWarning, with_faults(walk_time=3.0), "I14"),
    "believes a short warning": (TrustsTheDevicesWalk, BelievesAnyWarning, with_faults(walk_time=0.1), "I5"),
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


def test_a_host_that_skips_the_silence_test_arms_a_machine_that_never_holds_itself() -> None:
    safe = World(3, device=NeverStale).play(20.0)
    assert safe.thrown == [] and "did not hold" in safe.host.why  # type: ignore[union-attr]
    assert World(3, device=NeverStale, adapter=SkipsTheSilenceTest).play(20.0).thrown != []
