"""What a run is told reaches the disk in order and holds nobody up: the record first, then the practice log."""

import errno
import os
import sqlite3
import threading
import time
from collections.abc import Callable
from pathlib import Path

from feedwright.targets.log.progress import Verdict
from feedwright.targets.log.record import Recorder
from feedwright.targets.machine.replay.journal import Journal
from feedwright.targets.machine.replay.places import Ladders, places, shelf
from feedwright.targets.machine.replay.writer import Log, RunRecord, Writer

from ..log.plans import LADDER, climbing

AT_ONCE_S = 5.0
"""Handing over takes microseconds. Who waited would wait twice as long for a log that is held, and for ever for a gate
or a pipe; no busy machine keeps a thread from its core for that long."""


class Paper(Journal):
    """A record that keeps what it is told, by whom, and may be slow or full."""

    def __init__(self, gate: threading.Event | None = None, full_after: int = 1000) -> None:
        self.said: list[tuple[object, ...]] = []
        self.threads: set[str] = set()
        self._gate, self._left = gate, full_after

    def _write(self, entry: dict[str, object], lead: bytes = b"") -> None:
        if self._gate:
            self._gate.wait()
        self.threads.add(threading.current_thread().name)
        if not self._left:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        self._left -= 1
        self.said.append(tuple(entry.values()))

    def begin(self, facts: dict[str, object]) -> None:
        self._write({"what": "run", **facts})

    def close(self) -> None:
        self.said.append(("closed",))


def until(true: Callable[[], bool]) -> None:
    end = time.monotonic() + 5
    while not true():
        assert time.monotonic() < end
        time.sleep(0.001)


def at_once(act: Callable[[], object]) -> bool:
    """Whether it comes back while what it might wait for is still held."""
    acting = threading.Thread(target=act, daemon=True)
    acting.start()
    acting.join(AT_ONCE_S)
    return not acting.is_alive()


def one_ball(record: RunRecord, number: int) -> None:
    record.begin({"run": "r"})
    record.sent(number, climbing().blocks[LADDER].shots[0])
    record.fate(number, "gone")
    record.mark(number, True)


NUMBER = next(place.number for place in places(climbing()) if place.block == LADDER)


def play(db: Path, verdicts: list[bool | None], lose: int = 0) -> list[str]:
    """Balls of the ladder, each gone and judged as said (None: not judged), the ball `lose` missed by the machine."""
    plan = climbing()
    log, writer = Log(plan, lambda: Recorder(plan, db)), Writer("record")
    held = shelf(plan, log.rungs())
    ladder = [place for place in places(plan) if place.block == LADDER]
    ladders, record = Ladders(held), RunRecord(Paper(), "run", writer, log, places(plan))
    thrown = []
    for number, (place, hit) in enumerate(zip(ladder, verdicts, strict=False), start=1):
        shot = ladders.choose(place)
        record.sent(place.number, shot)
        record.fate(place.number, "missed" if number == lose else "gone")
        thrown.append(shot)
        if hit is not None:
            record.mark(place.number, hit)
            ladders.mark(place, shot, Verdict.HIT if hit else Verdict.MISS)
    assert writer.close(5)
    log.close()
    assert log.trouble == "" == record.trouble
    return thrown


def kept(db: Path) -> list[tuple[int, str]]:
    with sqlite3.connect(db) as database:
        return database.execute(
            "SELECT shots.rung, verdict FROM balls JOIN shots ON shots.id = balls.shot ORDER BY ball"
        ).fetchall()


def test_balls_and_verdicts_reach_the_log(tmp_path: Path) -> None:
    thrown = play(tmp_path / "log.sqlite", [True, False, None])
    rungs = list(climbing().blocks[LADDER].ladder.shots)  # type: ignore[union-attr]
    assert kept(tmp_path / "log.sqlite") == [(rungs.index(shot), v) for shot, v in zip(thrown, "hmn", strict=True)]


def test_a_ball_that_was_never_thrown_is_not_in_the_log(tmp_path: Path) -> None:
    play(tmp_path / "log.sqlite", [True, None, True], lose=2)
    assert [verdict for _, verdict in kept(tmp_path / "log.sqlite")] == ["h", "h"]


def test_the_next_practice_begins_on_the_rung_last_held(tmp_path: Path) -> None:
    ladder = climbing().blocks[LADDER].ladder
    assert ladder
    first = play(tmp_path / "log.sqlite", [True] * ladder.up.hits)
    assert set(first) == {ladder.shots[0]}
    assert play(tmp_path / "log.sqlite", [None])[0] == ladder.shots[1]


def test_each_run_is_a_practice_of_its_own_however_often_it_goes_on(tmp_path: Path) -> None:
    plan, shot = climbing(), climbing().blocks[LADDER].shots[0]
    for start in range(2):  # the second goes on with both
        log = Log(plan, lambda: Recorder(plan, tmp_path / "log.sqlite"))
        for run, ball in (("aa" * 8, NUMBER), ("bb" * 8, NUMBER), ("aa" * 8, NUMBER + 1)):
            log.ball(run, ball + 2 * start, LADDER, shot)
        log.close()
        assert log.trouble == ""
    with sqlite3.connect(tmp_path / "log.sqlite") as database:
        assert database.execute("SELECT count(*) FROM balls GROUP BY practice ORDER BY 1").fetchall() == [(2,), (4,)]


def test_a_mark_taken_back_is_taken_back_in_record_and_log(tmp_path: Path) -> None:
    plan, paper, writer = climbing(), Paper(), Writer("record")
    log = Log(plan, lambda: Recorder(plan, tmp_path / "log.sqlite"))
    record = RunRecord(paper, "run", writer, log, places(plan))
    one_ball(record, NUMBER)
    record.mark(NUMBER, None)
    writer.close(5)
    log.close()
    assert paper.said[-2:] == [("mark", NUMBER, True), ("mark", NUMBER, None)]
    assert [verdict for _, verdict in kept(tmp_path / "log.sqlite")] == ["n"]


def test_the_record_is_written_in_order_by_a_thread_of_its_own() -> None:
    paper, writer = Paper(), Writer("record")
    record = RunRecord(paper, "run", writer, None, places(climbing()))
    one_ball(record, NUMBER)
    record.close()
    until(record.written)
    shot = climbing().blocks[LADDER].shots[0]
    assert paper.said == [
        ("run", "r"), ("sent", NUMBER, shot), ("fate", NUMBER, "gone"), ("mark", NUMBER, True), ("closed",)
    ]  # fmt: skip
    assert paper.threads == {"record"}


def test_a_stalled_disk_keeps_nobody_waiting_and_written_says_so() -> None:
    gate = threading.Event()
    writer = Writer("record")
    record = RunRecord(Paper(gate), "run", writer, None, places(climbing()))
    assert record.written() and at_once(lambda: one_ball(record, NUMBER))
    assert not record.written() and record.trouble == ""
    assert at_once(lambda: writer.close(0.1))  # the end waits so long and no longer
    gate.set()
    until(record.written)


def test_a_journal_on_a_pipe_that_nobody_reads_keeps_nobody_waiting(tmp_path: Path) -> None:
    """Opening a FIFO to write waits for a reader: the slowest disk there is."""
    os.mkfifo(tmp_path / "aa-bb.jsonl")
    writer = Writer("record")
    record = RunRecord(Journal(tmp_path, "aa", "bb"), "bb", writer, None, places(climbing()))
    assert at_once(lambda: one_ball(record, NUMBER))
    assert not record.written() and not writer.close(0.05)
    os.close(os.open(tmp_path / "aa-bb.jsonl", os.O_RDONLY | os.O_NONBLOCK))  # let its thread go


def test_a_full_disk_is_told_in_a_sentence() -> None:
    record = RunRecord(Paper(full_after=1), "run", Writer("record"), None, places(climbing()))
    one_ball(record, NUMBER)
    until(lambda: record.trouble != "")
    assert record.trouble == "The record cannot be written: the disk is full" and not record.written()


def test_a_log_that_another_program_holds_delays_neither_ball_nor_record(tmp_path: Path) -> None:
    db, plan = tmp_path / "log.sqlite", climbing()
    Recorder(plan, db).close()
    other = sqlite3.connect(db, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    log, writer, paper = Log(plan, lambda: Recorder(plan, db)), Writer("record"), Paper()
    log.rungs()
    record = RunRecord(paper, "run", writer, log, places(plan))
    assert at_once(lambda: one_ball(record, NUMBER))
    until(record.written)
    assert len(paper.said) == 4 and kept(db) == []
    other.execute("ROLLBACK")
    writer.close(5)
    log.close(5)
    assert log.trouble == "" and [verdict for _, verdict in kept(db)] == ["h"]


def test_a_log_held_until_the_end_is_told_with_how_many_balls_it_lacks(tmp_path: Path) -> None:
    db, plan = tmp_path / "log.sqlite", climbing()
    Recorder(plan, db).close()
    other = sqlite3.connect(db, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    log, writer = Log(plan, lambda: Recorder(plan, db)), Writer("record")
    one_ball(RunRecord(Paper(), "run", writer, log, places(plan)), NUMBER)
    writer.close(5)
    assert at_once(lambda: log.close(0.2))
    assert log.trouble == "1 ball of this practice is not in it: another program held it until the end"
    other.close()


def test_a_damaged_log_keeps_no_replay_from_starting(tmp_path: Path) -> None:
    db, plan = tmp_path / "log.sqlite", climbing()
    db.write_bytes(b"not a log" * 1000)
    log, writer, paper = Log(plan, lambda: Recorder(plan, db)), Writer("record"), Paper()
    assert log.rungs() == {} and "damaged" in log.trouble
    record = RunRecord(paper, "run", writer, log, places(plan))
    one_ball(record, NUMBER)
    until(record.written)
    writer.close(5)
    log.close()
    assert log.trouble.startswith("1 ball of this practice is not in it: cannot use the practice log")
