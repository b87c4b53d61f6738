"""Bytes on the line: one frame per line with a CRC-32, and the stop byte anywhere. See PROTOCOL.md.

host -> device   @SSSSSSSS N verb key=value ... ~CCCCCCCC LF
device -> host   :SSSSSSSS N word key=value ... ~CCCCCCCC LF
"""

import re
import zlib
from collections.abc import Iterator, Mapping
from enum import Enum
from typing import NamedTuple

STOP = 0x07
HOST, DEVICE = "@", ":"
LONGEST = {HOST: 96, DEVICE: 200}
"""Most bytes of a line with its LF. The lines to the device are shorter, because a small device must buffer them."""
NO_SESSION = "00000000"

_FRAME = re.compile(
    r"([@:])([0-9a-f]{8}) (0|[1-9][0-9]{0,8}) ([a-z]{2,8})((?: [a-z][a-z-]{0,11}=[a-z0-9.+-]{1,24})*) ~([0-9a-f]{8})",
    re.ASCII,
)
_VALUE = re.compile(r"[a-z0-9.+-]{1,24}", re.ASCII)
_NATURAL = re.compile(r"[0-9]{1,9}", re.ASCII)
_PRINTABLE = re.compile(rb"[ -~]*")
_SIGNED = re.compile(r"[+-]?[0-9]{1,6}", re.ASCII)


class Frame(NamedTuple):
    """One message. `number` counts a session's lines from 1; 0 is for ticks, tocks and events."""

    session: str
    number: int
    word: str
    values: Mapping[str, str]

    def natural(self, key: str) -> int | None:
        """A number that is never negative; None if it is missing or ill-formed."""
        text = self.values.get(key, "")
        return int(text) if _NATURAL.fullmatch(text) else None

    def signed(self, key: str) -> int | None:
        text = self.values.get(key, "")
        return int(text) if _SIGNED.fullmatch(text) else None


def crc(data: bytes) -> str:
    """CRC-32/ISO-HDLC in eight lower-case hex digits; b"123456789" gives cbf43926 (the catalogue's check value)."""
    return f"{zlib.crc32(data):08x}"


def encode(mark: str, session: str, number: int, word: str, values: Mapping[str, object] | None = None) -> bytes:
    """The line with its LF. ValueError if a part is ill-formed: no ill-formed line is ever sent."""
    body = f"{mark}{session} {number} {word}"
    for key, value in (values or {}).items():
        text = str(value)
        if not _VALUE.fullmatch(text):
            raise ValueError(f"{key}={text!r} cannot stand on the line")
        body += f" {key}={text}"
    line = f"{body} ~{crc(f'{body} '.encode('ascii'))}\n".encode("ascii")
    if len(line) > LONGEST[mark]:
        raise ValueError(f"the line has {len(line)} bytes, and at most {LONGEST[mark]} are allowed")
    return line


def decode(mark: str, line: bytes) -> Frame | None:
    """The frame in a line without its LF; None if anything at all is wrong with it."""
    if len(line) >= LONGEST[mark]:
        return None
    try:
        found = _FRAME.fullmatch(line.decode("ascii"))
    except UnicodeDecodeError:
        return None
    if found is None or found[1] != mark or crc(line[:-9]) != found[6]:
        return None
    pairs = [pair.partition("=") for pair in found[5].split()]
    values = {key: value for key, _, value in pairs}
    if len(values) != len(pairs):
        return None
    return Frame(found[2], int(found[3]), found[4], values)


class Kind(Enum):
    LINE = "line"
    STOP = "stop"
    GARBLED = "garbled"
    """A line with a byte that is not allowed."""
    SWALLOWED = "swallowed"
    """The end of a line that was too long; nothing answers it."""


class Splitter:
    """Cuts arriving bytes into lines. It takes stop bytes out first, wherever they are."""

    def __init__(self, longest: int) -> None:
        self._longest = longest
        self._line = bytearray()
        self._bad = self._long = False

    def feed(self, data: bytes) -> Iterator[tuple[Kind, bytes]]:
        for n, between in enumerate(data.split(bytes([STOP]))):
            if n:
                yield Kind.STOP, b""
            *ended, rest = between.split(b"\n")
            for piece in ended:
                self._add(piece)
                yield self._end()
            self._add(rest)

    def _add(self, piece: bytes) -> None:
        room = self._longest - 1 - len(self._line)
        self._long |= len(piece) > room
        self._bad |= not _PRINTABLE.fullmatch(piece)
        self._line += piece[:room]

    def _end(self) -> tuple[Kind, bytes]:
        kind = Kind.SWALLOWED if self._long else Kind.GARBLED if self._bad else Kind.LINE
        line = bytes(self._line)
        self._line.clear()
        self._bad = self._long = False
        return kind, line
