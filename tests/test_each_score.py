"""A score of each player, `until score 21 each` and `goal score 4 each`: check, plan, sheet, replay and log.
What a phone says is in tests/targets/test_phone_scores.py."""

from itertools import product
from math import prod
from pathlib import Path
from types import SimpleNamespace

import pytest

from feedwright.compiler.model.plan import Plan
from feedwright.compiler.model.takers import takers_of_score
from feedwright.compiler.pipeline import Compiled, compile_source
from feedwright.grammar.format import formatted
from feedwright.grammar.source import Source
from feedwright.targets.log.points import PointBall
from feedwright.targets.log.progress import Verdict
from feedwright.targets.log.scores import ScoreSoFar, score_of
from feedwright.targets.log.typed_scores import scores_of
from feedwright.targets.machine.feeders import ProfileShelf
from feedwright.targets.machine.replay.afterwards import afterwards
from feedwright.targets.machine.replay.journal import Past
from feedwright.targets.machine.replay.places import places, shelf
from feedwright.targets.machine.replay.points import Points
from feedwright.targets.outputs.sheet.page import sheet

from .log.test_scores import played, told
from .replay.test_scores import recorded
from .test_points import BALLS
from .test_scores import AIMED

HEAD = BALLS.format(machine="academy", interval="4 s", middling="76 km/h").replace(
    "    player    right-handed, 1.75 m tall\n",
    "    player    called anna, right-handed, 1.75 m tall\n    player    called ben, right-handed, 1.75 m tall\n"
    "    rotation  changing every 2 balls, changeover 4 s\n",
)
LINE = BALLS.format(machine="academy", interval="4 s", middling="76 km/h").replace(
    "1.75 m tall", "1.75 m tall, 2 taking turns, changing every 2 balls, changeover 4 s"
)
RACE = "    8 balls easy, until score 3 each\n        score miss -1\n"
GOAL = "    8 balls easy\n        goal score 2 each\n"


def made(session: str, head: str = HEAD) -> Compiled:
    return compile_source(Source("each.feed", head + AIMED + session), ProfileShelf(), plan=True)


def plan_of(session: str, head: str = HEAD) -> Plan:
    found = made(session, head)
    assert found.plan, [one.headline for one in found.findings]
    return found.plan


def so_far(plan: Plan, marks: str) -> dict[str, ScoreSoFar]:
    """Of each player after these marks of the first block."""
    letters = {"h": Verdict.HIT, "m": Verdict.MISS, "-": Verdict.NOT_JUDGED}
    balls = [
        PointBall(n, launch.first, letters[mark])
        for n, (launch, mark) in enumerate(zip(plan.launches, marks, strict=False))
    ]
    held, found = {block.index: block for block in plan.blocks}, {}
    for who, theirs in takers_of_score(plan, 0).items():
        score = score_of(held, 0, {0: balls}, who, theirs)
        assert score
        found[who] = score
    return found


@pytest.mark.parametrize(("head", "names"), [(HEAD, ["anna", "ben"]), (LINE, ["1", "2"])])
def test_each_counts_the_own_balls(head: str, names: list[str]) -> None:
    """Two balls each in turns. By hand: hit, hit, then miss, hit, then miss: 2 - 1 and -1 + 1."""
    found = so_far(plan_of(RACE, head), "hhmhm")
    assert {who: one.now for who, one in found.items()} == dict(zip(names, (1, 0), strict=True))
    assert not any(one.end for one in found.values())
    assert so_far(plan_of(RACE, head), "hhmhh")[names[0]].end == 3


def test_the_first_to_come_there_ends_the_block() -> None:
    """Four balls of each at most, whose chance is summed over all marks; it goes on if neither comes there."""
    found = made(RACE)
    (end,) = found.early
    assert found.plan and found.plan.shots[0].reply and found.plan.totals.balls == 8
    shares = [shot.reply.share_good for shot in found.plan.shots if shot.reply]

    def comes(share: float) -> float:
        def ends(marks: tuple[bool, ...]) -> bool:
            sums = [sum(1 if hit else -1 for hit in marks[:n]) for n in range(1, 5)]
            return max(sums) >= 3

        every = product((True, False), repeat=4)
        return sum(prod(share if hit else 1 - share for hit in marks) for marks in every if ends(marks))

    assert end.chance == pytest.approx(1 - prod(1 - comes(share) for share in shares), abs=2e-3)  # a plan is rounded


def test_the_goal_is_reached_by_all_of_them() -> None:
    """Two hits or more of four balls each."""
    found = made(GOAL)
    (goal,) = found.goals
    assert goal.words.endswith("goal score 2 each") and found.plan

    def two(share: float) -> float:
        return 1 - (1 - share) ** 4 - 4 * share * (1 - share) ** 3

    shares = [shot.reply.share_good for shot in found.plan.shots if shot.reply]
    assert goal.chance == pytest.approx(prod(map(two, shares)), abs=2e-3)


def test_the_sheet_has_a_line_of_boxes_for_each() -> None:
    rows = [row for part in sheet(plan_of(RACE)).parts for row in part.points]
    assert rows[0].rule.startswith("Score of each player: begin at 0; a good ball +1, a miss -1.")
    assert rows[0].rule.endswith("As soon as one of them is 3 or more, go on with what comes next.")
    assert [(row.rule, row.boxes) for row in rows[1:]] == [("anna:", 4), ("ben:", 4)]


def test_two_who_take_turns_need_no_block_each() -> None:
    assert not [one for one in made(RACE).findings if one.code == "one-by-marks"]
    shared = made(RACE.replace(" each", ""))
    assert [one.code for one in shared.findings if one.code == "one-by-marks"]


def test_each_of_one_player_says_nothing() -> None:
    found = made("    8 balls easy for anna, until score 3 each\n")
    (note,) = (one for one in found.findings if one.code == "each-for-one")
    assert [edit.text for edit in note.remedies] == ["until score 3"]


def test_a_replay_tells_the_score_of_each_afterwards() -> None:
    plan = plan_of(RACE)
    runs: list[Past] = [recorded(plan, "hhmhh")]
    lines = [line for line in afterwards(plan, runs) if "score" in line]
    assert lines == [
        "Block 1, anna: score 3, until 3: reached with 5 balls of at most 8.",
        "Block 1, ben: score 0, until 3: not reached with 5 balls of at most 8.",
    ]


def test_the_screen_says_the_score_of_whoever_plays_and_ends_the_block_with_the_first() -> None:
    plan = plan_of(RACE)
    counting, run = Points(shelf(plan)), SimpleNamespace(word="run", title="each")
    for place, verdict in zip(places(plan), (Verdict.HIT,) * 5, strict=False):
        assert counting.over(run, place) == ""  # type: ignore[arg-type]
        counting.thrown(run, place, place.shots[0])  # type: ignore[arg-type]
        counting.marked(run, place, verdict)  # type: ignore[arg-type]
    told = [str(counting.score(run, place)) for place in places(plan)[1:3]]  # type: ignore[arg-type]
    assert told == ["anna: score 3 of 3: over", "ben: score 2 of 3"]
    assert counting.over(run, places(plan)[2]) == "the block is over, the score of anna is 3"  # type: ignore[arg-type]


def test_the_log_keeps_the_score_of_each(tmp_path: Path) -> None:
    plan = plan_of(GOAL)
    played(plan, tmp_path / "p.db", "hhmhh")
    assert told(tmp_path / "p.db") == [
        "Block 1, anna, score 3 in 1 practice; goal 2 or more reached in 1",
        "Block 1, ben, score 1 in 1 practice; goal 2 or more reached in 0",
    ]
    assert [one.asked for one in scores_of(plan, plan.blocks)] == ["anna, score at the end:", "ben, score at the end:"]
    assert {(one.least, one.most) for one in scores_of(plan, plan.blocks)} == {(0, 4)}


def test_format_writes_it() -> None:
    text = HEAD + AIMED + GOAL + RACE.replace("3 each", "3 for each player")
    assert "until score 3 for each player" in formatted(Source("each.feed", text))[0]
