"""Writers: the entries for a run's record and for the practice log, written in order by threads of their own.

The caller never waits. The record comes first: the log gets a ball once the record has it. The log has a separate
thread, so a log that is locked or slow never delays the record.
"""

import contextlib
import sqlite3
import threading
import time
from collections.abc import Callable, Mapping, Sequence
from datetime import datetime
from functools import partial
from queue import SimpleQueue

from ....compiler.model.plan import Plan
from ....compiler.printable import plural
from ...log import LogRefused
from ...log.progress import Verdict
from ...log.record import Recorder, practice_of
from .journal import FULL, Journal
from .places import Place

DRAIN_S = 2.0
"""How long the end waits for entries that are not on the disk yet."""
OPEN_S = 3.0
"""How long the start waits for the practice log."""


class Writer:
    """One thread that does its tasks in order."""

    def __init__(self, name: str) -> None:
        self._tasks: SimpleQueue[Callable[[], None] | None] = SimpleQueue()
        self._ended = threading.Event()
        # A disk that never answers must not keep the program from ending: it then reports what was not written.
        threading.Thread(target=self._work, name=name, daemon=True).start()

    def hand(self, task: Callable[[], None]) -> None:
        """Add a task, which must raise nothing; returns at once."""
        self._tasks.put(task)

    def close(self, within_s: float) -> bool:
        """Whether every task was done within that time."""
        self._tasks.put(None)
        return self._ended.wait(within_s)

    def _work(self) -> None:
        while (task := self._tasks.get()) is not None:
            task()
        self._ended.set()


class Log:
    """The player's practice log, kept by the one thread that has its connection; `trouble`: why it is not kept."""

    def __init__(self, plan: Plan, opened: Callable[[], Recorder] | None) -> None:
        self._ladders = {block.index: block.ladder for block in plan.blocks if block.ladder}
        self._opened, self.trouble, self._at_start = opened, "", ""
        self._recorder: Recorder | None = None
        self._ready, self._rungs = threading.Event(), dict[int, int]()
        self._numbers: dict[tuple[str, int], int] = {}
        self._run = ""
        self._handed = self._kept = 0
        self._over = False
        self._writer = Writer("practice log") if opened else None
        if self._writer:
            self._writer.hand(self._open)
        else:
            self._ready.set()

    def rungs(self, within_s: float = OPEN_S) -> Mapping[int, int]:
        """The rung on which each ladder begins: where it last stood. Waits for the log, before anything is armed."""
        if not self._ready.wait(within_s):
            self.trouble = "it does not answer; ladders begin at their start"
            return {}
        return dict(self._rungs)

    def ball(self, run: str, ball: int, block: int, shot: str) -> None:
        """A ball has left."""
        if self._writer:
            self._handed += 1
            self._writer.hand(partial(self._keep, partial(self._add, (run, ball), block, shot, _now()), 1))

    def judge(self, run: str, ball: int, hit: bool | None) -> None:
        verdict = Verdict.NOT_JUDGED if hit is None else Verdict.HIT if hit else Verdict.MISS
        if self._writer:
            self._writer.hand(partial(self._keep, partial(self._judge, (run, ball), verdict), 0))

    def close(self, within_s: float = DRAIN_S) -> None:
        """Wait for the last entries; afterwards `trouble` says what was not kept."""
        if self._writer is None:
            return
        self._writer.hand(self._shut)
        self._over = not self._writer.close(within_s)
        if owed := self._handed - self._kept:
            why = self.trouble or "another program held it until the end"
            are = "is" if owed == 1 else "are"
            self.trouble = f"{plural(owed, 'ball')} of this practice {are} not in it: {why}"

    # ---- on the log's thread

    def _open(self) -> None:
        assert self._opened is not None
        try:
            self._recorder = self._opened()
            for block in self._ladders:
                self._rungs[block] = self._recorder.starting_rung(block)
            self._recorder.ready()
            self.trouble = ""  # late, but the log is kept
        except Exception as error:  # a replay goes on without the log, whatever is wrong with it
            self.trouble = self._at_start = str(error) if isinstance(error, LogRefused | OSError) else _odd(error)
        self._ready.set()

    def _keep(self, write: Callable[[], None], balls: int) -> None:
        """Write, and try again as long as another program holds the log."""
        while self._recorder is not None and not self._over:
            try:
                write()
            except LogRefused as refused:
                if _held(refused):
                    time.sleep(0.02)  # only this thread waits
                    continue
                self.trouble = self.trouble or str(refused)
            except Exception as error:
                self.trouble = self.trouble or _odd(error)
            else:
                self._kept += balls
                if self.trouble == self._at_start:
                    self.trouble = ""  # the other program has released it
            return

    def _add(self, key: tuple[str, int], block: int, shot: str, when: datetime) -> None:
        ladder = self._ladders.get(block)
        rung = ladder.at(shot) if ladder else None
        self._numbers[key] = self._of(key[0]).ball(block, shot, rung, when, Verdict.NOT_JUDGED, key[1])

    def _judge(self, key: tuple[str, int], verdict: Verdict) -> None:
        if key in self._numbers:
            self._of(key[0]).judge(self._numbers[key], verdict)

    def _of(self, run: str) -> Recorder:
        """The log, set to the practice of a run: one practice, however often the run goes on."""
        assert self._recorder is not None
        if run != self._run:
            self._recorder.begin(practice_of(run))
            self._run = run
        return self._recorder

    def _shut(self) -> None:
        if self._recorder is not None:
            with contextlib.suppress(sqlite3.Error):
                self._recorder.close()


class RunRecord:
    """The record of one run: journal first, then the log. Every call returns at once.

    `written()` is true when all of it is on the disk; `trouble` says in one sentence why it cannot be."""

    def __init__(self, journal: Journal, run: str, writer: Writer, log: Log | None, places: Sequence[Place]) -> None:
        self._journal, self._run, self._writer, self._log = journal, run, writer, log
        self._blocks = {place.number: place.block for place in places}
        self._shots: dict[int, str] = {}
        self._handed = self._done = 0
        self.trouble = ""

    def begin(self, facts: dict[str, object]) -> None:
        self._hand(lambda: self._journal.begin(facts))

    def sent(self, ball: int, shot: str) -> None:
        self._shots[ball] = shot
        self._hand(lambda: self._journal.sent(ball, shot))

    def fate(self, ball: int, fate: str) -> None:
        shot, log = self._shots.get(ball), self._log
        self._hand(lambda: self._journal.fate(ball, fate))
        if fate == "gone" and shot is not None and log is not None:
            self._hand(lambda: log.ball(self._run, ball, self._blocks[ball], shot))

    def mark(self, ball: int, hit: bool | None) -> None:
        log = self._log
        self._hand(lambda: self._journal.mark(ball, hit))
        if log is not None:
            self._hand(lambda: log.judge(self._run, ball, hit))

    def close(self) -> None:
        self._hand(self._journal.close)

    def written(self) -> bool:
        return not self.trouble and self._done == self._handed

    def _hand(self, write: Callable[[], None]) -> None:
        self._handed += 1
        self._writer.hand(lambda: self._do(write))

    def _do(self, write: Callable[[], None]) -> None:
        try:
            write()
        except OSError as error:
            what = "the disk is full" if error.errno in FULL else error.strerror or str(error)
            self.trouble = self.trouble or f"The record cannot be written: {what}"
        except Exception as error:
            self.trouble = self.trouble or f"The record cannot be written: {_odd(error)}"
        self._done += 1


def _now() -> datetime:
    return datetime.now().astimezone()


def _odd(error: Exception) -> str:
    return f"a fault in the program itself ({type(error).__name__})"


def _held(refused: LogRefused) -> bool:
    """Whether the only problem is that another program holds the log."""
    cause = refused.__cause__
    code = getattr(cause, "sqlite_errorcode", None) if isinstance(cause, sqlite3.OperationalError) else None
    return code is not None and code & 0xFF in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED)
