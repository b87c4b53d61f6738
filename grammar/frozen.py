"""Small classes with named fields, most of them frozen."""

from __future__ import annotations

from collections.abc import Callable
from operator import attrgetter
from typing import Any, ClassVar, Self, TypeVar, dataclass_transform


class _Aside:
    """A field that is no part of what a thing is."""

    def __init__(self, default: object) -> None:
        self.default = default


class _Own:
    """A field that each thing makes for itself."""

    def __init__(self, factory: Callable[[], object]) -> None:
        self.factory = factory


_MISSING = object()
_OF_THE_CLASS = ("ClassVar", "typing.ClassVar")
"""How an annotation begins, where it is kept as text, that is no field."""


class _AsDataclass:
    """The fields as dataclasses describe them, made when `dataclasses.replace`, `fields` or `asdict` ask."""

    def __get__(self, one: object, of: type[_Fields]) -> Any:
        from dataclasses import field, make_dataclass

        kinds = [(name, object, field(compare=name in of._compared)) for name in of._fields]
        found = vars(make_dataclass(of.__name__, kinds))["__dataclass_fields__"]
        setattr(of, "__dataclass_fields__", found)  # noqa: B010
        return found


def aside(*, default: Any = _MISSING) -> Any:
    """A field that does not count when two things are compared."""
    return _Aside(default)


def own(*, factory: Callable[[], Any]) -> Any:
    """A field, such as an empty list, that each thing makes for itself where it is not given."""
    return _Own(factory)


def _of_the_class(kind: object) -> bool:
    if type(kind) is str:
        return kind.startswith(_OF_THE_CLASS)
    return kind is ClassVar or getattr(kind, "__origin__", None) is ClassVar


def _together(names: tuple[str, ...]) -> Callable[[Any], tuple[Any, ...]]:
    """Reads several fields at once."""
    return attrgetter(*names) if len(names) > 1 else lambda one: tuple([getattr(one, name) for name in names])


class _Fields:
    """What dataclasses would do for these classes costs a millisecond each, a tenth of a second at each start; this is
    the little needed: fields by place or name. A default is an attribute of the class."""

    _fields: ClassVar[tuple[str, ...]] = ()
    _compared: ClassVar[tuple[str, ...]] = ()
    _values: ClassVar[Callable[[Any], tuple[Any, ...]]]
    _said: ClassVar[Callable[[Any], tuple[Any, ...]]]
    """Of the fields that are compared."""
    _fresh: ClassVar[tuple[tuple[str, Callable[[], object]], ...]] = ()
    __dataclass_fields__: ClassVar[Any] = _AsDataclass()

    def __init_subclass__(cls) -> None:
        kinds = vars(cls).get("__annotations__", {})
        mine = [name for name, kind in kinds.items() if not _of_the_class(kind)]
        for name in mine:
            value = vars(cls).get(name)
            if isinstance(value, _Own):
                cls._fresh = (*cls._fresh, (name, value.factory))
                delattr(cls, name)
            if not isinstance(value, _Aside):
                cls._compared = (*cls._compared, name)
            elif value.default is _MISSING:
                delattr(cls, name)
            else:
                setattr(cls, name, value.default)
        cls._fields = (*cls._fields, *mine)
        cls._values, cls._said = _together(cls._fields), _together(cls._compared)
        setattr(cls, "__match_args__", cls._fields)  # noqa: B010 - mypy takes it for its own

    def __init__(self, *values: object, **named: object) -> None:
        held = self.__dict__
        for name, value in zip(self._fields, values):  # noqa: B905 - the fields after the values have defaults
            held[name] = value
        if named:
            held.update(named)
        for name, factory in self._fresh:
            if name not in held:
                held[name] = factory()

    def values(self) -> tuple[Any, ...]:
        return type(self)._values(self)

    def __repr__(self) -> str:
        held = ", ".join(f"{name}={value!r}" for name, value in zip(self._fields, self.values(), strict=True))
        return f"{type(self).__name__}({held})"


@dataclass_transform(field_specifiers=(aside, own))
class Changing(_Fields):
    """Fields that may be assigned; each thing is equal to itself alone."""


@dataclass_transform(frozen_default=True, field_specifiers=(aside, own))
class Frozen(_Fields):
    """No assignment, and equality by type and fields."""

    def __setattr__(self, name: str, value: object) -> None:
        raise AttributeError(f"{type(self).__name__} is frozen")

    def __eq__(self, other: object) -> bool:
        if self is other or type(self) is not type(other):
            return self is other
        said = type(self)._said
        return said(self) == said(other)

    def __hash__(self) -> int:
        return hash((type(self), type(self)._said(self)))

    def __deepcopy__(self, memo: object) -> Self:
        return self


F = TypeVar("F", bound=Frozen)


def replace(one: F, **changes: object) -> F:
    """The same with some of its fields changed; a node of a tree is then without a place."""
    held = dict(zip(one._fields, one.values(), strict=True)) | changes
    if len(held) > len(one._fields):
        strange = ", ".join(sorted(changes.keys() - one._fields))
        raise TypeError(f"{type(one).__name__} has no field {strange}")
    return type(one)(**held)
