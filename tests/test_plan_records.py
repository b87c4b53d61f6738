"""What plans may hold, judged from outside: pydantic, which checks data by types, reads and writes the same."""

import json
from random import Random
from typing import Any

import pytest
from pydantic import ValidationError

from feedwright.compiler.model.incoming import model
from feedwright.compiler.model.plan import Plan
from feedwright.compiler.model.record import Unsound

from .forged import Document, Place, built, changed, document, entry, leaves
from .shipped import PROGRAMS
from .whole import WHOLE

CHANGES = 2000 if WHOLE else 40
BENT: dict[str, Any] = {
    "an entry more": lambda plan: plan["shots"][0].update(faster=True),
    "an entry named like the record": lambda plan: plan["court"].update(self=1),
    "an entry less": lambda plan: plan["launches"][0].pop("block"),
    "text for a number": lambda plan: plan["shots"][0]["launch"].update(speed_mps="24.4"),
    "true for a number": lambda plan: plan["shots"][0]["launch"].update(speed_mps=True),
    "a number for a text": lambda plan: plan.update(program=3),
    "a number for true or false": lambda plan: plan["feeder"].update(screen=1),
    "nothing for a number": lambda plan: plan["shots"][0]["launch"].update(speed_mps=None),
    "a list for a record": lambda plan: plan.update(totals=[]),
    "a record for a list": lambda plan: plan.update(launches={}),
    "half a ball": lambda plan: plan["totals"].update(balls=0.5),
    "no name": lambda plan: plan["shots"][0]["words"].update({"": "x"}),
    "a phase that is none": lambda plan: plan["shots"][0]["predicted"].update(contact_phase="sideways"),
    "a million digits": lambda plan: plan["shots"][0].update(interval_s=10**400),
    "half a character": lambda plan: plan.update(program="\ud800"),
}


def ours(plan: Document) -> set[Place]:
    """The places that hold what their entries may not."""
    try:
        Plan(**plan)
    except Unsound as unsound:
        return {slip.place for slip in unsound.slips if slip.kind != "words"}
    return set()


def theirs(plan: Document) -> set[Place]:
    try:
        model(Plan).model_validate_json(json.dumps(plan), strict=True)
    except ValidationError as error:
        return {tuple(step for step in slip["loc"] if step != "[key]") for slip in error.errors()}
    return set()


@pytest.mark.parametrize("path", PROGRAMS, ids=lambda path: path.stem)
def test_what_is_written_is_what_pydantic_would_write(path: Any) -> None:
    text = built(path.stem)
    body = model(Plan).model_validate_json(text, strict=True).model_dump(mode="json")
    assert text == json.dumps(body, indent=2, ensure_ascii=False) + "\n"


@pytest.mark.parametrize("change", BENT.values(), ids=list(BENT))
def test_what_is_none_of_an_entrys_kind_is_found_where_pydantic_finds_it(change: Any) -> None:
    plan = document("02")
    change(plan)
    found = ours(plan)
    assert found
    if plan["program"] != "\ud800":  # text that no document can hold; pydantic does not take it for JSON
        assert found == theirs(plan)


@pytest.mark.parametrize("name", ["02", "06", *["99"] * WHOLE])
def test_bent_entries_are_found_where_pydantic_finds_them(name: str) -> None:
    plan, chance, found = document(name), Random(name), 0
    entries: dict[str, list[Place]] = {}
    for place in leaves(plan):
        entries.setdefault(entry(place), []).append(place)
    for _ in range(CHANGES):
        bent = json.loads(json.dumps(plan))
        place, _ = changed(bent, chance, entries)
        if "\ud800" in json.dumps(bent, ensure_ascii=False):
            continue
        assert ours(bent) == theirs(bent), place
        found += bool(ours(bent))
    assert CHANGES / 20 < found < CHANGES
