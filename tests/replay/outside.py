"""The whole program from outside: a terminal that keeps what a player would see, and a device of a few lines that
shares no code with the program."""

import contextlib
import os
import pty
import re
import select
import signal
import threading
import time
import tty
import zlib
from pathlib import Path

from .processes import CODE, Forked, environment, opened, resized

LINE = re.compile(rb"@([0-9a-f]{8}) ([0-9]+) ([a-z]+)((?: [a-z-]+=[a-z0-9.+-]+)*) ~([0-9a-f]{8})")


class Cells:
    """What a terminal of that size shows of the bytes it gets: the few controls that the program uses (ECMA-48)."""

    def __init__(self, columns: int, rows: int) -> None:
        self.columns, self.rows = columns, rows
        self.lines = [[" "] * columns for _ in range(rows)]
        self.gone: list[str] = []
        """Lines that have left at the top, in the scroll-back."""
        self.x = self.y = 0
        self.bells = 0
        self.unknown: list[str] = []
        self._rest = ""

    def feed(self, text: str) -> None:
        text, self._rest = self._rest + text, ""
        while text:
            if text[0] == "\x1b":
                found = re.match(r"\x1b\[([\d;?]*)([A-Za-z])", text)
                if found is None:
                    self._rest = text
                    return
                self._control(found[1], found[2])
                text = text[found.end() :]
                continue
            self._sign(text[0])
            text = text[1:]

    def _sign(self, sign: str) -> None:
        if sign == "\a":
            self.bells += 1
        elif sign == "\r":
            self.x = 0
        elif sign == "\n":
            self._down()
        else:
            if self.x == self.columns:
                self.x = 0
                self._down()
            self.lines[self.y][self.x] = sign
            self.x += 1

    def _down(self) -> None:
        if self.y + 1 < self.rows:
            self.y += 1
        else:
            self.gone.append("".join(self.lines.pop(0)).rstrip())
            self.lines.append([" "] * self.columns)

    def _control(self, number: str, what: str) -> None:
        if what == "A":
            self.y = max(0, self.y - int(number or 1))
        elif what == "H":
            self.x = self.y = 0
        elif what == "K" and number == "2":
            self.lines[self.y] = [" "] * self.columns
        elif what == "J" and number in ("", "0", "2"):
            first = 0 if number == "2" else self.y
            keep = self.lines[self.y][: self.x] if number != "2" else []
            for n in range(first, self.rows):
                self.lines[n] = [" "] * self.columns
            self.lines[self.y][: len(keep)] = keep
        elif what != "m":
            self.unknown.append(number + what)

    @property
    def text(self) -> str:
        return "\n".join("".join(line).rstrip() for line in self.lines)

    @property
    def all(self) -> str:
        return "\n".join([*self.gone, self.text])


class Terminal:
    """A command in a terminal of its own. `reading` off: nobody takes what it writes."""

    def __init__(
        self, *words: str, size: tuple[int, int] = (80, 24), code: str = CODE, more: dict[str, str] | None = None
    ) -> None:
        more = {"TERM": "xterm-256color", **(more or {})}
        self.encoding = more.get("PYTHONIOENCODING", "utf-8")
        self.master, self.own = opened(size)
        self.process = Forked(code, words, environment(**more), os.ttyname(self.own))
        self.cells, self.raw, self.reading = Cells(*size), b"", True
        self._over, self._asked = False, 0
        self._thread = threading.Thread(target=self._read, daemon=True)
        self._thread.start()

    def _read(self) -> None:
        while not self._over:
            if not self.reading:
                time.sleep(0.005)
                continue
            ready, _, _ = select.select([self.master], [], [], 0.02)
            if not ready:
                continue
            try:
                data = os.read(self.master, 65536)
            except OSError:
                return
            self.cells.feed(data.decode(self.encoding, "replace"))
            self.raw += data  # when it can be seen

    def press(self, keys: bytes) -> float:
        moment = time.monotonic()
        os.write(self.master, keys)
        return moment

    def see(self, pattern: str, within_s: float = 20.0) -> "re.Match[str]":
        until, seen = time.monotonic() + within_s, -1
        while True:
            if seen != (seen := len(self.raw)):
                found = re.search(pattern, self.cells.text) or re.search(pattern, self.cells.all)
                if found:
                    return found
            assert time.monotonic() < until, f"{pattern!r} is not to be seen:\n{self.cells.all}"
            time.sleep(0.01)

    def resize(self, columns: int, rows: int) -> None:
        self.cells = Cells(columns, rows)
        resized(self.master, (columns, rows))

    def arm(self) -> None:
        """Read to the last page, ask, and answer what is asked; once more where the machine was too busy just then."""
        for _ in range(12):
            found = self.see(r"(a  arm\b|a  read on)")
            self.press(b"a")
            until = time.monotonic() + 1.0
            while time.monotonic() < until:
                time.sleep(0.01)
                asked = re.findall(r"without spaces +(\w{4})\b", self.cells.text)
                if len(asked) > self._asked or (asked and "\x1b[2K" in self.raw.decode("latin-1")):
                    self._asked = len(asked)
                    time.sleep(0.45)
                    self.press(asked[-1].lower().encode() + b"\r")
                    self.see(r"next: ball|Live|Ended|fault in the program")
                    return
        raise AssertionError(f"it does not arm: {found[0]}\n{self.cells.all}")

    def end(self, within_s: float = 12.0) -> int:
        """The exit code."""
        if not self.process.ended(within_s):
            self.close()
            raise AssertionError(f"it does not end:\n{self.cells.all}")
        time.sleep(0.05)
        self.close(killed=False)
        assert self.process.code is not None
        return self.process.code

    def close(self, killed: bool = True) -> None:
        if killed:
            os.kill(self.process.pid, signal.SIGKILL)
        self._over = True
        self._thread.join(2)
        os.close(self.master)
        os.close(self.own)


class Machine:
    """A device on a pseudo-terminal that says yes to what a correct host does. `noise` bytes are sent between all it
    says, as many as the line takes; `deaf` answers no stop;
    `full` takes nothing any more of a line that has no room left."""

    def __init__(self, limits: object, noise: bool = False) -> None:
        self.limits, self.noise, self.deaf, self.full = limits, noise, False, False
        self.master, self._slave = pty.openpty()
        tty.setraw(self._slave)
        self.port = os.ttyname(self._slave)
        os.set_blocking(self.master, False)
        self.stops: list[float] = []
        self.thrown: list[tuple[float, int]] = []
        self.verbs: list[str] = []
        self._start, self._event, self._words, self._heard = time.monotonic(), 0, 0, 0.0
        self._state, self._pending, self._buffer = "connected", None, b""
        self._over = False
        self._thread = threading.Thread(target=self._serve, daemon=True)
        self._thread.start()

    def close(self) -> None:
        self._over = True
        self._thread.join(2)
        os.close(self._slave)
        os.close(self.master)

    def _fill(self) -> None:
        os.set_blocking(self._slave, False)
        with contextlib.suppress(BlockingIOError):
            while not self._over:
                os.write(self._slave, b"x")
        time.sleep(0.001)

    def _ms(self) -> int:
        return int((time.monotonic() - self._start) * 1000)

    def _say(self, text: str) -> None:
        body = f":5e551011 {text} ".encode()
        data = b"\n" * self.noise + body + f"~{zlib.crc32(body):08x}\n".encode()
        until = time.monotonic() + 0.5
        while data and time.monotonic() < until:
            try:
                data = data[os.write(self.master, data) :]
            except BlockingIOError:
                time.sleep(0.0005)

    def _serve(self) -> None:
        noise = bytes(n for n in range(256) if n != 7) * 16
        while not self._over:
            if self.full:
                self._fill()
                continue
            # It looks at its clock often where a ball is due, else where something comes.
            select.select([self.master], [], [], 0.001 if self._pending or self.noise else 0.01)
            try:
                data = os.read(self.master, 4096)
            except (BlockingIOError, OSError):
                data = b""
            if b"\x07" in data:
                self.stops += [time.monotonic()] * data.count(b"\x07")
                self._state, self._pending, self._event = "stopped", None, self._event + 1
                if not self.deaf:
                    self._say(f"0 stopped ev={self._event} why=byte")
            *lines, self._buffer = (self._buffer + data.replace(b"\x07", b"")).split(b"\n")
            for line in lines:
                if found := LINE.fullmatch(line):
                    self._take(found)
            if self._pending and self._ms() >= self._pending[1]:
                self.thrown.append((time.monotonic(), self._pending[0]))
                self._event += 1
                self._say(f"0 gone ev={self._event} b={self._pending[0]} t={self._ms()}")
                self._pending = None
            if self.noise:
                with contextlib.suppress(BlockingIOError):
                    os.write(self.master, noise)

    def _take(self, found: "re.Match[bytes]") -> None:
        number, verb = found[2].decode(), found[3].decode()
        values = dict(pair.split("=") for pair in found[4].decode().split())
        limits = self.limits
        if verb != "tick":
            self.verbs.append(verb)
        if verb == "hello":
            who = f"id={limits.id} boot=1 state=connected k=0000000a t={self._ms()} cap={limits.cap} gap={limits.gap}"
            self._say(f"1 hi n={values['n']} v=1 {who} limits={limits.limits} last=0 lfp={'0' * 16} lrun={'0' * 16}")
        elif verb == "tick":
            self._heard, self._words = time.monotonic(), self._words + 1
            self._say(f"0 tock k={self._words:08x} t={self._ms()} st={self._state} q={values['q']} ev={self._event}")
        elif verb == "arm" and time.monotonic() - self._heard > 0.5:
            self._say(f"{number} no why=not-fresh")
        elif verb == "arm":
            self._say(f"{number} ok c=w7xy fp={values['fp']}")
        elif verb == "yes":
            self._state = "live"
            self._say(f"{number} ok not-before={self._ms() + int(values['w'])}")
        elif verb == "go":
            self._pending = int(values["b"]), int(values["at"])
            self._say(f"{number} ok b={values['b']}")
        elif verb == "fate":
            self._say(f"{number} ok b={values['b']} fate=missed")
        elif verb in ("hold", "clear"):
            self._state, self._pending = "held" if verb == "hold" else "connected", None
            self._say(f"{number} ok")
        else:
            self._say(f"{number} ok")


def replay(plan: Path, port: str, *more: str) -> tuple[str, ...]:
    return ("replay", str(plan), "--port", port, "--walk-time", "3", "--records", str(plan.parent / "rec"), *more)
