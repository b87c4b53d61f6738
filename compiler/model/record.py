"""Records that come from files and say what their entries may be; a record that exists is sound.

Profiles are read at every check, and plans are made by every build. pydantic, which judges the plans that come in (see
incoming.py), would take as long to load as all else that a check loads.
"""

import math
import re
from collections.abc import Callable, Mapping
from functools import cache, lru_cache
from types import NoneType, UnionType
from typing import Annotated, Any, ClassVar, Literal, NamedTuple, Self, Union, dataclass_transform, get_args, get_origin

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

    def missed(self, value: float) -> str:
        """How a number lies to the bound that it does not keep."""
        if self.gt is not None and not value > self.gt:
            return f"not above {self.gt:g}"
        return f"below {self.ge:g}" if self.ge is not None and not value >= self.ge else f"above {self.le:g}"

    @property
    def inside(self) -> tuple[float, float]:
        """Numbers between these two, both left out, keep the bounds."""
        low = self.gt if self.gt is not None else self.ge
        return -math.inf if low is None else low, math.inf if self.le is None else self.le


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


class Listed(NamedTuple):
    """How many entries a list has."""

    least: int
    most: int

    def lacks(self, value: tuple[object, ...]) -> str:
        return "" if self.least <= len(value) <= self.most else f"a list of {self.least} to {self.most} entries"


class Slip(NamedTuple):
    """One thing wrong with a record: an entry that is none of `wanted`, one that is `missing` or `unknown`, or what
    several say together, in `words`."""

    place: Place
    kind: Literal["wanted", "missing", "unknown", "words"]
    value: object = None
    words: str = ""
    bounds: Within | None = None
    """Those that a number does not keep."""


class Unsound(ValueError):
    """All that is wrong with the entries of a record, in their order, unknown ones last."""

    def __init__(self, slips: list[Slip]) -> None:
        super().__init__("; ".join(f"{'.'.join(map(str, s.place))} {s.kind} {s.words}" for s in slips))
        self.slips = tuple(slips)


@dataclass_transform(frozen_default=True, kw_only_default=True)
class Record(Frozen):
    """Fields are made by name from plain data, tables of it into records of their own. Unsound, a ValueError, says all
    that is wrong."""

    _kinds: ClassVar[Mapping[str, object]] = {}

    def __init_subclass__(cls) -> None:
        super().__init_subclass__()
        cls._kinds = {**cls._kinds, **vars(cls).get("__annotations__", {})}

    def __init__(self, /, **given: object) -> None:
        slips: list[Slip] = []
        held, known = self.__dict__, 0
        for name, place, read in _readers(type(self)):  # type: ignore[arg-type]
            if name in given:
                held[name] = read(given[name], place, slips)
                known += 1
            elif not hasattr(type(self), name):
                slips.append(Slip(place, "missing"))
        if known < len(given):
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
        return {
            name: value if type(value := getattr(self, name)) in _AS_IT_IS else _plain(value) for name in self._fields
        }

    def model_copy(self, update: Mapping[str, object]) -> Self:
        """The same with other entries, which nobody checks."""
        copy = object.__new__(type(self))
        copy.__dict__.update({name: self.__dict__[name] for name in self._fields if name in self.__dict__})
        copy.__dict__.update(update)
        return copy


_AS_IT_IS = frozenset({float, int, str, bool, NoneType})


def _plain(value: object) -> object:
    if type(value) in _AS_IT_IS:
        return value
    if isinstance(value, Record):
        return value.data()
    if isinstance(value, tuple):
        return [one if type(one) in _AS_IT_IS else _plain(one) for one in value]
    return {name: _plain(one) for name, one in value.items()} if isinstance(value, Mapping) else value


Reader = Callable[[object, Place, list[Slip]], Any]
"""Gives the value as its kind has it; what is wrong is added to the slips."""


@cache
def _readers(record: Any) -> list[tuple[str, Place, Reader]]:
    return [(name, (name,), _reader(kind)) for name, kind in record._kinds.items()]


@cache
def _reader(kind: Any) -> Reader:
    origin, of = get_origin(kind), get_args(kind)
    if origin is Annotated:
        return _bounded(_reader(of[0]), of[1], of[0])
    if origin in (UnionType, Union):
        some = _reader(next(k for k in of if k is not NoneType))
        return lambda value, place, slips: None if value is None else some(value, place, slips)
    if origin is Literal:
        return _one_of(of)
    if origin is tuple:
        return _list(_reader(of[0]), None if of[-1] is ... else len(of))
    if origin is Mapping:
        return _table(_reader(of[0]), _reader(of[1]))
    assert isinstance(kind, type)
    if issubclass(kind, Record):
        return _record(kind)
    return {float: _number, int: _whole, str: _text, bool: _yes_or_no}[kind]


def _wanted(words: str, value: object, place: Place, slips: list[Slip], bounds: Within | None = None) -> object:
    """In place of a value that is none of what is wanted."""
    slips.append(Slip(place, "wanted", value, words, bounds))
    return None


def _bounded(read: Reader, bounds: Within | Spelled | Listed, kind: object) -> Reader:
    low, high = bounds.inside if isinstance(bounds, Within) else (math.inf, -math.inf)

    @lru_cache(1000)  # a plan holds few texts, and most of them often
    def sound(text: str) -> bool:
        slips: list[Slip] = []
        return read(text, (), slips) == text and not slips and not bounds.lacks(text)  # type: ignore[arg-type]

    def bounded(value: object, place: Place, slips: list[Slip]) -> object:
        if type(value) is kind and (sound(value) if kind is str else low < value < high):  # type: ignore[operator]
            return value
        before = len(slips)
        found = read(value, place, slips)
        if len(slips) > before or not (lacks := bounds.lacks(found)):
            return found
        return _wanted(lacks, value, place, slips, bounds if isinstance(bounds, Within) else None)

    return bounded


def _one_of(choices: tuple[object, ...]) -> Reader:
    texts = {choice for choice in choices if type(choice) is str}
    says = [repr(choice) for choice in choices]
    words = f"{', '.join(says[:-1])} or {says[-1]}" if len(says) > 1 else says[0]

    def one_of(value: object, place: Place, slips: list[Slip]) -> object:
        if (type(value) is str and value in texts) or any(
            value == choice and type(value) is type(choice) for choice in choices
        ):
            return value
        return _wanted(words, value, place, slips)

    return one_of


def _list(read: Reader, count: int | None) -> Reader:
    words = "a list of numbers" if count is None else f"a list of {count} entries"

    def several(value: object, place: Place, slips: list[Slip]) -> object:
        if not isinstance(value, list | tuple) or count not in (None, len(value)):
            return _wanted(words, value, place, slips)
        before = len(slips)
        found = tuple([read(one, place, slips) for one in value])
        if len(slips) == before:
            return found
        del slips[before:]  # they lack the places
        return tuple([read(one, (*place, i), slips) for i, one in enumerate(value)])

    return several


def _table(read_key: Reader, read: Reader) -> Reader:
    def table(value: object, place: Place, slips: list[Slip]) -> object:
        if not isinstance(value, Mapping):
            return _wanted("a table of keys", value, place, slips)
        return {read_key(name, (*place, name), slips): read(one, (*place, name), slips) for name, one in value.items()}

    return table


def _record(kind: type[Record]) -> Reader:
    def record(value: object, place: Place, slips: list[Slip]) -> object:
        if isinstance(value, kind):
            return value
        if not isinstance(value, Mapping):
            return _wanted("a table of keys", value, place, slips)
        try:
            return kind(**{str(name): one for name, one in value.items()})
        except Unsound as unsound:
            slips += (slip._replace(place=(*place, *slip.place)) for slip in unsound.slips)
            return None

    return record


def _number(value: object, place: Place, slips: list[Slip]) -> object:
    if isinstance(value, bool) or not isinstance(value, int | float):
        return _wanted("a number", value, place, slips)
    try:
        number = float(value)
    except OverflowError:
        number = math.inf
    return number if math.isfinite(number) else _wanted("a finite number", value, place, slips)


def _whole(value: object, place: Place, slips: list[Slip]) -> object:
    whole = isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value)
    if not whole or value != int(value):  # type: ignore[call-overload]
        return _wanted("a whole number", value, place, slips)
    return int(value)  # type: ignore[call-overload]


def _text(value: object, place: Place, slips: list[Slip]) -> object:
    if not isinstance(value, str):
        return _wanted("text in quotes", value, place, slips)
    # JSON can write half of a character, which no file can hold.
    if not value.isascii() and any("\ud800" <= letter <= "\udfff" for letter in value):
        return _wanted("text of whole characters", value, place, slips)
    return value


def _yes_or_no(value: object, place: Place, slips: list[Slip]) -> object:
    return value if isinstance(value, bool) else _wanted("true or false", value, place, slips)
