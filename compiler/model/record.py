"""Records that come from files and say what their entries may be; a record that exists is sound.

A profile is read at every check. pydantic, which reads plans, would take as long for it as all else that a check loads.
"""

import math
import re
from collections.abc import Mapping
from types import NoneType, UnionType
from typing import Annotated, Any, ClassVar, Literal, NamedTuple, Union, dataclass_transform, get_args, get_origin

from ...grammar.frozen import Frozen

Place = tuple[str | int, ...]
"""The keys down to an entry, and the index in a list."""


class Within(NamedTuple):
    """Bounds of a number."""

    ge: float | None = None
    gt: float | None = None
    le: float | None = None

    def lacks(self, value: float) -> str:
        if self.gt is not None and not value > self.gt:
            return f"above {self.gt:g}"
        if self.ge is not None and not value >= self.ge:
            return f"{self.ge:g} or more"
        return f"{self.le:g} or less" if self.le is not None and not value <= self.le else ""


class Spelled(NamedTuple):
    """Bounds of a text: how many characters, and a pattern of the whole with what it means in words."""

    least: int = 0
    most: int | None = None
    pattern: str = ""
    words: str = ""

    def lacks(self, value: str) -> str:
        if len(value) < self.least:
            return f"text of {self.least} or more characters"
        if self.most is not None and len(value) > self.most:
            return f"text of {self.most} or fewer characters"
        return "" if not self.pattern or re.fullmatch(self.pattern, value) else self.words


class Slip(NamedTuple):
    """One thing wrong with a record: an entry that is none of `wanted`, one that is `missing` or `unknown`, or what
    several say together, in `words`."""

    place: Place
    kind: Literal["wanted", "missing", "unknown", "words"]
    value: object = None
    words: str = ""


class Unsound(ValueError):
    """All that is wrong with the entries of a record, in their order, unknown ones last."""

    def __init__(self, slips: list[Slip]) -> None:
        super().__init__("; ".join(f"{'.'.join(map(str, s.place))} {s.kind} {s.words}" for s in slips))
        self.slips = tuple(slips)


@dataclass_transform(frozen_default=True, kw_only_default=True)
class ProfileRecord(Frozen):
    """Fields are made by name from plain data, tables of it into records of their own. Unsound, a ValueError, says all
    that is wrong."""

    _kinds: ClassVar[Mapping[str, object]] = {}

    def __init_subclass__(cls) -> None:
        super().__init_subclass__()
        cls._kinds = {**cls._kinds, **vars(cls).get("__annotations__", {})}

    def __init__(self, **given: object) -> None:
        slips: list[Slip] = []
        for name, kind in self._kinds.items():
            if name in given:
                self.__dict__[name] = _taken(kind, given[name], (name,), slips)
            elif not hasattr(type(self), name):
                slips.append(Slip((name,), "missing"))
        slips += (Slip((name,), "unknown", value) for name, value in given.items() if name not in self._kinds)
        if slips:
            raise Unsound(slips)
        try:
            self.check()
        except ValueError as error:
            raise Unsound([Slip((), "words", None, str(error))]) from error

    def check(self) -> None:
        """ValueError says in words what entries, each sound by itself, say against each other."""

    @classmethod
    def required(cls) -> frozenset[str]:
        return frozenset(name for name in cls._fields if not hasattr(cls, name))

    def data(self) -> dict[str, Any]:
        """Every entry as JSON has it."""
        return {name: _plain(getattr(self, name)) for name in self._fields}


def _plain(value: object) -> object:
    if isinstance(value, ProfileRecord):
        return value.data()
    if isinstance(value, Mapping):
        return {name: _plain(one) for name, one in value.items()}
    return [_plain(one) for one in value] if isinstance(value, tuple) else value


def _taken(kind: object, value: object, place: Place, slips: list[Slip]) -> object:
    """The value as this kind has it; what is wrong is added to `slips`."""
    origin, of = get_origin(kind), get_args(kind)
    if origin is Annotated:
        before = len(slips)
        found = _taken(of[0], value, place, slips)
        lacks = of[1].lacks(found) if len(slips) == before else ""
        return _wanted(lacks, value, place, slips) if lacks else found
    if origin in (UnionType, Union):
        one = next(k for k in of if k is not NoneType)
        return None if value is None else _taken(one, value, place, slips)
    if origin is Literal:
        if any(value == choice and type(value) is type(choice) for choice in of):
            return value
        says = [repr(choice) for choice in of]
        return _wanted(f"{', '.join(says[:-1])} or {says[-1]}", value, place, slips)
    if origin is tuple:
        if not isinstance(value, list | tuple):
            return _wanted("a list of numbers", value, place, slips)
        return tuple(_taken(of[0], one, (*place, i), slips) for i, one in enumerate(value))
    if origin is Mapping:
        if not isinstance(value, Mapping):
            return _wanted("a table of keys", value, place, slips)
        return {name: _taken(of[1], one, (*place, name), slips) for name, one in value.items()}
    assert isinstance(kind, type)
    if issubclass(kind, ProfileRecord):
        return _record(kind, value, place, slips)
    if kind is float:
        return _number(value, place, slips)
    if kind is int:
        whole = isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value)
        if not whole or value != int(value):  # type: ignore[call-overload]
            return _wanted("a whole number", value, place, slips)
        return int(value)  # type: ignore[call-overload]
    return value if isinstance(value, kind) else _wanted(_WORDS[kind], value, place, slips)


_WORDS: dict[type, str] = {str: "text in quotes", bool: "true or false"}


def _wanted(words: str, value: object, place: Place, slips: list[Slip]) -> object:
    """In place of a value that is none of what is wanted."""
    slips.append(Slip(place, "wanted", value, words))
    return None


def _number(value: object, place: Place, slips: list[Slip]) -> object:
    if isinstance(value, bool) or not isinstance(value, int | float):
        return _wanted("a number", value, place, slips)
    try:
        number = float(value)
    except OverflowError:
        number = math.inf
    return number if math.isfinite(number) else _wanted("a finite number", value, place, slips)


def _record(kind: type[ProfileRecord], value: object, place: Place, slips: list[Slip]) -> object:
    if isinstance(value, kind):
        return value
    if not isinstance(value, Mapping):
        return _wanted("a table of keys", value, place, slips)
    try:
        return kind(**{str(name): one for name, one in value.items()})
    except Unsound as unsound:
        slips += (slip._replace(place=(*place, *slip.place)) for slip in unsound.slips)
        return None
