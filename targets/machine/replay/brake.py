"""The last way to stop a machine: straight over the line, when the program itself has failed and nothing of it is
trusted any more but these few lines."""

import contextlib
import time
from collections.abc import Callable
from dataclasses import dataclass

from ....compiler.model.feeder import Feeder
from ..wire.frames import DEVICE, LONGEST, STOP, Kind, Splitter, decode
from .link import Link

AGAIN_S, FOR_S = 0.05, 1.5
"""As PROTOCOL.md has it for every stop."""
LISTEN_S = 0.005
_PIECE = 4096
"""Bytes looked at in one turn: noise must not keep the next stop byte from going out."""


@dataclass(frozen=True, slots=True)
class Brake:
    """What stops this machine."""

    line: bytes
    """Empty where nothing over the line does."""
    again_s: float | None
    """So often; None: once, for a machine that does not say what a second one does."""
    for_s: float
    confirms: bool
    """Whether a `stopped` of the protocol proves it. An answer to a line of commands of its own may be late, and to
    another line: after a fault it proves nothing."""


def brake(feeder: Feeder) -> Brake:
    template = feeder.template
    if template is None:
        return Brake(bytes([STOP]) * 3, AGAIN_S, FOR_S, True)
    if template.stop is None:
        return Brake(b"", None, 0.0, False)
    return Brake(template.stop.encode("ascii") + template.end, None, template.reply_s, False)


def pull(brake: Brake, link: Link, clock: Callable[[], float] = time.monotonic) -> bool:
    """Stop the machine; whether it said that it is stopped. Raises nothing: a line that fails is tried again."""
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
