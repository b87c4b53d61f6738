"""The syntax tree: what was written, line by line, with every place kept."""

from collections.abc import Iterator
from dataclasses import dataclass, field

from .source import Span


@dataclass(frozen=True, slots=True)
class Word:
    """One token; `kind` is the name of its terminal in the grammar."""

    kind: str
    text: str
    span: Span = field(compare=False)


@dataclass(frozen=True, slots=True)
class Node:
    """One rule of the grammar with what it holds; `kind` is the name of the rule."""

    kind: str
    parts: "tuple[Node | Word, ...]"
    span: Span = field(compare=False)

    def nodes(self, *kinds: str) -> "list[Node]":
        return [p for p in self.parts if isinstance(p, Node) and (not kinds or p.kind in kinds)]

    def words(self, *kinds: str) -> list[Word]:
        return [p for p in self.parts if isinstance(p, Word) and (not kinds or p.kind in kinds)]

    def node(self, *kinds: str) -> "Node | None":
        return next(iter(self.nodes(*kinds)), None)

    def word(self, *kinds: str) -> Word | None:
        return next(iter(self.words(*kinds)), None)

    def has(self, *kinds: str) -> bool:
        return self.word(*kinds) is not None


@dataclass(frozen=True, slots=True)
class Line:
    """A sentence and the lines indented under it. `node` is None where the sentence could not be read."""

    node: Node | None
    children: "tuple[Line, ...]"
    comment: str
    span: Span = field(compare=False)
    """The sentence without indentation and comment."""

    @property
    def kind(self) -> str:
        return self.node.kind if self.node else ""


@dataclass(frozen=True, slots=True)
class Tree:
    lines: tuple[Line, ...]
    span: Span = field(compare=False)

    def of_kind(self, kind: str) -> Iterator[Line]:
        return (line for line in self.lines if line.kind == kind)
