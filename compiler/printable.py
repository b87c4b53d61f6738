"""What may reach a terminal: the one rule for text that somebody else wrote, such as names, titles and notes.

Nothing invisible stays invisible, and nothing is dropped silently. Every command prints with `say`, or shows such text
with `visible`; styles, such as a colour, are ours and stand around it.
"""

import sys
import unicodedata
from typing import TextIO

_HIDDEN = frozenset({"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"})
_JOINERS = "\u200c\u200d"


def visible(text: str) -> str:
    """One line: control, direction, unassigned and unpaired characters as `\\u202e`, line breaks and tabs as spaces.

    Joiners stay between two characters beyond ASCII: several scripts and some emoji are written with them.
    """
    flat = text.replace("\r\n", " ").replace("\n", " ").replace("\t", " ")
    if flat.isascii() and flat.isprintable():
        return flat
    return "".join(escaped(c) if _hidden(c) and not _joins(flat, i) else c for i, c in enumerate(flat))


def ascii_only(text: str) -> str:
    """`visible`, and every character beyond ASCII as `\\u00e9` too."""
    return "".join(c if " " <= c <= "~" else escaped(c) for c in visible(text))


def escaped(c: str) -> str:
    """A character by its number: `\\u202e`, or `\\U000e0041` if four digits are not enough."""
    return f"\\u{ord(c):04x}" if ord(c) < 0x10000 else f"\\U{ord(c):08x}"


def json_shown(data: object) -> str:
    """JSON for a stream that may be a terminal: the same data, hidden characters as JSON's own escapes."""
    utf = (sys.stdout.encoding or "utf-8").lower().startswith("utf")
    import json  # slow to load, and few outputs need it

    body = json.dumps(data, ensure_ascii=not utf, indent=2)
    return "".join(json.dumps(c)[1:-1] if c != "\n" and _hidden(c) else c for c in body) + "\n"


def say(line: str, to: TextIO | None = None, style: str = "") -> None:
    """Print one line for people; `style` is one of ours, such as `\\x1b[1m`."""
    print(f"{style}{visible(line)}\x1b[0m" if style else visible(line), file=to or sys.stdout)


def plural(count: int, one: str, many: str | None = None) -> str:
    """`1 ball`, `2 balls`; `many` if adding an s is wrong."""
    return f"{count} {one if count == 1 else many or one + 's'}"


def _hidden(c: str) -> bool:
    return unicodedata.category(c) in _HIDDEN


def _joins(text: str, i: int) -> bool:
    return text[i] in _JOINERS and 0 < i < len(text) - 1 and not text[i - 1].isascii() and not text[i + 1].isascii()
