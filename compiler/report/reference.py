"""The page of all findings, from the classes of messages."""

from ...grammar.finding import Message, Severity
from ..findings import MESSAGES

_HEAD = """\
# Findings

This page explains every message about a script, to look one up when it appears; an entry takes half a minute to read.
`feedwright why CODE` shows the same in a terminal. While a script has an error, Feedwright writes nothing and a
machine throws nothing. A warning says what will probably not help the practice, and a note what is worth knowing. A
line at the margin, `accept` and the code, switches a warning or a note off. The texts come from `compiler/findings/`.
"""
_PLURAL = {Severity.ERROR: "Errors", Severity.WARNING: "Warnings", Severity.NOTE: "Notes"}


def page() -> str:
    """The page in Markdown: what each code means, a line that gives it, what to write instead."""
    parts = [_HEAD]
    for severity, title in _PLURAL.items():
        messages = [message for message in MESSAGES.values() if message.severity is severity]
        listed = "\n".join(f"- [`{m.code}`](#{m.code}): {m.title}" for m in messages)
        parts += [f"## {title}\n\n{listed}\n", *map(_entry, messages)]
    return "\n".join(parts)


def _entry(message: type[Message]) -> str:
    example, instead = (f"```text\n{text}\n```\n" for text in (message.example, message.instead))
    return f"### {message.code}\n\n{message.title}. {message.why}\n\n{example}\nInstead:\n\n{instead}"
