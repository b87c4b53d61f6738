"""A ladder whose rungs are feeds: families that take turns on a rung, intervals of their own, rungs of different
variations; in the plan, on paper, on a phone and in the log."""

import json
from contextlib import closing
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from feedwright.compiler.model.plan import Ladder, Plan
from feedwright.compiler.pipeline import Compiled, compile_source
from feedwright.compiler.service.script import edited, opened, renamed
from feedwright.compiler.verify import verify
from feedwright.grammar.source import Source
from feedwright.targets.document import PlanRefused, read
from feedwright.targets.log.advice import advice
from feedwright.targets.log.exchange import merge
from feedwright.targets.log.figures import Scope, count_rungs, figures
from feedwright.targets.log.progress import Verdict
from feedwright.targets.log.record import Recorder
from feedwright.targets.log.store import open_to_read
from feedwright.targets.log.typed_units import units
from feedwright.targets.machine.feeders import ProfileShelf
from feedwright.targets.machine.replay.dry import dry_run
from feedwright.targets.machine.replay.places import places, shelf
from feedwright.targets.outputs import cues
from feedwright.targets.outputs.sheet.page import sheet
from feedwright.targets.outputs.sheet.phone import render

SCRIPT = """\
program "Rungs"
    surface   hard
    player    right-handed, 1.72 m tall
    feeder    machine {machine}, on centre, on baseline, behind a screen
variation deep "deep"
    reply     0.5 to 6 m inside baseline
variation wide "wide"
    reply     0 to 6 m inside baseline
feed low aims deep
    side      {sides}
    depth     1 to 4 m inside baseline
    stance    2.5 m behind baseline
    height    1.4 m over net
    spin      topspin 900 rpm
    interval  6 s
feed brisk, like low
    height    1 m over net
    interval  5 s
feed quick aims wide, like brisk
    interval  {fastest}
session "s"
    ladder    low, brisk, quick, up to 20 balls
        from      brisk
        up        4 of every 5
        down      3 misses in every 5
        rest      20 s between sets
"""
BOTH = "2 m left of centre, 2 m right of centre"


def compiled(machine: str = "academy", sides: str = BOTH, fastest: str = "3.5 s", more: str = "") -> Compiled:
    text = SCRIPT.format(machine=machine, sides=sides, fastest=fastest) + more
    return compile_source(Source("rungs.feed", text), ProfileShelf(), plan=True, remedies=False)


def plan_of(**told: str) -> Plan:
    found = compiled(**told)
    assert found.plan, [one.headline for one in found.findings]
    return found.plan


def ladder_of(plan: Plan) -> Ladder:
    ladder = plan.blocks[0].ladder
    assert ladder
    return ladder


def test_the_balls_of_families_take_turns_on_every_rung_and_from_rung_to_rung() -> None:
    plan = plan_of()
    across = {shot.id: shot.predicted.contact_m[0] > 0 for shot in plan.shots}
    sides = [{across[shot] for shot in ball.any_of} for ball in plan.launches]
    assert all(len(side) == 1 for side in sides), "on whichever rung, the same side"
    assert all(one != two for one, two in pairwise(sides)) and len(plan.launches) == 20
    ladder = ladder_of(plan)
    assert ladder.labels == ("low", "brisk", "quick") and ladder.start == 1 and ladder.quantity == ""
    assert [{shot.rpartition(" ")[0] for shot in rung} for rung in ladder.rungs] == [{"low"}, {"brisk"}, {"quick"}]


def test_the_plan_has_the_times_of_the_slowest_rung_and_says_those_of_each() -> None:
    plan = plan_of()
    assert ladder_of(plan).intervals_s == (6, 5, 3.5)
    apart = [round(two.at_s - one.at_s, 4) for one, two in pairwise(plan.launches)]
    assert apart == [6 + 20 * (n % 5 == 0) for n in range(1, 20)]
    assert plan.blocks[0].duration_s == 20 * 6 + 3 * 20
    feeder = ProfileShelf().load("academy")
    assert feeder and verify(plan, feeder) == []


def test_one_interval_for_all_may_stand_under_the_ladder() -> None:
    plan = plan_of(more="        interval  5.5 s\n")
    assert ladder_of(plan).intervals_s == () and plan.launches[1].at_s == 5.5
    assert ladder_of(plan).labels == ("low", "brisk", "quick")


@pytest.mark.parametrize(
    "change",
    [
        lambda plan: plan["blocks"][0]["ladder"].update(intervals_s=[6, 5]),
        lambda plan: plan["blocks"][0]["ladder"].update(intervals_s=[6, 5, 0.1]),
        lambda plan: plan["blocks"][0]["ladder"]["rungs"][0].clear(),
        lambda plan: plan["blocks"][0]["ladder"]["rungs"].reverse(),
        lambda plan: plan["launches"][3]["any_of"].reverse(),
        lambda plan: plan["launches"][3]["any_of"].pop(),
    ],
)
def test_a_plan_with_rungs_that_do_not_fit_is_refused_when_read(change: Any) -> None:
    document = plan_of().data()
    change(document)
    with pytest.raises(PlanRefused):
        read(json.dumps(document).encode())


def test_a_forged_interval_that_the_machine_cannot_keep_is_found_before_it_throws() -> None:
    """academy.toml: a ball every 1.5 s at least, and an azimuth that turns 20 degrees in a second."""
    plan, feeder = plan_of(), ProfileShelf().load("academy")
    assert feeder
    for seconds, said in ((1.5, "the feeder needs 1.55 s"), (1.6, "")):
        ladder = ladder_of(plan).model_copy(update={"intervals_s": (6.0, 5.0, seconds)})
        block = plan.blocks[0].model_copy(update={"ladder": ladder})
        found = " ".join(verify(plan.model_copy(update={"blocks": (block,)}).sealed(), feeder))
        assert said in found and bool(found) == bool(said)


def test_the_way_to_the_other_side_is_judged_on_every_rung() -> None:
    wide = "3.5 m left of centre, 3.5 m right of centre"
    assert "far-to-run" not in [one.code for one in compiled(sides=wide, fastest="5 s").findings]
    (found,) = [one for one in compiled(sides=wide, fastest="2.2 s").findings if one.code == "far-to-run"]
    assert "quick" in found.headline


def test_paper_and_phone_say_what_comes_on_each_rung() -> None:
    plan = plan_of()
    (row,) = sheet(plan).parts[0].rungs
    assert sheet(plan).front.session.endswith("at most 3:00 min, 20 balls")
    assert [letter for letter, _ in row.rungs] == ["A", "B", "C"] and "It starts on B" in row.rule
    first = [ball[2:] for ball in plan.launches[0].any_of for ball in [ball.replace("low", "")]]
    turn = ("1", "2") if first[0].endswith("1") else ("2", "1")
    assert row.rungs[2][1] == f"“quick”: C{turn[0]}, C{turn[1]} in turn, every 3.5 s"
    assert "The first ball on a rung comes after the longer of the two intervals" in row.rule
    data = json.loads(render(plan).decode().split('id="data">', 1)[1].split("</script>", 1)[0])
    (card,) = [card for card in data["cards"] if card["kind"] == "ladder"]
    place = {shot.id: n for n, shot in enumerate(plan.shots)}
    assert card["shots"] == [[place[shot] for shot in ball.any_of] for ball in plan.launches]


def test_no_sound_tells_a_time_that_the_hits_decide() -> None:
    tones = [sound for _, sound in cues.sounds(plan_of()) if sound == cues.TONE]
    assert (
        len(tones) == 1
        and sum(one == cues.TONE for _, one in cues.sounds(plan_of(more="        interval 5 s\n"))) == 20
    )


MARKS = [("hhhhm", "11111", 2), ("hhhhmmmmhh", "1111122222", 1), ("mmmhm", "11111", 0), ("hhm", "111", 1)]


@pytest.mark.parametrize(("marks", "rungs", "ends"), MARKS)
def test_the_next_practice_begins_where_the_last_ended_over_rungs_of_two_variations(
    tmp_path: Path, marks: str, rungs: str, ends: int
) -> None:
    """A set of five with four hits goes up, one with three misses down; the third rung aims at another variation."""
    plan, start = plan_of(), datetime(2026, 5, 4, 10, tzinfo=UTC)
    ladder = ladder_of(plan)
    with Recorder(plan, tmp_path / "log.db") as log:
        for n, (mark, rung) in enumerate(zip(marks, map(int, rungs), strict=True)):
            log.ball(0, plan.launches[n].any_of[rung], rung, start + timedelta(seconds=5 * n), Verdict(mark))
    merge(tmp_path / "merged.db", tmp_path / "log.db")
    for path in (tmp_path / "log.db", tmp_path / "merged.db"):
        with Recorder(plan, path) as log:
            assert log.starting_rung(0) == ends
        with closing(open_to_read(path)) as database:
            found = figures(database, Scope())
            count_rungs(database, found)
            (one,) = found.ladders
            assert one.name == "low and the feeds after it" and one.labels == ladder.labels
            assert list(one.ends.values()) == [ladder.labels[int(rungs[-1])]]
            played = {ladder.labels[int(rung)]: rungs.count(rung) for rung in rungs}
            assert {label: count.judged for label, count in one.rungs.items()} == played
            assert any(line.startswith("Ladder of low and the feeds after it (Rungs)") for line in advice(found))


def test_counts_of_a_sheet_are_asked_for_each_rung() -> None:
    found = [unit for unit in units(plan_of()) if unit.rung is not None]
    assert [(unit.sheet, unit.variation, len(unit.balls)) for unit in found] == [
        ('Block 1, A "low"', "deep", 20), ('Block 1, B "brisk"', "deep", 20), ('Block 1, C "quick"', "wide", 20),
    ]  # fmt: skip


def test_what_would_be_sent_says_that_later_balls_come_at_the_latest_then() -> None:
    plan, feeder = plan_of(), ProfileShelf().load("academy")
    assert feeder
    lines = [*dry_run(shelf(plan, feeder=feeder), [("", places(plan, feeder=feeder))], 3.0, feeder)]
    balls = [line.strip() for line in lines if "  ball " in line]
    assert balls[0].startswith("3.000 s  ball 1: brisk") and balls[1].startswith("9.000 s at the latest  ball 2: brisk")
    assert sum("at the latest" in line for line in balls) == 19


def test_a_feed_that_is_a_rung_is_renamed_also_where_the_ladder_starts_on_it() -> None:
    text = SCRIPT.format(machine="academy", sides=BOTH, fastest="3.5 s")
    script = opened(Source("rungs.feed", text), None)
    edits = renamed(script, text.index("brisk"), "middling")
    assert edits is not None
    said = edited(script.tree.span.source, edits)
    assert "brisk" not in said and "from      middling" in said and "ladder    low, middling, quick," in said
    assert compile_source(Source("rungs.feed", said), ProfileShelf(), plan=True, remedies=False).plan
