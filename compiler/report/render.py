"""Findings shown: for people with the place marked, one line each, or as JSON. Decides nothing."""

import re
import unicodedata
from collections.abc import Iterable

from ...grammar.edits import Remedy
from ...grammar.finding import Finding, Severity
from ...grammar.source import Source, Span
from ..printable import json_shown, visible

_COLOURS = {Severity.ERROR: "\x1b[1;31m", Severity.WARNING: "\x1b[1;33m", Severity.NOTE: "\x1b[1;36m"}
_RESET, _BOLD = "\x1b[0m", "\x1b[1m"
_SPACING = re.compile(r'("[^"\n]*")|(#[^\n]*)|[ \t]+')
"""What is evened out in a line that is proposed: titles stay, comments go, blanks become one."""


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
    return "\n".join(_paragraph(finding, colour) for finding in findings)


def short(findings: Iterable[Finding]) -> str:
    """`file:line:column: error[code]: headline`, a line each."""
    return "".join(f"{_place(f)}: {f.severity.value}[{f.code}]: {visible(f.headline)}\n" for f in findings)


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
                    "makes": made_line(r)[0],
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
    """The whole sentence that a remedy makes, and where it then stands."""
    source, text = remedy.span.source, remedy.text
    number, column, line = source.line_of(remedy.span.start)
    inserted = remedy.span.start == remedy.span.end
    if inserted and text.startswith("\n"):
        where = f"a new line under line {number}"
    elif inserted and "\n" in text and not text.rpartition("\n")[2].strip():
        where = f"a new line above line {number}"
    else:
        where = f"line {number}"
        _, end_column, end_line = source.line_of(remedy.span.end)
        text = line[: column - 1] + text + end_line[end_column - 1 :]
    evened = _SPACING.sub(lambda found: found[1] or " " * (found[2] is None), text)
    return " / ".join(part.strip() for part in evened.split("\n") if part.strip()), where


def painted(text: str, severity: Severity, colour: bool) -> str:
    return f"{_COLOURS[severity]}{text}{_RESET}" if colour else text


def _paragraph(finding: Finding, colour: bool) -> str:
    bold, reset = (_BOLD, _RESET) if colour else ("", "")
    head = painted(f"{finding.severity.value}[{finding.code}]", finding.severity, colour)
    line, _, text = finding.span.source.line_of(finding.span.start)
    lines = [
        f"{head}{bold}: {visible(finding.headline)}{reset}",
        f"  --> {_place(finding)}",
        *_marked(finding, text, line),
    ]
    for why, span in finding.also:
        also_line, _, also_text = span.source.line_of(span.start)
        file = "" if span.source is finding.span.source else f" of {visible(span.source.name)}"
        lines.append(f"  {why}, line {also_line}{file}: {visible(also_text.strip())}")
    lines += [f"  {visible(words)}" for words in finding.advice]
    for number, remedy in enumerate(finding.remedies):
        sentence, where = made_line(remedy)
        file = "" if remedy.span.source is finding.span.source else f" of {remedy.span.source.name}"
        lines.append(f"  {'write' if not number else '   or'}: {visible(sentence)} ({where}{visible(file)})")
    return "\n".join(lines) + "\n"


def _marked(finding: Finding, text: str, line: int) -> list[str]:
    """The source line with the place underlined; a tab is shown as four blanks, wide characters count two cells."""
    column = finding.span.source.line_of(finding.span.start)[1] - 1
    length = max(1, min(finding.span.end - finding.span.start, len(text) - column))
    shown = "".join(_cell(c) for c in text)
    before = sum(_width(_cell(c)) for c in text[:column])
    under = max(1, sum(_width(_cell(c)) for c in text[column : column + length]))
    gutter = f"{line:>4} | "
    return [gutter + shown, " " * (len(gutter) - 2) + "| " + " " * before + "^" * under]


def _cell(c: str) -> str:
    return "    " if c == "\t" else visible(c)


def _width(text: str) -> int:
    return sum(0 if unicodedata.combining(c) else 2 if unicodedata.east_asian_width(c) in "WF" else 1 for c in text)
