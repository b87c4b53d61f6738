"""A score: how far marks bring it, on the screen, at the end of its block and in the lines after a replay."""

from dataclasses import replace
from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from feedwright.compiler.model.plan import Plan, ScoreRecord
from feedwright.compiler.model.session import Score
from feedwright.targets.log.points import PointBall
from feedwright.targets.log.scores import ScoreSoFar, score_of
from feedwright.targets.machine.replay.afterwards import afterwards
from feedwright.targets.machine.replay.continuing import passed
from feedwright.targets.machine.replay.flow import RunPhase
from feedwright.targets.machine.replay.journal import TEST_BALLS, Past, RecordedBall
from feedwright.targets.machine.replay.picture import counted
from feedwright.targets.machine.replay.run import Run

from ..test_points import plan_of
from ..test_scores import LIVES, RULES, recounted, session
from .street import Street
from .test_points import marked
from .test_until import LETTERS, course, waits

ENDS = ScoreRecord(start=3, worth={"steady": 1}, miss=-1, ends=(5, 0))


def so_far(plan: Plan, marks: str, block: int = 0) -> ScoreSoFar:
    """The score of a block after these marks of the plan's first balls."""
    balls: dict[int, list[PointBall]] = {}
    for launch, mark in zip(plan.launches, marks, strict=False):
        held = balls.setdefault(launch.block, [])
        held.append(PointBall(len(held), launch.first, LETTERS[mark]))
    found = score_of({one.index: one for one in plan.blocks}, block, balls)
    assert found
    return found


def recorded(plan: Plan, marks: str) -> Past:
    hits = {"h": True, "m": False, "-": None}
    balls = tuple(
        RecordedBall(n, launch.first, "gone", hits[mark])
        for n, (launch, mark) in enumerate(zip(plan.launches, marks, strict=False), 1)
    )
    last = len(plan.launches)
    return Past("ab" * 8, 1, len(marks) + 1, last, balls, plan.program, False, {}, "", "", datetime.now(UTC))


@pytest.mark.parametrize(
    ("lines", "marks", "said"),
    [
        (("9 balls cycle easy, hard, until score 4", "    score hard 2"), "hhmh", "score 5 of 4"),
        (("9 balls cycle easy, hard, until score 4", "    score hard 2"), "hhh", "score 4 of 4"),
        (("9 balls cycle easy, hard", "    score hard 2"), "h-hm", "score 2"),
        ((LIVES.strip().replace("\n    ", "\n"),), "hhhm-mhhh", "score 4, until 0"),  # the first bonus is over the top
        (("9 balls easy, until score 2 or -2", "    score miss -1"), "hmm", "score -1, until 2 or -2"),
        (("6 points both, until score 3", "    score both 3, miss -1", "    goal score 2"), "hmmh--",
         "score -2 of 3, goal 2 or more"),
    ],
)  # fmt: skip
def test_marks_move_it_by_the_words_of_the_block(lines: tuple[str, ...], marks: str, said: str) -> None:
    found = so_far(plan_of(session(*"\n".join(lines).split("\n"))), marks)
    assert str(found).removesuffix(": over") == said


def test_what_comes_after_its_end_changes_nothing() -> None:
    plan = plan_of(session("9 balls easy, until score 2 or -2", "    score miss -1"))
    assert [so_far(plan, marks).end for marks in ("hm", "hh", "hhmmmm", "mm", "m-m")] == [None, 2, 2, -2, -2]
    assert str(so_far(plan, "hhmmmm")) == "score 2, until 2 or -2: over"


@given(RULES, st.lists(st.tuples(st.sampled_from("ab"), st.sampled_from("hm")), max_size=12))
def test_it_is_counted_as_by_hand(rules: Score, balls: list[tuple[str, str]]) -> None:
    worth, misses = {"a": 1, "b": 2}, {"b": -3}
    record = ScoreRecord(
        start=0, worth=worth, miss=-1, misses=misses, row=rules.row if rules.bonus else None,
        bonus=rules.bonus if rules.row else 0, least=rules.least, most=rules.most, ends=rules.ends,
    )  # fmt: skip
    held, _ = course(1)
    one = held.blocks[1].model_copy(update={"score": record})
    fed = [PointBall(n, name, LETTERS[mark]) for n, (name, mark) in enumerate(balls)]
    found = score_of({1: one}, 1, {1: fed})
    assert found
    wanted = recounted(
        rules, [(worth[name], misses.get(name, -1)) for name, _ in balls], tuple(mark == "h" for _, mark in balls)
    )
    assert (found.now, found.end) == wanted


def test_under_rounds_it_goes_on_with_its_streak() -> None:
    plan = plan_of(session(
        "2 rounds", "    score hit 1, miss -1, 3 in a row +5", "    goal score 4", "    3 balls easy", "    rest 10 s",
    ))  # fmt: skip
    first, _, second, _ = plan.blocks
    assert str(so_far(plan, "mhhh", second.index)) == "score 7, goal 4 or more"  # -1, 0, 1, then 2 and the bonus
    assert str(so_far(plan, "mhhh", first.index)) == "score 1, goal 4 or more"
    lines = afterwards(plan, [recorded(plan, "mhhhmm")])
    assert [line for line in lines if "score" in line] == ["Block 1, score 5, goal 4 or more: reached."]


def begun() -> Street:
    held, run = course(8)
    one = held.blocks[1].model_copy(update={"score": ENDS})
    street = Street(shelf=replace(held, blocks={**held.blocks, 1: one}), places=run)
    street.to(RunPhase.LIVE)
    street.arms = 0
    return street


def test_the_screen_says_how_far_it_is_and_test_balls_count_for_nothing() -> None:
    host = marked(begun(), "mh").host
    assert counted(host).endswith("2 balls thrown, 1 hit, 1 miss, score 3, until 5 or 0")
    tests = Run("11" * 8, TEST_BALLS, host.run.places, host.run.record)
    assert host.state.points.score(tests, host.run.places[0]) is None


def test_the_block_ends_with_the_mark_and_the_next_one_waits_to_be_armed() -> None:
    host = waits(marked(begun(), "mhhh")).host
    assert host.phase is RunPhase.READY and host.why == "the block is over, the score is 5"
    assert len(host.state.thrown) == 4 and host.state.place is host.run.places[8]


@pytest.mark.parametrize(
    ("marks", "over", "said"),
    [
        ("hh", True, "Block 1, score 2, until 2 or -2: reached with 2 balls of at most 9."),
        ("hm-", False, "Block 1, score 0, until 2 or -2: not reached with 3 balls of at most 9."),
    ],
)
def test_a_record_that_ends_with_its_score_is_whole(marks: str, over: bool, said: str) -> None:
    plan = plan_of(session("9 balls easy, until score 2 or -2", "    score miss -1"))
    run = recorded(plan, marks)
    assert not run.over and passed(plan, run).over is over
    assert said in afterwards(plan, [run])
