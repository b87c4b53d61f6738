"""Findings shown: for people with the place marked, one line each, or as JSON. Decides nothing."""

import re
from collections.abc import Iterable

from ...grammar.edits import Remedy
from ...grammar.finding import Finding, Severity
from ...grammar.messages import LikelySlip
from ...grammar.source import Source, Span
from ..printable import json_shown, visible

_COLOURS = {Severity.ERROR: "\x1b[1;31m", Severity.WARNING: "\x1b[1;33m", Severity.NOTE: "\x1b[1;36m"}
_RESET = "\x1b[0m"
_SPACING = re.compile(r'("[^"\n]*")|(#[^\n]*)|[ \t]+')
"""What is evened out in a line that is proposed: titles stay, comments go, spaces become one."""


def ordered(findings: Iterable[Finding], main: Source | None = None) -> list[Finding]:
    """By place, those of the `main` source first; at one place errors before warnings; the same finding once."""
    ranks = list(Severity)
    unique = {(f.span.source.name, f.span.start, f.span.end, f.message): f for f in findings}
    return sorted(
        unique.values(),
        key=lambda f: (
            f.span.source is not main,
            f.span.source.name,
            f.span.start,
            ranks.index(f.severity),
            f.code,
        ),
    )


def human(findings: Iterable[Finding], colour: bool = False) -> str:
    """A paragraph for each: what is wrong, the line with the words at fault marked, what to write instead."""
    told = list(findings)
    several = len({finding.span.source.name for finding in told}) > 1
    paragraphs = [_paragraph(finding, several, colour) for finding in told]
    if sum(bool(finding.remedies) for finding in told) > 1:
        paragraphs.append("Each change was tried alone: make one, then check again.\n")
    return "\n".join(paragraphs)


def short(findings: Iterable[Finding]) -> str:
    """`file:line:column: error code: headline`, one line for each finding."""
    return "".join(f"{_place(f)}: {f.severity.value} {f.code}: {visible(f.headline)}\n" for f in findings)


def as_json(findings: Iterable[Finding]) -> list[dict[str, object]]:
    """Plain data: lines and columns from one, the end of a place exclusive; all facts, numbers with
    their SI unit; of every remedy the text that
    goes in the place of its characters [start, end), and the line that it makes."""
    return [
        {
            "code": f.code,
            "severity": f.severity.value,
            "message": f.headline,
            **json_place(f.span),
            "facts": f.message.data(),
            "also": [{"why": why, **json_place(span)} for why, span in f.also],
            "advice": f.advice,
            "remedies": [
                {
                    **json_place(r.span), "start": r.span.start, "end": r.span.end, "text": r.text,
                    "makes": made_line(r)[0], "cost": [{"text": one.text(), **one.data()} for one in r.cost],
                }
                for r in f.remedies
            ],
        }
        for f in findings
    ]  # fmt: skip


def json_text(findings: Iterable[Finding], **more: object) -> str:
    return json_shown({"findings": as_json(findings), **more})


def _place(finding: Finding) -> str:
    line, column, _ = finding.span.source.line_of(finding.span.start)
    return f"{visible(finding.span.source.name)}:{line}:{column}"


def json_place(span: Span) -> dict[str, object]:
    line, column, _ = span.source.line_of(span.start)
    end_line, end_column, _ = span.source.line_of(span.end)
    return {"file": span.source.name, "line": line, "column": column, "end_line": end_line, "end_column": end_column}


def made_line(remedy: Remedy) -> tuple[str, str]:
    """The whole sentence that a remedy makes, or the one that it leaves out, and where it stands."""
    made = [_made(part) for part in remedy.parts or (remedy,)]
    return " / ".join(row.strip() for rows, _ in made for row in rows), " and ".join(where for _, where in made)


def _made(remedy: Remedy) -> tuple[list[str], str]:
    """The same, row by row, each as far indented as it stands under the first."""
    source, text = remedy.span.source, remedy.text
    number, column, line = source.line_of(remedy.span.start)
    inserted = remedy.span.start == remedy.span.end
    if not text:
        return [f"leave out: {_evened(remedy.span.text)}"], f"line {number}"
    if inserted and text.startswith("\n"):
        where = f"a new line under line {number}"
    elif inserted and "\n" in text and not text.rpartition("\n")[2].strip():
        where = f"a new line above line {number}"
    else:
        where = f"line {number}"
        _, end_column, end_line = source.line_of(remedy.span.end)
        text = line[: column - 1] + text + end_line[end_column - 1 :]
    rows = [row for row in text.split("\n") if row.strip()]
    deep = [len(row) - len(row.lstrip()) for row in rows]
    return [" " * max(by - deep[0], 0) + _evened(row).strip() for by, row in zip(deep, rows, strict=True)], where


def _evened(text: str) -> str:
    return _SPACING.sub(lambda found: found[1] or " " * (found[2] is None), text)


def given(remedy: Remedy) -> str:
    """What the script comes to with a remedy, where that differs: what its line replaces, then what follows from it."""
    several = len(remedy.parts) > 1
    return "; ".join(
        f"in place of {f'{one.what} ' if several else ''}{one.before}" if one.written and one.before else one.text()
        for one in remedy.cost
    )


def painted(text: str, severity: Severity, colour: bool) -> str:
    return f"{_COLOURS[severity]}{text}{_RESET}" if colour else text


def _paragraph(finding: Finding, several: bool, colour: bool) -> str:
    source, severity = finding.span.source, finding.severity
    line, _, text = source.line_of(finding.span.start)
    head = f"{severity.value.capitalize()} in line {line}{f' of {source.name}' if several else ''}:"
    lines = [
        f"{painted(visible(head), severity, colour)} {visible(finding.headline)}.",
        f"    {_marked(finding, text, colour)}",
    ]
    for why, span in finding.also:
        also_line, _, also_text = span.source.line_of(span.start)
        file = "" if span.source is source else f" of {visible(span.source.name)}"
        lines.append(f"  {why}, line {also_line}{file}: {visible(also_text.strip())}")
    advice = finding.advice
    if isinstance(finding.hint, LikelySlip) and (apart := finding.hint.lines)[1]:
        before, written = apart
        lines += [f"  {visible(before[:1].upper() + before[1:])}:", *(f"    {visible(row)}" for row in written)]
        advice = advice[1:]  # the hint is the first
    lines += [f"  {visible(words[:1].upper() + words[1:])}{'' if words.endswith('?') else '.'}" for words in advice]
    before = ""
    for number, remedy in enumerate(finding.remedies):
        rows, where = _made(remedy.parts[0] if remedy.parts else remedy)
        where = f"{'in' if where.startswith('line') else 'as'} {where}"
        where += "" if remedy.span.source is source else f" of {remedy.span.source.name}"
        same, write = where == before and not remedy.parts, "write " if remedy.text else ""
        doing = f"Or {write}" if number else write.capitalize()
        lines.append("  Or:" if same else f"  {doing}{visible(where if doing else where.capitalize())}:")
        lines += [f"    {visible(row)}" for row in rows]
        for part in remedy.parts[1:]:
            rows, along = _made(part)
            lines += [
                f"  and {'in' if along.startswith('line') else 'as'} {along}:",
                *(f"    {visible(row)}" for row in rows),
            ]
        if remedy.cost:
            told = given(remedy)
            lines.append(f"      {visible(told[:1].upper() + told[1:])}.")
        before = where
    lines.append(f"  Read more: feedwright why {finding.code}")
    return "\n".join(lines) + "\n"


def _marked(finding: Finding, text: str, colour: bool) -> str:
    """The line with the words at fault between >> and <<; a tab is shown as four spaces."""
    column = finding.span.source.line_of(finding.span.start)[1] - 1
    end = min(column + finding.span.end - finding.span.start, len(text))
    start = min(len(text) - len(text.lstrip()), column)
    before, fault, after = (
        visible(part.replace("\t", "    ")) for part in (text[start:column], text[column:end], text[end:])
    )
    mark = f">>{fault}<<" if fault else " >>?<<"  # where something is missing
    return f"{before}{painted(mark, finding.severity, colour)}{after}".rstrip()
