"""Fault cases of the host, each by its number and with what must come of it; in virtual time."""

import pytest

from feedwright.compiler.model.device import Limits
from feedwright.targets.log.progress import Verdict
from feedwright.targets.machine.replay import events
from feedwright.targets.machine.replay.flow import LinkLost, RunPhase
from feedwright.targets.machine.replay.host import Host
from feedwright.targets.machine.replay.mechanism import Faults
from feedwright.targets.machine.replay.places import Ladders, Place, RunShelf, arming
from feedwright.targets.machine.replay.run import Ending, Identity
from feedwright.targets.machine.wire.frames import Frame

from ..whole import WHOLE
from .invariants import broken
from .world import BLOCKS, LIMITS, SETTINGS, World


def ended(world: World) -> Ending:
    assert not broken(world)
    assert world.host is not None and world.host.ending is not None
    return world.host.ending


def kill_at_go(after_write: bool) -> World:
    """The host dies at its go for ball 2: the record is written, the line is or is not."""
    world = World(3, balls=4)
    assert world.host is not None
    write, machine = world._write, world.machine

    def killed(data: bytes) -> None:
        if b" go b=2 " in data:
            if after_write:
                write(data)
            world.host, machine.write = None, lambda data: None
            world.at(world.now + 1.0, world.open)
        else:
            write(data)

    machine.write = killed
    return world.play()


def test_37_killed_before_the_write() -> None:
    world = kill_at_go(after_write=False)
    assert world.thrown == [1, 3, 4] and ended(world).code == 0
    assert world.disk.fates() == {1: "gone", 2: None, 3: "gone", 4: "gone"}


def test_38_killed_after_the_write() -> None:
    world = kill_at_go(after_write=True)
    # Agreed, and dropped by the machine when the ticks ceased with the host; had it gone, the record would be the same.
    assert world.thrown == [1, 3, 4] and ended(world).code == 0
    assert [line.values["b"] for line in gos(world)].count("2") == 1
    assert world.disk.fates()[2] is None


def gos(world: World) -> list[Frame]:
    return [f.about[0] for f in world.device.log if f.what == "line" and f.about[0].word == "go"]  # type: ignore[attr-defined,misc]


def live(world: World, ball: int = 2) -> Host:
    """Until a ball is agreed."""
    host = world.forward(RunPhase.LIVE)
    while not (host.state.in_doubt and host.state.in_doubt.number == ball and not host.busy(world.now)):
        world.step(60.0)
    return host


def test_39_frozen_for_a_moment() -> None:
    world = World(3, balls=4)
    live(world)
    world.freeze(0.3)
    world.play()
    assert world.thrown[:2] == [1, 2] and not broken(world)


def test_40_frozen_for_three_seconds() -> None:
    world = World(3, balls=4)
    live(world)
    world.freeze(3.0)
    world.play()
    assert ended(world).code == 3 and "away for 3" in ended(world).why
    assert world.thrown in ([1], [1, 2]) and world.device.state == "stopped"


def test_41_a_write_raises_and_the_line_arrives() -> None:
    world = World(3, balls=4)
    assert world.host is not None
    write = world._write

    def raising(data: bytes) -> None:
        write(data)
        if b" go b=2 " in data:
            raise LinkLost("The line is gone; it could not be written")

    world.machine.write = raising
    world.play()
    # Stop went out at once, so it was dropped; the device's own word decides, and says so.
    assert world.thrown == [1] and ended(world).code == 3
    assert world.disk.fates()[2] == "missed" and ended(world).unknown is None


@pytest.mark.parametrize(("entries", "thrown"), [(0, []), (1, []), (3, [1])])
def test_42_the_disk_is_full(entries: int, thrown: list[int]) -> None:
    world = World(3, balls=4)
    world.disk.full_after = entries
    world.play()
    assert "The record cannot be written (No space left on device)" in ended(world).why
    assert ended(world).code == 3 and world.thrown == thrown


def test_44_unplugged_while_a_ball_waits() -> None:
    world = World(3, balls=4)
    live(world)
    world.unplug()
    world.play()
    end = ended(world)
    assert (end.code, end.stopped, end.last_gone, end.unknown) == (4, False, 1, 2)


@pytest.mark.parametrize("machine", [{"other_id": "bench-2"}, {"other_limits": "00000000"}])
def test_45_another_machine(machine: dict[str, str]) -> None:
    world = World(3, machine=Faults(**machine)).play()  # type: ignore[arg-type]
    assert ended(world).code == 3 and "not the machine the program was compiled for" in ended(world).why
    assert world.thrown == [] and not world.disk.entries


@pytest.mark.parametrize("claims", [{"cap": 29000}, {"gap": 299}])
def test_45b_another_cap_or_gap(claims: dict[str, int]) -> None:
    identity = Identity(**({"id": LIMITS.id, "cap": LIMITS.cap, "gap": LIMITS.gap, "limits": LIMITS.checksum} | claims))  # type: ignore[arg-type]
    world = World(3, identity=identity).play()
    assert world.host is not None and world.host.ending is not None and world.host.ending.code == 3
    assert world.thrown == []


def test_46_the_machine_lies() -> None:
    world = World(3, machine=Faults(invents=True)).play()
    assert ended(world).code == 4 and "threw on its own (ball 2, which it was not sent)" in ended(world).why
    assert world.thrown == [1] and world.device.state == "stopped"


def test_47_silent_after_hi() -> None:
    world = World(3)
    world.forward(RunPhase.PROVING)
    world.device.faults.mute = True
    world.play()
    assert ended(world).code == 4 and "stop is not proven" in ended(world).why and ended(world).stopped is False


def test_50_the_file_was_changed_before_arming() -> None:
    world = World(3)
    world.forward(RunPhase.READY)
    world.unchanged = False
    world.play()
    assert ended(world).code == 2 and "changed since it was checked" in ended(world).why
    assert world.thrown == [] and not world.disk.entries


@pytest.mark.parametrize(("drift", "balls"), [(200.0, 60 if WHOLE else 10), (-200.0, 60 if WHOLE else 10)])
def test_52_clocks_drift_for_twenty_minutes(drift: float, balls: int) -> None:
    """A share of them: 200 s, after which one clock is 40 ms off the other, and a launch may be 30 ms off."""
    run = tuple(Place(n + 1, n * 20.0, ("steady",), 0, 0) for n in range(balls))
    world = World(3, places=run, drift_ppm=drift).play(1300.0)
    assert world.thrown == list(range(1, balls + 1)) and ended(world).code == 0


def test_stop_is_heard_within_a_tenth_of_a_second() -> None:
    world = World(3, balls=4)
    live(world)
    world.press_stop()
    pressed = world.now
    world.play()
    stopped = min(fact.now for fact in world.device.log if fact.what == "stop" and fact.now >= pressed)
    assert stopped - pressed <= 0.1 and ended(world).stopped


@pytest.mark.parametrize("phase", [RunPhase.READY, RunPhase.LIVE])
def test_an_answer_that_nobody_asked_for_changes_nothing(phase: RunPhase) -> None:
    world = World(3, balls=4)
    host = world.forward(phase)
    sent: list[bytes] = []
    world.machine.write = sent.append
    host.answer(world.now, "w7xy")
    assert host.phase is phase and not sent


def test_a_second_answer_while_the_first_is_on_its_way_sends_nothing() -> None:
    world = World(3, balls=4)
    host = world.forward(RunPhase.ANSWERING)
    sent: list[bytes] = []
    world.machine.write = sent.append
    for _ in range(2):
        host.answer(world.now, host.question)
    assert [line.split()[2] for line in sent] == [b"yes"], sent


def test_a_pause_that_comes_with_a_parts_last_ball_holds_nothing_in_the_next_part() -> None:
    places = (Place(1, 0.0, ("steady",), 0, 0), Place(2, 0.0, ("steady",), 2, 1), Place(3, 1.0, ("steady",), 2, 1))
    world = World(3, places=places)
    host = live(world, 1)
    while world.thrown != [1]:
        world.step(60.0)
    assert host.last_gone is None  # the machine has thrown it, and that is still on the line
    host.pause(world.now)
    world.play()
    assert ended(world).code == 0 and world.thrown == [1, 2, 3]
    arms = [f.about[0] for f in world.device.log if f.what == "line" and f.about[0].word == "yes"]  # type: ignore[attr-defined,misc]
    assert len(arms) == 2, "a part is armed once"


@pytest.mark.parametrize("phase", [RunPhase.PROVING, RunPhase.LIVE])
def test_arming_is_asked_for_while_it_waits_and_at_no_other_time(phase: RunPhase) -> None:
    world = World(3, balls=4)
    host = world.forward(phase)
    host.arm(world.now)
    assert host.phase is phase


@pytest.mark.parametrize("phase", [p for p in RunPhase if p not in (RunPhase.STOPPING, RunPhase.ENDED)])
def test_stop_from_any_state(phase: RunPhase) -> None:
    world = World(3, balls=4)
    world.forward(phase)
    world.press_stop()
    world.play()
    assert world.device.state in ("stopped", "asleep") and not broken(world)
    assert ended(world).code == 0 and ended(world).stopped


def test_a_ball_that_is_late_is_skipped_and_never_caught_up() -> None:
    world = World(3, balls=4)
    host = live(world, 1)
    at = world.machine._at(host.state.offset(host.run.places[1])) / 1000
    world.at(world.device._woke + at - 0.405, lambda: world.freeze(0.31))
    world.play()
    assert not broken(world)
    assert any("No later ball makes up for it" in text for text in host.messages)
    # It was in the record by then: it is left out for good, and what follows goes when a person has armed again.
    assert world.thrown == [1, 3, 4] and world.disk.fates()[2] == "missed" and len(gos(world)) == 3
    assert [what for _, what, *_ in world.disk.entries].count("run") == 1  # armed twice, it is still one run


@pytest.mark.parametrize(("fate", "news"), [("gone", events.Gone(2)), ("missed", events.Missed(2, "jam"))])
def test_the_event_of_a_ball_whose_fate_was_told_before_is_no_other_ball(fate: str, news: events.Happening) -> None:
    """It was late, or sent twice; a second such event is one that nobody asked for."""
    world = World(3, balls=4)
    host = live(world)
    world.machine.tell(world.now, events.Fate(2, fate))
    for _ in range(2):
        assert host.phase is not RunPhase.STOPPING and host.state.alone == 0, host.why
        world.machine.tell(world.now, news)
    assert host.phase is RunPhase.STOPPING and "ball 2, which it was not sent" in host.why


def test_a_ball_is_told_missed_once() -> None:
    world = World(3, balls=4)
    host = live(world)
    world.machine.tell(world.now, events.Missed(2, "jam"))
    assert host.phase is RunPhase.LIVE and "Ball 2 was not thrown" in host.messages[-1]
    world.machine.tell(world.now, events.Missed(2, "jam"))
    assert host.phase is RunPhase.STOPPING and "ball 2, which it was not sent" in host.why


def test_a_refused_launch_ends_the_run_and_its_ball_was_not_thrown() -> None:
    world = World(3, balls=4)
    host = live(world)
    world.machine.tell(world.now, events.GoRefused("late"))
    assert host.phase is RunPhase.STOPPING and "The machine refused ball 2: late" in host.why
    assert world.disk.fates()[2] == "missed"


# ---- ladders, armings, limits


def ladder_place(number: int) -> Place:
    return Place(number, (number - 1) * 1.0, ("slow", "steady", "fast"), 1, 0)


def test_a_ladder_steps_from_the_ball_after_the_next_and_onto_checked_shots_only() -> None:
    world = World(3, places=tuple(ladder_place(n) for n in range(1, 7)))
    host = world.forward(RunPhase.LIVE)
    while world.thrown != [1]:
        world.step(60.0)
    while host.last_gone is None or not host.state.aimed:
        world.step(60.0)
    host.mark(world.now, True)
    host.mark(world.now, True)  # a second key for the same ball counts nothing
    while world.thrown != [1, 2, 3]:
        world.step(60.0)
    while host.last_gone is None or host.last_gone.number != 3:
        world.step(60.0)
    host.mark(world.now, False)
    world.play()
    speeds = [fact.about[2].settings[0] for fact in world.device.log if fact.what == "throw"]  # type: ignore[attr-defined]
    slow, steady, fast = (SETTINGS[shot][0] for shot in ("slow", "steady", "fast"))
    # One rung up after one hit (ball 1, told while ball 2 was ready), one down after one miss among two (ball 3).
    assert speeds == [slow, slow, steady, steady, slow, slow] and fast not in speeds
    assert not broken(world) and host.counts["hit"] == 1 and host.counts["miss"] == 1


def test_a_ladder_never_leaves_what_its_place_allows() -> None:
    ladders = Ladders(RunShelf({}, {}, BLOCKS))
    only = Place(1, 0.0, ("slow",), 1, 0)
    for hits in range(10):
        assert ladders.choose(only) == "slow", hits
        ladders.mark(only, ladders.choose(ladder_place(1)), Verdict.HIT)
    assert ladders.choose(ladder_place(1)) == "fast"
    for _ in range(10):
        ladders.mark(only, ladders.choose(ladder_place(1)), Verdict.MISS)
    assert ladders.choose(ladder_place(1)) == "slow"


def test_an_arming_ends_with_its_part_and_before_a_long_pause() -> None:
    run = (
        Place(1, 0.0, ("a",), 0, 0),
        Place(2, 115.0, ("a",), 0, 0),
        Place(3, 231.0, ("a",), 0, 0),
        Place(4, 0.0, ("a",), 0, 1),
    )
    assert [p.number for p in arming(run)] == [1, 2]
    assert [p.number for p in arming(run[2:])] == [3]


def test_the_limits_of_a_machine_are_told_apart_by_fit() -> None:
    other = Limits(LIMITS.id, LIMITS.cap, LIMITS.gap, {**LIMITS.ranges, "e": (0, 45001)})
    assert other.checksum != LIMITS.checksum
