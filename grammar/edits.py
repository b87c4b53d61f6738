"""Changes of a tree, and the edits of the source that they mean."""

import re
from collections.abc import Callable, Sequence
from typing import TypeVar, cast

from .facts import Difference
from .frozen import Frozen, aside, replace
from .print import INDENT, columns, text
from .source import Span
from .syntax import AtMost, Counted, FromLine, Line, Node, OnLine, Quantity, Sentence, Word, keyword
from .units import number

N = TypeVar("N", bound=Node)
_COLUMN = re.compile(r"([0-9.]+ )?\S+ {2,}(?=[^ #])")
"""The first words of a row, as wide as those of the rows around it."""


class Edit(Frozen):
    """A change of a source: `text` replaces `span`. `cost` is what it gives up, once it was tried."""

    span: Span
    text: str
    cost: tuple[Difference, ...] = aside(default=())
    parts: "tuple[Edit, ...]" = ()
    """The lines that it changes, where they are several: the text is then that from the first to the last of them."""


MOST_PARTS = 3  # of a block that are written one by one. Own choice
Remedy = Edit
"""The change of a source that would mend a finding."""

# ---- nodes that are made


def amount(value: float, decimals: int, unit: str) -> Quantity:
    return Quantity(counted(value, decimals), Word("UNIT", unit))


def counted(value: float, decimals: int = 0) -> Word:
    return Word("NUMBER", number(value, decimals))


def with_pauses(block: Counted, each: int, pause: str) -> str:
    """A block of balls or points in parts of so many, with a pause between them: what to write, in words. Many equal
    parts are rounds."""
    total = int(block.number.text)
    sizes = [each] * (total // each) + [total % each] * (total % each > 0)
    parts = [text(changed(block, number=counted(size), balls=launches(block.balls.kind, size))) for size in sizes]
    if len(parts) > MOST_PARTS and total % each == 0:
        rounds = f"{len(parts)} rounds; {parts[0]}; {pause} between rounds"
        return f"a longer rest stands between rounds, under which the block and the rest are indented: {rounds}"
    return f"a longer rest stands between two blocks, and a goal in all counts both: {f'; {pause}; '.join(parts)}"


def launches(kind: str, count: float) -> Word:
    """The word for BALLS or POINTS behind their number: "1 ball", "2 balls"."""
    word = keyword(kind)
    return Word(kind, word.text.removesuffix("s")) if count == 1 else word


def from_baseline(behind: float, decimals: int = 2, from_line: str = "BASELINE") -> FromLine | OnLine:
    """A place so far behind the baseline, or another line, m; inside it below zero."""
    line = keyword(from_line)
    if not round(behind, decimals):
        return OnLine(line)
    return FromLine(amount(abs(behind), decimals, "m"), keyword("BEHIND" if behind > 0 else "INSIDE"), line)


def name(said: str) -> Word:
    return Word("NAME", said)


def at_most(balls: int, of: Word | None = None) -> AtMost:
    return AtMost(keyword("AT_MOST"), counted(balls), of)


# ---- changed trees


def changed(node: N, **values: object) -> N:
    """The node with some of its fields changed, and without a place."""
    return replace(node, **values)


def filled(node: N, put: Callable[[Node], Node]) -> N:
    """The node with every node in it replaced by what `put` makes of it."""

    values = [
        tuple(filled(part, put) for part in value) if isinstance(value, tuple)
        else filled(value, put) if isinstance(value, Node)
        else value
        for value in node.values()
    ]  # fmt: skip
    if any(new != old for new, old in zip(values, node.values(), strict=True)):
        node = type(node)(*values).at(node.span)
    return cast(N, put(node))


def rewritten(lines: tuple[Line, ...], change: Callable[[Sentence], Sentence]) -> tuple[Line, ...]:
    """The lines, and all lines under them, with each sentence changed."""
    return tuple(
        replace(
            line,
            sentence=line.sentence and change(line.sentence),
            children=rewritten(line.children, change),
        )
        for line in lines
    )


# ---- edits of the source


def instead(old: Node, new: Node, *more: Sentence) -> Edit:
    """Replaces a node that was read with another one; a sentence keeps the column of the lines around it, and `more`
    sentences stand under it."""
    row = old.span.text
    said = [_beside(row, one) if isinstance(one, Sentence) else text(one) for one in (new, *more)]
    _, column, line = old.span.source.line_of(old.span.start)
    return Edit(old.span, f"\n{line[: column - 1]}".join(said))


def united(parts: Sequence[Edit], cost: tuple[Difference, ...] = ()) -> Edit:
    """Several changes as one; while their places are those in their rows, the first of them stands for all."""
    parts = sorted(parts, key=lambda part: part.span.start)
    first, last = parts[0].span, parts[-1].span
    if any(part.span.source is not first.source for part in parts):
        return Edit(first, parts[0].text, cost, tuple(parts))
    said, at = "", first.start
    for part in parts:
        said, at = f"{said}{first.source.text[at : part.span.start]}{part.text}", part.span.end
    return Edit(first.to(last), said, cost, tuple(parts))


def at(edit: Edit, place: Callable[[Span], Span]) -> Edit:
    """The same change with another place."""
    if edit.parts:
        return united([at(part, place) for part in edit.parts], edit.cost)
    return replace(edit, span=place(edit.span))


def appended(node: Node, part: Node) -> Edit:
    """One more part at the end of a sentence."""
    end = node.span.end
    return Edit(Span(node.span.source, end, end), f", {text(part)}")


def left_out(sentence: Sentence) -> Edit:
    """The line without its sentence."""
    return Edit(sentence.span, "")


def above(span: Span, sentence: Sentence) -> Edit:
    """A sentence on its own line above this one, with the same indentation."""
    _, column, line = span.source.line_of(span.start)
    said = _beside(line[column - 1 :], sentence)
    return Edit(Span(span.source, span.start, span.start), f"{said}\n{line[: column - 1]}")


def below(head: Line, *sentences: Sentence) -> Edit:
    """Sentences as the first lines under a head, indented like the others there."""
    source = head.span.source
    end = source.text.find("\n", head.span.start)
    end = len(source.text) if end < 0 else end
    beside = next((line for line in head.children if line.indent), None)
    said = (_beside(beside.span.text, sentence) if beside else text(sentence) for sentence in sentences)
    indent = beside.indent if beside else " " * INDENT
    return Edit(Span(source, end, end), "".join(f"\n{indent}{one}" for one in said))


def _beside(row: str, sentence: Sentence) -> str:
    """The sentence with its first words as wide as those of a row with which it stands."""
    column = _COLUMN.match(row)
    if column is None:
        return text(sentence)
    first, rest = columns(sentence)
    return f"{first:<{column.end() - 1}} {rest}".rstrip()
