"""What is wrong with a profile, in words for the person who wrote it: the key, its place in the file, and the line."""

import difflib
import json
import re
from typing import Any

from pydantic import BaseModel, ValidationError

from ....compiler.model.command import CommandField, Template
from ....compiler.model.feeder import AXES, Axis, Device, Feeder, Repeatability, Wheels

_TABLES: dict[str, type[BaseModel]] = {
    "": Feeder, **dict.fromkeys(AXES, Axis), "wheels": Wheels, "repeatability": Repeatability, "device": Device,
    "template": Template, "template.fields": CommandField,
}  # fmt: skip
_WANTED = {
    "float": "a number", "int": "a whole number", "string": "text in quotes", "bool": "true or false",
    "tuple": "a list of numbers", "model": "a table of keys", "mapping": "a table of keys", "dict": "a table of keys",
    "finite": "a finite number",
}  # fmt: skip
_RANGES = {
    "greater_than": "above $gt", "greater_than_equal": "$ge or more", "less_than_equal": "$le or less",
    "string_too_short": "text of $min_length or more characters",
    "string_too_long": "text of $max_length or fewer characters", "literal_error": "$expected",
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


def problem(error: ValidationError, text: str) -> str:
    """The first error. An unknown key goes first, because a missing key is often the same mistake."""
    every = error.errors(include_url=False)
    first = next((e for e in every if e["type"] == "extra_forbidden"), every[0])
    place = tuple(str(part + 1) if isinstance(part, int) else part for part in first["loc"])  # a dial counts from 1
    line = _line(text, place)
    if first["type"] == "missing":
        lacking = [str(e["loc"][-1]) for e in every if e["type"] == "missing" and e["loc"][:-1] == first["loc"][:-1]]
        said = f"{'.'.join(place[:-1]) or 'the profile'} lacks {', '.join(lacking)}"
    else:
        said = _sentence(first, place)
    return said + (f" (line {line})" if line else "")


def _sentence(error: Any, place: tuple[str, ...]) -> str:
    kind, key, table = error["type"], place[-1] if place else "", ".".join(place[:-1])
    if kind == "extra_forbidden":
        model = _TABLES.get(table) or _TABLES["template.fields"]
        near = difflib.get_close_matches(key, [name for name in model.model_fields if name != "name"], 1)
        hint = f"; did you mean {near[0]}?" if near else ""
        if not near and key in Feeder.model_fields:
            hint = "; it belongs above the first line in brackets"
        return f"{table or 'the profile'} has no key {key}{hint}"
    where = ".".join(place)
    if kind == "value_error":
        return f"{where}: {error['ctx']['error']}" if where else str(error["ctx"]["error"])
    wanted = _RANGES.get(kind) or _WANTED.get(kind.split("_")[0], "")
    if kind == "string_pattern_mismatch":
        wanted = "up to 24 small letters, digits, points, + and -" if key == "id" else "plain ASCII text"
        if table == "template" and str(error["input"]).rstrip("\r\n") != error["input"]:
            return f"{where} ends with a line end; leave the line end out, because `ending` sets it"
    for name, value in error.get("ctx", {}).items():
        wanted = wanted.replace(f"${name}", f"{value:g}" if isinstance(value, float) else str(value))
    if not wanted:
        return f"{where}: {error['msg']}"
    found = json.dumps(error["input"], default=str, ensure_ascii=False)
    return f"{where} is {found if len(found) <= 40 else found[:40] + '...'}; wanted: {wanted}"


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
