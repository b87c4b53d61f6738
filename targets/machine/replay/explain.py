"""Why a device refused a line, in words for the person who writes the other end."""

from difflib import get_close_matches

from ..wire import rules
from ..wire.frames import HOST, LONGEST, crc


def explain(line: bytes, why: str) -> str:
    """The line that arrived, what it resembles, and the line ending that is expected."""
    came = f"received {shown(line)}; refused: {why}"
    if why == "swallowed":
        return f"received {len(line)} bytes or more without a line end; a line has at most {LONGEST[HOST]} with its end"
    if why != "garbled":
        return came
    return f"{came}; {_near(line)}"


def _near(line: bytes) -> str:
    if line.endswith(b"\r"):
        return "it ends in CR LF, and LF alone is expected"
    body, mark, sum_ = line.rpartition(b"~")
    if not line.startswith(HOST.encode()):
        return f"a line starts with {HOST}, the session, a number and a verb"
    if not mark:
        return "it has no checksum: a line ends in a space, ~ and eight hex digits"
    if not body.endswith(b" "):
        return "a space comes before ~"
    if sum_ != (right := crc(body).encode()):
        return f"its checksum says {shown(sum_)}, its bytes give {right.decode()}"
    words = body.decode("ascii", "replace").split()
    if len(words) > 2 and words[2] not in rules.VERBS:
        near = get_close_matches(words[2], rules.VERBS, 1)
        return f"near: {near[0]}" if near else f"verbs are {', '.join(rules.VERBS)}"
    return "the checksum is right but the form is wrong: single spaces, lower case, key=value, no key twice"


def shown(data: bytes) -> str:
    """Bytes for people: printable ASCII as it is, other bytes as escapes."""
    return "".join(chr(b) if 0x20 <= b <= 0x7E else f"\\x{b:02x}" for b in data[:200])
