"""Points whose balls are for different players: each ball is its player's own, and the pair wins or loses the point."""

from datetime import UTC, datetime
from functools import cache

import pytest

from feedwright.compiler.model.plan import Plan
from feedwright.compiler.pipeline import Compiled, compile_source
from feedwright.compiler.service.script import opened, renamed
from feedwright.compiler.service.writing import offers
from feedwright.compiler.verify import verify
from feedwright.grammar.finding import Severity
from feedwright.grammar.format import formatted
from feedwright.grammar.source import Source
from feedwright.targets.log.points import Game, PointBall, course, game_of, shot_of
from feedwright.targets.log.progress import Verdict
from feedwright.targets.log.until import holding, over
from feedwright.targets.machine.feeders import ProfileShelf
from feedwright.targets.machine.replay.afterwards import afterwards
from feedwright.targets.machine.replay.continuing import passed
from feedwright.targets.machine.replay.journal import Past, RecordedBall
from feedwright.targets.outputs.sheet import words
from feedwright.targets.outputs.sheet.letters import letters
from feedwright.targets.outputs.sheet.page import sheet
from feedwright.targets.outputs.sheet.phone import render as phone
from feedwright.targets.outputs.sheet.points import points
from feedwright.targets.outputs.sheet.strip import strips

SCRIPT = """\
program "Anna and Ben"
    court     doubles
    surface   hard
    player    called anna, right-handed, 1.66 m tall, reach 0.8 m, scatter improver
    player    called ben, left-handed, 1.86 m tall, reach 0.8 m, scatter club
{rotation}    feeder    machine academy, on centre, on baseline, behind a screen

feed right
    side      2.5 to 4.5 m right of centre
    stance    3 m from net
    height    shoulder, on the full
    pace      60 km/h
    spin      flat
    interval  {interval}

feed left, like right
    side      2.5 to 4.5 m left of centre

point pair
    plays     {plays}
    if missed, {missed}

session "Both at the net"
{session}
"""
THREE = "right for anna, then left for ben, then left for ben"


@cache
def compiled(
    session: str, plays: str = THREE, missed: str = "next point", rotation: str = "", interval: str = "3 s"
) -> Compiled:
    text = SCRIPT.format(session=session, plays=plays, missed=missed, rotation=rotation, interval=interval)
    return compile_source(Source("pair.feed", text), ProfileShelf(None), remedies=False)


def plan_of(session: str, **more: str) -> Plan:
    made = compiled(session, **more)
    assert made.plan, [finding.headline for finding in made.findings]
    return made.plan


def codes(made: Compiled) -> list[str]:
    return [finding.code for finding in made.findings if finding.severity is Severity.ERROR]


def verdicts(plan: Plan, marks: str) -> list[PointBall]:
    """Of a block, from its first ball on: + a hit, - a miss, a space a ball that was left out."""
    said = {"+": Verdict.HIT, "-": Verdict.MISS}
    return [PointBall(i, plan.launches[i].first, said[mark]) for i, mark in enumerate(marks) if mark != " "]


def test_each_ball_of_a_point_is_for_its_player() -> None:
    plan = plan_of("    8 points  pair")
    players = {shot.id: shot.player for shot in plan.shots}
    assert [players[ball.first] for ball in plan.launches] == ["anna", "ben", "ben"] * 8
    assert [ball.at_s for ball in plan.launches] == [3.0 * n for n in range(24)]
    assert [(load.player, load.balls) for load in plan.totals.loads] == [("anna", 8), ("ben", 16)]
    feeder = ProfileShelf(None).load("academy")
    assert feeder and verify(plan, feeder) == []


def test_a_feed_that_both_get_in_a_point_is_a_ball_for_each() -> None:
    plan = plan_of("    2 points  pair", plays="right for anna and then right for ben, then left for ben")
    assert [ball.first for ball in plan.launches] == ["right for anna", "right for ben", "left"] * 2
    assert {shot.id: shot.player for shot in plan.shots}["right for ben"] == "ben"


def test_a_changeover_passes_inside_a_point_too() -> None:
    plan = plan_of("    2 points  pair", rotation="    rotation  changeover 10 s\n")
    assert [ball.at_s for ball in plan.launches] == [0, 10, 13, 23, 33, 36]


def test_a_point_of_a_pair_may_begin_again_with_time_for_any_change() -> None:
    session, rotation = "    4 points  pair", "    rotation  changeover 10 s\n"
    plan = plan_of(session, missed="from the start", rotation=rotation)
    assert [ball.at_s for ball in plan.launches] == [10.0 * n for n in range(12)]
    assert {frozenset(ball.any_of) for ball in plan.launches[1:]} == {frozenset(("right", "left"))}
    feeder = ProfileShelf(None).load("academy")
    assert feeder and verify(plan, feeder) == []
    now = course(plan.blocks[0], verdicts(plan, "-"))
    assert shot_of(plan.blocks[0], now) == "right", "after a miss of the first ball"
    without = plan_of(session, missed="from the start")
    assert [ball.at_s for ball in without.launches] == [3.0 * n for n in range(12)]


def test_nobody_runs_to_the_ball_of_the_partner() -> None:
    """The two balls are met 7 m apart: too far for one player in 2 s, but each of the two stands at one of them."""
    session = "    8 points  pair"
    alone = "right for anna, then left for anna"
    assert "far-to-run" in {finding.code for finding in compiled(session, plays=alone, interval="2 s").findings}
    both = "right for anna, then left for ben"
    assert "far-to-run" not in {finding.code for finding in compiled(session, plays=both, interval="2 s").findings}


def test_the_pair_wins_a_point_when_all_its_balls_go_in() -> None:
    plan = plan_of("    8 points  pair, until 2 of 3")
    (block,) = plan.blocks
    assert [(hold.hits, hold.window, hold.variation) for hold in block.until] == [(2, 3, None)]
    won, lost_by_anna, lost_by_ben = "+++", "-  ", "++-"
    tallies = course(block, verdicts(plan, won + lost_by_anna + lost_by_ben)).tallies
    assert (tallies["pair"].won, tallies["pair"].lost) == (1, 2)
    for marks, ends in ((won + lost_by_ben + won, True), (won + lost_by_anna + lost_by_ben + won, False)):
        assert over(holding(block, verdicts(plan, marks), {})) is ends, marks


def test_the_pair_plays_one_game() -> None:
    plan = plan_of("    3 points  pair\n        first to 2")
    now = game_of(plan.blocks[0], course(plan.blocks[0], verdicts(plan, "+++-  +++")))
    assert isinstance(now, Game) and now.over and str(now) == "game to 2: 2 to 1, won"


def test_the_sheet_says_whose_each_ball_of_a_point_is() -> None:
    plan = plan_of("    4 points  pair, until 2 of 3")
    (rule, _) = points(plan, letters(plan), plan.blocks)
    assert rule.rule.startswith("Point pair: A for anna, then B for ben, then B for ben.")
    (part,) = sheet(plan).parts
    (step,) = [step for turn in part.rounds for step in turn.steps]
    (line,) = strips(step.order, 150.0, step.turns, step.groups)
    assert [group["letters"] for group in line] == [["A", "B", "B"]] * 4
    assert not any(group["turn"] for group in line), "a name before a point would be that of its first ball alone"
    assert words.until_rule(plan.blocks[0]).startswith("As soon as 2 of the last 3 are won")
    page = phone(plan).decode()
    assert "ben comes" in page and "anna</bdi></b> <span>A</span> <b><bdi>ben</bdi></b> <span>B B</span>" in page


def test_players_who_take_turns_at_whole_points_stand_in_the_strip() -> None:
    plan = plan_of("    4 points  pair", plays="right, then left", rotation="    rotation  changing every 1 points\n")
    (step,) = [step for part in sheet(plan).parts for turn in part.rounds for step in turn.steps]
    marks = [group["mark"] for line in strips(step.order, 150.0, step.turns, step.groups) for group in line]
    assert marks == ["anna", "ben", "anna", "ben"]


def test_a_block_of_such_points_needs_no_player_and_may_name_both() -> None:
    of = [[ball.first for ball in plan_of(session).launches] for session in (
        "    4 points  pair", "    4 points  pair for anna and ben", "    for anna and ben\n        4 points  pair",
    )]  # fmt: skip
    assert of[0] == of[1] == of[2]


def test_beside_such_a_point_another_ball_says_whose_it_is() -> None:
    plan = plan_of("    9 points  mix 2 pair, left for ben")
    drawn = [point.name for point in plan.blocks[0].points]
    assert (drawn.count("pair"), drawn.count("left")) == (6, 3)


@pytest.mark.parametrize(
    ("session", "more", "code"),
    [
        ("    4 points  pair", {"plays": "right for anna, then left"}, "share-for-nobody"),
        ("    4 points  pair", {"plays": "right for anna and ben, then left for ben"}, "nobodys-turn"),
        ("    4 points  pair", {"plays": "right for cleo, then left for ben"}, "unknown-name"),
        ("    4 points  pair for anna", {}, "duplicate"),
        ("    4 points  mix pair for anna, left for ben", {}, "duplicate"),
        ("    for ben\n        4 points  pair", {}, "duplicate"),
        ("    4 points  mix left, pair", {}, "share-for-nobody"),
        ("    4 points  mix pair, left for ben", {"missed": "from the start"}, "one-by-marks"),
        ("    4 points  mix pair, left for ben, until 2 in a row", {}, "one-by-marks"),
        ("    4 balls   pair", {}, "counted-as"),
    ],
)  # fmt: skip
def test_what_does_not_say_whose_a_ball_is_is_refused(session: str, more: dict[str, str], code: str) -> None:
    assert codes(compiled(session, **more)) == [code]


def test_an_editor_renames_a_player_in_a_point_and_format_keeps_who_plays() -> None:
    text = SCRIPT.format(session="    4 points  pair", plays=THREE, missed="next point", rotation="", interval="3 s")
    edits = renamed(opened(Source("pair.feed", text), None), text.index("called ben") + 7, "bo")
    assert edits and len(edits) == 3
    said = formatted(Source("pair.feed", text.replace(THREE, "right for anna,left   for ben and left for ben")))[0]
    assert f"plays     {THREE}\n" in said


@pytest.mark.parametrize(
    ("before", "named"),
    [
        ("plays right for ", {"anna", "ben"}),
        ("plays right for anna, then ", {"right", "left"}),
        ("plays right for anna and ", {"right", "left"}),
    ],
)
def test_an_editor_offers_a_ball_after_a_player(before: str, named: set[str]) -> None:
    text = SCRIPT.format(session="    4 points  pair", plays=THREE, missed="next point", rotation="", interval="3 s")
    text = text.replace(f"plays     {THREE}", before)
    found = offers(opened(Source("pair.feed", text), None), text.index(before) + len(before), ProfileShelf(None))
    assert {offer.text for offer in found} & {"anna", "ben", "right", "left"} == named


def test_after_a_replay_each_has_own_balls_and_both_have_the_points() -> None:
    plan = plan_of("    8 points  pair, until 2 of 3")
    balls = tuple(
        RecordedBall(ball.index + 1, ball.shot, "gone", ball.verdict is Verdict.HIT)
        for ball in verdicts(plan, "+++++-+++")
    )
    run = Past("ab" * 8, 1, 1, 24, balls, plan.program, False, {}, "", "", datetime.now(UTC))
    said = afterwards(plan, [run])
    assert said[:4] == [
        "In this run: 9 balls thrown, 8 hits, 1 miss, 0 not judged.",
        "anna: 3 balls, 3 hits, 0 misses, 0 not judged.",
        "ben: 6 balls, 5 hits, 1 miss, 0 not judged.",
        "pair: 2 of 3 points won.",
    ]
    assert passed(plan, run).next == 25, "two of three end the block: what is left of it does not come"
