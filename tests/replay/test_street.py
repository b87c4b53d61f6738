"""The host against a device that shares no line with it: its time, launches nobody asked for, the last ball."""

from itertools import pairwise

import pytest

from feedwright.compiler.model.plan import Ladder
from feedwright.targets.log.progress import Standing
from feedwright.targets.machine.replay.clocks import Reading, between
from feedwright.targets.machine.replay.flow import Halt, RunPhase
from feedwright.targets.machine.replay.places import Ladders, Place, RunShelf
from feedwright.targets.machine.wire.frames import encode

from .stranger import Habits
from .street import STEP, Street, device
from .world import BLOCKS, LADDER, SETTINGS, block


def with_habits(**habits: object) -> Street:
    stranger = device()
    stranger.habits = Habits(**habits)  # type: ignore[arg-type]
    return Street(stranger)


def gos(street: Street) -> list[float]:
    return [at for at, data in street.wrote if b" go " in data]


def test_an_honest_stranger_plays_to_the_end() -> None:
    street = Street().end()
    assert street.code == 0 and [ball for ball, _ in street.device.thrown] == [1, 2, 3, 4]
    assert street.disk.fates() == {n: "gone" for n in (1, 2, 3, 4)}


# ---- the machine's time


def test_the_first_go_waits_for_the_walk_by_the_hosts_own_clock() -> None:
    street = Street().to(RunPhase.LIVE)
    answered = next(at for at, data in street.wrote if b" yes " in data)
    street.thrown(1)
    assert gos(street)[0] >= answered + 3.0
    assert street.device.thrown[0][1] / 1000 >= answered + 3.0


@pytest.mark.parametrize(
    ("speed", "within"), [(2.0, 0.4), (0.5, 0.4), (1.1, 1.5), (0.9, 1.5), (1.03, 2.5), (0.97, 2.5)]
)
def test_a_clock_of_another_speed_is_noticed_so_soon(speed: float, within: float) -> None:
    """As PROTOCOL.md says, over a line that answers within 5 ms."""
    street = Street(speed=speed).end()
    assert street.code == 3 and "runs at another speed" in street.said
    assert street.now - 0.3 - 0.05 <= within + STEP, street.now  # less the listening after the stop, and the stop


@pytest.mark.parametrize("speed", [1.01, 0.99, 1.0])
def test_a_clock_that_is_off_by_less_is_played_with(speed: float) -> None:
    places = tuple(Place(n, (n - 1) * 10.0, ("steady",), 0, 0) for n in range(1, 7))
    street = Street(speed=speed, places=places)
    street.until(lambda: street.host.phase is RunPhase.ENDED, 200.0)
    assert street.code == 0 and len(street.device.thrown) == 6


def test_a_clock_that_doubles_its_speed_while_live_stops_the_run() -> None:
    street = Street().thrown(1)
    street.speed, at = 2.0, street.now
    street.end()
    assert street.code == 3 and "runs at another speed" in street.said and street.now - at < 1.0


def test_two_readings_bound_a_speed_from_both_sides() -> None:
    # 1000 ms passed while ours passed between 0.98 and 1.00 s; a ms may be cut off at either end.
    rate = between(Reading(0.0, 0.01, 100), Reading(0.99, 1.0, 1100))
    assert rate.low == pytest.approx(0.999 / 1.0) and rate.high == pytest.approx(1.001 / 0.98) and not rate.off


# ---- launches


def test_a_ball_in_the_feed_when_stop_comes_is_told_before_and_is_no_launch_of_its_own() -> None:
    stranger = device(feed_ms=350)
    street = Street(stranger).until(lambda: stranger.inside is not None)
    street.stop().end()
    assert street.code == 0 and street.disk.fates()[1] == "gone" and street.host.ending is not None
    assert street.host.ending.last_gone == 1
    while stranger.inside:
        street.turn()
    assert [ball for ball, _ in stranger.thrown] == [1]


def test_with_a_feed_delay_balls_still_leave_at_their_moments() -> None:
    stranger = device(feed_ms=350)
    Street(stranger).end()
    moments = [ms for _, ms in stranger.thrown]
    assert len(moments) == 4
    # 1 s from ball to ball by the plan; a turn of this test is 5 ms.
    assert all(abs(b - a - 1000) <= 5 for a, b in pairwise(moments))


def test_a_launch_nobody_asked_for_is_in_the_record() -> None:
    street = with_habits(other_ball=40).end()
    assert street.code == 4 and street.disk.fates()[41] == "gone" and street.host.counts["gone"] == 2


# ---- the record


@pytest.mark.parametrize(
    ("word", "values", "code"),
    [("gone", {"b": 1, "t": 900, "ev": 1}, 0), ("no", {"why": "state"}, 0), ("no", {"why": "old-session"}, 3)],
)
def test_of_another_session_only_the_refusal_of_ours_counts(word: str, values: dict[str, object], code: int) -> None:
    """A line that was late is of a session before; a device that calls ours old has left it."""
    street = Street().to(RunPhase.LIVE)
    street.host.received(street.now, encode(":", "fedcba98", 0, word, values))
    street.end()
    assert street.code == code and ("another program took it over" in street.said) is (code == 3)


def test_a_ball_waits_for_a_slow_disk_and_goes_when_it_is_written() -> None:
    street = Street(disk_takes_s=0.2).end()
    assert street.code == 0 and [ball for ball, _ in street.device.thrown] == [1, 2, 3, 4]
    written = {ball: at for at, what, ball, _ in street.disk.entries if what == "sent"}
    assert all(written[ball] <= at for ball, at in zip((1, 2, 3, 4), gos(street), strict=True))


def test_a_disk_that_stands_still_holds_the_run_and_stop_goes_out_at_once() -> None:
    street = Street(stalled_after=3).thrown(1)  # begun, ball 1 sent, and gone
    street.arms = 0
    street.until(lambda: street.host.phase is RunPhase.READY)
    assert street.host.halt is Halt.HELD and "record was not on the disk in time" in street.host.why
    assert [ball for ball, _ in street.device.thrown] == [1] and len(gos(street)) == 1
    before = len(street.wrote)
    street.stop()
    assert street.wrote[before][1] == b"\x07\x07\x07" and street.wrote[before][0] == street.now


# ---- the last ball, marks


def test_the_last_ball_can_be_judged_until_five_seconds_after_it_was_met() -> None:
    street = Street().to(RunPhase.WATCHING)
    last = street.device.thrown[-1][1] / 1000
    assert street.host.counts["gone"] == 4 and street.device.state == "connected"
    before = len(gos(street))
    street.to(RunPhase.STOPPING)
    assert street.now - last >= 5.0 and len(gos(street)) == before


def test_a_mark_ends_the_wait_and_can_be_corrected_within_it() -> None:
    street = Street().to(RunPhase.WATCHING)
    host, at = street.host, street.now
    host.mark(street.now, True)
    assert host.counts["hit"] == 1
    host.mark(street.now, False)
    assert host.counts == {"gone": 4, "missed": 0, "hit": 0, "miss": 1}
    host.mark(street.now, None)
    assert host.counts["miss"] == 0
    host.mark(street.now, True)
    street.end()
    assert street.now - at < 2.0 and street.code == 0
    assert [value for _, what, _, value in street.disk.entries if what == "mark"] == [True, False, None, True]


def test_stop_ends_the_wait_after_the_last_ball() -> None:
    street = Street().to(RunPhase.WATCHING).stop().end()
    assert street.code == 0 and street.host.ending is not None and street.host.ending.stopped


def test_a_corrected_mark_takes_the_ladders_step_back() -> None:
    places = tuple(Place(n, (n - 1) * 1.0, ("slow", "steady", "fast"), 1, 0) for n in range(1, 5))
    street = Street(places=places).thrown(1)
    host = street.host
    host.mark(street.now, True)  # one hit is one rung up
    assert host.state.ladders.choose(places[2]) == "steady"
    host.mark(street.now, None)
    assert host.state.ladders.choose(places[2]) == "slow"


@pytest.mark.parametrize(
    ("marks", "played"),
    [
        # Two hits among the last three balls on the rung; a ball on its way when the ladder steps is none of them.
        ("mhmhhh", ["slow", "slow", "slow", "slow", "slow", "steady"]),
        ("hhhhhh", ["slow", "slow", "slow", "steady", "steady", "steady"]),
        ("hmmhmh", ["slow"] * 6),
    ],
)
def test_a_ladder_goes_up_by_hits_among_its_last_balls(marks: str, played: list[str]) -> None:
    rules = LADDER.model_copy(
        update={"up": LADDER.up.model_copy({"hits": 2, "among": 3}), "down_misses": None, "down_in": None}
    )
    shelf = RunShelf({}, SETTINGS, BLOCKS | {1: block(1, 0, rules)})
    street = Street(shelf=shelf, places=tuple(Place(n, n * 6.0, ("slow", "steady", "fast"), 1, 0) for n in range(1, 7)))
    for ball, mark in enumerate(marks, start=1):
        street.thrown(ball)
        street.host.mark(street.now, mark == "h")
    assert [one.ball.shot for one in street.host.state.thrown] == played


FORGED = [
    LADDER.model_copy(update={"labels": ()}), LADDER.model_copy(update={"rungs": ()}),
    LADDER.model_copy(update={"rungs": ("slow", "nowhere", "fast")}),
    LADDER.model_copy(update={"up": LADDER.up.model_copy({"hits": 0})}),
    LADDER.model_copy(update={"down_in": None}), LADDER.model_copy(update={"labels": ("one",)}),
]  # fmt: skip


@pytest.mark.parametrize("forged", FORGED)
def test_a_forged_ladder_is_no_fault_of_the_program(forged: Ladder) -> None:
    # Past every check that a plan goes through where it is read.
    climbed = block(1, 0, LADDER).model_copy(update={"ladder": forged})
    shelf = RunShelf({}, SETTINGS, BLOCKS | {1: climbed}, {1: Standing(99)})
    places = tuple(Place(n, (n - 1) * 1.0, ("slow", "steady", "fast"), 1, 0) for n in range(1, 4))
    street = Street(shelf=shelf, places=places)
    while street.host.phase is not RunPhase.ENDED:
        street.turn()
        if street.host.last_gone:
            street.host.mark(street.now, street.host.last_gone.number != 2)
        if coming := street.host.coming():
            shelf.on_rung(*coming)
    assert street.code == 0 and len(street.device.thrown) == 3
    assert Ladders(shelf).choose(places[0]) in places[0].shots


def test_a_ball_that_the_plan_does_not_have_arms_nothing() -> None:
    street = Street(places=(Place(1, 0.0, ("nowhere",), 0, 0),)).end()
    assert street.code == 1 and "names a ball that it does not have" in street.said and not street.device.arm
