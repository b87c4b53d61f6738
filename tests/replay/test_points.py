"""Points on a machine: a missed ball begins the point again, whatever the moment of the mark, and no mark can make the
machine throw what was not checked. In virtual time, on a device that shares no line with the host."""

from dataclasses import replace
from random import Random

import pytest

from feedwright.compiler.model.plan import HoldRecord, PointRecord
from feedwright.targets.log.points import PointBall, PointTally
from feedwright.targets.log.progress import Verdict
from feedwright.targets.machine.replay.bells import Bells
from feedwright.targets.machine.replay.flow import RunPhase
from feedwright.targets.machine.replay.journal import TEST_BALLS
from feedwright.targets.machine.replay.picture import counted, heard, picture
from feedwright.targets.machine.replay.places import Place, RunShelf
from feedwright.targets.machine.replay.run import Run

from .club import built
from .street import Street
from .world import BLOCKS, SETTINGS, Disk, block

SHOTS = {name: next(iter(built()[0].shots)).model_copy(update={"id": name}) for name in SETTINGS}
EVERY_S, SETTLING_S = 3.0, 0.4
RUSH = PointRecord(name="rush", shots=("slow", "fast"), serve_s=None, after_miss="from the start")
SERVED = PointRecord(name="served", shots=("steady", "fast"), serve_s=1.5, after_miss="goes on")


def shelf(*points: PointRecord) -> RunShelf:
    shots = tuple(dict.fromkeys(shot for point in points for shot in point.shots))
    of = block(1, 0).model_copy(update={"points": points, "shots": shots, "balls": sum(len(p.shots) for p in points)})
    settling = {1: SETTLING_S} if of.begins_again or of.leaves_out else {}
    return RunShelf(SHOTS, SETTINGS, BLOCKS | {1: of}, first_of={1: 1}, settling=settling)


def places(held: RunShelf) -> tuple[Place, ...]:
    of = held.blocks[1]
    drawn = [shot for point in of.points for shot in point.shots]
    return tuple(
        Place(n, (n - 1) * EVERY_S, of.shots if of.begins_again else (shot,), 1, 0)
        for n, shot in enumerate(drawn, start=1)
    )


def thrown(street: Street) -> list[str]:
    return [one.ball.shot for one in street.host.state.thrown]


def played(held: RunShelf, marks: str, at_s: float) -> Street:
    """To the end, each ball marked `at_s` after it left: h, m, or - for no mark."""
    street, done = Street(shelf=held, places=places(held)), 0
    while street.host.phase is not RunPhase.ENDED:
        street.turn()
        host = street.host
        if len(host.state.thrown) > done and street.now - host.state.thrown[-1].at_s >= at_s:
            if done < len(marks) and marks[done] != "-":
                host.mark(street.now, marks[done] == "h")
            done += 1
        assert street.now < 90
    assert street.code == 0
    return street


def test_without_a_mark_the_points_come_as_they_were_drawn() -> None:
    street = played(shelf(RUSH, RUSH), "", 1.0)
    assert thrown(street) == ["slow", "fast", "slow", "fast"]
    assert street.host.state.points.tallies == {"rush": PointTally(open=2)}


def test_a_miss_begins_the_point_again_with_the_very_next_ball() -> None:
    """Also a late mark counts: the next ball is not chosen before the machine needs the time to set it."""
    street = played(shelf(RUSH, RUSH, RUSH), "mmhhhm", 0.7)
    assert thrown(street) == ["slow", "slow", "slow", "fast", "slow", "fast"]
    assert street.host.state.points.tallies == {"rush": PointTally(won=1, lost=3)}
    assert counted(street.host).endswith("rush: 1 of 4 points won")


TRIO = PointRecord(name="trio", shots=("slow", "steady", "fast"), serve_s=1.5, after_miss="next point")


def test_after_a_miss_the_rest_of_the_point_is_left_out_and_the_next_comes_at_its_time() -> None:
    held = shelf(TRIO, TRIO, TRIO)
    street = played(held, "mhmhhh", 0.7)
    assert [one.ball.number for one in street.host.state.thrown] == [1, 4, 5, 7, 8, 9]
    apart = [one.at_s - street.host.state.thrown[0].at_s for one in street.host.state.thrown]
    assert apart == pytest.approx([0.0, 9.0, 12.0, 18.0, 21.0, 24.0], abs=0.1)  # the plan's; 0.1 s: turns of the street
    assert street.host.state.points.tallies == {"trio": PointTally(won=1, lost=2)}


def test_a_miss_at_the_end_of_a_part_ends_the_part() -> None:
    """The machine is armed for balls that do not come: it holds, and throws nothing more."""
    street = played(shelf(TRIO, TRIO), "hhhm", 0.7)
    assert [one.ball.number for one in street.host.state.thrown] == [1, 2, 3, 4]
    assert street.host.state.points.tallies == {"trio": PointTally(won=1, lost=1)}


def test_a_late_miss_lets_one_more_ball_of_the_point_come() -> None:
    street = played(shelf(TRIO, TRIO), "mhhh", EVERY_S - 0.2)
    assert [one.ball.number for one in street.host.state.thrown] == [1, 2, 4, 5, 6]


def test_the_serve_before_the_next_point_is_counted_down_as_soon_as_the_miss_is_marked() -> None:
    held = shelf(TRIO, TRIO)
    street = Street(shelf=held, places=places(held))
    street.until(lambda: len(street.host.state.thrown) == 1)
    assert street.host.serve_in_s(street.now) is None
    street.host.mark(street.now, False)
    street.turn()
    coming = street.host.coming()
    assert coming and coming[0].number == 4
    assert street.host.serve_in_s(street.now) == pytest.approx(9.0 - 1.5, abs=0.1)


def test_a_mark_that_comes_too_late_changes_the_ball_after_the_next() -> None:
    street = played(shelf(RUSH, RUSH), "mhhh", EVERY_S - 0.2)
    assert thrown(street) == ["slow", "fast", "slow", "fast"]  # the second was chosen before the mark
    assert street.host.state.points.tallies == {"rush": PointTally(won=1, lost=1)}


def test_a_mark_taken_back_lets_the_point_go_on() -> None:
    held = shelf(RUSH, RUSH)
    street = Street(shelf=held, places=places(held)).thrown(1)
    host = street.host
    host.mark(street.now, False)
    assert host.coming() == (host.run.places[1], "slow")
    host.mark(street.now, None)
    assert host.coming() == (host.run.places[1], "fast")


def test_in_a_mix_the_missed_point_is_the_one_that_begins_again() -> None:
    other = RUSH.model_copy(update={"name": "other", "shots": ("kicker", "steady")})
    street = played(shelf(other, RUSH), "mhhm", 0.7)
    assert thrown(street) == ["kicker", "kicker", "steady", "slow"]
    assert street.host.state.points.tallies == {"other": PointTally(won=1, lost=1), "rush": PointTally(lost=1)}


def test_the_next_ball_is_set_late_but_never_too_late() -> None:
    """Every ball leaves, and each was aimed after the moment until which the ball before may be marked."""
    street = played(shelf(RUSH, RUSH), "", 1.0)
    assert street.host.counts["gone"] == 4 and not street.host.counts["missed"]
    gone = [at / 1000 for _, at in street.device.thrown]
    aims = [at for at, data in street.wrote if b" ready " in data]
    for left, aimed in zip(gone[1:], aims[1:], strict=True):
        assert SETTLING_S < left - aimed < EVERY_S - 1.0


@pytest.mark.parametrize("seed", range(4))
def test_whatever_is_marked_only_checked_balls_come_in_any_order_that_was_checked(seed: int) -> None:
    """Marks at random moments, changed and taken back: each place throws a ball of its block, and every number once."""
    chance = Random(seed)
    held = shelf(RUSH, RUSH.model_copy(update={"name": "other", "shots": ("kicker", "steady", "fast")}), RUSH)
    street = Street(shelf=held, places=places(held))
    while street.host.phase is not RunPhase.ENDED:
        street.turn()
        if chance.random() < 0.01:
            street.host.mark(street.now, chance.choice((True, False, None)))
    assert street.code == 0
    assert [number for number, _ in street.device.thrown] == list(range(1, 8))
    assert set(thrown(street)) <= set(held.blocks[1].shots)
    assert thrown(street)[0] == "slow"


def test_each_run_begins_with_the_first_point_and_test_balls_count_for_none() -> None:
    held = shelf(RUSH, RUSH)
    street = Street(shelf=held, places=places(held))
    points, run = street.host.state.points, street.host.run
    points.thrown(run, run.places[0], "slow")
    assert points.choose(run, run.places[1]) == "fast"
    tests = Run("11" * 8, TEST_BALLS, run.places[:2], run.record)
    assert points.choose(tests, run.places[0]) == "slow"
    for place, shot in zip(tests.places, RUSH.shots, strict=True):
        points.thrown(tests, place, shot)
    assert points.tallies == {}


def test_before_a_serve_screen_and_bell_count_down_to_it() -> None:
    held = shelf(SERVED)
    street = Street(shelf=held, places=places(held))
    street.to(RunPhase.LIVE)
    bells, rung = Bells(), list[float]()
    seen = set[tuple[str, ...]]()
    while street.host.phase is RunPhase.LIVE and not street.host.state.thrown:
        host, left = street.host, street.host.first_in_s(street.now)
        shown = picture(host, street.now)
        seen.add(shown.giant)
        if left > 1.5 + 0.02:
            assert shown.giant == (str(-int(-(left - 1.5) // 1)), "SERVE")
            assert shown.more[0] == "serve at 0; ball 1 comes 1.5 s later"
        elif left < 1.5:
            assert shown.giant[1] != "SERVE"
        if bells.hear(street.now, heard(host, street.now, 0.0)):
            rung.append(round(left, 1))
        street.turn()
    # A bell two seconds and one before the serve, a long one of three at the serve; its last is also the ball's own.
    assert rung == [3.5, 2.5, 1.5, 1.2, 1.0]
    street.until(lambda: len(street.host.state.thrown) == 2)
    assert street.host.serve_in_s(street.now) is None


def test_a_serve_needs_the_first_ball_of_its_point() -> None:
    held = shelf(SERVED, SERVED)
    street = Street(shelf=held, places=places(held))
    points, run = street.host.state.points, street.host.run
    assert [points.serve_before(run, place) for place in run.places] == [1.5, None, 1.5, None]
    assert isinstance(street.disk, Disk)


def test_the_screen_counts_the_balls_of_each_of_several_players() -> None:
    """Those that an interrupted run gave them before count, too; of one player alone nothing is said."""
    shots = {
        name: shot.model_copy(update={"player": "ben" if name == "fast" else "anna"}) for name, shot in SHOTS.items()
    }
    held = replace(shelf(RUSH, RUSH), shots=shots, got={"ben": 3})
    assert counted(played(held, "hhhh", 0.5).host).endswith(" (balls for anna 2, ben 5)")
    alone = {name: shot.model_copy(update={"player": "anna"}) for name, shot in SHOTS.items()}
    assert played(replace(held, shots=alone), "", 0.5).host.state.loads == {}


def game(points: int, to: int = 2) -> tuple[RunShelf, tuple[Place, ...]]:
    """So many rushes, and a block with one ball after them."""
    rush = RUSH.model_copy(update={"after_miss": "goes on"})
    held = shelf(*[rush] * points)
    single = PointRecord(name="steady", shots=("steady",), serve_s=None, after_miss="goes on")
    blocks = held.blocks | {1: held.blocks[1].model_copy(update={"first_to": to}), 3: shelf(single).blocks[1]}
    number = 2 * points + 1
    last = Place(number, (number - 1) * EVERY_S, ("steady",), 3, 0)
    return replace(held, blocks=blocks, first_of={1: 1, 3: number}), (*places(held), last)


@pytest.mark.parametrize(("marks", "over"), [("hhmhhh", True), ("hhmhmh", False), ("hhhh", True)])
def test_points_that_hold_end_their_block(marks: str, over: bool) -> None:
    """Two points won of the last three. What comes next has to be armed again."""
    held, run = game(5)
    holds = (HoldRecord(variation=None, hits=2, among=3),)
    until = held.blocks[1].model_copy(update={"first_to": None, "until": holds})
    street = Street(shelf=replace(held, blocks=held.blocks | {1: until}), places=run)
    street.to(RunPhase.LIVE)
    street.arms = 0
    marked(street, marks)
    if over:
        street.until(lambda: street.host.phase is not RunPhase.LIVE)
    assert (street.host.state.place is run[-1]) is over
    assert (street.host.why == "the block is over, it went on until 2 of 3") is over


def marked(street: Street, marks: str, at_s: float = 0.5) -> Street:
    """Until a game is over, the run waits for another reason, or all marks are given."""
    done = 0
    while street.host.phase is RunPhase.LIVE and done < len(marks):
        street.turn()
        if len(street.host.state.thrown) > done and street.now - street.host.state.thrown[done].at_s >= at_s:
            street.host.mark(street.now, marks[done] == "h")
            done += 1
    return street


@pytest.mark.parametrize(
    ("marks", "won"),
    [
        ("hhhh", "2 to 0: this side wins"),
        ("hmmh", "0 to 2: the other side wins"),
        ("hhmmhh", "2 to 1: this side wins"),
    ],
)
def test_a_game_ends_when_one_side_has_its_points(marks: str, won: str) -> None:
    """After the deciding mark the machine throws none of its balls any more. It holds before the next block, and goes
    on only once it is armed again."""
    held, run = game(4)
    street = Street(shelf=held, places=run)
    street.to(RunPhase.LIVE)
    street.arms = 0
    marked(street, marks)
    street.until(lambda: street.host.phase is not RunPhase.LIVE)
    host = street.host
    assert host.phase is RunPhase.READY and f"the game is over, {won}" == host.why
    assert len(host.state.thrown) == len(marks) and host.state.place is run[-1]
    street.arms = 1
    street.end()
    assert [number for number, _ in street.device.thrown] == [*range(1, len(marks) + 1), 9]
    assert f"The game is over, {won}." in street.said and street.code == 0


def test_a_game_that_a_mark_decides_between_armings_is_over_too() -> None:
    """Also if the mark comes while the machine asks for its code."""
    held, run = game(4)
    street = Street(shelf=held, places=run)
    street.to(RunPhase.LIVE)
    street.thrown(4)
    for nth in (1, 2, 3):
        street.host.mark(street.now, True, nth)
    street.host.pause(street.now)
    street.to(RunPhase.ANSWERING)
    street.host.mark(street.now, True, 4)
    street.end()
    assert [number for number, _ in street.device.thrown] == [1, 2, 3, 4, 9]
    assert street.host.state.place is None and street.host.state.game is None  # the last ball belongs to no game


def test_the_screen_has_the_score_of_a_game() -> None:
    held, run = game(4)
    street = Street(shelf=held, places=run)
    street.to(RunPhase.LIVE)
    assert counted(marked(street, "hhmh").host).endswith("rush: 1 of 2 points won, game to 2: 1 to 1")


def test_a_game_that_goes_on_keeps_its_score() -> None:
    """An interrupted run begins where it was: over, if its last mark was the deciding one."""
    held, run = game(4)
    word = Street().host.run.word
    balls = tuple(PointBall(n, RUSH.shots[n % 2], Verdict.HIT) for n in range(4))
    street = Street(shelf=replace(held, earlier={(word, 1): balls}), places=run[4:])
    street.to(RunPhase.LIVE)
    street.end()
    assert [number for number, _ in street.device.thrown] == [9]


def test_test_balls_play_no_game() -> None:
    held, run = game(4)
    points, own = Street(shelf=held, places=run).host.state.points, Street().host.run
    tests = Run("11" * 8, TEST_BALLS, run[:4], own.record)
    for place in tests.places:
        points.thrown(tests, place, place.shots[0])
        points.marked(tests, place, Verdict.HIT)
    assert points.game(tests, run[4]) is None and points.game(own, run[4]) is not None
