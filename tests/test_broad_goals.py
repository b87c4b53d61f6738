"""Goals beyond one variation in one block, from the script to the plan and the forecast: `in all` in a variation, and a
goal under a block or under rounds."""

from typing import Any

import pytest
from scipy.stats import binom, poisson_binom

from feedwright.compiler.model.chance import chance_in_all
from feedwright.compiler.model.plan import BroadGoalRecord
from feedwright.compiler.pipeline import Compiled
from feedwright.grammar.format import formatted
from feedwright.grammar.source import Source
from feedwright.targets.document import PlanRefused, read
from feedwright.targets.log.goals import so_far
from feedwright.targets.outputs.sheet.layout import document
from feedwright.targets.outputs.sheet.page import sheet
from feedwright.targets.outputs.sheet.phone import render as phone
from feedwright.targets.outputs.web import plain

from .test_points import changed, compiled, plan_of

SCRIPT = """\
variation go "deep"
    reply     0 to 5 m inside baseline
    {goal}
variation low "the same"
    reply     0 to 5 m inside baseline
feed easy aims go, like slow
    pace      70 km/h
feed hard aims low, like slow
    pace      80 km/h
point two
    plays easy, then hard
session "s"
    {session}
"""


def script(session: str, goal: str = 'note "Well done."') -> str:
    return SCRIPT.format(goal=goal, session=session.replace("\n", "\n    "))


def goals(text: str) -> list[tuple[str, str | None, tuple[int, ...]]]:
    return [(goal.words, goal.variation, goal.blocks) for goal in plan_of(text).goals]


def test_in_all_counts_the_variation_in_every_block_round_and_ladder() -> None:
    session = (
        "10 balls  easy\nrest 30 s\n6 balls hard\n2 rounds\n    8 balls cycle easy, hard\n    rest 30 s\n"
        "ladder    easy, up to 10 balls, pace 68, 70 km/h\n    up        3 in a row"
    )
    assert goals(script(session, "goal 20 of 28 in all")) == [("20 of 28 in all", "go", (0, 3, 5, 7))]
    assert goals(script(session, "goal 15 in all")) == [("15 in all", "go", (0, 3, 5, 7))]
    assert plan_of(script(session, "goal 15 in all")).variations[0].goal is None
    assert "goal-other-number" not in [one.code for one in compiled(script(session, "goal 20 of 28 in all")).findings]


def test_a_goal_under_a_block_counts_that_block_and_one_under_rounds_all_of_them() -> None:
    session = (
        "10 balls  cycle easy, hard\n    goal 6 of 10\n"
        "2 rounds\n    goal 12 of 16 in all\n    8 balls hard, until 4 in a row\n        goal 3 in a row\n"
        "    rest 30 s between rounds\n8 points  two\ngoal 5 of 8"
    )
    assert goals(script(session)) == [
        ("6 of 10", None, (0,)), ("3 in a row", None, (1,)), ("3 in a row", None, (3,)),
        ("12 of 16 in all", None, (1, 3)), ("5 of 8", None, (4,)),
    ]  # fmt: skip
    assert [len(block.until) for block in plan_of(script(session)).blocks] == [0, 1, 0, 1, 0]


def test_inner_rounds_count_anew_in_each_outer_round() -> None:
    inner = "    3 rounds\n        goal 4 of 6 in all\n        2 balls easy\n        rest 10 s between rounds\n"
    session = f"2 rounds\n{inner}    rest 20 s"
    assert goals(script(session)) == [("4 of 6 in all", None, (0, 2, 4)), ("4 of 6 in all", None, (6, 8, 10))]
    rows = [row.rule for part in sheet(plan_of(script(session))).parts for row in part.points]
    assert rows == ["Goal over all rounds: 4 of 6 in all."] * 2


def test_a_goal_under_the_session_counts_every_block_and_says_so() -> None:
    session = (
        "goal 20 of 34 in all\n10 balls  cycle easy, hard\nrest 30 s\n"
        "2 rounds\n    8 balls   hard\n    rest 30 s\n8 points  two"
    )
    made = compiled(script(session))
    assert [one.words for one in made.goals] == ["the whole session, goal 20 of 34 in all"]
    plan = plan_of(script(session))
    assert goals(script(session)) == [("20 of 34 in all", None, (0, 2, 4, 6))] and plan.goals[0].whole
    rules = [[row.rule for row in part.points if row.name == "goal"] for part in sheet(plan).parts]
    over = "Goal of the whole session"
    assert rules == [
        [f"{over}: 20 of 34 in all."], [f"{over}: 20 of 34 in all. Count on from before."],
        [f"{over}, in points: 20 of 34 in all. Count on from before."],
    ]  # fmt: skip
    assert str(so_far(plan.goals[0], {block.index: block for block in plan.blocks}, {}, {})) == (
        "the whole session, goal 20 of 34 in all: 0"
    )


def test_a_collect_inside_a_block_does_not_end_its_count() -> None:
    """The hopper holds 150 balls."""
    plan = plan_of(script("collect 1 min when empty\n100 balls easy\n90 balls hard\n    goal 60 of 90 in all"))
    assert [(block.kind, block.balls) for block in plan.blocks] == [
        ("balls", 100), ("balls", 50), ("collect", 0), ("balls", 40),
    ]  # fmt: skip
    assert [goal.blocks for goal in plan.goals] == [(1, 3)]


def test_the_balls_come_as_without_a_goal() -> None:
    session = "12 balls  mix easy, hard\n    goal 6 of 12"
    plan, bare = plan_of(script(session)), plan_of(script(session.partition("\n")[0]))
    assert plan.launches == bare.launches and plan.blocks == bare.blocks and not bare.goals


@pytest.mark.parametrize("said", ["goal 35 of 50 in all", "goal 15 in all", "goal 4 in a row", "goal 4 of 6"])
def test_it_is_printed_as_it_is_said_and_belongs_to_the_block_above(said: str) -> None:
    line = "goal      " + said.partition(" ")[2]
    for head, gap in (
        (f'variation go "deep"\n    {said}\n', "    "),
        (f'session "s"\n    9 balls go\n    {said}\n', 8 * " "),
    ):
        assert f"\n{gap}{line}\n" in formatted(Source("t.feed", head))[0]


def chances(found: Compiled) -> list[float | None]:
    return [one.chance for one in found.goals]


def shares(text: str) -> tuple[float, float]:
    found = compiled(text)
    assert found.evaluation
    return found.evaluation.replies["easy"].share, found.evaluation.replies["hard"].share


def test_the_chance_of_all_balls_is_the_tail_of_the_poisson_binomial() -> None:
    """scipy.stats.poisson_binom and binom, at the shares of good replies that the check itself has."""
    session = (
        "20 balls  cycle easy, hard\n    goal 12 of 20\n8 balls   easy\nrest 30 s\n"
        "8 points  two\n    goal 3 of 8 in all"
    )
    text = script(session, "goal 20 of 26 in all")
    easy, hard = shares(text)
    assert easy != hard
    assert chances(compiled(text)) == pytest.approx([
        binom.sf(19, 26, easy), poisson_binom.sf(11, [easy, hard] * 10), binom.sf(2, 8, easy * hard),
    ], abs=1e-12)  # fmt: skip
    said = [one.words for one in compiled(text).goals]
    assert said == [
        "variation go, goal 20 of 26 in all", "20 balls cycle easy, hard, goal 12 of 20",
        "8 points two, goal 3 of 8 in all",
    ]  # fmt: skip


def test_a_goal_over_rounds_of_rounds_says_how_many_it_counts() -> None:
    session = "2 rounds\n    goal 20 of 24 in all\n    3 rounds\n        goal 9 of 12 in all\n        4 balls easy"
    assert [one.words for one in compiled(script(session)).goals] == [
        "all 3 rounds, goal 9 of 12 in all", "all 2 rounds, goal 20 of 24 in all",
    ]  # fmt: skip


def test_boxes_of_a_round_with_several_lines_say_of_which_line_they_are() -> None:
    """Also of a goal under each line; where the boxes of a point are enough, no round has a line without boxes."""
    lines = "    8 balls easy, until 4 in a row\n    8 balls hard, until 4 in a row"
    rows = [row for part in sheet(plan_of(script(f"2 rounds\n{lines}"))).parts for row in part.points]
    assert rows[0].ticks.endswith("cross a miss. Round 1, A:") and all(row.boxes for row in rows)
    assert [row.rule for row in rows[1:]] == ["Round 1, B:", "Round 2, A:", "Round 2, B:"]
    under = "    8 balls easy\n        goal 3 in a row\n    8 balls hard\n        goal 3 in a row"
    rows = [row for part in sheet(plan_of(script(f"2 rounds\n{under}"))).parts for row in part.points]
    assert [row.rule for row in rows[1:]] == ["Round 1, B:", "Round 2, A:", "Round 2, B:"]
    points = "    4 points two\n        goal 3 of 4\n    8 balls hard"
    rows = [row for part in sheet(plan_of(script(f"2 rounds\n{points}"))).parts for row in part.points]
    assert not [row for row in rows if row.rule.startswith("Round") and not row.boxes]


def test_one_round_around_all_blocks_is_the_whole_session() -> None:
    """And around some of them the round."""
    around = "1 round\n    goal 9 of 12 in all\n    6 balls easy\n    rest 20 s\n    6 balls hard"
    for session, told in ((around, "the whole session"), (f"{around}\n2 balls easy", "the round")):
        assert [one.words for one in compiled(script(session)).goals] == [f"{told}, goal 9 of 12 in all"]
        rows = [row.rule for part in sheet(plan_of(script(session))).parts for row in part.points]
        assert rows == [f"Goal of {told}: 9 of 12 in all."]


@pytest.mark.parametrize("hits", [1, 2, 7, 12, 13])
def test_the_chance_in_all_is_the_tail_of_scipys_poisson_binomial(hits: int) -> None:
    each = [0.0, 0.05, 0.3, 0.3, 0.45, 0.5, 0.62, 0.7, 0.71, 0.88, 0.95, 1.0]
    assert chance_in_all(hits, each) == pytest.approx(float(poisson_binom.sf(hits - 1, each)), abs=1e-12)


def test_no_chance_is_told_where_marks_decide_or_nothing_is_asked() -> None:
    for session in (
        "20 balls  easy, until 4 in a row\n    goal 8 of 20",
        "20 balls  mix easy, slow\n    goal 8 of 20",
        "20 points two\n    first to 5\n    goal 8 of 20",
    ):
        assert chances(compiled(script(session))) == [None], session
    ladder = "ladder    easy, up to 10 balls, pace 68, 70 km/h\n    up        3 in a row\n8 balls hard"
    assert chances(compiled(script(ladder, "goal 6 in all"))) == [None]


def wrong(plan: dict[str, Any], **values: Any) -> None:
    plan["goals"][0].update(values)


@pytest.mark.parametrize(
    "change",
    [
        lambda plan: wrong(plan, among=None),
        lambda plan: wrong(plan, hits=21),
        lambda plan: wrong(plan, hits=0),
        lambda plan: wrong(plan, blocks=[]),
        lambda plan: wrong(plan, blocks=[1]),
        lambda plan: wrong(plan, blocks=[0, 0]),
        lambda plan: wrong(plan, blocks=[2, 0]),
        lambda plan: wrong(plan, blocks=[0, 7]),
        lambda plan: wrong(plan, variation="nowhere"),
        lambda plan: wrong(plan, variation="low"),
        lambda plan: wrong(plan, in_all="yes"),
    ],
)
def test_a_plan_with_an_impossible_goal_is_refused_when_read(change: Any) -> None:
    plan = plan_of(script("2 rounds\n    goal 12 of 20\n    10 balls easy\n    rest 30 s"))
    assert plan.goals == (BroadGoalRecord(hits=12, among=20, in_all=False, each=False, variation=None, blocks=(0, 2)),)
    with pytest.raises(PlanRefused):
        read(changed(plan, change))


def test_the_sheet_has_a_line_on_its_front_and_boxes_at_the_block() -> None:
    session = (
        "20 balls  cycle easy, hard\n    goal 12 of 20\n10 balls  hard, until 4 in a row\n    goal 6 of 10\n"
        "2 rounds\n    goal 12 in all\n    8 balls easy\n        goal 3 in a row\n    rest 30 s\n"
        "8 points  two\n    goal 3 of 8"
    )
    plan = plan_of(script(session, "goal 20 of 34 in all"))
    told = sheet(plan)
    assert told.front.goals == ("A: 20 of 34 in all",)
    rows = [[(row.rule, row.boxes, row.counted) for row in part.points] for part in told.parts]
    ends = "As soon as 4 in a row are good, go on with what comes next."
    assert rows == [
        [("Goal: 12 of 20.", 20, "good of 20")],
        [(ends, 10, "good of 10"), ("Goal: 6 of 10.", 0, "")],
        [("Goal: 3 in a row.", 8, "good of 8"), ("Round 2, balls:", 8, "good of 8"),
         ("Goal over all rounds: 12 in all.", 16, "good of 16")],
        [("Point two: A, then B.", 8, "won of 8"), ("Goal, in points: 3 of 8.", 0, "")],
    ]  # fmt: skip
    (first,) = [
        item.data["text"] for page in document(plan).pages for item in page if item.data.get("label") == "Goals"
    ]
    assert first == "A: 20 of 34 in all: ______"
    assert told.parts[0].variations[0].notes[-1] == "Goal: 20 of 34 in all: add up the hits of all blocks."
    assert f"<dt>Goals</dt><dd>{plain('A: 20 of 34 in all')}</dd>" in phone(plan).decode()
