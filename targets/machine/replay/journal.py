"""The record of a run on disk: one line of JSON for each step, written before the step is taken.

What is read back counts a ball as thrown from the moment it was about to be sent, whatever became of it.
"""

import errno
import json
import os
import re
import stat
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

LARGEST = 16 * 1024 * 1024
MOST = 1_000_000
"""Largest ball number in a record; a larger one means damage."""
ROOM = 64 * 1024
"""Bytes that some hundred balls take; with less free space no run begins."""
_WORD = re.compile(r"[0-9a-f]{16}", re.ASCII)
FULL = frozenset({errno.ENOSPC, errno.EFBIG, getattr(errno, "EDQUOT", errno.ENOSPC)})
"""Error numbers for no room on the disk, in the quota or for a file of this size."""
HELD = "another replay of this run is open"
TEST_BALLS = "Test balls, nobody in front"
"""The title of a run of test balls; in an older record only the title identifies them."""


class Journal:
    """One run's file. It raises OSError: without a record nothing is armed and no run goes on. `about` holds facts for
    the reader of the record that the host does not write."""

    def __init__(self, folder: Path, fp: str, run: str, about: Mapping[str, object] | None = None) -> None:
        self.path = folder / f"{fp}-{run}.jsonl"
        self._about = dict(about or {})
        self._file: int | None = None

    def take(self) -> None:
        """Open the file for this process alone without writing. OSError with HELD if another process has it."""
        if self._file is not None:
            return
        with _named():
            self.path.parent.mkdir(parents=True, exist_ok=True)
            new = not self.path.exists()
            file = os.open(self.path, os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o600)
            try:
                _lock(file)
                if os.name == "posix":
                    os.fchmod(file, 0o600)  # an older file, too
                if new and os.name == "posix":
                    folder = os.open(self.path.parent, os.O_RDONLY)
                    os.fsync(folder)
                    os.close(folder)
            except OSError:
                os.close(file)
                raise
            self._file = file

    def begin(self, facts: dict[str, object]) -> None:
        """Write the facts of this start of the run; opens the file first if necessary."""
        self.take()
        # The line end closes a line that a crash may have left unfinished.
        self._write({"what": "run", **facts, **self._about}, lead=b"\n")

    def sent(self, ball: int, shot: str) -> None:
        self._write({"what": "sent", "ball": ball, "shot": shot})

    def fate(self, ball: int, fate: str) -> None:
        self._write({"what": "fate", "ball": ball, "fate": fate})

    def mark(self, ball: int, hit: bool | None) -> None:
        """A ball's newest mark counts; None takes the mark back."""
        self._write({"what": "mark", "ball": ball, "hit": hit})

    def close(self) -> None:
        if self._file is not None:
            os.close(self._file)
            self._file = None

    def _write(self, entry: dict[str, object], lead: bytes = b"") -> None:
        if self._file is None:
            raise OSError("it was not opened")
        entry = {"at": datetime.now(UTC).isoformat(timespec="milliseconds"), **entry}
        data = lead + json.dumps(entry, ensure_ascii=True, allow_nan=False).encode("ascii") + b"\n"
        with _named():
            if os.write(self._file, data) != len(data):  # only a full disk takes part of so short a line
                raise OSError(errno.ENOSPC, "")
            os.fsync(self._file)


@contextmanager
def _named() -> Iterator[None]:
    """Report a full disk by name."""
    try:
        yield
    except OSError as error:
        if error.errno in FULL:
            raise OSError(error.errno, "the disk is full") from error
        raise


@dataclass(frozen=True, slots=True)
class RecordedBall:
    """One ball of a record. `fate` is gone, missed or unknown; `hit` is its newest mark, None without a mark."""

    ball: int
    shot: str
    fate: str
    hit: bool | None


@dataclass(frozen=True, slots=True)
class Past:
    """The content of a run's record. `next` is the first ball that was never about to be sent."""

    run: str
    first: int
    next: int
    last: int
    balls: tuple[RecordedBall, ...]
    """In order of number."""
    title: str
    first_balls: bool
    rungs: Mapping[int, int]
    """The rung on which each block's ladder began."""
    port: str
    """"" in a record that does not say."""
    plan: str
    """The path of the plan's file; "" in a record that does not say."""
    began: datetime

    @property
    def over(self) -> bool:
        return self.next > self.last

    @property
    def gone(self) -> int | None:
        return max((thrown.ball for thrown in self.balls if thrown.fate == "gone"), default=None)

    @property
    def unknown(self) -> tuple[int, ...]:
        return tuple(thrown.ball for thrown in self.balls if thrown.fate == "unknown")

    @property
    def name(self) -> str:
        """A short name for people, which `--continue` accepts."""
        return self.run[:6]


def unwritable(folder: Path) -> str:
    """Why no record can be kept in a folder, "" if one can. Makes the folder if it is missing."""
    try:
        with _named():
            folder.mkdir(parents=True, exist_ok=True)
            with tempfile.TemporaryFile(dir=folder) as file:
                file.write(bytes(ROOM))
    except (OSError, ValueError) as error:
        return getattr(error, "strerror", None) or str(error)
    return ""


def past(path: Path) -> Past | None:
    """A record read back; None if the file is not a record. A damaged last line counts as one more ball."""
    found = _WORD.fullmatch(path.stem.rpartition("-")[2])
    try:
        about = path.stat()
        if found is None or not stat.S_ISREG(about.st_mode) or about.st_size > LARGEST:
            return None
        entries = list(_entries(path))
    except OSError:
        return None
    runs = [entry for entry in entries if entry and entry.get("what") == "run" and _spans(entry)]
    if not runs:
        return None
    shots, fates, marks = dict[int, str](), dict[int, str](), dict[int, bool | None]()
    for entry in filter(None, entries):
        ball, what = _ball(entry.get("ball")), entry.get("what")
        if ball is None:
            continue
        if what == "sent":
            shots[ball], fates[ball] = str(entry.get("shot")), "unknown"
        elif what == "fate":
            fates[ball] = str(entry.get("fate"))
        elif what == "mark" and (entry.get("hit") is None or type(entry.get("hit")) is bool):
            marks[ball] = entry.get("hit")
    new = runs[-1]
    # The run had reached the first ball of its newest start, even if a damaged line hides the balls before it.
    reached = max([ball + 1 for ball in fates] + [run["first"] for run in runs])
    if entries[-1] is None:
        shots[reached], fates[reached] = "", "unknown"
        reached += 1
    balls = tuple(RecordedBall(b, shots.get(b, ""), fate, marks.get(b)) for b, fate in sorted(fates.items()))
    return Past(
        found[0], runs[0]["first"], reached, new["last"], balls, str(new.get("title", "")),
        new.get("first_balls", str(new.get("title")) == TEST_BALLS) is True, _rungs(runs[0].get("rungs")),
        str(new.get("port", "")), str(new.get("plan", "")), _moment(runs[0].get("at"), about.st_mtime),
    )  # fmt: skip


def records(folder: Path, fp: str = "") -> list[Past]:
    """The runs of one plan or of all, without test balls, newest first. Unreadable records are left out."""
    try:
        paths = list(folder.glob(f"{fp or '*'}-*.jsonl"))
    except OSError:
        return []
    times = []
    for path in paths:
        with suppress(OSError):
            times.append((path.stat().st_mtime_ns, path))
    found = (past(path) for _, path in sorted(times, reverse=True))
    return [run for run in found if run and not run.first_balls]


def _ball(number: Any) -> int | None:
    return number if type(number) is int and 1 <= number <= MOST else None


def _spans(entry: dict[str, Any]) -> bool:
    return None not in (_ball(entry.get("first")), _ball(entry.get("last")))


def _rungs(given: Any) -> dict[int, int]:
    pairs = given.items() if isinstance(given, dict) else ()
    return {int(b): rung for b, rung in pairs if b.isascii() and b.isdigit() and len(b) < 7 and type(rung) is int}


def _moment(text: Any, otherwise: float) -> datetime:
    with suppress(ValueError, TypeError, OverflowError):
        return datetime.fromisoformat(text).astimezone()
    return datetime.fromtimestamp(otherwise).astimezone()


def _entries(path: Path) -> Iterator[dict[str, Any] | None]:
    """The entries of a record; None for a line that is damaged or not an entry."""
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
    except ImportError:  # on other systems only one process can hold the port itself
        return
    try:
        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError as error:
        raise OSError(error.errno, HELD) from error
