"""A score with other results than hits and misses, and with misses of their own: what check, plan, sheet, log and
replay say of it. What the phone does is in tests/targets/test_phone_scores.py."""

import re
from pathlib import Path

import pytest

from feedwright.targets.log import LogRefused
from feedwright.targets.log.points import PointBall
from feedwright.targets.log.progress import Verdict
from feedwright.targets.log.scores import score_of
from feedwright.targets.log.typed_scores import score_answer, scores_of
from feedwright.targets.outputs.sheet import words
from feedwright.targets.outputs.sheet.page import sheet

from .replay.test_scores import so_far
from .test_points import compiled, plan_of
from .test_scores import session

DROPS = ("20 balls easy, until score 40", '    score "twice before the line" 3, "in the box" 1, "in the net" -2')


def rules_of(*lines: str) -> list[str]:
    return [row.rule for part in sheet(plan_of(session(*lines))).parts for row in part.points]


def test_each_result_has_its_value_and_a_plain_hit_none() -> None:
    (block,) = plan_of(session(*DROPS)).blocks
    assert block.score
    assert dict(block.score.results) == {"twice before the line": 3, "in the box": 1, "in the net": -2}
    assert dict(block.score.worth) == {"easy": 0} and block.score.miss == 0


def test_the_sheet_says_them_and_has_a_box_for_each_ball() -> None:
    (row,) = (row for part in sheet(plan_of(session(*DROPS))).parts for row in part.points)
    assert row.rule == (
        "Score: begin at 0; “twice before the line” +3, “in the box” +1, “in the net” -2. "
        "As soon as it is 40 or more, go on with what comes next."
    )
    assert (row.boxes, row.ticks) == (20, words.RESULT_BOXES)


def test_no_forecast_is_told_and_the_check_says_who_tells_results_apart() -> None:
    found = compiled(session(*DROPS))
    assert [end.chance for end in found.early] == [None]
    (note,) = (one for one in found.findings if one.code == "results-by-hand")
    assert "which of 3 results" in note.headline and "screen" in note.headline


def test_no_results_bring_a_score_farther_than_the_best_and_the_worst_of_them() -> None:
    """Twenty balls of three points are sixty, of minus two minus forty."""
    (score,) = scores_of(plan := plan_of(session(*DROPS)), plan.blocks)
    assert (score.least, score.most) == (-40, 60)
    assert score_answer("41", score)
    with pytest.raises(LogRefused, match="-40 to 60"):
        score_answer("61", score)
    far = compiled(session("20 balls easy, until score 61", DROPS[1]))
    (fault,) = (one for one in far.findings if one.code == "score-too-far")
    assert "further than 60" in fault.headline


def test_marks_of_hits_and_misses_move_no_such_score() -> None:
    plan = plan_of(session(*DROPS))
    fed = [PointBall(n, "easy", Verdict.HIT) for n in range(3)]
    assert score_of({0: plan.blocks[0]}, 0, {0: fed}) is None


def test_a_miss_of_one_ball_may_cost_more() -> None:
    """By hand: 2, then -3, then -1 are -2."""
    lines = ("12 balls cycle easy, hard", "    score easy 2, miss -1, hard miss -3", "    goal score 0")
    plan = plan_of(session(*lines))
    score = plan.blocks[0].score
    assert score and dict(score.worth) == {"easy": 2, "hard": 1} and dict(score.misses) == {"hard": -3}
    assert so_far(plan, "hmm").now == -2
    assert re.search(r"a good A \+2, a good B \+1, a missed B -3, another miss -1", rules_of(*lines)[0])


def test_it_counts_in_the_forecast() -> None:
    """Of one ball whose miss is minus three, the chance of minus one or more is that of a hit."""
    lines = ("1 ball hard", "    score miss -1, go miss -3", "    goal score -1")
    found = compiled(session(*lines))
    (goal,) = found.goals
    assert found.plan and found.plan.shots[0].reply
    assert goal.chance == pytest.approx(found.plan.shots[0].reply.share_good, abs=1e-3)  # a plan is rounded


def test_a_name_that_is_not_played_has_no_misses(tmp_path: Path) -> None:
    found = compiled(session("6 balls easy", "    score hard miss -2"))
    assert "score-of-none" in {one.code for one in found.findings}
