"""The record of a run on disk: a line of JSON for each step, on the disk before the step is taken.

What is read back counts a ball as thrown from the moment it was about to be sent, whatever became of it.
"""

import json
import os
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

LARGEST = 16 * 1024 * 1024
_WORD = re.compile(r"[0-9a-f]{16}", re.ASCII)


class Journal:
    """One run's file. OSError comes through: without a record nothing is armed and nothing goes on."""

    def __init__(self, folder: Path, fp: str, run: str) -> None:
        self.path = folder / f"{fp}-{run}.jsonl"
        self._file: int | None = None

    def begin(self, facts: dict[str, object]) -> None:
        """Open the file for this process alone, and write what this sitting is about."""
        if self._file is None:
            self.path.parent.mkdir(parents=True, exist_ok=True)
            new = not self.path.exists()
            self._file = os.open(self.path, os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o600)
            _lock(self._file)
            if os.name == "posix":
                os.fchmod(self._file, 0o600)  # one that is older, too
            if new and os.name == "posix":
                folder = os.open(self.path.parent, os.O_RDONLY)
                os.fsync(folder)
                os.close(folder)
        self._write({"what": "run", **facts}, lead=b"\n")  # ends a line that a crash may have left unfinished

    def sent(self, ball: int, shot: str) -> None:
        self._write({"what": "sent", "ball": ball, "shot": shot})

    def fate(self, ball: int, fate: str) -> None:
        self._write({"what": "fate", "ball": ball, "fate": fate})

    def mark(self, ball: int, hit: bool | None) -> None:
        self._write({"what": "mark", "ball": ball, "hit": hit})

    def close(self) -> None:
        if self._file is not None:
            os.close(self._file)
            self._file = None

    def _write(self, entry: dict[str, object], lead: bytes = b"") -> None:
        if self._file is None:
            raise OSError("it was not opened")
        data = lead + json.dumps(entry, ensure_ascii=True, allow_nan=False).encode("ascii") + b"\n"
        if os.write(self._file, data) != len(data):
            raise OSError("the disk took only a part of a line")
        os.fsync(self._file)


@dataclass(frozen=True, slots=True)
class Past:
    """What the record of a run says. `next` is the first ball that was never about to be sent."""

    run: str
    next: int
    last: int
    gone: int | None
    unknown: tuple[int, ...]
    title: str

    @property
    def over(self) -> bool:
        return self.next > self.last


def past(path: Path) -> Past | None:
    """A record read back; None where it is none. A last line that is torn counts as one ball more."""
    found = _WORD.search(path.stem.partition("-")[2])
    if found is None or path.stat().st_size > LARGEST:
        return None
    first, last, title, fates, torn = 1, 0, "", dict[int, str](), False
    for entry in _entries(path):
        torn = entry is None
        if entry is None:
            continue
        ball = entry.get("ball")
        if entry.get("what") == "run" and type(entry.get("last")) is int and type(entry.get("first")) is int:
            first, last, title = entry["first"], entry["last"], str(entry.get("title", ""))
        elif entry.get("what") == "sent" and type(ball) is int:
            fates[ball] = "unknown"
        elif entry.get("what") == "fate" and type(ball) is int:
            fates[ball] = str(entry.get("fate"))
    reached = max(fates, default=first - 1) + 1 + torn
    gone = max((ball for ball, fate in fates.items() if fate == "gone"), default=None)
    unknown = tuple(ball for ball, fate in sorted(fates.items()) if fate == "unknown")
    return Past(found[0], reached, last, gone, unknown + ((reached - 1,) if torn else ()), title)


def latest(folder: Path, fp: str, title: str) -> Past | None:
    """The newest run of a program, finished or not."""
    try:
        paths = sorted(folder.glob(f"{fp}-*.jsonl"), key=lambda path: path.stat().st_mtime_ns, reverse=True)
        runs = (past(path) for path in paths)
        return next((run for run in runs if run and run.title == title), None)
    except OSError:
        return None


def _entries(path: Path) -> Iterator[dict[str, Any] | None]:
    """The entries of a record, None for a line that is torn or no entry."""
    for line in path.read_bytes().split(b"\n"):
        if not line.strip():
            continue
        try:
            entry = json.loads(line)
        except (ValueError, RecursionError):
            yield None
            continue
        yield entry if isinstance(entry, dict) else None


def _lock(file: int) -> None:
    try:
        import fcntl
    except ImportError:  # elsewhere the port itself is held by one process only
        return
    try:
        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError as error:
        raise OSError(error.errno, "another replay of this run is open") from error
