"""What a coach says of the blocks of a session, from the script to the plan and the paper."""

from collections import Counter
from itertools import groupby

import pytest

from feedwright.compiler.model.player import BODY_SHARES
from feedwright.targets.outputs.sheet.html import render
from feedwright.targets.outputs.sheet.layout import document
from feedwright.targets.outputs.sheet.page import sheet
from feedwright.targets.outputs.sheet.phone import body

from .test_people import two
from .test_points import plan_of

NOTED = """session "s"
    note      "of the session"
    4 balls   slow
    rest      30 s
        note      "count in the rest"
    2 rounds
        note      "before the round"
        4 balls   slow
            note      "of the block"
        collect   1 min
            note      "fill up"
"""


def test_a_note_under_a_rest_a_collect_or_rounds_comes_with_it() -> None:
    """That of the rounds comes with the first block of each round."""
    plan = plan_of(NOTED)
    rounds = [("balls", ("before the round", "of the block")), ("collect", ("fill up",))]
    assert [(block.kind, block.notes) for block in plan.blocks] == [
        ("balls", ()), ("rest", ("count in the rest",)), *rounds, *rounds,
    ]  # fmt: skip
    assert plan.notes == ("of the session",)
    steps = [step for part in sheet(plan).parts for turn in part.rounds for step in turn.steps]
    assert [note for step in steps for note in step.notes] == [
        "“count in the rest”", "“before the round”", "“of the block”", "“fill up”",
    ]  # fmt: skip


def test_a_note_of_what_a_line_repeats_comes_with_each_of_it() -> None:
    plan = plan_of(
        'session "s"\n    collect 1 min when empty\n        note "all of them"\n    160 balls slow\n'
        '    ladder slow, up to 4 balls, pace 70, 72 km/h\n        up 2 in a row\n        note "say each rung"\n'
    )
    assert [(block.kind, block.notes) for block in plan.blocks] == [
        ("balls", ()), ("collect", ("all of them",)), ("balls", ()), ("balls", ("say each rung",)),
    ]  # fmt: skip


def test_a_phone_shows_the_note_of_a_rest_on_its_card() -> None:
    assert "count in the rest" in body(plan_of(NOTED))


SIDES = """feed left, like slow
    side      1 to 3 m left of centre
feed left-fast, like fast
    side      1 to 3 m left of centre
feed right, like slow
    side      1 to 3 m right of centre
"""


@pytest.mark.parametrize("most", [1, 2, 3])
@pytest.mark.parametrize("rests", [1, 2, 3, 4])
def test_no_more_balls_come_to_one_side_in_a_row_than_said(rests: int, most: int) -> None:
    """The sides are those where the balls land, as flown: +x is the player's left. The shares stay whole. A block is
    drawn by its number, so rests before it give another order."""
    mixed = f"48 balls mix 2 left, left-fast, 3 right, slow, at most {most} to one side in a row"
    plan = plan_of(SIDES + 'session "s"\n' + "    rest 9 s\n" * rests + f"    {mixed}\n")
    shots = {shot.id: shot for shot in plan.shots}
    came = [shots[ball.first] for ball in plan.launches]
    sides = ["left" if (x := shot.predicted.landing_m[0]) > 0.5 else "right" if x < -0.5 else "middle" for shot in came]
    runs = [(side, len(list(run))) for side, run in groupby(sides)]
    assert max(many for side, many in runs if side != "middle") == most
    assert Counter(shot.feed for shot in came) == {"left": 14, "left-fast": 7, "right": 20, "slow": 7}


def test_an_interval_under_a_block_holds_for_its_balls_alone() -> None:
    """A block ends one interval after its last ball, so the first ball of the next comes after the longer of both."""
    rows = "    3 balls slow\n    3 balls slow\n        interval 6 s\n    2 balls slow\n"
    plan = plan_of(f'session "s"\n{rows}', interval="4 s")
    assert [ball.at_s for ball in plan.launches] == [0, 4, 8, 14, 20, 26, 32, 36]
    assert [(shot.feed, shot.interval_s) for shot in plan.shots] == [("slow", 4.0), ("slow", 6.0)]
    assert plan.shots[0].launch == plan.shots[1].launch and plan.blocks[1].words == "3 balls slow, interval 6 s"


def test_an_interval_under_a_ladder_holds_for_its_rungs() -> None:
    ladder = "    ladder slow, up to 3 balls, pace 66, 70 km/h\n        up 2 in a row\n        interval 7 s\n"
    plan = plan_of(f'session "s"\n    2 balls slow\n{ladder}', interval="4 s")
    assert [ball.at_s for ball in plan.launches] == [0, 4, 11, 18, 25]


def test_on_each_rung_the_player_goes_to_where_the_ball_is_as_high_as_said() -> None:
    """The waist of a player of 1.75 m is where the table of the body has it; a deeper ball drives the player back."""
    feed = (
        "feed driven, like slow\n    depth 6 m from net\n    stance where it is waist high, falling\n"
        "    height 1.5 m over net\n"
    )
    ladder = "    ladder driven, up to 9 balls, depth 6, 7, 8 m from net\n        up 2 in a row\n"
    rungs = [shot.predicted for shot in plan_of(f'{feed}session "s"\n{ladder}').shots]
    waist = BODY_SHARES["waist"] * 1.75
    assert [shot.contact_m[2] for shot in rungs] == pytest.approx([waist] * 3, abs=0.02)
    assert [shot.landing_m[1] for shot in rungs] == pytest.approx([6, 7, 8], abs=0.25)
    back = [shot.contact_m[1] for shot in rungs]
    assert back == sorted(back) and back[2] - back[0] > 1


def test_an_interval_under_a_block_holds_for_each_who_plays_it() -> None:
    rows = "    4 balls steady\n        interval 6 s\n    2 balls steady for ben\n"
    plan = two(rows)
    got = sorted((shot.player or "", shot.interval_s) for shot in plan.shots)
    assert got == [("anna", 6.0), ("ben", 4.0), ("ben", 6.0)]


def test_a_rest_between_rounds_is_told_as_that_on_paper() -> None:
    plan = plan_of('session "s"\n    3 rounds\n        4 balls mix slow, fast\n        rest 30 s between rounds\n')
    assert [block.kind for block in plan.blocks] == ["balls", "rest", "balls", "rest", "balls"]
    ((_, told, _),) = sheet(plan).front.clock
    assert told.endswith("mixed; rest 30 s between rounds")
    paper = render(document(plan)).decode().replace("\xa0", " ")
    assert "Each of the 3 rounds: 4 balls; rest 30 s between rounds." in paper
