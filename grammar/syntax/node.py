"""What all nodes of the tree share, and words."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cached_property
from typing import Self, TypeVar

from ..frozen import Frozen
from ..source import Span
from ..terminals import KEYWORDS


class Node(Frozen):
    """A part of the tree. Its place is no part of what it is: nodes that say the same are equal."""

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

    @cached_property
    def every_node(self) -> tuple[Node, ...]:
        """Itself and every node in it."""
        return (self, *(deeper for node in self.nodes() for deeper in node.every_node))

    def nodes(self) -> Iterator[Node]:
        """The nodes it holds, in the order of its fields."""
        for value in self.values():
            for node in value if isinstance(value, tuple) else (value,):
                if isinstance(node, Node):
                    yield node


N = TypeVar("N", bound=Node)


class Word(Node):
    """One token; `kind` is the name of its terminal in the grammar."""

    kind: str
    text: str

    def __init__(self, kind: str, text: str) -> None:  # as for spans
        said = self.__dict__
        said["kind"], said["text"] = kind, text

    @property
    def unquoted(self) -> str:
        """A title without its quotes."""
        return self.text[1:-1]


def keyword(kind: str) -> Word:
    return Word(kind, KEYWORDS[kind])
