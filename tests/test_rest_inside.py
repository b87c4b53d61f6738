"""A rest inside a block, from the script to the plan, the paper, the phone and the sounds. What the times have to be is
arithmetic on the sentences of the script: common practice, no source."""

import re
from itertools import pairwise
from typing import Any

import pytest

from feedwright.compiler.model.plan import BlockRestRecord
from feedwright.compiler.model.session import PART_REST_S
from feedwright.compiler.model.timing import clock_faults
from feedwright.compiler.report.render import human
from feedwright.grammar.finding import Severity
from feedwright.grammar.misplaced import LONG_S
from feedwright.targets.document import PlanRefused, read
from feedwright.targets.outputs import cues
from feedwright.targets.outputs.sheet.page import sheet
from feedwright.targets.outputs.sheet.strip import strips
from feedwright.targets.outputs.turns import Turn

from .targets.test_phone import cards
from .test_points import RUSH, SERVED, changed, compiled, plan_of, shots, times

MIX = 'session "s"\n    20 balls  mix 2 slow, fast, at most 2 alike, until 5 in a row\n'
REST = "        rest      40 s after every 8 balls\n"


def gaps(rows: str) -> list[float]:
    return [round(two - one, 4) for one, two in pairwise(times(plan_of(rows)))]


def test_the_rest_comes_on_top_of_the_interval_and_the_block_stays_one() -> None:
    """Twenty balls with eight between rests: the rests come before the ninth and the seventeenth."""
    plan, bare = plan_of(MIX + REST), plan_of(MIX)
    assert gaps(MIX + REST) == [44 if n in (8, 16) else 4 for n in range(1, 20)]
    assert shots(plan) == shots(bare) and len(plan.blocks) == 1
    (block,), (before,) = plan.blocks, bare.blocks
    assert block.rest == BlockRestRecord(rest_s=40.0, every=8) and block.rested == (8, 16)
    assert block.until == before.until and block.duration_s == before.duration_s + 80
    assert not list(clock_faults(plan))


def test_no_rest_comes_after_the_last_ball() -> None:
    plan = plan_of('session "s"\n    16 balls  slow\n        rest      40 s after every 8 balls\n    4 balls   fast\n')
    assert plan.blocks[0].duration_s == 16 * 4 + 40 and times(plan, 1)[0] - times(plan)[-1] == 4


def test_the_rests_of_a_block_of_minutes_are_part_of_them() -> None:
    """Eight balls take 32 s, a rest 28 s: 3 min have three such minutes, and the mix keeps its shares over them."""
    rows = 'session "s"\n    3 min     mix 2 slow, fast\n        rest      28 s after every 8 balls\n'
    plan = plan_of(rows)
    assert plan.blocks[0].duration_s == 180 and times(plan) == [60 * n + 4 * k for n in range(3) for k in range(8)]
    assert (shots(plan).count("slow"), shots(plan).count("fast")) == (16, 8)


@pytest.mark.parametrize(("points", "balls", "longer"), [(RUSH, 3, 0), (SERVED, 2, 1.5)])
def test_a_block_of_points_counts_points(points: str, balls: int, longer: float) -> None:
    name = points.split()[1]
    rows = points + f'session "s"\n    5 points  {name}\n        rest      30 s after every 2 points\n'
    plan = plan_of(rows)
    assert plan.blocks[0].rested == (2 * balls, 4 * balls)
    begins = {n * balls: longer for n in range(1, 5)}
    rests = {2 * balls: 30, 4 * balls: 30}
    assert gaps(rows) == [4 + begins.get(n, 0) + rests.get(n, 0) for n in range(1, 5 * balls)]


def test_a_collect_in_a_block_begins_the_count_afresh() -> None:
    """The hopper holds 150 balls."""
    rows = 'session "s"\n    collect 1 min when empty\n    120 balls slow\n    50 balls  slow\n'
    plan = plan_of(rows + "        rest      20 s after every 20 balls\n")
    assert [(block.balls, block.rested) for block in plan.blocks[1:]] == [(30, (20,)), (0, ()), (20, ())]
    assert not list(clock_faults(plan))


def test_a_note_under_the_rest_is_said_at_each_of_them() -> None:
    plan = plan_of(MIX + REST + '            note      "Drink."\n')
    assert plan.blocks[0].rest == BlockRestRecord(rest_s=40.0, every=8, notes=("Drink.",))
    assert plan.blocks[0].notes == () and plan.launches == plan_of(MIX + REST).launches
    (step,) = sheet(plan).parts[0].rounds[0].steps
    assert step.rest == "rest 40 s after every 8 balls: “Drink.”"
    assert [card["lines"] for card in cards(plan) if card["kind"] == "rest"] == [["“Drink.”"]] * 2
    sets = 'session "s"\n    ladder slow, up to 8 balls, pace 66, 72 km/h\n        up 3 of every 4\n'
    told = sheet(plan_of(sets + '        rest 20 s between sets\n            note "Drink."\n'))
    assert told.parts[0].rungs[0].rule.endswith(" Rest 20 s between two sets: “Drink.”.")


@pytest.mark.parametrize(
    "change",
    [{"rest_s": 0.5}, {"rest_s": 121}, {"every": 0}, {"after": 3}],
    ids=["too short", "too long", "after none", "an entry more"],
)
def test_a_plan_with_an_impossible_rest_is_refused_when_read(change: dict[str, Any]) -> None:
    with pytest.raises(PlanRefused):
        read(changed(plan_of(MIX + REST), lambda plan: plan["blocks"][0]["rest"].update(change)))


def test_a_plan_rests_in_no_block_whose_points_begin_again() -> None:
    again = plan_of(RUSH + '    if missed, from the start\nsession "s"\n    8 points  rush\n')
    with pytest.raises(PlanRefused):
        read(changed(again, lambda plan: plan["blocks"][0].update(rest={"rest_s": 30.0, "every": 4})))


def test_a_plan_whose_launches_leave_no_room_for_a_rest_does_not_keep_its_clock() -> None:
    plan = plan_of(MIX + REST)
    longer = plan.blocks[0].model_copy(update={"rest": BlockRestRecord(rest_s=50.0, every=8)})
    told = list(clock_faults(plan.model_copy(update={"blocks": (longer,)})))
    assert told == [f"Block 1 has no rest before its ball {n}." for n in (9, 17)]


def test_the_sheet_says_the_rest_and_begins_a_line_of_letters_after_it() -> None:
    (part,) = sheet(plan_of(MIX + REST)).parts
    (step,) = part.rounds[0].steps
    assert step.said.endswith("rest 40 s after every 8 balls") and "rest 40 s after every 8 balls" in part.script
    lines = strips(step.order, 180.0, step.turns, step.groups, step.rested)
    assert [(line[0]["mark"], sum(len(group["letters"]) for group in line)) for line in lines] == [
        ("1", 8), ("9", 8), ("17", 4),
    ]  # fmt: skip


def test_a_rest_in_the_middle_of_a_turn_is_named_before_its_ball() -> None:
    """No numbers count the balls there. Of twelve balls in turns of four the seventh follows a rest, and no turn."""
    taken = [Turn(first, 4, str(first // 4 % 2 + 1), False, "") for first in (0, 4, 8)]
    lines = strips(("A",) * 12, 180.0, taken, rested=(6,))
    marks = [[(group["mark"], group["turn"], len(group["letters"])) for group in line] for line in lines]
    assert marks == [[("1", True, 4), ("2", True, 2)], [("rest", False, 2), ("1", True, 4)]]


def test_the_phone_has_a_card_for_each_rest_with_its_seconds() -> None:
    plan = plan_of(MIX + REST + "    rest      1 min\n    4 balls   slow\n")
    walked = cards(plan)
    rests = [(n, card["seconds"]) for n, card in enumerate(walked) if card["kind"] == "rest"]
    balls = [n for n, card in enumerate(walked) if card["kind"] == "ball"]
    assert [seconds for _, seconds in rests] == [40.0, 40.0, 60.0]
    assert [sum(n < rest for n in balls) for rest, _ in rests] == [8, 16, 20]


def test_the_sounds_tell_of_the_rest_as_it_begins() -> None:
    plan = plan_of(MIX + REST)
    rests = [first / cues.RATE - cues.LEAD_S for first, sound in cues.sounds(plan) if sound == cues.PAUSE]
    assert rests == pytest.approx([plan.launches[n].at_s - 40 for n in (8, 16)], abs=0.001)


@pytest.mark.parametrize("rest", ["3 min", "3 min after every 5 balls", "3 min after every 8 balls"])
def test_what_a_long_rest_is_answered_with_is_a_script_as_printed(rest: str) -> None:
    """The lines as a terminal prints them, in the place of the block: as many balls, and rests of three minutes."""
    block = f"    20 balls  mix 2 slow, fast\n        rest      {rest}\n"
    (error,) = (found for found in compiled('session "s"\n' + block).findings if found.severity is Severity.ERROR)
    printed = human([error])
    rows = re.findall(r"^    ( *(?:\d+ (?:balls|rounds)|rest).*)$", printed.split(":\n", 1)[1], re.M)
    plan = plan_of('session "s"\n' + "".join(f"    {row}\n" for row in rows))
    assert sum(block.kind == "rest" and block.duration_s == 180 for block in plan.blocks) >= 1
    assert plan.totals.balls == 20 and all("mix" in block.words for block in plan.blocks if block.kind == "balls")


def test_a_rest_that_is_too_long_for_a_block_is_so_for_the_reader_of_a_script_and_for_the_check() -> None:
    assert LONG_S == PART_REST_S
