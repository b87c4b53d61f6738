"""The player's own serves, after which nothing is fed: a rest as long as they take, from the script to the plan, the
paper, the phone and the screen. What the times have to be is arithmetic on the sentences of the script: common
practice, no source."""

from pathlib import Path
from typing import Any

import pytest

from feedwright.compiler.model.plan import GoalRecord, OwnServesRecord
from feedwright.compiler.model.timing import clock_faults
from feedwright.grammar.finding import Severity
from feedwright.targets.command.cli import main
from feedwright.targets.document import PlanRefused, read
from feedwright.targets.machine.replay.picture import Break
from feedwright.targets.outputs.sheet.page import sheet

from .targets.test_phone import cards
from .test_points import changed, compiled, plan_of

SERVES = '    20 serves every 12 s\n        goal 12 of 20\n        note "Wide."\n'
ROWS = f'session "s"\n    8 balls slow\n{SERVES}    8 balls slow\n'
ALONE = """\
program "Serves"
    surface   hard
    player    right-handed, 1.72 m tall
    feeder    person racket, on centre, on baseline

session "Serves alone"
    20 serves every 12 s
    rest      1 min
    2 rounds
        8 serves, every 15 s
"""


def test_whoever_feeds_rests_as_long_as_the_serves_take() -> None:
    plan = plan_of(ROWS)
    _, serves, after = plan.blocks
    goal = GoalRecord(hits=12, among=20)
    assert (serves.kind, serves.serves) == ("rest", OwnServesRecord(number=20, every_s=12.0, goal=goal))
    assert serves.duration_s == 240 and after.start_s == serves.start_s + 240
    assert (after.part, serves.notes) == (1, ("Wide.",)), "a machine does not stay ready for four minutes"
    assert plan.launches == plan_of(ROWS.replace("20 serves every 12 s\n        goal 12 of 20", "rest 4 min")).launches
    assert not list(clock_faults(plan))


def test_the_sheet_has_a_box_for_each_serve_and_says_the_goal() -> None:
    told = sheet(plan_of(ROWS))
    (row,) = [row for part in told.parts for row in part.points]
    assert (row.boxes, row.counted) == (20, "good of 20")
    assert row.rule == "20 serves, one every 12 s. Goal: 12 of 20."
    steps = [step for part in told.parts for turn in part.rounds for step in turn.steps]
    assert "20 serves of the player, one every 12 s, nothing is fed" in [step.text for step in steps]
    (card,) = [card for card in cards(plan_of(ROWS)) if card["kind"] == "rest"]
    assert card["lines"] == ["20 serves of the player, one every 12 s, nothing is fed", "“Wide.”"]
    assert card["seconds"] == 240
    rounds = sheet(plan_of('session "s"\n    2 rounds\n        4 balls slow\n        8 serves every 15 s\n'))
    assert [row.rule for row in rounds.parts[0].points] == ["8 serves, one every 15 s.", "Round 2, serves:"]


def test_the_screen_says_how_many_serves_come() -> None:
    assert Break(False, 240.0, 8, 20).told == "20 serves of the player: 4:00 min by the plan."
    assert Break(False, 240.0, 8).told == "Rest: 4:00 min by the plan."


def test_a_rest_with_serves_is_no_collect() -> None:
    """The hopper holds 150 balls."""
    rows = 'session "s"\n    collect 1 min when empty\n    140 balls slow\n    {}\n    20 balls slow\n'
    kinds = [block.kind for block in plan_of(rows.format("10 serves every 12 s")).blocks]
    assert kinds == ["balls", "rest", "balls", "collect", "balls"]


def test_a_script_of_serves_and_rests_needs_no_feed(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    script = tmp_path / "serves.feed"
    script.write_text(ALONE, "utf-8")
    for line in ("check", "build", "show", "sheet", "cues"):
        assert main([line, str(script), *(["--output", str(tmp_path)] if line not in ("check", "show") else [])]) == 0
    assert "Nothing is fed." in capsys.readouterr().out
    front = str(sheet(read((tmp_path / "serves.plan.json").read_bytes())).front)
    assert "36 more for the player's serves" in front


@pytest.mark.parametrize(
    "change",
    [{"number": 19}, {"every_s": 11.0}, {"number": 0}, {"goal": {"hits": 3, "among": 2}}],
)
def test_a_plan_with_impossible_serves_is_refused_when_read(change: dict[str, Any]) -> None:
    with pytest.raises(PlanRefused):
        read(changed(plan_of(ROWS), lambda plan: plan["blocks"][1]["serves"].update(change)))


@pytest.mark.parametrize(
    ("line", "code"),
    [
        ("20 serves every 12 s\n        goal 12 of 21", "impossible-number"),
        ("8 serves every 12 s\n        goal 9 in a row", "impossible-number"),
        ("8 serves every 2 s", "impossible-number"),
        ("8 serves every 12 s\n        goal 2 of 3\n        goal 3 of 4", "duplicate"),
    ],
)
def test_what_no_player_serves_is_refused(line: str, code: str) -> None:
    found = compiled(f'session "s"\n    8 balls slow\n    {line}\n').findings
    assert [one.code for one in found if one.severity is Severity.ERROR] == [code]
