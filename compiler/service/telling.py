"""What is wrong with a script, where an editor shows it, and what each remedy would change."""

import re
from collections.abc import Iterator, Sequence

from ...grammar.edits import Edit
from ...grammar.finding import Finding, OfName, Severity
from ...grammar.frozen import Frozen, replace
from ...grammar.parse import reads
from ...grammar.source import Source, Span
from ..report.render import made_line

_WORD = re.compile(r"[\w-]+")


class Mending(Frozen):
    """A remedy: the line that it makes, for a button, and the change."""

    makes: str
    edit: Edit


class Problem(Frozen):
    """A finding at a place of the script itself; of a used script, at the line that uses it."""

    severity: Severity
    code: str
    span: Span
    text: str
    """The sentence and what may help, a line each."""
    mendings: tuple[Mending, ...]


def problems(findings: tuple[Finding, ...], source: Source, looked: bool = True) -> tuple[Problem, ...]:
    """`looked`: remedies were looked for, so what may help where there is none can be said."""
    found = []
    for finding in findings:
        span = _here(finding, source)
        edits = (*finding.remedies, *_spelled(finding, source))
        mendings = tuple(Mending(made_line(edit)[0], edit) for edit in edits)
        sentences = (
            finding.headline,
            *(said for said in finding.advice if looked or said != finding.message.last_resort()),
        )
        text = "\n".join(f"{said[:1].upper()}{said[1:]}{'' if said.endswith('?') else '.'}" for said in sentences)
        found.append(Problem(finding.severity, finding.code, span, text, mendings))
    return tuple(found)


def _spelled(finding: Finding, source: Source) -> Iterator[Edit]:
    """The word that the line may have meant, in place of the one that stands there, where the line then reads."""
    message, span = finding.message, finding.span
    if not isinstance(message, OfName) or span.source.name != source.name or not _WORD.fullmatch(span.text):
        return
    _, column, row = source.line_of(span.start)
    for near in message.near:
        if reads(row[: column - 1] + near + row[column - 1 + len(span.text) :]):
            yield Edit(Span(source, span.start, span.end), near)


def carried(known: Sequence[Problem], source: Source) -> tuple[Problem, ...]:
    """Problems of an older text where they are in a newer one, as long as the rows that changed are not theirs; their
    remedies were for the older one."""
    if not known:
        return ()
    old, new = known[0].span.source.text, source.text
    most = min(len(old), len(new))
    first = next((i for i in range(most) if old[i] != new[i]), most)
    last = next((i for i in range(most - first) if old[-1 - i] != new[-1 - i]), most - first)
    found = []
    for problem in known:
        start, end = problem.span.start, problem.span.end
        if 0 <= old.find("\n", end) < first:
            found.append(replace(problem, span=Span(source, start, end), mendings=()))
        elif old.rfind("\n", 0, start) + 1 >= len(old) - last:
            longer = len(new) - len(old)
            found.append(replace(problem, span=Span(source, start + longer, end + longer), mendings=()))
    return tuple(found)


def _here(finding: Finding, source: Source) -> Span:
    """At least one character wide, so that it can be seen."""
    spans = [finding.span, *(span for _, span in finding.also)]
    span = next((span for span in spans if span.source.name == source.name), Span(source, 0, 0))
    if span.start < span.end:
        return span
    start = min(span.start, max(len(source.text) - 1, 0))
    return Span(source, start, min(start + 1, len(source.text)))
