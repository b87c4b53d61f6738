"""Each row of the table of faults in REPLAY.md: what the program says, and how it ends."""

import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from feedwright.targets.machine.replay.flow import RunPhase
from feedwright.targets.machine.replay.picture import farewell
from feedwright.targets.machine.replay.run import Identity
from feedwright.targets.machine.replay.words import NOT_CONFIRMED

from .stranger import Habits, Stranger
from .street import Street, device
from .test_own_commands import Hall
from .world import LIMITS

PAGE = (Path(__file__).parents[2] / "targets" / "machine" / "replay" / "REPLAY.md").read_text("utf-8")
ROWS = re.findall(r"^\| (.*?) \| (.*?) \| `(.*?)` \| (\d+) \|$", PAGE.split("### Faults, and what happens")[1], re.M)
IDENTITY = Identity(LIMITS.id, LIMITS.cap, LIMITS.gap, LIMITS.checksum)
Told = tuple[int | None, str]


def end(street: Street) -> Told:
    street.end()
    return street.code, street.said


def habits(**which: object) -> Callable[[], Told]:
    def course() -> Told:
        stranger = device()
        stranger.habits = Habits(**which)  # type: ignore[arg-type]
        return end(Street(stranger))

    return course


def says(state: str, text: str) -> Callable[[], Told]:
    return habits(says=(state, text))


def at_speed(speed: float) -> Callable[[], Told]:
    return lambda: end(Street(speed=speed))


def faster_while_live() -> Told:
    street = Street().thrown(1)
    street.speed = 2.0
    return end(street)


def nothing_answers() -> Told:
    street = Street()
    street.deaf = True
    return end(street)


def takes_orders_when_quiet() -> Told:
    class NeverStale(Stranger):
        def on_arm(self, ms: float, values: dict[str, str]) -> str:
            self.fresh = ms
            return super().on_arm(ms, values)

    return end(Street(NeverStale(dict(LIMITS.ranges), LIMITS.cap, LIMITS.gap, LIMITS.id)))


def throws_after_stop() -> Told:
    stranger = device()
    stranger.habits = Habits(gone_after_stopped=True)
    told = end(Street(stranger).sent(2).stop())
    assert stranger.thrown[-1][0] == 2
    return told


def key_pressed() -> Told:
    street = Street().thrown(1)
    street.device.state = "stopped"
    street.device.event("stopped why=key")
    return end(street)


def was_reset() -> Told:
    street = Street().thrown(1)
    street.device.session, street.device.state = "", "asleep"
    return end(street)


def falls_silent() -> Told:
    street = Street().sent(2)
    street.deaf = True
    return end(street)


def cable_pulled() -> Told:
    street = Street().sent(2)
    street.cut = True
    return end(street)


def away() -> Told:
    street = Street().thrown(1)
    street.now += 3.0
    street.ms += 3000
    return end(street)


def full_disk() -> Told:
    street = Street().thrown(1)
    street.disk.full_after = len(street.disk.entries)
    return end(street)


def slow_disk(written: int) -> Callable[[], Told]:
    def course() -> Told:
        street = Street(stalled_after=written)
        street.arms = 1
        street.until(lambda: "not on the disk in time" in street.host.why)
        why = street.host.why
        street.stop().end()
        return street.code, f"{why}\n{street.said}"

    return course


def file_changed() -> Told:
    street = Street()
    street.unchanged = False
    return end(street)


def hall(name: str, answers: str | None, at_s: float, then: str | None, stop: bool) -> Callable[[], Told]:
    def course() -> Told:
        machine = Hall(name, answers)
        machine.arm()
        machine.pass_(at_s - machine.now)
        machine.answers = then
        if stop:
            machine.host.stop(machine.now, "Stopped by the player", 0)
        machine.pass_(10.0, lambda: machine.host.ending is not None)
        ending = machine.host.ending
        assert ending is not None
        return ending.code, "\n".join(farewell(ending, NOT_CONFIRMED))

    return course


def asks_nothing() -> Told:
    street = Street()
    street.arms = 0
    street.to(RunPhase.READY)
    street.arms = 1
    street.device.habits.answers = {"arm": "ok fp=00112233445566aa"}
    return end(street)


SCENES: dict[str, Callable[[], Told]] = {
    "nothing answers": nothing_answers,
    "another machine": lambda: end(Street(identity=replace(IDENTITY, limits="00000000"))),
    "its clock runs at double speed": at_speed(2.0),
    "its clock runs at half speed": at_speed(0.5),
    "its clock is 3 % fast": at_speed(1.03),
    "its clock doubles its speed while live": faster_while_live,
    "it never says that it stopped": habits(never_stopped=True),
    "it takes orders from a quiet link": takes_orders_when_quiet,
    "it asks without a four-character code": asks_nothing,
    "it ignores the walk time": habits(walk_share=0.0),
    "it keeps a tenth of the walk time": habits(walk_share=0.1),
    "its not-before is in eleven days": habits(not_before=999_999_999),
    "it throws as soon as it is aimed": habits(throws_at_once=True),
    "it throws as soon as a ball is announced": habits(throws_on_go=True),
    "it throws each ball twice": habits(gone_twice=True),
    "it throws a ball of another number": habits(other_ball=7),
    "it throws after it said that it stopped": throws_after_stop,
    "it reports a launch while nothing is armed": says("asked", "gone b=1 t=5"),
    "it reports a miss of a ball that it was not sent": says("live", "miss b=7 why=jam"),
    "an event without its ball, ready to arm": says("connected", "gone t=5"),
    "an event without its ball, at the question": says("asked", "miss why=jam"),
    "an event without its ball, live": habits(event_without_b="gone"),
    "an event that no page knows": says("live", "dancing b=1"),
    "its own stop key is pressed": key_pressed,
    "it reports a jam": says("live", "fault why=jam"),
    "it was reset while live": was_reset,
    "its answers cease while live": falls_silent,
    "the cable is pulled while a ball waits": cable_pulled,
    "the computer was away for 3 s": away,
    "the record cannot be written": full_disk,
    "the disk is slow when it is to arm": slow_disk(0),
    "the disk is slow before a ball": slow_disk(1),
    "the plan's file was changed": file_changed,
    "Stop in the middle": lambda: end(Street().sent(2).stop()),
    "own commands: a throw is not answered": hall("answering", "done\r\n", 3.2, None, False),
    "own commands: it answers `not done`": hall("answering", "done\r\n", 3.2, "not done\r\n", False),
    "own commands: a stop is not answered": hall("answering", "done\r\n", 5.0, None, True),
    "own commands: Stop while a machine plays that answers nothing": hall("silent", None, 5.0, None, True),
}


def test_every_row_has_its_test_and_every_test_its_row() -> None:
    assert [name for name, *_ in ROWS] == list(SCENES)


@pytest.mark.parametrize(("name", "said", "code"), [(name, said, int(code)) for name, _, said, code in ROWS])
def test_what_the_program_says_and_how_it_ends(name: str, said: str, code: int) -> None:
    ended, told = SCENES[name]()
    assert said in told and ended == code, (ended, told)
