"""What all nodes of the tree share, and words."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Self, TypeVar, dataclass_transform

from ..source import Span
from ..terminals import KEYWORDS


@dataclass_transform(frozen_default=True)
class Node:
    """Does the little that is needed of a dataclass: fields by place or name, equality without places, no assignment.
    Real dataclasses would cost a tenth of a second at each start."""

    fields: tuple[str, ...] = ()

    def __init_subclass__(cls) -> None:
        cls.fields = tuple(cls.__annotations__)
        setattr(cls, "__match_args__", cls.fields)  # noqa: B010 - mypy takes it for its own

    def __init__(self, *values: object, **named: object) -> None:
        self.__dict__.update(zip(self.fields, values, strict=False), **named)

    def at(self, span: Span) -> Self:
        """The same node, read at this place; for the code that has just made it."""
        self.__dict__["_span"] = span
        return self

    @property
    def span(self) -> Span:
        return self.__dict__["_span"]

    @property
    def was_read(self) -> bool:
        """Whether the node stands in a source exactly as it is."""
        return "_span" in self.__dict__

    def values(self) -> tuple[object, ...]:
        return tuple(getattr(self, name) for name in self.fields)

    def nodes(self) -> Iterator[Node]:
        """The nodes it holds, in the order of its fields."""
        for value in self.values():
            for node in value if isinstance(value, tuple) else (value,):
                if isinstance(node, Node):
                    yield node

    def __setattr__(self, name: str, value: object) -> None:
        raise AttributeError(f"{type(self).__name__} is frozen")

    def __eq__(self, other: object) -> bool:
        return type(self) is type(other) and isinstance(other, Node) and self.values() == other.values()

    def __hash__(self) -> int:
        return hash((type(self), self.values()))

    def __deepcopy__(self, memo: object) -> Self:
        return self

    def __repr__(self) -> str:
        held = ", ".join(f"{name}={value!r}" for name, value in zip(self.fields, self.values(), strict=True))
        return f"{type(self).__name__}({held})"


N = TypeVar("N", bound=Node)


class Word(Node):
    """One token; `kind` is the name of its terminal in the grammar."""

    kind: str
    text: str

    @property
    def unquoted(self) -> str:
        """A title without its quotes."""
        return self.text[1:-1]


def keyword(kind: str) -> Word:
    return Word(kind, KEYWORDS[kind])
