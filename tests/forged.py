"""Plans as somebody would forge them: the document edited as JSON, its digest computed anew as the page says."""

import hashlib
import json
from collections.abc import Iterator
from copy import copy
from functools import cache, cached_property
from random import Random
from typing import Any

from feedwright.compiler.model.plan import Plan
from feedwright.compiler.model.record import Record
from feedwright.compiler.verify import verify
from feedwright.targets.document import PlanRefused, read, render
from feedwright.targets.machine.feeders import ProfileShelf

from . import shipped
from .shipped import EVERYTHING, PROGRAMS

Document = dict[str, Any]
Place = tuple[str | int, ...]


@cache
def built(name: str) -> str:
    """The document of an included program, or of a script of tests/everything, as text."""
    (path,) = (path for path in (*PROGRAMS, *EVERYTHING) if path.stem.startswith(name))
    return render(shipped.plan(path)).decode()


def document(name: str) -> Document:
    found: Document = json.loads(built(name))
    return found


def sealed(plan: Document) -> bytes:
    body = {key: value for key, value in plan.items() if key != "digest"}
    text = json.dumps(body, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    digest = hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()
    return json.dumps({**body, "digest": digest}).encode()


def judged(plan: Document) -> tuple[Plan | None, list[str]]:
    """What a replay makes of it: the plan where it can be read, and what speaks against it."""
    try:
        taken = read(sealed(plan))
    except PlanRefused as refused:
        return None, [str(refused)]
    feeder = ProfileShelf().load(taken.feeder.name)
    if feeder is None:
        return taken, ["There is no such profile."]
    return taken, verify(taken, feeder)


def leaves(value: Any, place: Place = ()) -> Iterator[Place]:
    """The place of every number and text, keys of names included as what they lead to."""
    if isinstance(value, dict):
        for key, inside in value.items():
            yield from leaves(inside, (*place, key))
    elif isinstance(value, list):
        for index, inside in enumerate(value):
            yield from leaves(inside, (*place, index))
    elif isinstance(value, int | float | str) and not isinstance(value, bool) and place != ("digest",):
        yield place


def at(plan: Document, place: Place) -> Any:
    value: Any = plan
    for step in place:
        value = value[step]
    return value


def put(plan: Document, place: Place, value: Any) -> None:
    at(plan, place[:-1])[place[-1]] = value


def entry(place: Place) -> str:
    """The entry that a place belongs to, whichever of a list it is in."""
    return ".".join(step for step in place if isinstance(step, str))


def changed(plan: Document, chance: Random, entries: dict[str, list[Place]]) -> tuple[Place, Any]:
    """One number or text of the document changed in place, every entry as likely as any other; where, and what it
    was."""
    place = chance.choice(entries[chance.choice(sorted(entries))])
    was = at(plan, place)
    others = [at(plan, other) for other in entries[entry(place)]]
    new: Any
    if isinstance(was, str):
        new = chance.choice([
            chance.choice(others), "", was + " ", was[:-1], was.upper(), "x" * 399, "\x1b[2J\n", "\ud800", "反手",
            "type 1", "doubles", "clay", "club", "machine", "0" * 64, "f" * 16, "../" + was, "100 km/h",
        ])  # fmt: skip
    elif isinstance(was, int):
        new = chance.choice([
            was + 1, was - 1, -was, 0, 2 * was + 1, 10**6, 2**63, -(10**30), chance.choice(others), was + 0.5,
        ])  # fmt: skip
    else:
        new = chance.choice([
            was * (1 + 10 ** chance.uniform(-9, 0)), was - 10 ** chance.uniform(-6, 1),
            was + 10 ** chance.uniform(-6, 1), -was, 0.0, 0, 2 * was, was / 2, 1e308, -1e-308, 5e-324,
            chance.uniform(-100, 100), chance.choice(others),
        ])  # fmt: skip
    put(plan, place, new)
    return place, was


def unchecked(record: Record, **changes: object) -> Any:
    """A part of a profile with other entries, which nobody has looked at."""
    made = copy(record)
    kept = {
        name: value
        for name, value in vars(made).items()
        if not isinstance(getattr(type(made), name, None), cached_property)
    }
    vars(made).clear()
    vars(made).update(kept | changes)
    return made
