"""A goal beyond one variation in one block: the screen and the lines after a replay count on from block to block."""

from dataclasses import replace
from datetime import UTC, datetime

import pytest

from feedwright.compiler.model.plan import BroadGoalRecord, Plan
from feedwright.targets.log.goals import GoalSoFar, so_far
from feedwright.targets.log.points import PointBall
from feedwright.targets.log.progress import Verdict
from feedwright.targets.machine.replay.afterwards import afterwards
from feedwright.targets.machine.replay.flow import RunPhase
from feedwright.targets.machine.replay.journal import TEST_BALLS, Past, RecordedBall
from feedwright.targets.machine.replay.picture import counted
from feedwright.targets.machine.replay.run import Run

from ..test_broad_goals import script
from ..test_points import plan_of
from .street import Street
from .test_points import marked
from .test_until import LETTERS, course

SESSION = script(
    "2 rounds\n    goal 4 in a row\n    3 balls easy\n    rest 10 s\n4 balls  cycle easy, hard\n    goal 2 of 3\n"
    "3 points two\n    goal 2 of 3",
    "goal 6 of 11 in all",
)


def played(plan: Plan, marks: str) -> list[GoalSoFar]:
    """Each goal after these marks of the plan's first balls."""
    balls: dict[int, list[PointBall]] = {}
    for launch, mark in zip(plan.launches, marks, strict=False):
        block = balls.setdefault(launch.block, [])
        block.append(PointBall(len(block), launch.first, LETTERS[mark]))
    blocks, variations = {one.index: one for one in plan.blocks}, {shot.id: shot.variation for shot in plan.shots}
    return [so_far(goal, blocks, balls, variations) for goal in plan.goals]


@pytest.mark.parametrize(
    ("marks", "said"),
    [
        ("", ["go, goal 6 of 11 in all: 0", "goal 4 in a row: 0", "goal 2 of 3: 0", "goal 2 of 3: 0"]),
        # A streak goes on over the rest between rounds, and a ball without a mark is none.
        ("mhhh-h", ["go, goal 6 of 11 in all: 4", "goal 4 in a row: reached", "goal 2 of 3: 0", "goal 2 of 3: 0"]),
        ("mhhmhh", ["go, goal 6 of 11 in all: 4", "goal 4 in a row: 2", "goal 2 of 3: 0", "goal 2 of 3: 0"]),
        # In a block every ball counts for its goal, and for that of the variation its own.
        ("mhhmhhmhmh", ["go, goal 6 of 11 in all: 4", "goal 4 in a row: 2", "goal 2 of 3: reached", "goal 2 of 3: 0"]),
        ("------hhmm", ["go, goal 6 of 11 in all: 1", "goal 4 in a row: 0", "goal 2 of 3: reached", "goal 2 of 3: 0"]),
        # Points: won, lost, won.
        (10 * "-" + "hhhmhh",
         ["go, goal 6 of 11 in all: 3", "goal 4 in a row: 0", "goal 2 of 3: 0", "goal 2 of 3: reached"]),
    ],
)  # fmt: skip
def test_a_goal_counts_on_from_block_to_block(marks: str, said: list[str]) -> None:
    assert [str(one) for one in played(plan_of(SESSION), marks)] == said


def test_a_goal_of_the_whole_session_counts_balls_and_points_of_every_block_and_says_so() -> None:
    """Two of three balls, and of two points that are over the first, whose balls are both hits."""
    plan = plan_of(script("goal 4 of 6 in all\n3 balls easy\nrest 10 s\n3 points two"))
    (one,) = played(plan, "hmhhhhm")
    assert str(one) == "the whole session, goal 4 of 6 in all: 3"
    lines = afterwards(plan, [recorded(plan, "hmhhhhm" + "h")])
    assert "The whole session, goal 4 of 6 in all: 3 points won of 5 judged." in lines


def recorded(plan: Plan, marks: str) -> Past:
    hits = {"h": True, "m": False, "-": None}
    balls = tuple(
        RecordedBall(n, launch.first, "gone", hits[mark])
        for n, (launch, mark) in enumerate(zip(plan.launches, marks, strict=False), 1)
    )
    run = Past("ab" * 8, 1, len(marks) + 1, 16, balls, plan.program, False, {}, "", "", datetime.now(UTC))
    return replace(run, balls=(*balls[:-1], replace(balls[-1], fate="missed")))


def test_the_lines_after_a_replay_say_whether_they_were_reached() -> None:
    plan = plan_of(SESSION)
    lines = [line for line in afterwards(plan, [recorded(plan, "hhhhmhmhmhhhhmh" + "h")]) if ", goal " in line]
    assert lines == [
        "go, goal 6 of 11 in all: 8 hits of 11 judged, reached.",
        "Block 1, goal 4 in a row: 4 hits in a row at best, reached.",
        "Block 2, goal 2 of 3: 2 hits among 3 balls at best, reached.",
        "Block 3, goal 2 of 3: 1 point won among 3 points at best.",
    ]
    short = [line for line in afterwards(plan, [recorded(plan, "hm-m")]) if ", goal " in line]
    assert short == [
        "go, goal 6 of 11 in all: 1 hit of 2 judged.",
        "Block 1, goal 4 in a row: 1 hit in a row at best.",
    ]


def begun(goal: BroadGoalRecord, *earlier: Verdict) -> Street:
    held, run = course(4)
    balls = tuple(PointBall(n, "steady", verdict) for n, verdict in enumerate(earlier))
    word = Street().host.run.word
    street = Street(
        shelf=replace(held, goals=((goal, {"": None}),), earlier={(word, 1): balls} if balls else {}),
        places=run[len(balls) :],
    )
    street.to(RunPhase.LIVE)
    return street


def test_the_screen_says_how_far_it_is_and_test_balls_count_for_nothing() -> None:
    goal = BroadGoalRecord(hits=3, among=5, in_all=True, each=False, variation=None, blocks=(1, 3))
    street = marked(begun(goal), "hm")
    assert counted(street.host).endswith("2 balls thrown, 1 hit, 1 miss, goal 3 of 5 in all: 1")
    points, run = street.host.state.points, street.host.run
    assert points.goals(Run("11" * 8, TEST_BALLS, run.places, run.record), run.places[0]) == ()
    other = BroadGoalRecord(hits=1, among=1, in_all=False, each=False, variation=None, blocks=(3,))
    assert counted(marked(begun(other), "h").host).endswith("1 ball thrown, 1 hit, 0 misses")


def test_a_run_that_goes_on_counts_the_balls_before() -> None:
    goal = BroadGoalRecord(hits=3, among=3, in_all=False, each=False, variation=None, blocks=(1,))
    street = marked(begun(goal, Verdict.HIT, Verdict.HIT), "h")
    assert counted(street.host).endswith("goal 3 in a row: reached")
