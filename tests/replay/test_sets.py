"""Sets of a ladder on a machine: the last ball of each decides the rung, and the ball after it waits for the mark. In
virtual time, on a device that shares no line with the host."""

from itertools import pairwise

import pytest

from feedwright.compiler.model.plan import BlockRestRecord, Ladder
from feedwright.targets.log.progress import Verdict
from feedwright.targets.machine.feeders import ProfileShelf
from feedwright.targets.machine.replay.flow import RunPhase
from feedwright.targets.machine.replay.picture import picture
from feedwright.targets.machine.replay.places import Ladders, Place, RunShelf, places, shelf

from ..test_points import plan_of
from .street import Street
from .test_points import EVERY_S, SETTLING_S, SHOTS, thrown
from .world import BLOCKS, SETTINGS, block

SETS = Ladder(
    quantity="pace", rungs=(("slow",), ("steady",), ("fast",)), labels=("65 km/h", "72 km/h", "94 km/h"),
    up={"hits": 2, "among": 3}, down_misses=3, down_in=3, in_sets=True,
)  # fmt: skip
BALLS = 9


def street() -> Street:
    one = block(1, 0, SETS).model_copy(update={"balls": BALLS, "rest": BlockRestRecord(rest_s=20.0, every=3)})
    held = RunShelf(SHOTS, SETTINGS, BLOCKS | {1: one}, first_of={1: 1}, settling={1: SETTLING_S})
    at = [(n - 1) * EVERY_S + (n - 1) // 3 * 20.0 for n in range(1, BALLS + 1)]
    return Street(shelf=held, places=tuple(Place(n, at[n - 1], SETS.shots, 1, 0) for n in range(1, BALLS + 1)))


def played(marks: str, at_s: float) -> list[str]:
    """The balls that come, each marked `at_s` after it left: h, m, or - for no mark."""
    road, done = street(), 0
    while road.host.phase is not RunPhase.ENDED:
        road.turn()
        host = road.host
        if len(host.state.thrown) > done and road.now - host.state.thrown[-1].at_s >= at_s:
            if marks[done] != "-":
                host.mark(road.now, marks[done] == "h")
            done += 1
        assert road.now < 120
    assert road.code == 0
    return thrown(road)


@pytest.mark.parametrize(
    ("marks", "rungs"),
    [
        ("hhmhmhmmm", "000111222"),  # two of three go up, once the third is played
        ("hhhhhhhhh", "000111222"),
        ("hmmhhmmmm", "000000111"),  # one of three plays the rung again
        ("hh-mmmhh-", "000111000"),  # a ball without a mark is one of its set
        ("mhhm-hmmm", "000111111"),  # two misses and no mark: the rung again
        ("---------", "000000000"),
    ],
)
def test_the_last_ball_of_a_set_decides_the_rung_of_the_next(marks: str, rungs: str) -> None:
    assert played(marks, 1.0) == [SETS.shots[int(rung)] for rung in rungs]


@pytest.mark.parametrize(("late_s", "fourth"), [(20.0, "steady"), (EVERY_S + 20.0 - 0.2, "slow")])
def test_a_mark_decides_until_the_machine_has_to_set_the_ball_after_the_rest(late_s: float, fourth: str) -> None:
    """The fourth ball leaves 23 s after the third. A mark that comes too late for it holds for the fifth, and then the
    fourth is a ball of no set."""
    road = street()
    road.until(lambda: len(road.host.state.thrown) == 3)
    road.host.mark(road.now, True, 1)
    road.host.mark(road.now, False, 2)
    last = road.host.state.thrown[-1].at_s
    road.until(lambda: road.now > last + late_s, limit=90)
    road.host.mark(road.now, True, 3)
    road.until(lambda: len(road.host.state.thrown) == 5, limit=90)
    assert thrown(road) == ["slow", "slow", "slow", fourth, "steady"]


def test_the_screen_shows_the_rest_between_two_sets() -> None:
    road = street()
    road.until(lambda: len(road.host.state.thrown) == 3)
    assert picture(road.host, road.now + 2.0).giant[-1] == "REST"
    road.until(lambda: len(road.host.state.thrown) == 4, limit=90)
    assert "REST" not in picture(road.host, road.now + 0.5).giant


def test_a_block_that_begins_again_begins_a_set() -> None:
    road = street()
    ladders, at = Ladders(road.host.state.shelf), road.host.run.places
    for n in (0, 1, 0):
        ladders.mark(at[n], "slow", Verdict.HIT)
    assert ladders.choose(at[1]) == "slow"


def test_a_plan_with_sets_waits_for_the_mark_of_their_last_ball() -> None:
    """As long as the longest change to a rung beside takes: its axes turn at once, at the rates of the profile, and
    the machine then settles and may feed late."""
    ladder = "    ladder slow, up to 8 balls, pace 65, 70, 80 km/h\n        up 3 of every 4\n"
    plan = plan_of(f'session "s"\n    1 min slow\n{ladder}')
    assert set(shelf(plan, feeder=None).settling) == set()
    feeder = ProfileShelf().load(plan.feeder.name)
    assert feeder is not None and plan.feeder.name == "academy"
    rates = {"speed": 45.0, "elevation": 25.0}  # km/h and degrees in a second, academy.toml
    of = {shot.id: shot.settings for shot in plan.shots}
    steps = pairwise(of[rung] for rung in plan.blocks[1].shots)
    changes = [abs(one[name] - two[name]) / rate for one, two in steps for name, rate in rates.items()]
    assert shelf(plan, feeder=feeder).settling == {1: pytest.approx(max(changes) + 0.15 + 0.05, abs=1e-9)}


def test_the_screen_shows_the_rest_inside_a_block_of_points() -> None:
    """A rest after every two points of three balls: before the seventh ball."""
    plan = plan_of(
        "point rush\n    plays slow, then middling, then fast\n"
        'session "s"\n    3 points rush\n        rest 20 s after every 2 points\n'
    )
    road = Street(shelf=shelf(plan), places=places(plan))
    road.until(lambda: len(road.host.state.thrown) == 3)
    assert "REST" not in picture(road.host, road.now + 2.0).giant
    road.until(lambda: len(road.host.state.thrown) == 6, limit=90)
    assert picture(road.host, road.now + 2.0).giant[-1] == "REST"


OWN = SETS.model_copy(
    update={"rungs": (("slow", "kicker"), ("steady",), ("fast",)), "intervals_s": (5.0, 3.0, 4.0), "quantity": "",
            "labels": ("low", "steady", "fast")}
)  # fmt: skip


def by_the_rule(marks: str, rest_s: float) -> list[tuple[str, float]]:
    """Each ball and how long after the one before, counted plainly: up after a set of three with two hits, down after
    three misses; the first rung alternates; the longer interval of the two rungs, and a rest between two sets."""
    rung, found, before = 0, list[tuple[str, float]](), 0
    for n, _ in enumerate(marks):
        if n and n % 3 == 0:
            hits = marks[n - 3 : n].count("h")
            before, rung = rung, min(rung + 1, 2) if hits >= 2 else max(rung - 1, 0) if hits == 0 else rung
        else:
            before = rung
        shot = [("slow", "kicker")[n % 2], "steady", "fast"][rung]
        longer = max(OWN.intervals_s[rung], OWN.intervals_s[before])
        found.append((shot, longer + (rest_s if n and n % 3 == 0 else 0.0)))
    return found


@pytest.mark.parametrize("marks", ["hhmhmhhhm", "hhhmmmhmh", "mhmhhhmmm", "hhhhhhhhh"])
def test_rungs_that_are_feeds_have_their_own_intervals_and_take_turns_inside(marks: str) -> None:
    """The balls of a family come in their order, and each ball after the longer interval of its rung and the one
    before, also over a rest and where the mark of the set comes late."""
    one = block(1, 0, OWN).model_copy(update={"balls": BALLS, "rest": BlockRestRecord(rest_s=20.0, every=3)})
    held = RunShelf(SHOTS, SETTINGS, BLOCKS | {1: one}, first_of={1: 1}, settling={1: SETTLING_S})
    rows = [(("slow", "kicker")[n % 2], "steady", "fast") for n in range(BALLS)]
    at = [n * 5.0 + n // 3 * 20.0 for n in range(BALLS)]
    road = Street(shelf=held, places=tuple(Place(n + 1, at[n], rows[n], 1, 0) for n in range(BALLS)))
    done = 0
    while road.host.phase is not RunPhase.ENDED:
        road.turn()
        host = road.host
        if len(host.state.thrown) > done and road.now - host.state.thrown[-1].at_s >= 1.2:
            host.mark(road.now, marks[done] == "h")
            done += 1
        assert road.now < 150
    assert road.code == 0
    came = [(two.ball.shot, two.at_s - one.at_s) for one, two in pairwise(road.host.state.thrown)]
    expected = by_the_rule(marks, 20.0)
    assert thrown(road) == [shot for shot, _ in expected]
    assert [shot for shot, _ in came] == [shot for shot, _ in expected[1:]]
    assert [gap for _, gap in came] == pytest.approx([gap for _, gap in expected[1:]], abs=0.05)
