"""A machine with commands of its own: fixed text with named fields, as its profile states them.

Field names come from a closed set. Nothing from a file is ever used as a format.
"""

import re
from collections.abc import Iterator, Mapping
from typing import Annotated, Literal

from .record import Record, Spelled, Within

PRINTABLE = r"[ -~]*"
_PIECE = re.compile(r"\{([a-z]{1,12})\}|[^{}]+", re.ASCII)
_EXACT = 1e-9  # settings are rounded to this in a plan; far below any decimal a field can have

_ASCII = "plain ASCII text"
Text = Annotated[str, Spelled(0, 120, PRINTABLE, _ASCII)]
Seconds = Annotated[float, Within(ge=0, le=60)]
Baud = Literal[1200, 2400, 4800, 9600, 19200, 38400, 57600, 115200]
NAMES = frozenset({"speed", "elevation", "azimuth", "topspin", "sidespin"})
"""All names that a field may have."""


class CommandField(Record):
    """How to write a setting: `setting * scale + offset`, with this many decimals, filled with zeros to a width."""

    scale: float = 1.0
    offset: float = 0.0
    decimals: Annotated[int, Within(ge=0, le=6)] = 0
    width: Annotated[int, Within(ge=0, le=12)] = 0
    """Exact number of characters, including sign and point; 0 leaves it open."""
    sign: bool = False
    """Whether + is written too."""

    def check(self) -> None:
        if self.scale == 0:
            raise ValueError("a scale of 0 would send the same number for every ball")

    def written(self, setting: float) -> str | None:
        """The characters for a setting in the profile's own unit; None if they would state another number."""
        text = self._digits(setting)
        return text if text is not None and (not self.width or len(text) == self.width) else None

    def lacks(self, setting: float) -> str:
        """Why a setting cannot be written, in a few words."""
        text = self._digits(setting)
        if text is None:
            return f"it needs more decimals than {self.decimals}"
        return f"it needs {len(text)} characters, and width is {self.width}"

    def _digits(self, setting: float) -> str | None:
        from decimal import ROUND_HALF_EVEN, Decimal  # slow to load, and few machines have commands of their own

        wanted = Decimal(repr(float(setting))) * Decimal(repr(self.scale)) + Decimal(repr(self.offset))
        number = wanted.quantize(Decimal(1).scaleb(-self.decimals), ROUND_HALF_EVEN)
        if abs(number - wanted) > _EXACT:
            return None
        negative = number < 0
        digits = f"{abs(number):f}"
        mark = "-" if negative else "+" if self.sign else ""
        return mark + digits.rjust(max(self.width - len(mark), 0), "0")


class Template(Record):
    """The lines of a machine with commands of its own. Such a machine keeps no promise of the line protocol."""

    throw: Annotated[str, Spelled(1, 120, PRINTABLE, _ASCII)]
    """Sent at the moment of the launch, once."""
    ready: Text | None = None
    """Sent once the ball before has left the machine, so wheels and head have the rest of the interval."""
    stop: Text | None = None
    """Sent on stop, if the machine knows such a line."""
    reply: Text | None = None
    """The whole line with which the machine answers every line, `stop` too: `#` stands for one to nine digits and `##`
    for the character # itself. None if the machine does not answer."""
    reply_s: Seconds = 1.0
    pause_s: Seconds = 0.1
    """Least pause after a line."""
    ending: Literal["LF", "CR", "CR LF"] = "LF"
    baud: Baud = 115200
    """Of the serial port; always 8 data bits, no parity, 1 stop bit."""
    fields: Mapping[str, CommandField] = {}
    fixed: Mapping[str, float] = {}
    """What the machine is set to where no line sets it, in the profile's own unit."""

    def check(self) -> None:
        if self.reply is not None and not self.reply.strip():
            raise ValueError("a reply cannot be empty; leave it out if the machine does not answer")
        if strange := (set(self.fields) | set(self.fixed)) - NAMES:
            raise ValueError(
                f"{', '.join(sorted(strange))} is not a setting; the settings are {', '.join(sorted(NAMES))}"
            )
        used = set()
        for text in (self.throw, self.ready, self.stop):
            used |= {name for name, _ in pieces(text or "") if name}
        if "{" in (self.stop or ""):
            raise ValueError("stop has a field; the line that stops a machine is always the same")
        for name in sorted(used - set(self.fields)):
            raise ValueError(f"{{{name}}} stands in a line but not in [template.fields]")
        for name in sorted(set(self.fields) - used):
            raise ValueError(f"{name} stands in [template.fields], but no line has {{{name}}}")
        if both := set(self.fields) & set(self.fixed):
            raise ValueError(f"{', '.join(sorted(both))} cannot be both a field and fixed")

    @property
    def end(self) -> bytes:
        return {"LF": b"\n", "CR": b"\r", "CR LF": b"\r\n"}[self.ending]

    @property
    def least_before_throw_s(self) -> float:
        """Least time from when a setting may be sent to the line that throws."""
        return self.pause_s if self.ready is not None else 0.0

    def why_not(self, name: str, value: float) -> str:
        """Why no line can hold this setting (see `inexpressible`), in a few words."""
        if name in self.fields:
            return self.fields[name].lacks(value)
        return f"the profile fixes it at {self.fixed[name]:g}"

    def inexpressible(self, settings: Mapping[str, float]) -> tuple[str, float] | None:
        """The first setting that no line can hold, and its value; None if the lines can hold them all."""
        for name, value in settings.items():
            if name in self.fixed:
                if abs(self.fixed[name] - value) > _EXACT:
                    return name, value
            elif name in self.fields and self.fields[name].written(value) is None:
                return name, value
        return None


class ReplyLines:
    """A machine's own lines as they come, ended by CR, LF or both, and which of them are its reply: the whole line
    matches, apart from spaces around it. "not done" is not "done"."""

    LONGEST = 256

    def __init__(self, template: Template) -> None:
        reply = (template.reply or "").strip()
        parts = [re.escape(part) for part in re.split(r"(##|#)", reply)]
        numbers = {re.escape("#"): "[0-9]{1,9}", re.escape("##"): re.escape("#")}
        self._reply = re.compile("".join(numbers.get(part, part) for part in parts).encode("ascii"))
        self._line = b""
        self._whole = True
        """Whether the current line was received from its start and is no longer than any reply."""

    def clear(self) -> None:
        """Drops everything received up to now, also a line that has begun: it answers nothing."""
        self._whole = self._whole and not self._line
        self._line = b""

    def feed(self, data: bytes) -> int:
        """How many replies these bytes complete."""
        *ended, rest = re.split(rb"[\r\n]", data)
        found = 0
        for piece in ended:
            self._add(piece)
            found += self._whole and bool(self._reply.fullmatch(self._line.strip(b" \t")))
            self._line, self._whole = b"", True
        self._add(rest)
        return found

    def _add(self, piece: bytes) -> None:
        self._whole &= len(self._line) + len(piece) <= self.LONGEST
        self._line = (self._line + piece)[: self.LONGEST]


def pieces(text: str) -> Iterator[tuple[str, str]]:
    """(name, "") for a field and ("", text) for the text between; ValueError if braces do not pair."""
    end = 0
    for found in _PIECE.finditer(text):
        if found.start() != end:
            break
        end = found.end()
        yield (found[1], "") if found[1] else ("", found[0])
    if end != len(text):
        raise ValueError(f"a brace in {text!r} does not hold the name of a field")
