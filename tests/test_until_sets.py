"""A block that counts in sets and may end after each of them, from the script to the plan, its chance and the paper."""

from typing import Any

import pytest
from scipy.stats import binom

from feedwright.compiler.model.plan import HoldRecord
from feedwright.compiler.model.timing import clock_faults
from feedwright.targets.document import PlanRefused, read
from feedwright.targets.outputs.sheet import html, layout, words
from feedwright.targets.outputs.sheet.page import sheet

from .forged import sealed
from .test_points import compiled, plan_of

SESSION = 'session "s"\n    48 balls mix slow, fast, until 12 of every 16\n        rest 2 min after every 16 balls\n'
POINTS = 'point two\n    plays slow, then fast\nsession "s"\n    24 points two, until 6 of every 8\n'
AIMED = """\
variation go "deep"
    reply     0 to 5 m inside baseline
feed easy aims go, like slow
    pace      70 km/h
feed hard aims go, like slow
    pace      80 km/h
point both
    plays easy, then hard
session "s"
    """


def test_the_plan_says_that_sets_are_counted_and_plays_the_block_whole() -> None:
    plan = plan_of(SESSION)
    (block,) = plan.blocks
    assert block.until == (HoldRecord(variation=None, hits=12, among=16, in_sets=True),)
    assert (block.balls, block.sets) == (48, 16) and not list(clock_faults(plan))
    assert plan.launches == plan_of(SESSION.replace(", until 12 of every 16", "")).launches
    bad = plan_of(SESSION.replace("12 of every 16", "5 misses in every 16")).blocks[0].until
    assert bad == (HoldRecord(variation=None, hits=5, among=16, counts="misses", in_sets=True),)
    assert [one.words for one in (*block.until, *bad)] == ["12 of every 16", "5 misses in every 16"]
    assert [block.sets for block in plan_of(POINTS).blocks] == [8]


@pytest.mark.parametrize(
    ("line", "sets", "hits", "misses"),
    [
        ("48 balls easy, until 12 of every 16", 3, 12, False),
        ("32 balls mix easy, hard, until 5 misses in every 16", 2, 5, True),
        ("24 balls cycle easy, hard, until 8 of every 8", 3, 8, False),
    ],
)
def test_the_chance_is_that_of_one_set_of_all_with_hits_enough(line: str, sets: int, hits: int, misses: bool) -> None:
    """scipy.stats.binom: no set has so many, each by itself."""
    found = compiled(AIMED + line + "\n")
    assert found.evaluation and found.plan
    (end,), names = found.early, [launch.first for launch in found.plan.launches]
    balls, among = int(line.split()[0]), int(line.split()[-1])
    assert len(names) == balls
    share = sum(found.evaluation.replies[name].share for name in names) / balls
    none = binom.cdf(hits - 1, among, 1 - share if misses else share)
    assert end.chance == pytest.approx(1 - none**sets, rel=1e-9) and 0 < end.chance < 1


def test_the_chance_of_sets_of_points_is_that_of_points_won() -> None:
    """scipy.stats.binom, a point won where both its balls are good."""
    found = compiled(AIMED + "24 points both, until 6 of every 8\n")
    assert found.evaluation
    won = found.evaluation.replies["easy"].share * found.evaluation.replies["hard"].share
    assert [end.chance for end in found.early] == pytest.approx([1 - binom.cdf(5, 8, won) ** 3], rel=1e-9)


def test_a_set_that_hardly_comes_is_told_with_its_chance() -> None:
    narrow = AIMED.replace("0 to 5 m inside baseline", "0.5 to 3 m inside baseline, to left wing")
    (found,) = [f for f in compiled(narrow + "32 balls easy, until 15 of every 16\n").findings if f.code == "goal-far"]
    facts = vars(found.message)
    assert facts["in_sets"] and facts["chance"] == pytest.approx(1 - binom.cdf(14, 16, facts["share"]) ** 2, rel=1e-6)
    assert found.message.text().endswith("of 15 of every 16")


def test_a_block_in_sets_is_one_step_over_a_hopper_that_is_empty() -> None:
    """150 balls in the hopper are nine whole sets of sixteen; the remedy keeps them."""
    text = 'session "s"\n    160 balls slow, until 12 of every 16\n'
    (found,) = [finding for finding in compiled(text).findings if finding.code.startswith("hopper")]
    assert [edit.text for edit in found.remedies] == ["144 balls slow, until 12 of every 16"]


def ends(block: dict[str, Any], **hold: Any) -> None:
    block["until"] = [{"variation": None, "hits": 12, "among": 16, "counts": "hits", "in_sets": True} | hold]


@pytest.mark.parametrize("hold", [{"in_sets": 1}, {"hits": 17}, {"variation": "go"}, {"in_sets": None}])
def test_a_plan_with_impossible_sets_is_refused_when_read(hold: dict[str, Any]) -> None:
    plan = plan_of(AIMED + "48 balls easy\n")
    document = plan.data()
    ends(document["blocks"][0])
    read(sealed(document))
    ends(document["blocks"][0], **hold)
    with pytest.raises(PlanRefused, match="block"):
        read(sealed(document))


@pytest.mark.parametrize(
    ("text", "among", "told"),
    [
        (SESSION, 15, "Block 1 has 48 balls, which are no whole sets of 15."),
        (POINTS, 7, "Block 1 has 24 points, which are no whole sets of 7."),
    ],
)
def test_a_plan_that_cuts_a_set_does_not_keep_its_clock(text: str, among: int, told: str) -> None:
    plan = plan_of(text)
    cut = HoldRecord(variation=None, hits=5, among=among, in_sets=True)
    block = plan.blocks[0].model_copy(update={"until": (cut,), "rest": None})
    assert list(clock_faults(plan.model_copy(update={"blocks": (block,)}))) == [told]


def test_the_sheet_says_when_a_set_ends_the_block() -> None:
    (row,) = sheet(plan_of(SESSION)).parts[0].points
    assert (row.boxes, row.each, row.counted) == (48, 16, "good of 48")
    assert row.rule == (
        "A set is 16 balls: after a set with 12 or more good go on with what comes next, else play the next set."
    )
    (block,) = plan_of(SESSION.replace("12 of every 16", "16 of every 16")).blocks
    assert "after a set with 16 good go on" in words.until_rule(block)
    (block,) = plan_of(POINTS.replace("6 of every 8", "3 misses in every 8")).blocks
    assert words.until_rule(block) == (
        "A set is 8 points: after a set with 3 or more lost go on with what comes next, else play the next set."
    )


@pytest.mark.parametrize(
    ("balls", "among", "lines", "again"),
    [
        (48, 16, [12, 4] * 3, False),
        (24, 8, [8] * 3, False),
        (72, 24, [12, 12] * 3, False),
        (144, 16, [12, 4] * 8, True),
        (9, 9, [9], False),
    ],
)
def test_each_set_has_boxes_on_lines_of_its_own(balls: int, among: int, lines: list[int], again: bool) -> None:
    """Twelve on a line, and at most sixteen lines."""
    plan = plan_of(f'session "s"\n    collect when empty\n    {balls} balls slow, until 5 of every {among}\n')
    document = layout.document(plan)
    page = html.render(document).decode().replace("\u00a0", " ")
    assert page.count('class="tick"') == sum(lines)
    assert ("Each set begins a line, and after the last one the first again." in page) is again
    assert ("Each set begins a line." in page) is not again
