"""A script's text in canonical form: the same sentences and comments, in the same order, with regular spacing.

Heads stand at the margin, one blank line apart. What belongs to a head is indented by four, and the first words of
these lines have a column of their own. A comment stays where it is: after its sentence, directly above it, or as a
paragraph of its own. Blank lines within a block stay, at most one at a time.
"""

from . import terminals
from .finding import Finding
from .frozen import Changing
from .parse import LONGEST_LINE, parse
from .print import INDENT, in_columns, text
from .source import Source
from .syntax import Line, Tree

TIGHT = ("use", "accept")
"""Heads that are one line long; no blank line is needed between them."""


class _Row(Changing):
    width: int
    """Characters of indentation as written."""
    depth: int
    kind: str
    """The kind of its sentence; empty for a line of comment."""
    text: str
    comment: str
    blank_before: bool
    """Whether a blank line comes above it."""


def formatted(source: Source) -> tuple[str, list[Finding]]:
    """The canonical text, which parses to an equal tree; with what is wrong where sentences cannot be read, and then
    the text as it was. A script with a line that would outgrow the limit stays as it was, too."""
    tree, faults = parse(source)
    return (source.text if faults else canonical(tree) or source.text), faults


def canonical(tree: Tree) -> str | None:
    """The tree in canonical form; None if a line would become too long."""
    rows: list[_Row] = []
    blank = _add(rows, tree.lines, 0, False)
    _add_above(rows, tree.end, blank)
    _place_comments(rows)
    shown = _with_comments(rows)
    if any(row.kind and len(line) > LONGEST_LINE for row, line in zip(rows, shown, strict=True)):
        return None
    return "".join(
        ("\n" if i and _apart(rows, i) else "") + line.rstrip(" ") + "\n" for i, line in enumerate(shown)
    )  # fmt: skip


def _add(rows: list[_Row], lines: tuple[Line, ...], depth: int, blank: bool) -> bool:
    """Adds rows for these lines and all under them; `blank`, given and returned: whether a blank line came last."""
    for line in lines:
        assert line.sentence
        blank = _add_above(rows, line.above, blank)
        width = INDENT * depth if line.indent is None else len(line.indent)
        shown = in_columns(line.sentence) if depth else text(line.sentence)
        rows.append(_Row(width, depth, line.kind, shown, line.comment, blank))
        blank = _add(rows, line.children, depth + 1, False)
    return blank


def _add_above(rows: list[_Row], written: tuple[str, ...], blank: bool) -> bool:
    for raw in written:
        body = raw.strip(" \t")
        if body:
            rows.append(_Row(len(raw) - len(raw.lstrip(" \t")), 0, "", "", body, blank))
        blank = not body
    return blank


def _place_comments(rows: list[_Row]) -> None:
    """A comment no deeper than the sentence below it belongs there; a deeper one ends the block above it."""
    below: list[_Row | None] = [None] * len(rows)
    for i in range(len(rows) - 2, -1, -1):
        below[i] = rows[i + 1] if rows[i + 1].kind else below[i + 1]
    open_: list[_Row] = []
    for row, after in zip(rows, below, strict=True):
        if row.kind:
            open_ = [*open_[: row.depth], row]
            continue
        if after and row.width <= after.width:
            row.depth = after.depth
            continue
        home = next((r for r in reversed(open_) if r.width <= row.width), None)
        if home:
            under = home is open_[-1] and row.width > home.width and home.kind in terminals.UNDER
            row.depth = max(home.depth + under, after.depth if after else 0)


def _with_comments(rows: list[_Row]) -> list[str]:
    """Each line whole. Comments after consecutive sentences start in one column."""
    shown = [" " * (INDENT * row.depth) + (row.text or row.comment) for row in rows]
    run: list[int] = []
    for i, row in enumerate([*rows, _Row(0, 0, "", "", "", True)]):
        if run and (not row.kind or not row.comment or _apart(rows, i)):
            column = max(len(shown[j]) for j in run) + 2
            if any(column + len(rows[j].comment) > LONGEST_LINE for j in run):
                column = 0
            for j in run:
                shown[j] = f"{shown[j] + '  ':<{column}}{rows[j].comment}"
            run = []
        if row.kind and row.comment:
            run.append(i)
    return shown


def _apart(rows: list[_Row], i: int) -> bool:
    """Whether a blank line stands between row i and the one above it."""
    if i >= len(rows):
        return True
    row, above = rows[i], rows[i - 1]
    if above.kind and row.depth > above.depth:
        return False  # the first line of a block
    if row.blank_before:
        return True
    if not _opens(rows, i) or (not above.kind and not above.depth):
        return False  # nothing that stands apart, or a comment that goes with what it stands above
    return not (row.kind in TIGHT and above.kind == row.kind)


def _opens(rows: list[_Row], i: int) -> bool:
    """Whether row i is a head, or a comment at the margin that stands directly above one."""
    while i < len(rows) and not rows[i].kind and not rows[i].depth:
        i += 1
        if i < len(rows) and rows[i].blank_before:
            return False
    return i < len(rows) and bool(rows[i].kind) and not rows[i].depth
