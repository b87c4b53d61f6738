"""What is wrong with a profile, in words for the person who wrote it: the key, its place in the file, and the line."""

import difflib
import json
import re

from ....compiler.model.command import CommandField, Template
from ....compiler.model.feeder import AXES, Axis, Device, Feeder, Repeatability, Wheels
from ....compiler.model.measured import Doubt, MeasuredFeeder
from ....compiler.model.record import Record, Slip, Unsound

_TABLES: dict[str, type[Record]] = {
    "": Feeder, **dict.fromkeys(AXES, Axis), "wheels": Wheels, "repeatability": Repeatability, "device": Device,
    "template": Template, "template.fields": CommandField, "measured": MeasuredFeeder, "doubt": Doubt,
}  # fmt: skip
_TOML = {
    "Invalid value": "the value after = is missing, or it is text without quotes",
    "Expected '='": "a line is key = value",
    "Illegal character '\\n'": "the text has no closing quote",
    "Expected newline": "a line holds one value; decimals follow a point",
    "Cannot overwrite": "this key appears twice",
    "Cannot declare": "this table appears twice",
}
_AT = re.compile(r" \(at (?:line (\d+), column \d+|end of document)\)$")


def not_toml(error: Exception, text: str) -> str:
    """The place in the file, the text of the line, and the likely mistake."""
    said, at = _AT.sub("", str(error)), _AT.search(str(error))
    why = next((words for start, words in _TOML.items() if said.startswith(start)), said)
    if not at or not at[1]:
        return f"it is not TOML: {why}" + (", at its end" if at else "")
    line = text.split("\n")[int(at[1]) - 1].strip()
    return f"it is not TOML: {why} (line {at[1]}: {line[:60]})"


def problem(unsound: Unsound, text: str) -> str:
    """The first slip. An unknown key goes first, because a missing key is often the same mistake."""
    slips = unsound.slips
    first = next((slip for slip in slips if slip.kind == "unknown"), slips[0])
    place = tuple(str(part + 1) if isinstance(part, int) else part for part in first.place)  # a dial counts from 1
    line = _line(text, place)
    if first.kind == "missing":
        lacking = [str(s.place[-1]) for s in slips if s.kind == "missing" and s.place[:-1] == first.place[:-1]]
        said = f"{'.'.join(place[:-1]) or 'the profile'} lacks {', '.join(lacking)}"
    else:
        said = _sentence(first, place)
    return said + (f" (line {line})" if line else "")


def _sentence(slip: Slip, place: tuple[str, ...]) -> str:
    where, table, key = ".".join(place), ".".join(place[:-1]), place[-1] if place else ""
    if slip.kind == "unknown":
        model = _TABLES.get(table) or _TABLES["template.fields"]
        near = difflib.get_close_matches(key, [name for name in model._fields if name != "name"], 1)
        hint = f"; did you mean {near[0]}?" if near else ""
        if not near and key in Feeder._fields:
            hint = "; it belongs above the first line in brackets"
        return f"{table or 'the profile'} has no key {key}{hint}"
    if slip.kind == "words":
        return f"{where}: {slip.words}" if where else slip.words
    if table == "template" and isinstance(slip.value, str) and slip.value.rstrip("\r\n") != slip.value:
        return f"{where} ends with a line end; leave the line end out, because `ending` sets it"
    found = json.dumps(slip.value, default=str, ensure_ascii=False)
    return f"{where} is {found if len(found) <= 40 else found[:40] + '...'}; wanted: {slip.words}"


def _line(text: str, place: tuple[str, ...]) -> int | None:
    """The line of the key, or of the nearest table around it; None if neither is in the file."""
    table: tuple[str, ...] = ()
    nearest, deepest = None, 0
    for number, line in enumerate(text.split("\n"), start=1):
        if head := re.match(r"\s*\[\s*([\w.-]+)\s*\]", line):
            table = here = tuple(head[1].split("."))
        elif key := re.match(r"\s*([\w.-]+)\s*=", line):
            here = (*table, *key[1].split("."))
        else:
            continue
        if here == place[: len(here)] and len(here) > deepest:
            nearest, deepest = number, len(here)
    return nearest
