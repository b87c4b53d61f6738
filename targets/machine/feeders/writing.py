"""A profile as the text of its file, the other way round than reading one."""

import json
from typing import Any

from ....compiler.model.feeder import Feeder
from ....compiler.model.record import Record


def written(feeder: Feeder, comment: str) -> str:
    """TOML that reads back as this profile, without what is left at its default."""
    said = [f"# {line}" for line in comment.splitlines()]
    tables: list[str] = []
    _table(feeder, "", said, tables)
    return "\n".join(said + tables) + "\n"


def _table(record: Record, name: str, lines: list[str], after: list[str]) -> None:
    """The entries of a table into `lines`, the tables inside it into `after`."""
    for key in record._fields:
        value = getattr(record, key)
        if key == "name" or (hasattr(type(record), key) and value == getattr(type(record), key)):
            continue
        inner = f"{name}.{key}" if name else key
        if isinstance(value, Record):
            own, deeper = list[str](), list[str]()
            _table(value, inner, own, deeper)
            after += ["", f"[{inner}]", *own, *deeper]
        elif isinstance(value, dict) or hasattr(value, "items"):
            after += _mapping(value, inner)
        else:
            lines.append(f"{key} = {_plain(value)}")


def _mapping(value: Any, name: str) -> list[str]:
    if not any(isinstance(one, Record) for one in value.values()):
        return ["", f"[{name}]", *(f"{key} = {_plain(one)}" for key, one in value.items())] if value else []
    made: list[str] = []
    for key, one in value.items():
        own, deeper = list[str](), list[str]()
        _table(one, f"{name}.{key}", own, deeper)
        made += ["", f"[{name}.{key}]", *own, *deeper]
    return made


def _plain(value: Any) -> str:
    if isinstance(value, tuple):
        return "[" + ", ".join(map(_plain, value)) + "]"
    if isinstance(value, float):
        return repr(int(value)) if value == int(value) and abs(value) < 1e15 else repr(value)
    return json.dumps(value, ensure_ascii=False)
