"""The simulated machine in this process, or behind a pseudo-terminal that works like any port."""

import contextlib
import gc
import json
import os
import secrets
import signal
import time
from collections.abc import Callable
from dataclasses import fields
from random import Random
from typing import TextIO

from ....compiler.model.device import KEYS, Limits, Settings
from .device import SimulatedDevice
from .explain import explain
from .flow import LinkLost
from .line import KINDS, LineFaults, SerialLine
from .mechanism import Fact, Faults


class FaultWords(ValueError):
    """A name that is not a fault; the message is one sentence."""


def faults_of(text: str) -> tuple[LineFaults, Faults]:
    """`lost=0.1,flipped=0.05,jam_at=3,mute`: shares for the line, numbers or nothing for the machine."""
    line: dict[str, float] = {}
    machine: dict[str, object] = {}
    numbers: dict[str, Callable[[str], object]] = {
        "jam_at": int, "reset_at": int, "hopper": int, "wheels_ms": float, "early_ms": float, "walk_time": float,
        "not_before": int, "speed": float, "feed_ms": float,
    }  # fmt: skip
    switches = {f.name for f in fields(Faults)} - {*numbers, "other_id", "other_limits"}
    for word in filter(None, text.split(",")):
        name, mark, value = word.strip().partition("=")
        try:
            if name in KINDS and 0 <= float(value) <= 1:
                line[name] = float(value)
            elif name in numbers and float(value) >= 0:
                machine[name] = numbers[name](value)
            elif name in switches and not mark:
                machine[name] = True
            else:
                raise ValueError
        except ValueError:
            known = ", ".join([*(f"{kind}=SHARE" for kind in KINDS), *(f"{n}=N" for n in numbers), *sorted(switches)])
            raise FaultWords(f"{word!r} is not a fault; the faults are {known}") from None
    return LineFaults(**line), Faults(**machine)  # type: ignore[arg-type]


class Bench:
    """The device with a faulty line in each direction, in real time."""

    def __init__(
        self, limits: Limits, faults: str, seed: int | None, say: Callable[[str], None] | None, now: float
    ) -> None:
        line, machine = faults_of(faults)
        if seed is None:  # a new code at each start, so that nobody can learn it by heart
            seed = secrets.randbits(64)
        told = (lambda data, why: say(explain(data, why))) if say else None
        self.device = SimulatedDevice(limits, Random(seed), machine, now=now, explain=told)
        self.up, self.down = SerialLine(line, Random(seed + 1)), SerialLine(line, Random(seed + 2))

    def turn(self, now: float) -> bytes:
        """Do everything due by now. Returns the bytes that the host receives."""
        if data := self.up.read(now):
            self.device.receive(now, data)
        self.device.advance(now)
        if data := self.device.send():
            self.down.write(now, data)
        return self.down.read(now)

    def due(self) -> float | None:
        return min((m for m in (self.up.due(), self.down.due(), self.device.due()) if m is not None), default=None)


class SimulatedLink:
    """The device in this process."""

    def __init__(
        self, limits: Limits, faults: str = "", seed: int | None = None, say: Callable[[str], None] | None = None
    ) -> None:
        self.bench = Bench(limits, faults, seed, say, time.monotonic())

    def read(self) -> bytes:
        return self.bench.turn(time.monotonic())

    def write(self, data: bytes) -> None:
        if self.bench.up.cut:
            raise LinkLost("The simulated line is cut")
        now = time.monotonic()
        self.bench.up.write(now, data)

    def close(self) -> None:
        pass


def told(fact: Fact) -> dict[str, object]:
    """A launch as data for a line of JSON; this log shows what the machine really did."""
    run, fp, ball, ms, session = fact.about
    return {
        "at": fact.now, "run": run, "fp": fp, "ball": ball.number, "agreed_ms": ball.at, "ms": ms,  # type: ignore[attr-defined]
        "session": session.word, **dict(zip(KEYS, ball.settings, strict=True)),  # type: ignore[attr-defined]
    }  # fmt: skip


class NoPseudoTerminals(Exception):
    """This system has no pseudo-terminals; the message is one sentence."""


def open_ends() -> tuple[int, int]:
    """Both ends of a new raw pseudo-terminal as file numbers: the device's, then the host's."""
    try:
        import tty
    except ImportError as error:
        raise NoPseudoTerminals(
            "this system has no pseudo-terminals, which the simulated machine needs as a port; "
            "replay --port simulated works without them"
        ) from error
    master, slave = os.openpty()
    tty.setraw(slave)
    os.set_blocking(master, False)
    return master, slave


Lands = Callable[[Settings], str]
"""Says where a ball with these settings lands, in words."""


def serve(
    ends: tuple[int, int],
    limits: Limits,
    faults: str,
    seed: int | None,
    out: TextIO,
    log: TextIO | None,
    lands: Lands | None = None,
) -> None:
    """Print the name of the pseudo-terminal and act as the device behind it until interrupted."""
    master, slave = ends
    bench = Bench(limits, faults, seed, lambda text: print(text, file=out, flush=True), time.monotonic())
    over = False

    def leave(number: int, frame: object) -> None:
        nonlocal over
        over = True

    for number in (signal.SIGINT, signal.SIGTERM):
        signal.signal(number, leave)
    print(os.ttyname(slave), file=out, flush=True)
    print(f"{limits.id}: {limits.text} limits={limits.checksum}; a line ends in LF alone", file=out, flush=True)
    seen, owed = 0, b""
    gc.collect()
    gc.freeze()
    gc.disable()  # no collection during a launch; the loop makes no cycles
    try:
        # Keep the slave open: the name stays while hosts come and go, like that of a machine that stays plugged in.
        while not over:
            owed = _turn(master, bench, owed)
            for fact in bench.device.log[seen:]:
                _report(fact, out, log, lands)
            seen = len(bench.device.log)
    finally:
        os.close(master)
        os.close(slave)


def _turn(master: int, bench: Bench, owed: bytes) -> bytes:
    import select

    now = time.monotonic()
    due = bench.due()
    wait = 0.05 if due is None else min(max(due - now, 0.0), 0.05)
    readable, _, _ = select.select([master], [], [], wait)
    now = time.monotonic()
    if readable:
        with contextlib.suppress(OSError):
            bench.up.write(now, os.read(master, 4096))
    owed = (owed + bench.turn(now))[-4096:]
    try:
        return owed[os.write(master, owed) :] if owed else owed
    except BlockingIOError:
        return b""  # the host does not read: drop the bytes, never wait


def _report(fact: Fact, out: TextIO, log: TextIO | None, lands: Lands | None) -> None:
    if fact.what == "throw":
        text = json.dumps(told(fact))
        print(f"threw {text}", file=out, flush=True)
        if lands:
            ball = fact.about[2]
            print(f"ball {ball.number} {lands(ball.settings)}", file=out, flush=True)  # type: ignore[attr-defined]
    elif fact.what in ("state", "stop"):
        text = json.dumps({"at": fact.now, "what": fact.what, "about": list(fact.about)})
        print(f"{fact.what} {' '.join(map(str, fact.about))}", file=out, flush=True)
    else:
        return
    if log:
        print(text, file=log, flush=True)
