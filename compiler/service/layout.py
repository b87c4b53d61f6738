"""How a script is laid out: its outline, which lines fold away, and what each word is."""

from collections.abc import Iterator

from ...grammar.expect import expected
from ...grammar.frozen import Frozen
from ...grammar.source import Span
from ...grammar.syntax import Line
from ...grammar.terminals import KEYWORDS
from .script import Script, lines_of

SORTS = {
    "NUMBER": "number", "UNIT": "unit", "TITLE": "title", "FREE_TEXT": "title", "NAME": "name",
    **dict.fromkeys(KEYWORDS, "word"), "PERCENT": "unit",
}  # fmt: skip
"""What a word is, by its terminal."""


class Heading(Frozen):
    """A line that holds others, or stands at the margin, with all of its lines."""

    kind: str
    name: str
    """What it is called: its name, title or words."""
    span: Span
    whole: Span
    under: "tuple[Heading, ...]"


class Painted(Frozen):
    """A word of the script, and what it is: one of SORTS, `made` for a name where it is made, or `comment`."""

    sort: str
    span: Span


def outline(script: Script) -> tuple[Heading, ...]:
    return tuple(_heading(line) for line in script.tree.lines if line.sentence)


def folds(script: Script) -> tuple[tuple[int, int], ...]:
    """First and last line, from one, of everything that can be folded."""
    number = script.source.line_of
    return tuple(
        (number(line.span.start)[0], number(_whole(line).end)[0]) for line in lines_of(script.tree) if line.children
    )


def painted(script: Script) -> Iterator[Painted]:
    """Every word in order of place; nothing of a line that cannot be read but its comment."""
    made = {name.span.start for name in script.names if name.made and name.span.source is script.source}
    source, start = script.source, 0
    lines = {line.span.start: line for line in lines_of(script.tree)}
    for row in source.text.split("\n"):
        begin = start + len(row) - len(row.lstrip(" \t"))
        line = lines.get(begin)
        if line and line.sentence and (read := expected(line.span.text)):
            for word in read.words:
                place = begin + word.start
                sort = "made" if place in made else SORTS.get(word.kind, "")
                if sort:
                    yield Painted(sort, Span(source, place, place + len(word)))
        if line and line.comment:
            sign = line.span.end + len(line.gap)
            yield Painted("comment", Span(source, sign, sign + len(line.comment)))
        elif line is None and row.lstrip(" \t").startswith("#"):
            yield Painted("comment", Span(source, begin, start + len(row)))
        start += len(row) + 1


def _heading(line: Line) -> Heading:
    assert line.sentence
    words = line.sentence.span.text
    title = words.removeprefix(line.kind).strip() or words
    under = tuple(_heading(child) for child in line.children if child.sentence and child.children)
    return Heading(line.kind, title, line.span, _whole(line), under)


def _whole(line: Line) -> Span:
    """From the start of its sentence to the end of the last line under it."""
    return line.span.to(_whole(line.children[-1])) if line.children else line.span
