"""A practice that was cut and goes on, and a log that cannot be kept: known before the first ball, never a fault."""

import sqlite3
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from random import Random

import pytest

from feedwright.targets.log import LogRefused, record
from feedwright.targets.log.exchange import merge
from feedwright.targets.log.progress import Verdict
from feedwright.targets.log.record import Recorder
from feedwright.targets.log.store import open_to_read, open_to_write

from ..whole import WHOLE
from .plans import LADDER, RUNGS, at, climbing

TRIES = 400 if WHOLE else 150
ONE, TWO = "1" * 32, "2" * 32
HIT, MISS, OPEN = Verdict.HIT, Verdict.MISS, Verdict.NOT_JUDGED


def balls(path: Path) -> list[tuple[str, int, str]]:
    with closing(open_to_read(path)) as database:
        return database.execute("SELECT practice, ball, verdict FROM log ORDER BY practice, ball").fetchall()


def test_a_practice_goes_on_where_it_was_cut(tmp_path: Path) -> None:
    path = tmp_path / "p.db"
    for number in range(4):  # a process each
        with Recorder(climbing(), path) as log:
            log.begin(ONE)
            assert log.ball(0, "steady", None, at(4 * number), OPEN) == number + 1
            log.judge(number + 1, HIT)
            if number:
                log.judge(number, MISS)  # a ball of the start before
    assert balls(path) == [(ONE, 1, "miss"), (ONE, 2, "miss"), (ONE, 3, "miss"), (ONE, 4, "hit")]


def test_runs_of_one_start_are_practices_of_their_own(tmp_path: Path) -> None:
    path = tmp_path / "p.db"
    with Recorder(climbing(), path) as log:
        for uid in (ONE, TWO, ONE):
            log.begin(uid)
            log.ball(LADDER, RUNGS[0], 0, at(0), HIT)
        log.begin("3" * 32)  # armed, and nothing thrown: no practice
    assert [(uid, number) for uid, number, _ in balls(path)] == [(ONE, 1), (ONE, 2), (TWO, 1)]


def test_a_practice_that_went_on_comes_once_by_merging_too(tmp_path: Path) -> None:
    here, there = tmp_path / "here.db", tmp_path / "there.db"
    for path, count in ((here, 2), (there, 3)):  # a copy that was taken before the practice went on
        with Recorder(climbing(), path) as log:
            log.begin(ONE)
            for number in range(count):
                log.ball(0, "steady", None, at(number), HIT)
    assert merge(here, there) == (0, 1) and [number for _, number, _ in balls(here)] == [1, 2, 3]


def test_a_log_that_another_program_holds_is_known_soon(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(record, "READY_MS", 100)
    with Recorder(climbing(), tmp_path / "p.db") as log, closing(open_to_write(tmp_path / "p.db")) as other:
        log.ready()
        other.execute("BEGIN IMMEDIATE")
        began = time.monotonic()
        with pytest.raises(LogRefused, match="another program has been writing"):
            log.ready()
        assert time.monotonic() - began < 9  # a tenth of a second on a busy machine; others wait for ten
        other.execute("ROLLBACK")
        log.ready()


@pytest.fixture
def full_disk(tmp_path: Path) -> Iterator[Path]:
    disk = tmp_path / "disk"
    disk.mkdir()
    done = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=512k", "tmpfs", disk], capture_output=True, check=False
    )  # fmt: skip
    if done.returncode:
        pytest.skip("no right to mount a small disk here")
    yield disk
    subprocess.run(["umount", disk], check=True)


def fill(disk: Path) -> None:
    with (disk / "other").open("wb", buffering=0) as file:
        try:
            while file.write(bytes(4096)):
                pass
        except OSError:
            return


@pytest.mark.skipif(sys.platform != "linux", reason="mounts a tmpfs")
def test_a_full_disk_is_called_full_before_and_while_playing(full_disk: Path) -> None:
    path = full_disk / "p.db"
    with Recorder(climbing(), path) as log:
        log.ball(0, "steady", None, at(0), HIT)
        log.ready()
        fill(full_disk)
        with pytest.raises(LogRefused, match="the disk is full"):
            log.ready()
        with pytest.raises(LogRefused, match="the disk is full"):
            for number in range(2000):
                log.ball(0, "steady", None, at(number), HIT)
    with pytest.raises(LogRefused, match="the disk is full"):
        open_to_write(full_disk / "new" / "p.db")
    with pytest.raises(LogRefused, match="the disk is full"):
        Recorder(climbing(), full_disk / "q.db")


def test_a_damaged_log_is_refused_in_a_sentence_or_works(tmp_path: Path) -> None:
    """Bytes of a log changed at random, and rows that no Feedwright wrote: whatever a replay asks before it arms."""
    path, random = tmp_path / "p.db", Random(20)
    with Recorder(climbing(), path) as log:
        for number in range(60):
            log.ball(LADDER, RUNGS[0], 0, at(number), HIT)
    with closing(sqlite3.connect(path)) as database:
        database.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    whole, ends = path.read_bytes(), Counter[str]()
    for _ in range(TRIES):
        data = bytearray(whole)
        for _ in range(random.choice((1, 20, 400))):
            data[random.randrange(100, len(data))] = random.randrange(256)
        path.write_bytes(data)
        for side in ("-wal", "-shm"):
            path.with_name(path.name + side).unlink(missing_ok=True)
        try:
            with Recorder(climbing(), path) as log:
                log.ready()
                log.starting_rung(LADDER)
                log.begin(ONE)
                log.ball(LADDER, RUNGS[0], 0, at(0), HIT)
            ends["worked"] += 1
        except LogRefused as refused:
            assert "\n" not in str(refused)
            ends["refused"] += 1
    assert min(ends["refused"], ends["worked"]) > TRIES / 8, ends


@pytest.mark.parametrize(
    "change",
    ["UPDATE shots SET rung = 99 WHERE rung = 0", "UPDATE lanes SET up = 0 WHERE ladder IS NOT NULL",
     "UPDATE balls SET verdict = 'x'", "UPDATE shots SET label = CAST(x'ff' AS TEXT) WHERE rung = 0",
     "UPDATE lanes SET up = 'often' WHERE ladder IS NOT NULL", "DELETE FROM shots WHERE rung = 0"],
)  # fmt: skip
def test_rows_that_make_no_sense_keep_no_replay_from_starting(tmp_path: Path, change: str) -> None:
    path = tmp_path / "p.db"
    with Recorder(climbing(), path) as log:
        log.ball(LADDER, RUNGS[0], 0, at(0), HIT)
    with closing(sqlite3.connect(path)) as database, database:
        database.execute("PRAGMA ignore_check_constraints = ON")
        database.execute(change)
    with Recorder(climbing(), path) as log:
        try:
            assert log.starting_rung(LADDER) in (0, 1, 2)
        except LogRefused as refused:
            assert "damaged" in str(refused) or "cannot use" in str(refused)
