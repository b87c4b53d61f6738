"""What a rule of the grammar holds: the nodes and the words of one sentence, or of a part of it."""

from itertools import pairwise
from typing import Any, TypeVar

from .syntax import Node, Word

N = TypeVar("N", bound=Node)


class RuleParts:
    """Nodes, and words by terminal. The grammar guarantees that what is asked for is there."""

    __slots__ = ("all", "nodes")

    def __init__(self, parts: list[Any]) -> None:
        self.all: list[Word] = []
        self.nodes: list[Any] = []
        for part in parts:
            (self.all if type(part) is Word else self.nodes).append(part)

    def word(self, *kinds: str) -> Word:
        for word in self.all:
            if word.kind in kinds:
                return word
        raise AssertionError(kinds)

    def optional(self, *kinds: str) -> Word | None:
        for word in self.all:
            if word.kind in kinds:
                return word
        return None

    def words(self, kind: str) -> tuple[Word, ...]:
        return tuple([word for word in self.all if word.kind == kind])

    def behind(self, *kinds: str) -> Word | None:
        """The word after the last of these keywords."""
        return next((then for word, then in [*pairwise(self.all)][::-1] if word.kind in kinds), None)

    @property
    def first(self) -> Any:
        return self.nodes[0] if self.nodes else None

    def one(self, kind: type[N]) -> N | None:
        return next((node for node in self.nodes if type(node) is kind), None)

    def but(self, *kinds: type[Node]) -> tuple[Any, ...]:
        return tuple([node for node in self.nodes if type(node) not in kinds])
