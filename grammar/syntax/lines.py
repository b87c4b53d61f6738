"""The lines of a script, and the whole of it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from ..source import Span
from .node import N
from .sentences import Sentence


@dataclass(frozen=True, slots=True)
class Line:
    """A sentence and the lines indented under it. `sentence` is None where it could not be read."""

    sentence: Sentence | None
    children: tuple[Line, ...] = ()
    comment: str = ""
    above: tuple[str, ...] = field(default=(), compare=False)
    """Lines above it that hold no sentence of the tree, as written: blank ones and comments."""
    indent: str | None = field(default=None, compare=False)
    """What stands before the sentence; None where the line was made and is indented as deep as it stands."""
    gap: str = field(default="  ", compare=False)
    """What stands between sentence and comment, or behind the sentence."""
    trail: str = field(default="", compare=False)
    """Blanks behind the comment."""
    place: Span | None = field(default=None, compare=False)

    @property
    def span(self) -> Span:
        """The sentence without indentation and comment, where the line was read."""
        assert self.place
        return self.place

    @property
    def kind(self) -> str:
        return self.sentence.kind if self.sentence else ""


@dataclass(frozen=True, slots=True)
class Tree:
    lines: tuple[Line, ...]
    end: tuple[str, ...] = field(default=("",), compare=False)
    """Lines below the last sentence, as written; the last of them is what follows the last line end."""
    place: Span | None = field(default=None, compare=False)

    @property
    def span(self) -> Span:
        assert self.place
        return self.place

    def of(self, kind: type[N]) -> Iterator[tuple[Line, N]]:
        """The lines at the margin whose sentence is of this class, with it."""
        return sentences(self.lines, kind)


def sentences(lines: tuple[Line, ...], kind: type[N]) -> Iterator[tuple[Line, N]]:
    return ((line, line.sentence) for line in lines if isinstance(line.sentence, kind))
