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
    with pytest.raises(PlanRefused, match="digest does not fit"):
        read(changed(machine_plan, '"speed_mps": 19.4445', '"speed_mps": 29.4445'))


def test_a_duplicate_key_is_refused_even_with_the_same_value(machine_plan: Plan) -> None:
    with pytest.raises(PlanRefused, match="'speed_mps' twice"):
        read(changed(machine_plan, '"speed_mps": 19.4445', '"speed_mps": 19.4445, "speed_mps": 19.4445'))


@pytest.mark.parametrize("word", ["NaN", "Infinity", "-Infinity"])
def test_what_is_no_number_is_refused(machine_plan: Plan, word: str) -> None:
    with pytest.raises(PlanRefused, match=f"holds {word}"):
        read(changed(machine_plan, '"speed_mps": 19.4445', f'"speed_mps": {word}'))


@pytest.mark.parametrize("value", ['"19.4445"', "true", "null", "1e999", "[19.4445]"])
def test_what_only_looks_like_a_number_is_refused_with_its_place(machine_plan: Plan, value: str) -> None:
    with pytest.raises(PlanRefused, match=r"shots\.0\.launch\.speed_mps"):
        read(changed(machine_plan, '"speed_mps": 19.4445', f'"speed_mps": {value}'))


def test_a_newer_version_is_named(machine_plan: Plan) -> None:
    with pytest.raises(PlanRefused, match=r"version 3; this Feedwright reads version 2\. A newer"):
        read(changed(machine_plan, '"version": 2', '"version": 3'))


def test_a_plan_of_an_older_version_is_built_anew(machine_plan: Plan) -> None:
    with pytest.raises(PlanRefused, match=r"version 1; this Feedwright reads version 2\. Build it anew"):
        read(changed(machine_plan, '"version": 2', '"version": 1'))


@pytest.mark.parametrize("version", ["0", "true", '"1"', "1.5", "null"])
def test_no_other_version_passes(machine_plan: Plan, version: str) -> None:
    with pytest.raises(PlanRefused):
        read(changed(machine_plan, '"version": 2', f'"version": {version}'))


@pytest.mark.parametrize("change", [{"shot": "rocket"}, {"block": 99}, {"block": 1}])
def test_a_ball_of_no_known_shot_or_block_is_refused(machine_plan: Plan, change: dict[str, object]) -> None:
    """Also with a digest that fits; block 1 is a rest."""
    first, second, *rest = machine_plan.launches
    launches = (first, second.model_copy(update=change), *rest)
    with pytest.raises(PlanRefused, match="ball 2"):
        read(render(machine_plan.model_copy(update={"launches": launches}).sealed()))


def test_an_unknown_entry_is_refused(machine_plan: Plan) -> None:
    body = json.loads(render(machine_plan))
    body["faster"] = True
    with pytest.raises(PlanRefused, match="at faster"):
        read(json.dumps(body).encode())


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "not JSON, from line 1, column 1 on"),
        (b'{"n": ' + b"9" * 5000 + b"}", "a number that is too long"),
        (b"{}", "not a Feedwright plan"),
        (b"[]", "not a Feedwright plan"),
        (b'{"format": "feedwright-plan"}', "does not say which version"),
        (b'{"format": "feedwright-plan", "version": 2}', "not as a plan is written: at program. Build it anew"),
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
