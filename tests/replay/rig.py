"""Host and device as processes, joined by a pseudo-terminal; a person's hands on the host's keyboard."""

import json
import os
import re
import signal
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path

import pexpect

CLI = ["-m", "feedwright.targets.command.cli"]
QUESTION = re.compile(r"To arm, type without spaces\s+([0-9A-Z])([0-9A-Z])([0-9A-Z])([0-9A-Z])")


class DeviceProcess:
    """`feedwright device quick` with its log of launches."""

    def __init__(self, folder: Path, faults: str = "") -> None:
        self.log = folder / "launches.jsonl"
        self.process = subprocess.Popen(
            [sys.executable, *CLI, "device", "quick", "--log", str(self.log), "--faults", faults],
            stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, cwd=folder,
        )  # fmt: skip
        assert self.process.stdout is not None
        self.port = self.process.stdout.readline().strip()

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
        self.process.send_signal(signal.SIGTERM)
        self.process.wait(5)
        assert self.process.stdout is not None
        self.process.stdout.close()


@dataclass
class Player:
    """`feedwright replay` in a terminal of its own."""

    child: pexpect.spawn

    @classmethod
    def start(cls, plan: Path, port: str, *more: str) -> "Player":
        words = [
            *CLI,
            "replay",
            str(plan),
            "--port",
            port,
            "--walk-time",
            "3",
            "--records",
            str(plan.parent / "rec"),
            *more,
        ]
        command = " ".join(f"'{word}'" for word in (sys.executable, *words))
        # The shell tells afterwards in which state the terminal was left.
        child = pexpect.spawn(
            "/bin/sh", ["-c", f"trap : INT TERM HUP; {command}; echo left $?; stty -a"],
            encoding="utf-8", timeout=25, dimensions=(45, 110), env={**os.environ, "TERM": "xterm"},
        )  # fmt: skip
        return cls(child)

    @property
    def host(self) -> int:
        """The process id of the host itself."""
        found = subprocess.run(
            ["ps", "-o", "pid=", "--ppid", str(self.child.pid)], capture_output=True, text=True, check=True
        )
        return int(found.stdout.split()[0])

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

    def answer(self, signs: str | None = None) -> None:
        found = "".join(self.child.match.groups()).lower()
        time.sleep(0.5)
        self.child.send((signs or found) + "\r")

    def see(self, text: str) -> None:
        self.child.expect(text)

    def press(self, keys: str) -> None:
        self.child.send(keys)

    def end(self) -> tuple[int, str]:
        """The exit code and everything shown since; the terminal must be as it was."""
        self.child.expect(r"left (\d+)")
        code, text = int(self.child.match[1]), self.child.before
        self.child.expect(pexpect.EOF)
        sane = self.child.before
        self.child.close()
        for flag in ("icanon", "echo", "isig", "icrnl"):
            assert re.search(rf"(?<![-\w]){flag}\b", sane), f"the terminal was left without {flag}"
        return code, text
