"""The page of all findings, from the classes of messages."""

from ...grammar.finding import Message, Severity
from ..findings import MESSAGES

_HEAD = """\
# Findings

Everything the compiler can say about a script, from `compiler/findings/`; `feedwright explain CODE` says the same
in a terminal. An error speaks against launching, and nothing is written while it stands. A warning tells what will
probably not serve the practice, a note what is worth knowing; a script that wants it so switches either off with
`accept` and its code, at the margin.
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
