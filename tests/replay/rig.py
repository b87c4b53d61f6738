"""Host and device as processes, joined by a pseudo-terminal; a person's hands on the host's keyboard."""

import contextlib
import json
import os
import re
import signal
import termios
import threading
import time
from pathlib import Path

import pexpect
from pexpect.fdpexpect import fdspawn

from .processes import CODE, Forked, environment, opened, piped

CLI = ["-m", "feedwright.targets.command.cli"]
QUESTION = re.compile(r"To arm, type without spaces\s+([0-9A-Z])([0-9A-Z])([0-9A-Z])([0-9A-Z])")


class DeviceProcess:
    """`feedwright device quick` with its log of launches."""

    def __init__(self, folder: Path, faults: str = "") -> None:
        self.log = folder / "launches.jsonl"
        words = ("device", "quick", "--log", str(self.log), "--faults", faults)
        self._said, theirs = piped()
        self.process = Forked(CODE, words, environment(), theirs, folder)
        theirs.close()
        self.port = self._said.readline().strip()

    def facts(self) -> list[dict[str, object]]:
        return [json.loads(line) for line in self.log.read_text("ascii").splitlines()] if self.log.exists() else []

    @property
    def thrown(self) -> list[int]:
        return [int(str(fact["ball"])) for fact in self.facts() if "ball" in fact]

    def times(self) -> list[float]:
        """When each ball was thrown, on the system's monotonic clock."""
        return [float(str(fact["at"])) for fact in self.facts() if "ball" in fact]

    def state(self) -> object:
        states = [fact["about"][1] for fact in self.facts() if fact.get("what") == "state"]  # type: ignore[index]
        return states[-1] if states else "asleep"

    def close(self) -> None:
        os.kill(self.process.pid, signal.SIGTERM)
        assert self.process.ended(5)
        self._said.close()


class Player:
    """`feedwright replay` in a terminal of its own."""

    def __init__(self, words: tuple[str, ...]) -> None:
        self._ours, self._own = opened((110, 45))
        self._process = Forked(CODE, words, {**os.environ, "TERM": "xterm"}, os.ttyname(self._own))
        self.child = fdspawn(self._ours, encoding="utf-8", timeout=25)
        self._left: list[int] = []
        threading.Thread(target=self._see_off, daemon=True).start()

    @classmethod
    def start(cls, plan: Path, port: str, *more: str) -> "Player":
        where = ("--port", port, "--walk-time", "3", "--records", str(plan.parent / "rec"))
        return cls(("replay", str(plan), *where, *more))

    def _see_off(self) -> None:
        """How the terminal was left; once nobody has it open any more, its text comes to an end."""
        while not self._process.ended(60):
            pass
        with contextlib.suppress(termios.error):  # its window is closed
            self._left = termios.tcgetattr(self._own)[:4]
        os.close(self._own)

    @property
    def host(self) -> int:
        return self._process.pid

    def leave(self) -> None:
        """The terminal's window is closed."""
        self.child.close()

    def arm(self) -> None:
        """As a person does it: once more where the machine was too busy just then."""
        for _ in range(3):
            self.ask()
            self.answer()
            if self.child.expect(["next: ball|the last ball is on", "nothing is armed"]) == 0:
                return
        raise AssertionError("it does not arm")

    def ask(self) -> None:
        for _ in range(3):
            self.child.expect("a  arm")
            self.child.send("a")
            if self.child.expect([QUESTION, "arm once more"]) == 0:
                return
        raise AssertionError("it does not ask")

    def answer(self, code: str | None = None) -> None:
        found = "".join(self.child.match.groups()).lower()
        time.sleep(0.5)
        self.child.send((code or found) + "\r")

    def see(self, text: str) -> None:
        self.child.expect(text)

    def press(self, keys: str) -> None:
        self.child.send(keys)

    def end(self) -> tuple[int, str]:
        """The exit code and everything shown since; the terminal must be as it was."""
        self.child.expect(pexpect.EOF)
        text, code = self.child.before, self._process.code
        self.child.close()
        assert code is not None
        came, _, _, kept = self._left
        for flag, flags in (("ICANON", kept), ("ECHO", kept), ("ISIG", kept), ("ICRNL", came)):
            assert flags & getattr(termios, flag), f"the terminal was left without {flag}"
        return code, text
