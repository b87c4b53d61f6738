"""Places in a text as an editor counts them: line and column, columns in the units of the client's encoding."""

import re
from bisect import bisect_right
from collections.abc import Callable

from lsprotocol.types import Position, Range

from ...grammar.source import Span

_ENDS = re.compile(r"\r\n|\n|\r")  # and no other: LSP 3.17, Text Documents


class Positions:
    """`units` counts the client's units in a text: for UTF-16 a sign outside the basic plane is two."""

    def __init__(self, text: str, units: Callable[[str], int]) -> None:
        self._text = text
        self._units: Callable[[str], int] = len if text.isascii() else units  # they are counted sign by sign
        self._starts = [0, *(match.end() for match in _ENDS.finditer(text))]

    def place(self, position: Position) -> int:
        """The character before which a position stands; the end of its line or text if it lies beyond."""
        if position.line >= len(self._starts):
            return len(self._text)
        start, *after = self._starts[position.line : position.line + 2]
        line = self._text[start : after[0] if after else None].rstrip("\r\n")
        if len(line) == self._units(line):
            return start + min(position.character, len(line))
        counted = 0
        for i, sign in enumerate(line):
            if counted >= position.character:
                return start + i
            counted += self._units(sign)
        return start + len(line)

    def position(self, place: int) -> Position:
        line = bisect_right(self._starts, place) - 1
        return Position(line, self._units(self._text[self._starts[line] : place]))

    def range(self, span: Span) -> Range:
        return Range(self.position(span.start), self.position(span.end))

    @property
    def whole(self) -> Range:
        return Range(Position(0, 0), self.position(len(self._text)))
