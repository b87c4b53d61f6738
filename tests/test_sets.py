"""A ladder that counts in sets, from the script to the plan, the paper, the sounds and the log."""

from contextlib import closing
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from scipy.optimize import brentq
from scipy.stats import binom

from feedwright.compiler.model.plan import BlockRestRecord, GoalRecord
from feedwright.compiler.model.timing import clock_faults
from feedwright.targets.document import PlanRefused, read
from feedwright.targets.log.advice import advice
from feedwright.targets.log.exchange import merge
from feedwright.targets.log.figures import Scope, figures
from feedwright.targets.log.progress import Verdict
from feedwright.targets.log.record import Recorder
from feedwright.targets.log.store import open_to_read
from feedwright.targets.outputs import cues
from feedwright.targets.outputs.sheet import html, layout, words
from feedwright.targets.outputs.sheet.page import sheet

from .test_points import changed, compiled, plan_of

SESSION = """\
session "s"
    ladder    slow, up to 12 balls, pace 66, 72, 78 km/h
        up        3 of every 4
        down      2 misses in every 4
        rest      20 s between sets
"""
AIMED = """\
variation go "deep"
    reply     0.5 to 3 m inside baseline, to left wing
feed aimed aims go, like slow
    pace      66 km/h
"""


def test_the_rest_comes_between_sets_on_top_of_the_interval_and_is_part_of_the_block() -> None:
    plan, bare = plan_of(SESSION), plan_of(SESSION.replace("        rest      20 s between sets\n", ""))
    (block,), apart = plan.blocks, [round(two.at_s - one.at_s, 4) for one, two in pairwise(plan.launches)]
    every = plan.launches[1].at_s - plan.launches[0].at_s
    assert apart == [every, every, every, every + 20, every, every, every, every + 20, every, every, every]
    assert block.duration_s == bare.blocks[0].duration_s + 40 and not list(clock_faults(plan))
    assert block.ladder and block.ladder.up == GoalRecord(hits=3, among=4) and block.ladder.in_sets
    assert (block.ladder.down_misses, block.ladder.down_in, block.rest) == (2, 4, BlockRestRecord(rest_s=20.0, every=4))


@pytest.mark.parametrize(
    "change",
    [{"down_in": 5}, {"down_misses": 1}, {"in_sets": False}],
    ids=["two sizes", "both ways", "a rest without sets"],
)
def test_a_plan_with_impossible_sets_is_refused_when_read(change: dict[str, Any]) -> None:
    with pytest.raises(PlanRefused):
        read(changed(plan_of(SESSION), lambda plan: plan["blocks"][0]["ladder"].update(change)))


@pytest.mark.parametrize("change", [{"rest_s": 0.5}, {"rest_s": 121}, {"every": 3}], ids=["short", "long", "in a set"])
def test_a_plan_with_an_impossible_rest_between_sets_is_refused_when_read(change: dict[str, Any]) -> None:
    with pytest.raises(PlanRefused):
        read(changed(plan_of(SESSION), lambda plan: plan["blocks"][0]["rest"].update(change)))


def test_a_plan_whose_launches_leave_no_rest_or_cut_a_set_does_not_keep_its_clock() -> None:
    plan = plan_of(SESSION)
    (block,) = plan.blocks
    assert block.ladder
    longer = {"rest": BlockRestRecord(rest_s=60.0, every=4)}
    cut = {"ladder": block.ladder.model_copy(update={"up": GoalRecord(hits=3, among=5), "down_in": 5}), "rest": None}

    def told(change: dict[str, Any]) -> list[str]:
        return list(clock_faults(plan.model_copy(update={"blocks": (block.model_copy(update=change),)})))

    assert told(longer) == [f"Block 1 has no rest before its ball {n}." for n in (5, 9)]
    assert told(cut) == ["Block 1 has 12 balls, which are no whole sets of 5."]


def test_the_sheet_has_a_box_for_each_ball_of_a_set() -> None:
    (row,) = sheet(plan_of(SESSION)).parts[0].rungs
    assert (row.boxes, row.sets) == (4, 3)
    ladder = plan_of(SESSION).blocks[0].ladder
    assert ladder
    assert words.ladder_rule(ladder, ["A", "B", "C"], between=BlockRestRecord(rest_s=20.0, every=4)) == (
        "Start on A, or where the last practice ended. A set is 4 balls: after 3 hits or more in it one rung up, after "
        "2 misses or more one down, else the rung again. Stay on C after more hits, on A after more misses. Rest 20 s "
        "between two sets."
    )
    alone = ladder.model_copy(update={"down_misses": None, "down_in": None})
    assert words.ladder_rule(alone, ["A", "B", "C"]).endswith(
        "after 3 hits or more in it one rung up, else the rung again. Stay on C after more hits."
    )


@pytest.mark.parametrize(
    ("balls", "among", "rungs", "ticks", "said"),
    [
        (12, 4, "66, 72, 78", 3 * 12, "4 boxes for a set: tick a hit, cross a miss."),
        (40, 4, "66, 72, 78", 3 * 5 * 4, "4 boxes for a set: tick a hit, cross a miss. Rub out a rung's old ticks."),
        (32, 16, "66, 72", 2 * 2 * 16, "16 boxes for a set: tick a hit, cross a miss."),
        (120, 60, "66, 67, 68, 69, 70", 5 * 3 * 12, "Count the 60 balls of a set, tick a hit, cross a miss. Rub out"),
    ],
)
def test_the_paper_has_boxes_for_as_many_sets_as_it_can_hold(
    balls: int, among: int, rungs: str, ticks: int, said: str
) -> None:
    """Sixteen lines of at most twelve boxes, shared by the rungs."""
    rows = f"    ladder    slow, up to {balls} balls, pace {rungs} km/h\n        up        3 of every {among}\n"
    page = html.render(layout.document(plan_of(f'session "s"\n{rows}'))).decode()
    assert page.count('class="tick"') == ticks and said in page.replace("&#x27;", "'").replace("\u00a0", " ")


def test_the_sounds_tell_of_the_rest_as_it_begins() -> None:
    plan = plan_of(SESSION)
    rests = [first / cues.RATE - cues.LEAD_S for first, sound in cues.sounds(plan) if sound == cues.PAUSE]
    assert rests == pytest.approx([plan.launches[n].at_s - 20 for n in (4, 8)], abs=0.001)
    assert "rest" in cues.words(plan) and "rest" not in cues.words(plan_of('session "s"\n    4 balls slow\n'))


def test_a_goal_that_hardly_a_set_reaches_is_told_with_its_chance() -> None:
    """scipy.stats.binom: three sets of four, each with so many hits."""
    rows = SESSION.replace("slow", "aimed").replace("3 of every 4", "4 of every 4")
    (found,) = [f for f in compiled(AIMED + rows).findings if f.code == "goal-far"]
    facts = vars(found.message)
    assert facts["in_sets"] and facts["balls"] == 12
    assert facts["chance"] == pytest.approx(1 - binom.cdf(3, 4, facts["share"]) ** 3, rel=1e-6)
    assert f"a chance of 1 in {1 / facts['chance']:.0f} of 4 of every 4" in found.message.text()


@pytest.mark.parametrize(
    ("marks", "rungs", "rung"),
    [
        ("hhmhm", "00001", 1),
        ("hhm", "000", 0),
        ("hhmhhhhh", "00001111", 2),
        ("hmnh", "0000", 0),
        ("hhhhmmhh", "00001111", 0),
        ("hhhhmnnh", "00001111", 1),
        ("mmhhh", "00000", 0),  # one up where the last four balls counted
    ],
)
def test_the_next_practice_begins_where_the_sets_of_the_last_led(
    tmp_path: Path, marks: str, rungs: str, rung: int
) -> None:
    plan, at = plan_of(SESSION), datetime(2026, 5, 4, 10, tzinfo=UTC)
    ladder = plan.blocks[0].ladder
    assert ladder
    with Recorder(plan, tmp_path / "log.db") as recorder:
        for n, (mark, on) in enumerate(zip(marks, map(int, rungs), strict=True)):
            recorder.ball(0, ladder.shots[on], on, at + timedelta(seconds=4 * n), Verdict(mark))
    with Recorder(plan, tmp_path / "log.db") as recorder:
        assert recorder.starting_rung(0) == rung
    with closing(open_to_read(tmp_path / "log.db")) as database:
        (said,) = [one for one in advice(figures(database, Scope())) if one.startswith("Ladder")]
    share = brentq(lambda p: (1 - binom.sf(2, 4, p)) ** 3 - 0.5, 0, 1)  # scipy: one of three sets
    assert f": 3 of every 4 within 12 balls need a share of {share:.0%} for an even chance" in said
    merge(tmp_path / "merged.db", tmp_path / "log.db")
    with Recorder(plan, tmp_path / "merged.db") as recorder:
        assert recorder.starting_rung(0) == rung


AT_MOST = SESSION.replace("        down      2 misses in every 4\n", "        at most 1 set on a rung\n")


def test_the_sheet_says_when_the_player_goes_up_anyway_and_has_boxes_for_so_many_sets() -> None:
    (row,) = sheet(plan_of(AT_MOST)).parts[0].rungs
    assert "one rung up, else the rung again, after 1 set on a rung one up." in row.rule and row.sets == 1
    with_down = SESSION.replace("        rest ", "        at most 2 sets on a rung\n        rest ")
    (row,) = sheet(plan_of(with_down)).parts[0].rungs
    assert "one down, else the rung again, after 2 sets on a rung one up." in row.rule and row.sets == 3


@pytest.mark.parametrize("change", [{"most_sets": 0}, {"in_sets": False}, {"most_sets": "2"}])
def test_a_plan_with_an_impossible_number_of_sets_on_a_rung_is_refused_when_read(change: dict[str, Any]) -> None:
    text = AT_MOST.replace("        rest      20 s between sets\n", "")
    assert plan_of(text).blocks[0].ladder.most_sets == 1  # type: ignore[union-attr]
    with pytest.raises(PlanRefused):
        read(changed(plan_of(text), lambda plan: plan["blocks"][0]["ladder"].update(change)))


def test_the_log_starts_the_next_practice_one_rung_up_after_so_many_sets(tmp_path: Path) -> None:
    """Two sets that alone would leave the player on the first rung; in another log, too."""
    two = AT_MOST.replace("at most 1 set", "at most 2 sets")
    for number, (text, marks, rung) in enumerate([(two, "hmmm", 0), (two, "hmmmmmmm", 1), (AT_MOST, "hmmm", 1)]):
        path, other, plan = tmp_path / f"{number}.db", tmp_path / f"{number}-other.db", plan_of(text)
        ladder = plan.blocks[0].ladder
        assert ladder
        with Recorder(plan, path) as log:
            log.begin("0" * 32)
            for n, mark in enumerate(marks, start=1):
                log.ball(
                    0, ladder.shots[0], 0, datetime(2026, 5, 1, tzinfo=UTC) + timedelta(seconds=n), Verdict(mark), n
                )
        merge(other, path)
        for kept in (path, other):
            with Recorder(plan, kept) as log:
                assert log.starting_rung(plan.blocks[0].index) == rung, (text, marks)


def test_only_the_balls_that_come_on_the_first_rung_are_forecast() -> None:
    """scipy.stats.binom: one set of four, of three sets in all."""
    rows = AT_MOST.replace("slow", "aimed").replace("3 of every 4", "4 of every 4")
    (found,) = [f for f in compiled(AIMED + rows).findings if f.code == "goal-far"]
    facts = vars(found.message)
    assert facts["balls"] == 4 and facts["chance"] == pytest.approx(binom.sf(3, 4, facts["share"]), rel=1e-6)


DOWN_AFTER = SESSION.replace("        down      2 misses in every 4\n", "        down      after 2 sets on a rung\n")


def test_sets_without_enough_hits_lead_down_on_the_sheet_and_in_the_log(tmp_path: Path) -> None:
    plan = plan_of(DOWN_AFTER)
    (ladder,) = [block.ladder for block in plan.blocks]
    assert ladder and (ladder.down_sets, ladder.most_sets, ladder.down_misses) == (2, None, None)
    (row,) = sheet(plan).parts[0].rungs
    assert "one rung up, else the rung again, after 2 sets without that one down." in row.rule and row.sets == 3
    assert "Stay on A3 after more hits, on A1 after more misses." in row.rule
    rungs = "0000" + "1111" * 2 + "0000"
    for kept, other in [(tmp_path / "log.db", tmp_path / "merged.db")]:
        with Recorder(plan, kept) as log:
            for n, (mark, on) in enumerate(zip("hhhm" + "hhmm" * 2, map(int, rungs), strict=False)):
                when = datetime(2026, 5, 1, tzinfo=UTC) + timedelta(seconds=n)
                log.ball(0, ladder.shots[on], on, when, Verdict(mark))
        merge(other, kept)
        for path in (kept, other):
            with Recorder(plan, path) as log:
                assert log.starting_rung(0) == 0


@pytest.mark.parametrize("change", [{"down_sets": 0}, {"in_sets": False}, {"most_sets": 2}, {"ends": "yes"}])
def test_a_plan_with_an_impossible_way_down_by_sets_is_refused_when_read(change: dict[str, Any]) -> None:
    text = DOWN_AFTER.replace("        rest      20 s between sets\n", "")
    with pytest.raises(PlanRefused):
        read(changed(plan_of(text), lambda plan: plan["blocks"][0]["ladder"].update(change)))


def test_the_most_balls_may_be_said_in_sets() -> None:
    assert plan_of(SESSION.replace("12 balls", "3 sets")).launches == plan_of(SESSION).launches


def test_the_sheet_says_when_the_ladder_is_over() -> None:
    told = sheet(plan_of(SESSION.replace("        rest ", "        until     the last rung is won\n        rest ")))
    (row,) = told.parts[0].rungs
    assert "The ladder is over once A3 is won; stay on A1 after more misses." in row.rule
    assert told.parts[0].early
