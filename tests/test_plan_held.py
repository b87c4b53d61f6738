"""The page's table of what holds each entry of a plan, held against the model and against what is refused."""

import re
from functools import cache
from pathlib import Path
from random import Random
from typing import Any

import pytest

from feedwright.compiler.model.incoming import schema

from .forged import Document, Place, at, document, entry, judged, leaves, put
from .whole import WHOLE

PAGE = (Path(__file__).parent.parent / "targets" / "PLAN.md").read_text("utf-8")
TABLE = PAGE.partition("### What holds each entry")[2].partition("\n## ")[0]
ROWS = [
    (record, name, kind, told)
    for record, names, kind, told in re.findall(r"^\| (\w+) \| (`.*?`) \| (\w+)(.*?) \|$", TABLE, re.M)
    for name in re.findall(r"`(\w+)`", names)
]
KINDS = {"computed", "named", "bounded", "stated", "shown", "parts"}
PLANS = ("02", "05", "06", "23", "99", "by-hand")
"""A machine with a line, dials, a ladder, two bounces, everything, several players."""


def records() -> dict[str, Any]:
    described = schema()
    return {"Plan": described, **described["$defs"]}


def numbers(inside: Any) -> list[tuple[Any, Any]]:
    """Least and most of every number in an entry's schema."""
    if isinstance(inside, list):
        return [found for one in inside for found in numbers(one)]
    if not isinstance(inside, dict) or "$ref" in inside:
        return []
    if "const" in inside:
        return []
    if inside.get("type") in ("number", "integer"):
        low = inside.get("minimum", inside.get("exclusiveMinimum"))
        return [(low, inside.get("maximum"))]
    return [found for key, one in inside.items() if key not in ("required", "enum") for found in numbers(one)]


def test_every_entry_of_the_model_has_one_row() -> None:
    model = [(name, entry) for name, record in records().items() for entry in record["properties"]]
    assert sorted((record, name) for record, name, _, _ in ROWS) == sorted(model)
    assert {kind for *_, kind, _ in ROWS} == KINDS


def test_every_number_of_the_model_has_bounds() -> None:
    """What is computed too: nothing is flown, drawn or counted that has none."""
    for name, record in records().items():
        for key, inside in record["properties"].items():
            assert all(low is not None and high is not None for low, high in numbers(inside)), (name, key)


def test_the_bounds_are_those_of_the_page() -> None:
    found = records()
    for record, name, kind, told in ROWS:
        if kind == "bounded":
            (low, high) = re.match(r": (-?[\d.]+) to (-?[\d.]+)", told).groups()  # type: ignore[union-attr]
            assert set(numbers(found[record]["properties"][name])) == {(float(low), float(high))}, (record, name)


def test_what_has_no_number_is_not_bounded_and_what_is_shown_is_text() -> None:
    found = records()
    for record, name, kind, _ in ROWS:
        inside = found[record]["properties"][name]
        if kind in ("shown", "stated"):
            assert not numbers(inside), (record, name)
        if kind == "parts":
            assert "$ref" in str(inside), (record, name)


@cache
def record_of() -> dict[str, str]:
    """The record and entry, `Shot.zone_m`, of each path without list indices, `shots.zone_m`."""
    found, schemas = {}, records()

    def walk(record: str, path: str) -> None:
        for key, inside in schemas[record]["properties"].items():
            found[f"{path}{key}"] = f"{record}.{key}"
            for name in re.findall(r"#/\$defs/(\w+)", str(inside)):
                walk(name, f"{path}{key}.")

    walk("Plan", "")
    return found


def owner(place: Place) -> str:
    """The record and entry that a number or text belongs to; in a table by name, the table."""
    known, path = record_of(), entry(place)
    while path not in known:
        path = path.rpartition(".")[0]
    return known[path]


@cache
def places_of(name: str) -> dict[str, list[Place]]:
    """Of a plan the numbers and texts of each record and entry."""
    found: dict[str, list[Place]] = {}
    for place in leaves(document(name)):
        found.setdefault(owner(place), []).append(place)
    return found


HELD = sorted(f"{record}.{name}" for record, name, kind, _ in ROWS if kind in ("computed", "named"))
ELSEWHERE = {"Plan.digest", "FeederRecord.players_side", "PlaceRecord.players_side", "SourceRecord.set"} | {
    held for held in HELD if "Order." in held
}
"""No number or text, or in no included plan; tests/test_verify.py, tests/test_stands.py and
tests/test_measured_profile.py forge these."""


@pytest.mark.parametrize("held", [held for held in HELD if held not in ELSEWHERE])
def test_what_is_computed_or_named_cannot_be_changed(held: str) -> None:
    """By one and by a tenth part, up or down, or to another text, once in the first plan that has it; WHOLE takes all
    of them, both ways."""
    chance, tried = Random(held), 0
    for name in PLANS:
        if tried and not WHOLE:
            break
        plan, places = document(name), places_of(name).get(held, [])
        for place in chance.sample(places, 1) if places else ():
            was = at(plan, place)
            # A person has no settings, so a spin is known by the flight alone: 10 rpm move a ball by some millimetres.
            by = 10 if name == "by-hand" and held.endswith("_rpm") else 1
            values = [f"{was}x"] if isinstance(was, str) else [was + by, was - by]
            if isinstance(was, float) and not held.startswith("Launch.") and was:
                values += [was * 1.1, was * 0.9]
            if not WHOLE and len(values) > 1:  # one up or down by one, and one by a tenth part
                values = [chance.choice(values[i : i + 2]) for i in range(0, len(values), 2)]
            for value in values:
                put(plan, place, value)
                assert judged(plan)[1], (name, place, was, value)
                tried += 1
            put(plan, place, was)
    assert tried


def test_text_that_is_shown_changes_no_launch() -> None:
    plan: Document = document("99")
    for place in [place for told in ("Shot.notes", "Block.words", "Plan.program") for place in places_of("99")[told]]:
        put(plan, place, "other words")
    assert judged(plan)[1] == []
