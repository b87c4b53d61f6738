"""What the bytes on a port most likely are if they are not the protocol; and why a machine left its session.

These are guesses from the bytes that arrived: they say what to look at first. Pure functions of bytes.
"""

from ....compiler.printable import visible
from ..wire.frames import DEVICE, HOST, Frame, crc, decode
from .explain import shown

NO_TEXT = 0.2
"""With a larger share of bytes outside printable ASCII it is not text. At a wrong speed bits are read in the wrong
places, and about half of all bytes fall outside. One flipped bit in ten bytes stays below the limit. Own choice."""
SHOWN = 40


def unspoken(first: bytes, baud: int) -> str:
    """Why a port's first bytes are not the protocol, in one sentence; "" if they hold a line of the protocol."""
    if not first:
        return (
            "Nothing came from the port: is the machine switched on, is it on this port, and does the cable carry data?"
        )
    lines = [line for line in first.split(b"\n") if line.strip()]
    if any(decode(DEVICE, line) for line in lines):
        return ""
    if any(decode(HOST, line.rstrip(b"\r")) for line in lines):
        return (
            "The port sends back what is written to it, and nothing else: it echoes, like a modem, a terminal or a "
            "plug that joins its two wires; it is not a machine that speaks the protocol"
        )
    if no_text(first):
        return unlike_text(baud)
    bare = [part for line in lines for part in line.split(b"\r") if part]
    if any(decode(DEVICE, part) for part in bare):
        return "The machine's lines are right except for their end: it sends CR or CR LF, and LF alone is expected"
    if any(_upper(part) for part in bare):
        return "The machine's lines are in upper case; the protocol is in lower case throughout"
    if any(_resealed(part) for part in bare):
        return "The machine's lines have the form of the protocol, but their checksums do not fit"
    sample = visible(shown(max(bare, key=len, default=first)[:SHOWN]))
    return f"Text came that is no line of the protocol, such as `{sample}`: something else is on this port"


def no_text(data: bytes) -> bool:
    """Whether bytes look like a line read at the wrong speed."""
    odd = sum(not (0x20 <= byte <= 0x7E or byte in b"\r\n\t") for byte in data)
    return bool(data) and odd / len(data) > NO_TEXT


def unlike_text(baud: int) -> str:
    return (
        f"Bytes came that are no text: the machine is probably not set to {baud} baud, 8 data bits, no parity, "
        "1 stop bit"
    )


def left(last: bytes) -> str:
    """Why a machine has left our session, from its last bytes; "" if they do not say."""
    refusals = [frame for line in last.split(b"\n") if (frame := decode(DEVICE, line)) and frame.word == "no"]
    why = refusals[-1].values.get("why") if refusals else None
    if why == "asleep":
        return "The machine was reset by its supply, its cable or its own program, and has lost its session"
    if why == "old-session":
        return "Another program has begun a session with the machine"
    return ""


def _upper(line: bytes) -> bool:
    return line != line.lower() and line == line.upper() and _resealed(line.lower()) is not None


def _resealed(line: bytes) -> Frame | None:
    """The frame of a line as if its checksum were right."""
    body, mark, _ = line.rpartition(b"~")
    return decode(DEVICE, body + mark + crc(body).encode("ascii")) if mark else None
