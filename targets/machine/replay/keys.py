"""Keys by name, as a keyboard or a presenter's clicker sends them."""

FORWARD = frozenset({"page down", "right", "down"})
BACK = frozenset({"page up", "left", "up"})
CLICKER = FORWARD | BACK | {"f5", ".", "b", "tab"}
"""What presenters send: forward and back as one of three keys each, "start" as F5, "black screen" as . or b (common
practice, no source)."""
# What terminals send for keys that are more than one byte (ECMA-48 control sequences and their common variants).
_SEQUENCES = {
    b"\x1b[5~": "page up", b"\x1b[6~": "page down", b"\x1b[A": "up", b"\x1b[B": "down", b"\x1b[C": "right",
    b"\x1b[D": "left", b"\x1bOA": "up", b"\x1bOB": "down", b"\x1bOC": "right", b"\x1bOD": "left", b"\x1b[15~": "f5",
}  # fmt: skip
_SINGLE = {b" ": "space", b"\r": "enter", b"\n": "enter", b"\x1b": "escape", b"\x7f": "backspace", b"\x08": "backspace",
           b"\x03": "escape", b"\t": "tab"}  # fmt: skip


def split(data: bytes) -> list[str]:
    """Names of the keys in the bytes that a terminal sent at once; an unknown sequence counts as escape, which is
    Stop."""
    keys = []
    while data:
        for sequence, name in _SEQUENCES.items():
            if data.startswith(sequence):
                keys.append(name)
                data = data[len(sequence) :]
                break
        else:
            first = data[:1]
            if first == b"\x1b":
                data = b""
            keys.append(named(first))
            data = data[1:]
    return keys


def named(byte: bytes) -> str:
    """The key of one byte."""
    return _SINGLE.get(byte, byte.decode("ascii", "replace").lower())
