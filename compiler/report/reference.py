"""The page of all findings, from the closed list of codes."""

from .codes import CODES
from .finding import Severity

_HEAD = """\
# Findings

Everything the compiler can say about a script, from `compiler/report/codes.py`; `feedwright explain CODE` says the same
in a terminal. An error speaks against launching, and nothing is written while it stands. A warning tells what will
probably not serve the practice, a note what is worth knowing; a script that wants it so switches either off with
`allow` and its code, at the margin.
"""
_PLURAL = {Severity.ERROR: "Errors", Severity.WARNING: "Warnings", Severity.NOTE: "Notes"}


def page() -> str:
    """The page in Markdown: what each code means, a line that gives it, what to write instead."""
    parts = [_HEAD]
    for severity, title in _PLURAL.items():
        names = [name for name, code in CODES.items() if code.severity is severity]
        parts.append(f"## {title}\n\n" + "\n".join(f"- [`{n}`](#{n}): {CODES[n].title}" for n in names) + "\n")
        parts += [_entry(name) for name in names]
    return "\n".join(parts)


def _entry(name: str) -> str:
    code = CODES[name]
    example, instead = (f"```text\n{text}\n```\n" for text in (code.example, code.instead))
    return f"### {name}\n\n{code.title}. {code.why}\n\n{example}\nInstead:\n\n{instead}"
