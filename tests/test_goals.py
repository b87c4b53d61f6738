"""A goal of hits among so many balls, from the script to the plan, the forecast and the paper; and a ladder that goes
up by such a goal. `tests/log` has its counting."""

import pytest
from scipy.stats import binom

from feedwright.compiler.findings.goals import GoalFar
from feedwright.compiler.model.plan import GoalRecord, HoldRecord
from feedwright.compiler.pipeline import Compiled, compile_source
from feedwright.grammar.format import formatted
from feedwright.grammar.source import Source
from feedwright.targets.machine.feeders import ProfileShelf
from feedwright.targets.outputs.sheet.layout import document
from feedwright.targets.outputs.sheet.page import sheet
from feedwright.targets.outputs.sheet.phone import render as phone

from .test_points import BALLS, compiled, plan_of

SCRIPT = """\
variation go "deep"
    reply     0 to 5 m inside baseline
    goal      {goal}

feed easy aims go, like slow
    pace      70 km/h

session "s"
    {block}
"""


def script(goal: str, block: str = "20 balls  easy") -> str:
    return SCRIPT.format(goal=goal, block=block)


def test_a_goal_among_so_many_balls_is_in_the_plan_and_a_row_counts_among_itself() -> None:
    assert plan_of(script("10 of 16")).variations[0].goal == GoalRecord(hits=10, among=16)
    assert plan_of(script("4 in a row")).variations[0].goal == GoalRecord(hits=4, among=4)
    assert plan_of(script("4 of 4")).variations[0].goal == GoalRecord(hits=4, among=4)


def test_what_is_advised_in_place_of_a_ladder_of_a_family_plays_it_by_turns() -> None:
    ladder = "ladder    easy, up to 20 balls, pace 68, 70 km/h\n        up        4 of 6"
    sides = script("6 of 10", ladder).replace("    pace", "    side      left wing, right wing\n    pace")
    finding = next(one for one in compiled(sides).findings if one.code == "ladder-of-family")
    feed, climb = finding.advice[0].partition(": ")[2].split("; ")
    made = sides.replace(ladder.partition("\n")[0], climb).replace("session", f"{feed}\n    pace 68 km/h\n\nsession")
    plan = plan_of(made)
    (block,) = plan.blocks
    assert block.ladder and block.ladder.up == GoalRecord(hits=4, among=6) and block.ladder.labels == ("easy", "easy-2")
    for fed in zip(*(ball.any_of for ball in plan.launches), strict=True):
        assert len(fed) == 20 and len(set(fed)) == 2 and fed[::2] == fed[:1] * 10


def test_until_the_goal_and_a_ladder_without_an_up_line_take_it() -> None:
    (block,) = plan_of(script("6 of 10", "20 balls  easy, until the goal")).blocks
    assert block.until == (HoldRecord(variation="go", hits=6, among=10),)
    climb = "ladder    easy, up to 20 balls, pace 68, 70 km/h"
    for rule, up in (("", (6, 10)), ("\n        up        5 of 8", (5, 8)), ("\n        up        3 in a row", (3, 3))):
        (block,) = plan_of(script("6 of 10", climb + rule)).blocks
        assert block.ladder and (block.ladder.up.hits, block.ladder.up.among) == up


def test_it_is_printed_as_it_is_said() -> None:
    for line in ("goal      10 of 16", "goal      5 in a row"):
        text = f'variation go "deep"\n    {line}\n'
        assert formatted(Source("t.feed", text.replace("     ", " ")))[0] == text


@pytest.mark.parametrize(("goal", "balls"), [((17, 20), 20), ((14, 16), 16), ((19, 24), 20)])
def test_the_forecast_of_a_goal_among_all_balls_of_a_block_is_the_binomial_tail(
    goal: tuple[int, int], balls: int
) -> None:
    """scipy.stats.binom, at the share of good replies that the finding itself tells."""
    hits, among = goal
    found = compiled(script(f"{hits} of {among}", f"{balls} balls  easy")).findings
    (far,) = [one.message for one in found if isinstance(one.message, GoalFar)]
    assert (far.streak, far.among, far.balls) == (hits, among, balls)
    assert far.chance == pytest.approx(binom.sf(hits - 1, balls, far.share), abs=1e-12)
    assert far.chance < 0.1, "it is noted below one chance in ten"


def boxes(text: str) -> list[tuple[str, list[int], list[str]]]:
    pages = document(plan_of(text)).pages
    return [(i.data["goal"], i.data["boxes"], i.data["fields"]) for page in pages for i in page if i.kind == "score"]


@pytest.mark.parametrize(
    ("goal", "block", "goals", "lines", "fields"),
    [
        ("10 of 16", "16 balls  easy", "10 of 16", [16], ["hits", "misses"]),
        ("10 of 16", "24 balls  easy", "10 of 16", [16, 8], ["hits", "misses", "best of 16"]),
        # Each round begins a line, and nobody can hit 16 balls in a round of ten.
        ("6 of 10", "3 rounds\n        10 balls  easy\n        rest 20 s", "6 of 10", [10, 10, 10],
         ["hits", "misses", "best of 10"]),
        ("30 of 40", "40 balls  easy", "30 of 40", [20, 20], ["hits", "misses"]),
        ("5 in a row", "16 balls  easy", "5 in a row", [1], ["hits", "misses", "streak"]),
    ],
)  # fmt: skip
def test_the_paper_has_a_box_for_each_ball_of_such_a_goal(
    goal: str, block: str, goals: str, lines: list[int], fields: list[str]
) -> None:
    assert boxes(script(goal, block)) == [(goals, lines, fields)]


def test_paper_and_phone_say_the_goal_and_how_it_counts() -> None:
    plan = plan_of(script("6 of 10", "ladder    easy, up to 20 balls, pace 68, 70 km/h\n        up        5 of 8"))
    (part,) = sheet(plan).parts
    assert "Up after 5 hits in the last 8 balls, never down; then count afresh." in part.rungs[0].rule
    assert (part.rungs[0].boxes, part.rungs[0].best) == (8, "best")
    pages = document(plan_of(script("6 of 10"))).pages
    (told,) = [panel["texts"] for page in pages for i in page if i.kind == "panels" for panel in i.data["panels"]]
    assert told[-1] == "Goal: 6 of 10."
    assert "Goal: 6 of 10." in phone(plan_of(script("6 of 10"))).decode()


PAIR = BALLS.format(machine="academy", interval="4 s", middling="76 km/h").replace(
    "    player    right-handed, 1.75 m tall\n",
    "    player    called anna, right-handed, 1.70 m tall\n    player    called ben, right-handed, 1.75 m tall\n"
    "    rotation  changing every 4 balls\n",
)


def pair(block: str, goal: str = "16 of 17") -> Compiled:
    return compile_source(Source("pair.feed", PAIR + script(goal, block)), ProfileShelf(), plan=True)


def forecasts(block: str) -> set[tuple[int, int]]:
    """Of each goal of 16 of 17 that hardly comes, the balls of its block and the hits."""
    found = pair(block)
    assert found.plan, [one.headline for one in found.findings]
    return {(one.message.balls, one.message.streak) for one in found.findings if isinstance(one.message, GoalFar)}


def test_players_who_take_turns_share_it_and_a_block_for_each_gives_each_their_own() -> None:
    assert forecasts("24 balls  easy") == {(24, 16)}, "all balls of the pair count together"
    assert forecasts("20 balls  easy for anna\n    20 balls  easy for ben") == {(20, 16)}


@pytest.mark.parametrize(
    ("block", "lines"),
    [
        ("24 balls  easy", [("", "12 of 16 together", [16, 8])]),
        ("16 balls  easy for anna", [("anna", "12 of 16", [16])]),
        ("2 rounds\n        8 balls  easy for anna\n        8 balls  easy for ben",
         [("anna", "12 of 16", [8, 8]), ("ben", "12 of 16", [8, 8])]),
    ],
)  # fmt: skip
def test_the_paper_has_one_set_of_boxes_for_those_who_share_a_goal(
    block: str, lines: list[tuple[str, str, list[int]]]
) -> None:
    plan = pair(block, "12 of 16").plan
    assert plan
    scores = [i.data for page in document(plan).pages for i in page if i.kind == "score"]
    told = [(one["letters"].partition(" · ")[2], one["goal"], one["boxes"]) for one in scores]
    assert told == lines
