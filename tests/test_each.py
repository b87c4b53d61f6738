"""A goal of each of those who take turns, from the script to the plan, the forecast, the sheet, the replay and the log.

Whose ball each is the tests say by hand; the chances are sums over every way in which the marks may fall."""

from dataclasses import replace
from itertools import product
from math import prod
from pathlib import Path
from typing import Any

import pytest
from scipy.stats import binom, poisson_binom

from feedwright.compiler.model.plan import Plan
from feedwright.compiler.model.takers import takers_of
from feedwright.compiler.pipeline import Compiled, compile_source
from feedwright.grammar.source import Source
from feedwright.targets.document import PlanRefused, read
from feedwright.targets.log.progress import Verdict
from feedwright.targets.log.record import LoggedBall, Recorder
from feedwright.targets.machine.feeders import ProfileShelf
from feedwright.targets.machine.replay.afterwards import afterwards
from feedwright.targets.machine.replay.places import shelf
from feedwright.targets.machine.replay.points import Points
from feedwright.targets.machine.replay.run import Run
from feedwright.targets.outputs.sheet.page import sheet

from .log.plans import START, at
from .log.test_broad_goals import played, typed
from .log.test_point_counts import read as log_of
from .replay.street import Street
from .replay.test_broad_goals import recorded
from .test_points import changed

SCRIPT = """\
program "Turns"
    surface   hard
{players}
    feeder    machine academy, on centre, on baseline, behind a screen
variation go "deep"
    reply     0 to 6 m inside baseline
    {goal}
feed easy aims go
    side      backhand wing
    depth     1 to 3.5 m inside baseline
    stance    2.5 m behind baseline
    height    waist, falling
    spin      topspin 900 rpm
    interval  4 s
feed other, like easy
    height    hip, falling
point two
    plays easy, then other
session "s"
    {session}
"""
LINE = "    player    right-handed, 1.72 m tall, 3 taking turns, changing every 2 balls, changeover 5 s"
PAIR = """\
    player    called anna, right-handed, 1.66 m tall
    player    called ben, left-handed, 1.86 m tall, scatter improver
    rotation  changing every 2 balls, changeover 6 s"""


def compiled(session: str, players: str = LINE, goal: str = 'note "Well done."') -> Compiled:
    text = SCRIPT.format(players=players, goal=goal, session=session.replace("\n", "\n    "))
    return compile_source(Source("turns.feed", text), ProfileShelf(), plan=True, remedies=False)


def plan_of(session: str, players: str = LINE, goal: str = 'note "Well done."') -> Plan:
    found = compiled(session, players, goal)
    assert found.plan, [one.headline for one in found.findings]
    return found.plan


def whose(plan: Plan) -> list[str]:
    """Of each goal the players, each with the balls that count by their numbers in the plan: `1:12 2:34`."""
    first: dict[int, int] = {}
    for number, ball in enumerate(plan.launches):
        first.setdefault(ball.block, number)
    return [
        " ".join(
            f"{who}:{','.join(map(str, sorted(first[block] + at for block, at in theirs or ())))}"
            for who, theirs in takers_of(plan, goal).items()
        )
        for goal in plan.goals
    ]


def test_players_in_line_go_on_from_block_to_block_and_begin_anew_where_a_goal_does() -> None:
    session = "8 balls easy\n    goal 1 of 2 each\nrest 20 s\n3 balls easy\n    goal 1 of 2 each"
    assert whose(plan_of(session, goal="goal 2 in all each")) == [
        "1:0,1,6,7 2:2,3,8,9 3:4,5,10", "1:0,1,6,7 2:2,3 3:4,5", "1:8,9 2:10",
    ]  # fmt: skip


def test_a_goal_in_a_variation_counts_each_block_and_only_who_plays_it() -> None:
    session = "8 balls cycle easy, other\nrest 20 s\n4 balls easy for ben\n4 balls other for anna\n2 balls other"
    plan = plan_of(session, PAIR, "goal 1 of 2 each")
    assert [goal.blocks for goal in plan.goals] == [(0,), (2,), (3,), (4,)]
    assert whose(plan) == ["anna:0,1,4,5 ben:2,3,6,7", "ben:8,9,10,11", "anna:12,13,14,15", "anna:16,17"]


def test_a_point_is_of_whoever_gets_its_first_ball_and_of_each_of_a_pair() -> None:
    assert whose(plan_of("5 points two\n    goal 1 of 2 each")) == ["1:0,1,2,3 2:4,5,6,7 3:8,9"]
    turns = PAIR.replace("2 balls", "2 points")
    assert whose(plan_of("5 points two\n    goal 1 of 2 each", turns)) == ["anna:0,1,2,3,8,9 ben:4,5,6,7"]
    pair = SCRIPT.replace("easy, then other", "easy for anna, then other for ben")
    text = pair.format(players=PAIR, goal='note "x"', session="3 points two\n        goal 1 of 2 each")
    found = compile_source(Source("t.feed", text), ProfileShelf(), plan=True, remedies=False)
    assert found.plan and whose(found.plan) == ["anna:0,1,2,3,4,5 ben:0,1,2,3,4,5"]
    assert [one.chance for one in found.goals] == [None], "their counts are the same points, no two chances"


def every_way(balls: list[tuple[str, float]], good: Any) -> float:
    """The sum over all ways to hit or miss of those in which each player's marks are good."""
    total = 0.0
    for marks in product((True, False), repeat=len(balls)):
        mine: dict[str, list[bool]] = {}
        for (who, _), hit in zip(balls, marks, strict=True):
            mine.setdefault(who, []).append(hit)
        if all(map(good, mine.values())):
            total += prod(share if hit else 1 - share for (_, share), hit in zip(balls, marks, strict=True))
    return total


def windows(hits: int, among: int) -> Any:
    return lambda marks: any(sum(marks[at : at + among]) >= hits for at in range(len(marks)))


def test_the_chance_that_all_reach_it_is_the_sum_over_all_marks() -> None:
    found = compiled("12 balls easy\n    goal 2 of 3 each\n12 balls easy\n    goal 2 in a row each")
    assert found.evaluation
    share = found.evaluation.replies["easy"].share
    balls = [(str(ball // 2 % 3), share) for ball in range(12)]
    asked = [windows(2, 3), windows(2, 2)]
    assert [one.chance for one in found.goals] == pytest.approx([every_way(balls, good) for good in asked], abs=1e-12)
    assert [one.balls for one in found.goals] == [4, 4]


def test_each_of_a_pair_has_the_share_of_their_own_balls() -> None:
    """scipy.stats.binom and poisson_binom at the shares of good replies of either player."""
    session = "8 balls easy\n    goal 3 of 4 each\n4 points two\n    goal 1 of 2 each\n3 balls cycle easy, other"
    found = compiled(session, PAIR, "goal 4 in all each")
    assert found.evaluation and found.totals
    at = {name: reply.share for name, reply in found.evaluation.replies.items()}
    easy, other = ([at[f"{name} for {who}"] for who in ("anna", "ben")] for name in ("easy", "other"))
    assert len({*easy, *other}) == 4
    anna, ben = ([easy[n]] * 4 + [easy[n], other[n]] * 2 for n in (0, 1))
    anna, ben = [*anna, easy[0], other[0]], [*ben, easy[1]]
    assert [one.chance for one in found.goals] == pytest.approx([
        poisson_binom.sf(3, anna) * poisson_binom.sf(3, ben),
        binom.sf(2, 4, easy[0]) * binom.sf(2, 4, easy[1]),
        binom.sf(0, 2, easy[0] * other[0]) * binom.sf(0, 2, easy[1] * other[1]),
    ], abs=1e-12)  # fmt: skip


def test_the_sheet_has_a_line_of_boxes_for_each() -> None:
    told = sheet(plan_of("8 balls easy\n    goal 1 of 2 each\nrest 20 s\n3 balls easy", goal="goal 2 in all each"))
    first, second = ([(row.rule, row.boxes, row.counted) for row in part.points] for part in told.parts)
    of = [("player 1:", 4, "good of 4"), ("player 2:", 2, "good of 2"), ("player 3:", 2, "good of 2")]
    assert first == [("Goal of A: 2 in all each.", 0, ""), *of, ("Goal: 1 of 2 each.", 0, ""), *of]
    assert second == [
        ("Goal of A: 2 in all each. Count on from before.", 0, ""), ("player 2 of the first block:", 2, "good of 2"),
        ("player 3 of the first block:", 1, "good of 1"),
    ]  # fmt: skip
    assert told.front.goals == tuple(f"A: 2 in all each, player {n}" for n in (1, 2, 3))
    assert told.parts[0].variations[0].notes[-1] == "Goal: 2 in all each: add up the hits of all blocks."


def test_rounds_have_lines_of_their_own_until_they_are_too_many() -> None:
    rounds = "{} rounds\n    4 balls easy\n        goal 1 of 2 each\n    rest 10 s"
    (part,) = sheet(plan_of(rounds.format(2), PAIR)).parts
    assert [(row.rule, row.boxes) for row in part.points] == [
        ("Goal: 1 of 2 each.", 0), ("Round 1, anna:", 2), ("Round 1, ben:", 2), ("Round 2, anna:", 2),
        ("Round 2, ben:", 2),
    ]  # fmt: skip
    (part,) = sheet(plan_of(rounds.format(7), PAIR)).parts
    assert [(row.rule, row.ticks) for row in part.points] == [
        ("Goal: 1 of 2 each.", "Each counts their own on a slip of paper."),
    ]  # fmt: skip


TURNS = "8 balls easy\n    goal 2 in a row each\n4 points two\n    goal 1 of 2 each"


def test_after_a_replay_each_has_a_line() -> None:
    """Its last ball is not thrown."""
    plan = plan_of(TURNS, PAIR, "goal 3 of 4 each")
    lines = [line for line in afterwards(plan, [recorded(plan, "hmhhhhmm" + "hhhm" + "mmhh")]) if " each" in line]
    assert lines == [
        "Block 1, go, goal 3 of 4 each, anna: 3 hits among 4 balls at best, reached.",
        "Block 1, go, goal 3 of 4 each, ben: 2 hits among 4 balls at best.",
        "Block 2, go, goal 3 of 4 each, anna: 3 hits among 4 balls at best, reached.",
        "Block 2, go, goal 3 of 4 each, ben: 1 hit among 4 balls at best.",
        "Block 1, goal 2 in a row each, anna: 2 hits in a row at best, reached.",
        "Block 1, goal 2 in a row each, ben: 2 hits in a row at best, reached.",
        "Block 2, goal 1 of 2 each, anna: 1 point won among 2 points at best, reached.",
        "Block 2, goal 1 of 2 each, ben: 0 points won among 2 points at best.",
    ]


def test_the_screen_counts_for_whoever_gets_the_ball() -> None:
    plan = plan_of("6 balls easy\n    goal 2 in all each")
    run = Street().host.run
    places = tuple(replace(run.places[0], number=n, block=0, shots=("easy",)) for n in range(1, 7))
    points, played_ = Points(shelf(plan)), Run(run.word, run.title, places, run.record)
    said = []
    for place, mark in zip(places, "hmhhmh", strict=True):
        said.append(" ".join(map(str, points.goals(played_, place))))
        points.thrown(played_, place, "easy")
        points.marked(played_, place, Verdict(mark))
    last = " ".join(map(str, points.goals(played_, places[-1])))
    assert [*said, last] == [
        f"goal 2 in all each, player {who}: {count}"
        for who, count in ((1, 0), (1, 1), (2, 0), (2, 1), (3, 0), (3, 0), (3, 1))
    ]


def test_the_log_keeps_the_count_of_each(tmp_path: Path) -> None:
    path, plan = tmp_path / "p.db", plan_of("7 balls easy\n    goal 2 in a row each", goal="goal 3 in all each")
    played(path, plan, "hmhhhmh")
    assert {one.name: (one.reached, one.practices, one.best) for one in log_of(path).goals} == {
        "Block 1, goal 2 in a row each, player 1": (0, 1, 1), "Block 1, goal 2 in a row each, player 2": (1, 1, 2),
        "Block 1, goal 2 in a row each, player 3": (0, 1, 1), "go, goal 3 in all each, player 1": (0, 1, 2),
        "go, goal 3 in all each, player 2": (0, 1, 2), "go, goal 3 in all each, player 3": (0, 1, 1),
    }  # fmt: skip


def test_the_log_knows_whose_a_ball_is_where_a_replay_began_later(tmp_path: Path) -> None:
    """From the fourth ball on, which is the second of player 2."""
    path, plan = tmp_path / "p.db", plan_of("7 balls easy\n    goal 2 in a row each")
    with Recorder(plan, path) as log:
        log.begin("0" * 32)
        for ball, mark in zip((4, 5, 6, 7), "mhhh", strict=True):
            log.ball(0, "easy", None, at(ball), Verdict(mark), ball)
    assert {one.name[-1]: (one.reached, one.best) for one in log_of(path).goals} == {
        "1": (0, 1),
        "2": (0, 0),
        "3": (1, 2),
    }


@pytest.mark.parametrize(("marks", "said"), [("hmhhhmh", 3), ("hmhhhm", 0)], ids=["all", "one short"])
def test_marks_saved_by_a_phone_tell_it_of_players_in_line_where_every_ball_is_there(
    tmp_path: Path, marks: str, said: int
) -> None:
    path, plan = tmp_path / "p.db", plan_of("7 balls easy\n    goal 2 in a row each")
    balls = [LoggedBall(0, "easy", None, at(n), Verdict(mark)) for n, mark in enumerate(marks)]
    with Recorder(plan, path) as log:
        assert log.sheet(balls, [], "0" * 32, START, True)
    assert len(log_of(path).goals) == said


def test_counts_of_all_who_play_tell_none_of_them(tmp_path: Path) -> None:
    path, plan = (
        tmp_path / "p.db",
        plan_of("8 balls easy\n    goal 3 of 4 each\n4 points two", PAIR, "goal 5 in all each"),
    )
    typed(path, plan, "5/8", "5/8", "3/4")
    assert log_of(path).goals == []
    played(path, plan, "hhhhhmmm" + "hhhhhhhh")
    assert {one.name: (one.reached, one.practices, one.best) for one in log_of(path).goals} == {
        "Block 1, goal 3 of 4 each, anna": (1, 1, 3), "Block 1, goal 3 of 4 each, ben": (0, 1, 2),
        "go, goal 5 in all each, anna": (1, 1, 7), "go, goal 5 in all each, ben": (1, 1, 6),
    }  # fmt: skip


@pytest.mark.parametrize(
    "change",
    [
        lambda plan: plan["goals"][0].update(blocks=[0, 2]),
        lambda plan: plan["goals"][0].update(each=False),
        lambda plan: plan["goals"][0].update(each="yes"),
        lambda plan: plan["goals"][0].update(in_all=True),
    ],
)
def test_a_plan_in_which_it_counts_other_blocks_is_refused(change: Any) -> None:
    plan = plan_of("4 balls easy\nrest 10 s\n4 balls easy", PAIR, "goal 1 of 2 each")
    assert read(changed(plan, lambda _: None)) == plan
    with pytest.raises(PlanRefused):
        read(changed(plan, change))
