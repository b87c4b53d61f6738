"""plan.json is written for people and read with suspicion."""

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from feedwright.compiler.model.plan import Plan
from feedwright.targets.document import LIMIT, PlanRefused, read, render

from .plans import make_plan


def changed(plan: Plan, old: str, new: str) -> bytes:
    text = render(plan).decode()
    assert text.count(old) >= 1
    return text.replace(old, new, 1).encode()


def test_what_is_written_is_read_back(person_plan: Plan, machine_plan: Plan) -> None:
    assert read(render(person_plan)) == person_plan
    assert read(render(machine_plan)) == machine_plan


@given(st.floats(0, 60))
def test_any_number_survives_so_that_the_digest_fits(number: float) -> None:
    plan = make_plan(machine=False)
    seen = plan.shots[0].predicted.model_copy(update={"contact_s": number})
    shots = (plan.shots[0].model_copy(update={"predicted": seen}), *plan.shots[1:])
    plan = plan.model_copy(update={"shots": shots}).sealed()
    assert read(render(plan)) == plan


def test_it_is_indented_with_letters_of_all_languages_as_they_are() -> None:
    text = render(make_plan(machine=False, program="Rückhand 反手")).decode()
    assert '\n  "program": "Rückhand 反手",\n' in text


def test_a_changed_digit_is_noticed(machine_plan: Plan) -> None:
    with pytest.raises(PlanRefused, match="digest does not match"):
        read(changed(machine_plan, '"speed_mps": 19.4445', '"speed_mps": 29.4445'))


def test_a_duplicate_key_is_refused_even_with_the_same_value(machine_plan: Plan) -> None:
    with pytest.raises(PlanRefused, match="'speed_mps' twice"):
        read(changed(machine_plan, '"speed_mps": 19.4445', '"speed_mps": 19.4445, "speed_mps": 19.4445'))


@pytest.mark.parametrize("word", ["NaN", "Infinity", "-Infinity"])
def test_what_is_no_number_is_refused(machine_plan: Plan, word: str) -> None:
    with pytest.raises(PlanRefused, match=f"contains {word}"):
        read(changed(machine_plan, '"speed_mps": 19.4445', f'"speed_mps": {word}'))


@pytest.mark.parametrize("value", ['"19.4445"', "true", "null", "1e999", "[19.4445]"])
def test_what_only_looks_like_a_number_is_refused_with_its_place(machine_plan: Plan, value: str) -> None:
    with pytest.raises(PlanRefused, match=r"shots\.0\.launch\.speed_mps"):
        read(changed(machine_plan, '"speed_mps": 19.4445', f'"speed_mps": {value}'))


def test_a_whole_number_is_written_as_one(machine_plan: Plan) -> None:
    """JSON Schema takes 4.0 for an integer and says that nobody should write it so (draft 2020-12, core, 6.3, from
    memory). A document with another text has another digest."""
    with pytest.raises(PlanRefused, match=r"at blocks\.0\.balls"):
        read(changed(machine_plan, '"balls": 4,', '"balls": 4.0,'))


def test_a_newer_version_is_named(machine_plan: Plan) -> None:
    with pytest.raises(PlanRefused, match=r"version 5; this Feedwright reads version 4\. Use a newer"):
        read(changed(machine_plan, '"version": 4', '"version": 5'))


def test_a_plan_of_an_older_version_is_built_anew(machine_plan: Plan) -> None:
    with pytest.raises(PlanRefused, match=r"version 3; this Feedwright reads version 4\. Build it again"):
        read(changed(machine_plan, '"version": 4', '"version": 3'))


@pytest.mark.parametrize("version", ["0", "true", '"1"', "1.5", "null"])
def test_no_other_version_passes(machine_plan: Plan, version: str) -> None:
    with pytest.raises(PlanRefused):
        read(changed(machine_plan, '"version": 4', f'"version": {version}'))


@pytest.mark.parametrize("change", [{"shot": "rocket"}, {"block": 99}, {"block": 1}])
def test_a_ball_of_no_known_shot_or_block_is_refused(machine_plan: Plan, change: dict[str, object]) -> None:
    """Also with a digest that fits; block 1 is a rest."""
    first, second, *rest = machine_plan.launches
    launches = (first, second.model_copy(update=change), *rest)
    with pytest.raises(PlanRefused, match="ball 2"):
        read(render(machine_plan.model_copy(update={"launches": launches}).sealed()))


def with_entry(plan: Plan, what: str, place: int, changes: dict[str, object]) -> Plan:
    """The plan with changes in one of its blocks, parts or launches."""
    entries = list(getattr(plan, what))
    entries[place] = entries[place].model_copy(update=changes)
    return plan.model_copy(update={what: tuple(entries)}).sealed()


# make_plan: blocks from 0, 16, 36, 62, 122, 134, 143 and 155 s to 164 s; parts from 0 and 122 s; balls 5 to 10 in
# block 2, at 36, 40, 44.5, 48.5, 52.5 and 57 s.
UNTIMELY = {
    "a ball after its block": (("launches", 9, {"at_s": 62.0}), "Ball 10 leaves at 62 s, outside its block"),
    "a ball before its block": (("launches", 4, {"at_s": 35.9}), "Ball 5 leaves at 35.9 s, outside its block"),
    "a ball before the one in front": (("launches", 5, {"at_s": 36.0}), None),
    "balls that swap": (("launches", 5, {"at_s": 45.0}), "Ball 7 leaves at 44.5 s, before the ball in front of it"),
    "a gap between blocks": (("blocks", 2, {"start_s": 36.5}), "Block 2 runs from 36.5 to 62 s and should start at 36"),
    "a block in the one before": (("blocks", 2, {"start_s": 35.0}), "Block 2 runs from 35 to 62 s"),
    "a block that ends as it starts": (("blocks", 7, {"end_s": 155.0}), "Block 7 runs from 155 to 155 s"),
    "a session longer than its blocks": (("blocks", 7, {"end_s": 163.0}), "ends at 164 s, its last block at 163 s"),
    "blocks out of order": (("blocks", 1, {"index": 2}), "not numbered in order"),
    "a part of its own length": (
        ("parts", 0, {"end_s": 121.0}),
        "Part 1 runs from 122 to 164 s and should start",
    ),
    "a block of a part that is not there": (("blocks", 7, {"part": 2}), "parts are not those of its blocks"),
    "a block of another part": (("blocks", 3, {"part": 1}), "Part 0 does not start and end with its blocks"),
}


@pytest.mark.parametrize(("change", "said"), UNTIMELY.values(), ids=list(UNTIMELY))
def test_a_plan_that_does_not_keep_time_is_refused(
    machine_plan: Plan, change: tuple[str, int, dict[str, object]], said: str | None
) -> None:
    """Also with a digest that fits. Two balls at one second are in order; how far apart they must be, verify knows."""
    plan = with_entry(machine_plan, *change)
    if said is None:
        assert read(render(plan)) == plan
        return
    with pytest.raises(PlanRefused, match=said):
        read(render(plan))


def test_an_unknown_entry_is_refused(machine_plan: Plan) -> None:
    body = json.loads(render(machine_plan))
    body["faster"] = True
    with pytest.raises(PlanRefused, match="at faster"):
        read(json.dumps(body).encode())


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "not JSON from line 1, column 1"),
        (b'{"n": ' + b"9" * 5000 + b"}", "a number that is too long"),
        (b"{}", "not a Feedwright plan"),
        (b"[]", "not a Feedwright plan"),
        (b'{"format": "feedwright-plan"}', "does not give its version"),
        (b'{"format": "feedwright-plan", "version": 4}', "not have the form of a plan: at program. Build it again"),
        (b"\xff\xfe", "not UTF-8"),
        (b"[" * 200_000, "nested too deeply"),
        (b" " * (LIMIT + 1), "at most 8388608 are read"),
    ],
)
def test_what_is_no_plan_is_refused_in_a_sentence(data: bytes, said: str) -> None:
    with pytest.raises(PlanRefused, match=said) as caught:
        read(data)
    assert str(caught.value).endswith((".", "needed."))
    assert "\n" not in str(caught.value)
