"""Changes of a tree, and the changes of a source that they come to."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TypeVar, cast

from .print import INDENT, text
from .source import Span
from .syntax import AtMost, FromLine, Line, Node, Quantity, Sentence, Word, keyword
from .units import number

N = TypeVar("N", bound=Node)


@dataclass(frozen=True, slots=True)
class Edit:
    """A change of a source: `text` in the place of `span`."""

    span: Span
    text: str


Remedy = Edit
"""The change of a source that would mend a finding."""

# ---- nodes that are made


def amount(value: float, decimals: int, unit: str) -> Quantity:
    return Quantity(counted(value, decimals), Word("UNIT", unit))


def counted(value: float, decimals: int = 0) -> Word:
    return Word("NUMBER", number(value, decimals))


def name(said: str) -> Word:
    return Word("NAME", said)


def inside_baseline(metres: float) -> FromLine:
    return FromLine(amount(metres, 2, "m"), keyword("INSIDE"), keyword("BASELINE"))


def at_most(balls: int) -> AtMost:
    return AtMost(keyword("AT_MOST"), counted(balls))


# ---- trees that are changed


def changed(node: N, **values: object) -> N:
    """The node with some of its fields changed, at no place of its own."""
    return type(node)(*(values.get(field, getattr(node, field)) for field in node.fields))


def filled(node: N, put: Callable[[Node], Node]) -> N:
    """The node with `put` done to every node in it, at the places where they stand."""

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
    """The lines and all under them with each sentence changed."""
    return tuple(
        replace(
            line,
            sentence=line.sentence and change(line.sentence),
            children=rewritten(line.children, change),
        )
        for line in lines
    )


# ---- what they come to in the source


def instead(old: Node, new: Node) -> Edit:
    """One node in the place of another that was read."""
    return Edit(old.span, text(new))


def appended(node: Node, part: Node) -> Edit:
    """One more part at the end of a sentence."""
    end = node.span.end
    return Edit(Span(node.span.source, end, end), f", {text(part)}")


def above(span: Span, sentence: Sentence) -> Edit:
    """A sentence of its own in front of a line, indented alike."""
    _, column, line = span.source.line_of(span.start)
    return Edit(Span(span.source, span.start, span.start), f"{text(sentence)}\n{line[: column - 1]}")


def below(head: Line, sentence: Sentence) -> Edit:
    """A sentence as the first line under a head, indented as the others there are."""
    source = head.span.source
    end = source.text.find("\n", head.span.start)
    end = len(source.text) if end < 0 else end
    indent = next((line.indent for line in head.children if line.indent), " " * INDENT)
    return Edit(Span(source, end, end), f"\n{indent}{text(sentence)}")
