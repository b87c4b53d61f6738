"""A point that is won with some of its balls, `won with 2 of 3`: plan, forecast, sheet, replay and log.

The marks are counted by hand or by adding them up; chances are sums over every way in which the marks may fall."""

from itertools import product
from math import prod
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from feedwright.compiler.model.chance import chance_won
from feedwright.compiler.model.plan import Plan
from feedwright.grammar.format import formatted
from feedwright.grammar.source import Source
from feedwright.targets.document import PlanRefused, read
from feedwright.targets.log.goals import so_far
from feedwright.targets.log.points import PointBall, course, game_of
from feedwright.targets.log.progress import Verdict
from feedwright.targets.log.until import holding, over
from feedwright.targets.machine.replay.afterwards import afterwards
from feedwright.targets.outputs.sheet.page import sheet

from .log.test_broad_goals import played
from .log.test_point_counts import read as log_of
from .replay.test_broad_goals import recorded
from .test_broad_goals import SCRIPT
from .test_points import changed, compiled, plan_of

POINT = SCRIPT.replace("plays easy, then hard", "plays easy, then hard, then easy\n    won with {won} of 3")


def script(session: str, won: int = 2) -> str:
    return POINT.format(won=won, goal='note "Well done."', session=session)


def balls_of(plan: Plan, marks: str) -> list[PointBall]:
    return [
        PointBall(n, ball.first, Verdict(mark.replace("-", "n")))
        for n, (ball, mark) in enumerate(zip(plan.launches, marks, strict=False))
    ]


@given(st.lists(st.sampled_from("hmn"), min_size=3, max_size=30), st.integers(1, 3))
def test_a_point_is_won_by_its_hits_and_lost_by_misses_that_leave_too_few(marks: list[str], won: int) -> None:
    plan = plan_of(script("10 points two", won))
    (block,) = plan.blocks
    threes = ["".join(marks[at : at + 3]) for at in range(0, len(marks) - 2, 3)]
    wanted = ["h" if one.count("h") >= won else "m" if one.count("m") > 3 - won else "n" for one in threes]
    found = course(block, balls_of(plan, "".join(marks)))
    assert [result.value for result in found.results][: len(wanted)] == wanted


def test_all_of_its_balls_is_what_no_line_says() -> None:
    """With all three the plan is that of a point without the line."""
    plain = SCRIPT.replace("then hard", "then hard, then easy").format(goal='note "Well done."', session="4 points two")
    assert plan_of(script("4 points two", 3)).blocks == plan_of(plain).blocks
    assert {point.won_with for point in plan_of(script("4 points two")).blocks[0].points} == {2}


def test_the_chance_of_a_point_is_the_sum_over_all_marks() -> None:
    shares = [0.2, 0.5, 0.9, 0.65]
    for needed in (1, 2, 3, 4):
        ways = [marks for marks in product((True, False), repeat=4) if sum(marks) >= needed]
        total = sum(prod(p if hit else 1 - p for p, hit in zip(shares, marks, strict=True)) for marks in ways)
        assert chance_won(shares, needed) == pytest.approx(total, abs=1e-12)
    assert chance_won(shares, None) == pytest.approx(prod(shares), abs=1e-12)


def test_goals_and_ends_of_points_count_with_that_chance() -> None:
    """Two points of three, each won in 1 - q^3 - 3 p q^2 with one share p of both balls, else the sum by hand."""
    found = compiled(script("3 points two, until 2 in a row\n    3 points two\n        goal 2 of 3"))
    assert found.evaluation
    easy, hard = (found.evaluation.replies[name].share for name in ("easy", "hard"))
    won = easy * easy + 2 * easy * (1 - easy) * hard  # both easy ones, or one of them and the hard one
    row, two = won * won * (2 - won), 3 * won * won * (1 - won) + won**3
    assert [one.chance for one in found.early] == pytest.approx([row], abs=1e-12)
    assert [one.chance for one in found.goals] == pytest.approx([two], abs=1e-12)


def test_game_end_and_goal_count_a_point_with_one_miss_as_won() -> None:
    plan = plan_of(script("5 points two\n        first to 2"))
    (block,) = plan.blocks
    assert str(game_of(block, course(block, balls_of(plan, "hmhmhmhmm")))) == "game to 2: 1 to 2, lost"
    plan = plan_of(script("5 points two, until 2 in a row\n        goal 3 in all"))
    (block,) = plan.blocks
    fed = balls_of(plan, "hmhmhhmmh")
    assert over(holding(block, fed[:6], {})) and not over(holding(block, fed[:3], {}))
    assert str(so_far(plan.goals[0], {0: block}, {0: fed}, {})) == "goal 3 in all: 2"


def test_the_sheet_prints_the_rule() -> None:
    (row,) = sheet(plan_of(script("4 points two"))).parts[0].points
    assert (row.rule, row.ticks) == (
        "Point two: A, then B, then A. It is won with 2 of its 3 balls.", "Tick a box for each point won.",
    )  # fmt: skip
    (row,) = sheet(plan_of(script("4 points two", 3))).parts[0].points
    assert (row.rule, row.ticks) == (
        "Point two: A, then B, then A.", "Tick a box for each point whose balls were all hit.",
    )  # fmt: skip


def test_replay_and_log_count_its_points(tmp_path: Path) -> None:
    path, plan = tmp_path / "p.db", plan_of(script("4 points two"))
    assert "two: 2 of 3 points won." in afterwards(plan, [recorded(plan, "hmhmhmhh--h-")]), "the last is not over"
    played(path, plan, "hmhmhmhhnnhn")
    (point,) = log_of(path).points
    assert (point.total.won, point.total.lost, point.total.open) == (2, 1, 1)


def test_it_is_printed_in_canonical_form() -> None:
    text = "point two\n    plays easy , then hard\n    won   with 1  of 2\n"
    assert "\n    won with 1 of 2\n" in formatted(Source("t.feed", text))[0]


@pytest.mark.parametrize(
    "change",
    [
        lambda point: point.update(won_with=4),
        lambda point: point.update(won_with=0),
        lambda point: point.update(won_with="2"),
        lambda point: point.update(after_miss="next point"),
    ],
)
def test_a_plan_with_an_impossible_point_is_refused(change: Any) -> None:
    plan = plan_of(script("1 point two"))
    assert read(changed(plan, lambda _: None)) == plan
    with pytest.raises(PlanRefused):
        read(changed(plan, lambda data: change(data["blocks"][0]["points"][0])))
