"""Small frozen classes with named fields."""

from __future__ import annotations

from typing import ClassVar, Self, dataclass_transform


@dataclass_transform(frozen_default=True)
class Frozen:
    """What dataclasses would do for these classes costs a tenth of a second at each start; this is the little needed:
    fields by place or name, equality by type and fields, no assignment. A default is an attribute of the class."""

    fields: ClassVar[tuple[str, ...]] = ()

    def __init_subclass__(cls) -> None:
        own = (name for name, kind in cls.__annotations__.items() if not str(kind).startswith(_OF_THE_CLASS))
        cls.fields = (*cls.fields, *own)
        setattr(cls, "__match_args__", cls.fields)  # noqa: B010 - mypy takes it for its own

    def __init__(self, *values: object, **named: object) -> None:
        self.__dict__.update(zip(self.fields, values, strict=False), **named)

    def values(self) -> tuple[object, ...]:
        return tuple(getattr(self, name) for name in self.fields)

    def __setattr__(self, name: str, value: object) -> None:
        raise AttributeError(f"{type(self).__name__} is frozen")

    def __eq__(self, other: object) -> bool:
        return type(self) is type(other) and isinstance(other, Frozen) and self.values() == other.values()

    def __hash__(self) -> int:
        return hash((type(self), self.values()))

    def __deepcopy__(self, memo: object) -> Self:
        return self

    def __repr__(self) -> str:
        held = ", ".join(f"{name}={value!r}" for name, value in zip(self.fields, self.values(), strict=True))
        return f"{type(self).__name__}({held})"


_OF_THE_CLASS = ("ClassVar", "typing.ClassVar")
"""How an annotation begins that is no field."""
