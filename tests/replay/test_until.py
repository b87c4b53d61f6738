"""A block that is over once its balls hold: the marks decide when, nothing arms by itself, and a mark that is taken
back brings the block back as long as nothing else is armed. In virtual time."""

from dataclasses import replace
from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from feedwright.compiler.model.plan import HoldRecord, Ladder
from feedwright.targets.log.points import PointBall
from feedwright.targets.log.progress import Verdict
from feedwright.targets.log.until import holding, over
from feedwright.targets.machine.replay.afterwards import afterwards
from feedwright.targets.machine.replay.continuing import passed
from feedwright.targets.machine.replay.flow import Halt, RunPhase
from feedwright.targets.machine.replay.journal import TEST_BALLS, Past, RecordedBall
from feedwright.targets.machine.replay.picture import counted
from feedwright.targets.machine.replay.places import Place, RunShelf
from feedwright.targets.machine.replay.run import Run

from ..test_points import plan_of
from .street import Street
from .test_points import EVERY_S, SHOTS, marked
from .world import BLOCKS, SETTINGS, block

LETTERS = {"h": Verdict.HIT, "m": Verdict.MISS, "-": Verdict.NOT_JUDGED}


def hold(hits: int, among: int | None = None, variation: str | None = None) -> HoldRecord:
    return HoldRecord(variation=variation, hits=hits, among=among or hits)


def ended(marks: str, *holds: HoldRecord, of: str = "") -> bool:
    """Whether a block is over after these marks; `of` names the variation of each ball by a letter."""
    held = block(1, 0).model_copy(update={"until": holds})
    balls = [
        PointBall(n, name, LETTERS[mark])
        for n, (name, mark) in enumerate(zip(of or "a" * len(marks), marks, strict=True))
    ]
    return over(holding(held, balls, {"a": "a", "b": "b"}))


@pytest.mark.parametrize(
    ("marks", "row", "often"),
    [
        ("hhh", True, True),
        ("hh", False, False),
        ("hmhmh", False, True),  # three of five
        ("hhmh", False, True),
        ("hmmhmh", False, False),  # the first hit is no more among the last five
        ("h-h-h", True, True),  # what nobody judged is no ball of the row
        ("hhhmmmmm", True, True),  # once is enough
        ("", False, False),
    ],
)
def test_hits_in_a_row_and_among_the_last_balls(marks: str, row: bool, often: bool) -> None:
    assert ended(marks, hold(3)) is row
    assert ended(marks, hold(3, 5)) is often


@pytest.mark.parametrize(
    ("marks", "row", "often"),
    [
        ("mmm", True, True),
        ("mm", False, False),
        ("mhmhm", False, True),  # three of five
        ("mhhmhm", False, False),  # the first miss is no more among the last five
        ("m-m-m", True, True),
        ("mmmhhhhh", True, True),
        ("hhhhh", False, False),
    ],
)
def test_misses_in_a_row_and_among_the_last_balls(marks: str, row: bool, often: bool) -> None:
    bad = HoldRecord(variation=None, hits=3, among=3, counts="misses")
    assert ended(marks, bad) is row
    assert ended(marks, bad.model_copy(update={"among": 5})) is often
    assert str(holding(block(1, 0).model_copy(update={"until": (bad,)}), [], {})[0]) == "until 3 misses in a row: 0"


SETS = HoldRecord(variation=None, hits=2, among=3, in_sets=True)


@pytest.mark.parametrize(
    ("marks", "over_", "far"),
    [
        ("", False, "0"),
        ("hh", False, "2 of 2 in the set"),  # decided at the end of the set
        ("hhm", True, "reached"),
        ("hh-", True, "reached"),  # a ball without a mark is one of its set
        ("h--", False, "1 of 3 in the set"),
        ("mmhh", False, "1 of 1 in the set"),  # two of the last three, but of two sets
        ("mmhhmm", False, "1 of 3 in the set"),
        ("mmhmhh", True, "reached"),
        ("hhmmmm", True, "reached"),  # once is enough
    ],
)
def test_hits_in_sets(marks: str, over_: bool, far: str) -> None:
    assert ended(marks, SETS) is over_
    balls = [PointBall(n, "steady", LETTERS[mark]) for n, mark in enumerate(marks)]
    held = block(1, 0).model_copy(update={"until": (SETS,)})
    assert [str(one) for one in holding(held, balls, {})] == [f"until 2 of every 3: {far}"]


@given(
    st.text("hm-", max_size=40), st.integers(1, 9), st.integers(1, 9), st.booleans(), st.sets(st.integers(0, 39))
)  # fmt: skip
def test_sets_are_counted_as_by_hand(marks: str, one: int, other: int, misses: bool, lost: set[int]) -> None:
    """Set by set: its places, those of balls that were not thrown included, and the hits or misses among them."""
    hits, among = sorted((one, other))
    hold_ = HoldRecord(variation=None, hits=hits, among=among, counts="misses" if misses else "hits", in_sets=True)
    balls = [PointBall(n, "steady", LETTERS[mark]) for n, mark in enumerate(marks) if n not in lost]
    came = balls[-1].index + 1 if balls else 0
    whole = [marks[from_ : from_ + among] for from_ in range(0, came - among + 1, among)]
    wanted = any(
        sum(mark == "hm"[misses] and at * among + k not in lost for k, mark in enumerate(part)) >= hits
        for at, part in enumerate(whole)
    )
    (found,) = holding(block(1, 0).model_copy(update={"until": (hold_,)}), balls, {})
    assert found.met is wanted


def test_the_goals_of_a_mix_are_each_of_its_own_balls() -> None:
    both = hold(2, variation="a"), hold(2, variation="b")
    assert ended("hhhh", *both, of="abab")
    assert not ended("hhhh", *both, of="abaa")
    assert ended("hmhmh", hold(3, variation="a"), of="ababa"), "a miss of the other variation ends no row"
    assert not ended("hhhh"), "a block that goes on for nothing has no early end"


def course(balls: int, *holds: HoldRecord, after: int = 1) -> tuple[RunShelf, tuple[Place, ...]]:
    """A block of so many balls with an early end, and `after` balls of a block behind it."""
    one = block(1, 0).model_copy(update={"until": holds, "shots": ("steady",), "balls": balls})
    held = RunShelf(SHOTS, SETTINGS, BLOCKS | {1: one, 3: block(3, 0)}, first_of={1: 1, 3: balls + 1})
    blocks = [1] * balls + [3] * after
    return held, tuple(Place(n, (n - 1) * EVERY_S, ("steady",), of, 0) for n, of in enumerate(blocks, start=1))


def begun(*about: HoldRecord, after: int = 1) -> Street:
    held, run = course(8, *about, after=after)
    street = Street(shelf=held, places=run)
    street.to(RunPhase.LIVE)
    street.arms = 0
    return street


def waits(street: Street) -> Street:
    street.until(lambda: street.host.phase is not RunPhase.LIVE)
    return street


def test_the_block_ends_with_the_mark_and_the_next_one_waits_to_be_armed() -> None:
    street = waits(marked(begun(hold(2)), "hmhh"))
    host = street.host
    assert host.phase is RunPhase.READY and host.why == "the block is over, it went on until 2 in a row"
    assert len(host.state.thrown) == 4 and host.state.place is host.run.places[8]
    for _ in range(500):
        street.turn()
    assert host.phase is RunPhase.READY, "nothing arms by itself"
    street.arms = 1
    street.end()
    assert [number for number, _ in street.device.thrown] == [1, 2, 3, 4, 9]
    assert "The block is over, it went on until 2 in a row." in street.said and street.code == 0


def test_a_block_in_sets_ends_after_the_last_ball_of_a_set() -> None:
    """Two hits of the first two balls decide nothing, and a mark of the third takes nothing away."""
    street = begun(SETS)
    street.until(lambda: len(street.host.state.thrown) == 2)
    street.host.mark(street.now, True, 1)
    street.host.mark(street.now, True, 2)
    assert not street.host.state.over
    waits(street)
    assert len(street.host.state.thrown) == 3 and street.host.why == "the block is over, it went on until 2 of every 3"
    street.host.mark(street.now, False, 3)
    assert street.host.phase is RunPhase.READY and street.host.state.place is street.host.run.places[8]


@pytest.mark.parametrize(("late_s", "balls"), [(0.5, 3), (EVERY_S - 0.5, 3), (EVERY_S + 0.5, 4)])
def test_a_mark_of_the_last_ball_of_a_set_ends_the_block_until_the_next_ball_leaves(late_s: float, balls: int) -> None:
    """Later, that ball is of the next set, and the block ends after it."""
    street = begun(SETS)
    street.until(lambda: len(street.host.state.thrown) == 3)
    street.host.mark(street.now, True, 1)
    last = street.host.state.thrown[-1].at_s
    street.until(lambda: street.now >= last + late_s)
    street.host.mark(street.now, True, 3)
    waits(street)
    assert len(street.host.state.thrown) == balls and street.host.phase is RunPhase.READY


def test_without_marks_all_its_balls_come() -> None:
    street = begun(hold(2))
    street.arms = 9
    street.end()
    assert len(street.device.thrown) == 9


def test_a_mark_taken_back_brings_the_block_back_before_the_next_one_is_armed() -> None:
    street = waits(marked(begun(hold(2)), "hh"))
    host = street.host
    host.mark(street.now, None)
    assert host.phase is RunPhase.READY and host.halt is Halt.PAUSED
    assert host.state.place is host.run.places[2]
    street.arms = 1
    street.end()
    assert [number for number, _ in street.device.thrown] == list(range(1, 10))


def test_a_mark_taken_back_while_the_machine_still_goes_on_skips_nothing() -> None:
    street = begun(hold(2))
    street.until(lambda: len(street.host.state.thrown) == 2)
    for nth in (1, 2):
        street.host.mark(street.now, True, nth)
    street.until(lambda: street.host.state.wish is not None)
    street.host.mark(street.now, False, 2)
    waits(street)
    assert street.host.halt is Halt.PAUSED and street.host.state.place is street.host.run.places[2]


def test_the_last_block_comes_back_too_while_its_last_ball_may_be_marked() -> None:
    street = waits(marked(begun(hold(2), after=0), "hh"))
    assert street.host.phase is RunPhase.WATCHING
    street.host.mark(street.now, False)
    assert street.host.phase is RunPhase.READY and street.host.state.place is street.host.run.places[2]
    street.arms = 1
    street.end()
    assert len(street.device.thrown) == 8 and street.code == 0


def test_once_the_next_block_is_armed_a_mark_brings_nothing_back() -> None:
    street = waits(marked(begun(hold(2), after=3), "hh"))
    street.arms = 1
    street.until(lambda: len(street.host.state.thrown) == 3)
    street.host.mark(street.now, False, 2)
    street.end()
    assert [number for number, _ in street.device.thrown] == [1, 2, 9, 10, 11]


def test_a_run_that_goes_on_counts_the_balls_before() -> None:
    held, run = course(8, hold(2))
    word = Street().host.run.word
    for verdict, numbers in ((Verdict.HIT, [9]), (Verdict.MISS, [*range(3, 10)])):
        balls = (PointBall(0, "steady", Verdict.HIT), PointBall(1, "steady", verdict))
        street = Street(shelf=replace(held, earlier={(word, 1): balls}), places=run[2:])
        street.to(RunPhase.LIVE)
        street.end()
        assert [number for number, _ in street.device.thrown] == numbers


def test_the_screen_says_how_far_it_is_and_test_balls_count_for_nothing() -> None:
    street = marked(begun(hold(3, 4)), "hm")
    assert counted(street.host).endswith("2 balls thrown, 1 hit, 1 miss, until 3 of 4: 1")
    points, run = street.host.state.points, street.host.run
    assert points.holdings(Run("11" * 8, TEST_BALLS, run.places, run.record), run.places[0]) == ()


SESSION = 'session "s"\n    6 balls slow\n    rest 30 s\n    8 balls slow, until 2 in a row\n'


@pytest.mark.parametrize(
    ("marks", "over_", "said"),
    [
        ([None] * 6 + [True, True], True, "Block 2, until 2 in a row: reached with 2 balls of at most 8."),
        ([None] * 6 + [True, False], False, "Block 2, until 2 in a row: not reached in 2 balls."),
    ],
)
def test_a_record_that_ends_with_an_early_end_is_whole(marks: list[bool | None], over_: bool, said: str) -> None:
    plan = plan_of(SESSION)
    shot = plan.shots[0].id
    balls = tuple(RecordedBall(n, shot, "gone", hit) for n, hit in enumerate(marks, start=1))
    run = Past("ab" * 8, 1, len(marks) + 1, 14, balls, plan.program, False, {}, "", "", datetime.now(UTC))
    assert not run.over and passed(plan, run).over is over_
    assert said in afterwards(plan, [run])


@pytest.mark.parametrize(
    ("marks", "over_", "said"),
    [
        ([True, True], False, "Block 1, until 2 of every 3: not reached in 2 balls."),
        ([True, True, None], True, "Block 1, until 2 of every 3: reached with 3 balls of at most 9."),
        ([None, False, True, True, False], False, "Block 1, until 2 of every 3: not reached in 5 balls."),
    ],
)
def test_a_record_is_whole_once_a_set_ended_its_block(marks: list[bool | None], over_: bool, said: str) -> None:
    plan = plan_of('session "s"\n    9 balls slow, until 2 of every 3\n')
    balls = tuple(RecordedBall(n, plan.shots[0].id, "gone", hit) for n, hit in enumerate(marks, start=1))
    run = Past("ab" * 8, 1, len(marks) + 1, 9, balls, plan.program, False, {}, "", "", datetime.now(UTC))
    assert not run.over and passed(plan, run).over is over_
    assert said in afterwards(plan, [run])


LADDER = (
    'session "s"\n    ladder slow, up to 9 balls, pace 66, 72 km/h\n        up 2 in a row\n        until top rung\n'
)


@pytest.mark.parametrize(
    ("marks", "over_", "said"),
    [
        ([True, True, False, True], False, "The ladder of slow in pace stands on 72 km/h."),
        ([True, True, False, True, True], True, "The ladder of slow in pace stands on 72 km/h, which is won."),
        ([True, True, True, True, None], True, "The ladder of slow in pace stands on 72 km/h, which is won."),
    ],
)
def test_a_record_is_whole_once_the_last_rung_is_won(marks: list[bool | None], over_: bool, said: str) -> None:
    plan = plan_of(LADDER)
    ladder = plan.blocks[0].ladder
    assert ladder and ladder.ends
    rungs = [0, 0, 1, 1, 1]
    balls = tuple(RecordedBall(n, ladder.shots[rungs[n - 1]], "gone", hit) for n, hit in enumerate(marks, start=1))
    run = Past("ab" * 8, 1, len(marks) + 1, 9, balls, plan.program, False, {}, "", "", datetime.now(UTC))
    assert not run.over and passed(plan, run).over is over_
    assert said in afterwards(plan, [run])


def climbing() -> Street:
    """A ladder of two rungs that ends, and a ball of the block behind it."""
    ladder = Ladder(
        quantity="pace", rungs=(("slow",), ("steady",)), labels=("65 km/h", "72 km/h"), up={"hits": 2, "among": 2},
        down_misses=None, down_in=None, ends=True,
    )  # fmt: skip
    one = block(1, 0, ladder).model_copy(update={"balls": 8})
    held = RunShelf(SHOTS, SETTINGS, BLOCKS | {1: one, 3: block(3, 0)}, first_of={1: 1, 3: 9})
    run = [Place(n, (n - 1) * EVERY_S, ladder.shots, 1, 0) for n in range(1, 9)]
    street = Street(shelf=held, places=(*run, Place(9, 8 * EVERY_S, ("steady",), 3, 0)))
    street.to(RunPhase.LIVE)
    street.arms = 0
    return street


def test_a_ladder_ends_with_the_hit_that_wins_its_last_rung_and_comes_back_if_that_is_taken_back() -> None:
    street = waits(marked(climbing(), "hhmhh"))
    host = street.host
    assert host.why == "the ladder is over, its last rung is won: 72 km/h" and host.state.place is host.run.places[8]
    host.mark(street.now, False)
    assert host.phase is RunPhase.READY and host.state.place is host.run.places[5]
    host.mark(street.now, True)
    street.turn()
    assert host.phase is RunPhase.READY and host.state.place is host.run.places[8]
    street.arms = 1
    street.end()
    assert [number for number, _ in street.device.thrown] == [1, 2, 3, 4, 5, 9]


def test_a_record_that_ends_with_a_missed_point_goes_on_at_the_next_point() -> None:
    plan = plan_of('point two\n    plays slow, then fast\n    if missed, next point\nsession "s"\n    3 points two\n')
    balls = (
        RecordedBall(1, "slow", "gone", True),
        RecordedBall(2, "fast", "gone", True),
        RecordedBall(3, "slow", "gone", False),
    )
    run = Past("ab" * 8, 1, 4, 6, balls, plan.program, False, {}, "", "", datetime.now(UTC))
    assert passed(plan, run).next == 5
