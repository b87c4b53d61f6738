"""Text made fit to be shown: nothing invisible stays invisible, nothing is dropped in silence; one ball, two balls."""

import unicodedata

_HIDDEN = frozenset({"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"})
_JOINERS = "\u200c\u200d"  # needed to write several scripts, and inside emoji


def visible(text: str) -> str:
    """One line: control, direction and unassigned characters as `\\u202e`, line breaks and tabs as blanks."""
    flat = text.replace("\r\n", " ").replace("\n", " ").replace("\t", " ")
    return "".join(f"\\u{ord(c):04x}" if unicodedata.category(c) in _HIDDEN and c not in _JOINERS else c for c in flat)


def ascii_only(text: str) -> str:
    """`visible`, and every character beyond ASCII as `\\u00e9` too."""
    return "".join(c if " " <= c <= "~" else f"\\u{ord(c):04x}" for c in visible(text))


def plural(count: int, one: str, many: str | None = None) -> str:
    """`1 ball`, `2 balls`; `many` where an s does not do."""
    return f"{count} {one if count == 1 else many or one + 's'}"
