"""The lines of a script, and the whole of it."""

from __future__ import annotations

from collections.abc import Iterator

from ..frozen import Frozen, aside
from ..source import Span
from .node import N
from .sentences import HitIf, Note, Sentence


class Line(Frozen):
    """A sentence and the lines indented under it. `sentence` is None if it could not be read."""

    sentence: Sentence | None
    children: tuple[Line, ...] = ()
    comment: str = ""
    above: tuple[str, ...] = aside(default=())
    """Lines above it that hold no sentence of the tree, as written: blank ones and comments."""
    indent: str | None = aside(default=None)
    """What stands before the sentence; None if the line was made, and is indented according to its depth."""
    gap: str = aside(default="  ")
    """What stands between sentence and comment, or after the sentence."""
    trail: str = aside(default="")
    """Blanks after the comment."""
    place: Span | None = aside(default=None)

    @property
    def span(self) -> Span:
        """The sentence without indentation and comment, if the line was read."""
        assert self.place
        return self.place

    @property
    def kind(self) -> str:
        return self.sentence.kind if self.sentence else ""

    @property
    def notes(self) -> tuple[str, ...]:
        """The words of the notes under it."""
        return tuple(note.title.unquoted for _, note in sentences(self.children, Note))

    @property
    def hit_if(self) -> tuple[HitIf, ...]:
        """What else decides a hit of the balls under it."""
        return tuple(said for _, said in sentences(self.children, HitIf))

    def said(self) -> Iterator[tuple[Span | None, Sentence | None, int]]:
        """Its sentence and those under it with their places: all that counts of it, without the comments."""
        yield self.place, self.sentence, len(self.children)
        for child in self.children:
            yield from child.said()

    def unread(self) -> Iterator[Line]:
        """Itself and the lines under it, at any depth, that could not be read."""
        if self.sentence is None:
            yield self
        for child in self.children:
            yield from child.unread()


class Tree(Frozen):
    lines: tuple[Line, ...]
    end: tuple[str, ...] = aside(default=("",))
    """Lines below the last sentence, as written; the last one is what follows the last line end."""
    place: Span | None = aside(default=None)

    @property
    def span(self) -> Span:
        assert self.place
        return self.place

    def of(self, kind: type[N]) -> Iterator[tuple[Line, N]]:
        """Each line at the margin whose sentence is of this class, with the sentence."""
        return sentences(self.lines, kind)

    def unread(self) -> Iterator[Line]:
        """The lines at any depth that could not be read."""
        for line in self.lines:
            yield from line.unread()


def sentences(lines: tuple[Line, ...], kind: type[N]) -> Iterator[tuple[Line, N]]:
    return ((line, line.sentence) for line in lines if isinstance(line.sentence, kind))
