"""The last way to stop a machine: straight over the line, after the program itself has failed and no other part of it
can be trusted."""

import contextlib
import time
from collections.abc import Callable
from dataclasses import dataclass

from ....compiler.model.feeder import Feeder
from ..wire.frames import DEVICE, LONGEST, STOP, Kind, Splitter, decode
from .link import Link

AGAIN_S, FOR_S = 0.05, 1.5
"""PROTOCOL.md sets these for every stop."""
LISTEN_S = 0.005
_PIECE = 4096
"""Most bytes read in one turn, so that noise cannot delay the next stop byte."""


@dataclass(frozen=True, slots=True)
class Brake:
    """How to stop this machine."""

    line: bytes
    """Empty if nothing sent over the line stops it."""
    again_s: float | None
    """Seconds between repeats; None sends it once, because the effect of a second stop line is not known."""
    for_s: float
    confirms: bool
    """Whether a `stopped` of the protocol proves the stop. A machine with commands of its own may answer late, and
    answer another line, so after a fault its answer proves nothing."""


def brake(feeder: Feeder) -> Brake:
    template = feeder.template
    if template is None:
        return Brake(bytes([STOP]) * 3, AGAIN_S, FOR_S, True)
    if template.stop is None:
        return Brake(b"", None, 0.0, False)
    return Brake(template.stop.encode("ascii") + template.end, None, template.reply_s, False)


def pull(brake: Brake, link: Link, clock: Callable[[], float] = time.monotonic) -> bool:
    """Stop the machine. Returns whether it said that it stopped. Raises nothing; a failed write is tried again."""
    splitter = Splitter(LONGEST[DEVICE])
    until, next_at, owed = clock() + brake.for_s, 0.0, brake.line
    while True:
        now = clock()
        if owed and now >= next_at:
            with contextlib.suppress(Exception):
                link.write(owed)
            next_at = now + (brake.again_s or 0.0)
            owed = brake.line if brake.again_s else b""
        if now >= until:
            return False
        data = b""
        with contextlib.suppress(Exception):
            data = link.read()
        if brake.confirms and data and _stopped(splitter, data[:_PIECE]):
            return True
        if not data:
            time.sleep(LISTEN_S)


def _stopped(splitter: Splitter, data: bytes) -> bool:
    frames = (decode(DEVICE, line) for kind, line in splitter.feed(data) if kind is Kind.LINE)
    return any(frame is not None and frame.word == "stopped" and frame.number == 0 for frame in frames)
