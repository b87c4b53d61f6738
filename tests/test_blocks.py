"""What a coach says of the blocks of a session, from the script to the plan and the paper."""

from feedwright.targets.outputs.sheet.page import sheet
from feedwright.targets.outputs.sheet.phone import body

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
