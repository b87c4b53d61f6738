"""A block that goes on until its balls hold, from the script to the plan and the paper."""

from typing import Any

import pytest
from scipy.stats import binom

from feedwright.compiler.model.plan import HoldRecord
from feedwright.targets.document import PlanRefused, read
from feedwright.targets.outputs.sheet.page import sheet

from .test_points import changed, compiled, plan_of

SESSION = 'session "s"\n    24 balls slow, until 4 in a row\n    2 min mix slow, fast, until 8 of 10\n'
GOALS = """\
variation go "deep"
    reply     0 to 5 m inside baseline
    goal      3 in a row
variation low "low"
    reply     0 to 5 m inside baseline
feed easy aims go, like slow
    pace      70 km/h
feed hard aims low, like slow
    pace      80 km/h
session "s"
    20 balls  cycle easy, hard, slow, until the goal
"""


def holds(text: str) -> list[tuple[HoldRecord, ...]]:
    return [block.until for block in plan_of(text).blocks]


def test_the_plan_says_what_ends_a_block_and_plays_it_whole() -> None:
    assert holds(SESSION) == [
        (HoldRecord(variation=None, hits=4, among=4),),
        (HoldRecord(variation=None, hits=8, among=10),),
    ]
    bad = SESSION.replace("4 in a row", "3 misses in a row").replace("8 of 10", "5 misses in 10")
    assert holds(bad) == [
        (HoldRecord(variation=None, hits=3, among=3, counts="misses"),),
        (HoldRecord(variation=None, hits=5, among=10, counts="misses"),),
    ]
    whole = plan_of(SESSION.replace(", until 4 in a row", "").replace(", until 8 of 10", ""))
    assert plan_of(SESSION).launches == whole.launches and plan_of(SESSION).totals == whole.totals


def test_until_the_goal_takes_the_goal_of_each_variation_that_has_one() -> None:
    assert holds(GOALS) == [(HoldRecord(variation="go", hits=3, among=3),)]


def test_the_chance_of_the_end_is_told() -> None:
    (end,) = compiled(GOALS).early
    assert end.balls == 20 and end.chance is not None and 0 < end.chance < 1
    assert [end.chance for end in compiled(SESSION).early] == [None, None], "no reply is asked for"


def test_a_block_that_may_end_early_is_not_interrupted_by_a_collect() -> None:
    """Its count would begin anew. The hopper holds 150 balls."""
    rows = 'session "s"\n    collect 1 min when empty\n    100 balls slow\n    60 balls slow'
    assert [block.balls for block in plan_of(rows + "\n").blocks] == [100, 50, 0, 10]
    assert [block.balls for block in plan_of(rows + ", until 4 in a row\n").blocks] == [100, 0, 60]


def test_the_sheet_has_the_rule_and_a_box_for_each_ball() -> None:
    told = sheet(plan_of(SESSION))
    (first,), (second,) = (part.points for part in told.parts)
    assert first.rule == "As soon as 4 in a row are good, go on with what comes next." and first.boxes == 24
    assert second.rule == "As soon as 8 of the last 10 are good, go on with what comes next."
    assert first.ticks == second.ticks == "A box for each ball: tick a good one, cross a miss."
    assert told.parts[0].rounds[0].steps[0].text.startswith("at most 24 balls")
    assert " · at most " in told.front.session
    told = sheet(plan_of(SESSION.replace("4 in a row", "3 misses in a row").replace("8 of 10", "5 misses in 10")))
    (first,), (second,) = (part.points for part in told.parts)
    assert first.rule == "As soon as 3 in a row are missed, go on with what comes next."
    assert second.rule == "As soon as 5 of the last 10 are missed, go on with what comes next."


POINTS = 'point two\n    plays slow, then fast\nsession "s"\n    12 points two, until 4 in a row\n'


def test_a_block_of_points_ends_by_points_in_a_row_or_among_the_last_ones() -> None:
    assert holds(POINTS) == [(HoldRecord(variation=None, hits=4, among=4),)]
    assert holds(POINTS.replace("4 in a row", "6 of 10")) == [(HoldRecord(variation=None, hits=6, among=10),)]
    (part,) = sheet(plan_of(POINTS)).parts
    row = part.points[-1]
    assert (row.rule, row.boxes, row.counted) == (
        "As soon as 4 in a row are won, go on with what comes next.", 12, "won of 12",
    )  # fmt: skip
    assert row.ticks == "A box for each point: tick one won, cross one lost."
    (part,) = sheet(plan_of(POINTS.replace("4 in a row", "4 misses in a row"))).parts
    assert part.points[-1].rule == "As soon as 4 in a row are lost, go on with what comes next."


def test_the_chance_of_a_row_of_misses_is_that_of_a_row_with_the_share_of_misses() -> None:
    """Feller, An Introduction to Probability Theory, XIII.7: the chance of no row of two in four balls, counted by hand
    over the sixteen ways: q^4 + 4 p q^3 + 3 p^2 q^2."""
    found = compiled(
        GOALS.replace("20 balls  cycle easy, hard, slow, until the goal", "4 balls easy, until 2 misses in a row")
    )
    assert found.evaluation
    hit = found.evaluation.replies["easy"].share
    miss = 1 - hit
    never = hit**4 + 4 * miss * hit**3 + 3 * miss**2 * hit**2
    assert [end.chance for end in found.early] == pytest.approx([1 - never], abs=1e-12)


def test_the_chance_of_points_is_that_all_balls_of_so_many_are_good() -> None:
    """scipy.stats.binom: all points count among all of the block, each won where all its balls are good."""
    text = """\
variation go "deep"
    reply     0 to 5 m inside baseline
feed easy aims go, like slow
    pace      70 km/h
feed hard aims go, like slow
    pace      80 km/h
point two
    plays easy, then hard
session "s"
    12 points two, until 6 of 12
"""
    plan, (end,) = plan_of(text), compiled(text).early
    shares = [shot.reply.share_good for shot in plan.shots if shot.reply]
    assert len(shares) == 2
    assert end.chance == pytest.approx(binom.sf(5, 12, shares[0] * shares[1]), abs=0.002)  # a plan rounds the shares
    (end,) = compiled(text.replace("6 of 12", "6 misses in 12")).early
    assert end.chance == pytest.approx(binom.sf(5, 12, 1 - shares[0] * shares[1]), abs=0.002)
    again = text.replace("then hard\n", "then hard\n    if missed, from the start\n")
    assert compiled(again).early[0].chance is None, "nobody knows how many points there are"


def ends(block: dict[str, Any], **hold: Any) -> None:
    block["until"] = [{"variation": None, "hits": 2, "among": 2} | hold]


@pytest.mark.parametrize(
    "change",
    [
        lambda plan: ends(plan["blocks"][0], hits=3),
        lambda plan: ends(plan["blocks"][0], variation="nowhere"),
        lambda plan: ends(plan["blocks"][0], hits=0, among=0),
        lambda plan: ends(plan["blocks"][1]),
    ],
)
def test_a_plan_with_an_impossible_end_is_refused_when_read(change: Any) -> None:
    plan = plan_of('session "s"\n    6 balls slow\n    rest 30 s\n    6 balls slow\n')
    with pytest.raises(PlanRefused):
        read(changed(plan, change))


@pytest.mark.parametrize(
    "change",
    [
        lambda plan: ends(plan["blocks"][0], hits=13, among=20),
        lambda plan: plan["blocks"][0].update(first_to=3),
    ],
)
def test_a_plan_whose_points_cannot_end_their_block_so_is_refused_when_read(change: Any) -> None:
    with pytest.raises(PlanRefused):
        read(changed(plan_of(POINTS), change))
