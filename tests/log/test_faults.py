"""Writers that are killed, disturbed or out of room: what was confirmed is there, and the file is whole."""

import gc
import os
import signal
import sqlite3
import subprocess
import sys
import traceback
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path
from typing import TextIO

import pytest

from feedwright.targets.log import LogRefused, record, store
from feedwright.targets.log.progress import Verdict
from feedwright.targets.log.record import Recorder
from feedwright.targets.log.store import open_to_read, open_to_write

from ..whole import WHOLE
from .plans import LADDER, RUNGS, at, climbing
from .test_store import NEWER, NOW, version

needs_fork = pytest.mark.skipif(not hasattr(os, "fork"), reason="kills a child of its own")
BALLS = 4 if WHOLE else 2


def killed_at(work: Callable[[int], None], count: int, mid_statement: bool, monkeypatch: pytest.MonkeyPatch) -> bytes:
    """`work` in a child that dies by SIGKILL at its `count`-th SQL statement, or at the `count`-th 50 steps of SQLite's
    simulated machine; what it had confirmed through its pipe. A child that ends gives b"end"."""
    real, left = sqlite3.connect, [count]

    def die(*_: object) -> int:
        left[0] -= 1
        if left[0] == 0:
            os.kill(os.getpid(), signal.SIGKILL)
        return 0

    def connect(*arguments: object, **options: object) -> sqlite3.Connection:
        connection: sqlite3.Connection = real(*arguments, **options)  # type: ignore[call-overload]
        if mid_statement:
            connection.set_progress_handler(die, 50)
        else:
            connection.set_trace_callback(die)
        return connection

    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            gc.disable()  # a collection would copy what the tests have loaded
            monkeypatch.setattr(sqlite3, "connect", connect)
            work(writing)
            os.write(writing, b"end")
        finally:
            os._exit(0)
    os.close(writing)
    with os.fdopen(reading, "rb") as stream:
        confirmed = stream.read()
    os.waitpid(child, 0)
    return confirmed


def until_it_ends(attempt: Callable[[int], bytes], step: int = 1) -> Iterator[tuple[int, bytes]]:
    for count in range(1, 2000, step):
        confirmed = attempt(count)
        yield count, confirmed
        if confirmed.endswith(b"end"):
            assert count > BALLS  # it was killed at all
            return
    raise AssertionError("the writer never came to its end")


@needs_fork
@pytest.mark.parametrize("mid_statement", [False, True])
def test_a_writer_killed_at_any_statement_loses_at_most_the_last_ball(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, mid_statement: bool
) -> None:
    plan = climbing()

    def attempt(count: int) -> bytes:
        def work(pipe: int) -> None:
            with Recorder(plan, tmp_path / f"{count}.db") as recorder:
                for number in range(BALLS):
                    recorder.ball(LADDER, RUNGS[0], 0, at(number), Verdict.HIT)
                    os.write(pipe, b".")

        return killed_at(work, count, mid_statement, monkeypatch)

    for count, confirmed in until_it_ends(attempt, 3 if mid_statement and not WHOLE else 1):
        path = tmp_path / f"{count}.db"
        dots = confirmed.count(b".")
        with closing(open_to_write(path)) as database:  # and the next writer finds nothing in its way
            assert database.execute("PRAGMA integrity_check").fetchone() == ("ok",)
            assert database.execute("PRAGMA foreign_key_check").fetchall() == []
            numbers = [n for (n,) in database.execute("SELECT ball FROM balls ORDER BY ball")]
            practices = database.execute("SELECT count(*) FROM practices").fetchone()[0]
        assert numbers == list(range(1, len(numbers) + 1))
        assert dots <= len(numbers) <= dots + 1
        assert practices == (1 if numbers else 0)


@needs_fork
@pytest.mark.parametrize("mid_statement", [False, True])
def test_a_migration_killed_at_any_statement_leaves_one_version_whole(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, mid_statement: bool
) -> None:
    old = tmp_path / "old.db"
    with Recorder(climbing(), old) as recorder:
        for number in range(BALLS):
            recorder.ball(0, "steady", None, at(number), Verdict.MISS)
    monkeypatch.setattr(store, "MIGRATIONS", NEWER)

    def attempt(count: int) -> bytes:
        path = tmp_path / f"{count}.db"
        path.write_bytes(old.read_bytes())
        return killed_at(lambda pipe: open_to_write(path).close(), count, mid_statement, monkeypatch)

    for count, confirmed in until_it_ends(attempt):
        path = tmp_path / f"{count}.db"
        found = version(path)
        assert found == NOW + 2 if confirmed else found in (NOW, NOW + 1, NOW + 2)
        with closing(sqlite3.connect(path)) as database:
            columns = [row[1] for row in database.execute("PRAGMA table_info(practices)")]
            tables = [name for (name,) in database.execute("SELECT name FROM sqlite_schema")]
            assert ("place" in columns, "courts" in tables) == (found > NOW, found > NOW + 1)
        if found > NOW:
            assert version(path.with_name(f"{path.name}.version-{NOW}")) == NOW
        with closing(open_to_write(path)) as database:
            assert database.execute("SELECT count(*) FROM balls").fetchone() == (BALLS,)
        assert version(path) == NOW + 2


def writer(path: Path, balls: int) -> tuple[int, TextIO]:
    """A child that says on a pipe which ball it has written, and ends with 0 if it has written all."""
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            with Recorder(climbing(), path) as recorder:
                for number in range(balls):
                    recorder.ball(0, "steady", None, at(number), Verdict.HIT)
                    os.write(writing, f"{number + 1}\n".encode())
            os._exit(0)
        except BaseException:
            traceback.print_exc()
        finally:
            os._exit(1)
    os.close(writing)
    return child, os.fdopen(reading)


@needs_fork
@pytest.mark.parametrize("balls", [2, 2, 2, 60] if WHOLE else [2, 60])  # short ones meet while the file is being made
def test_two_processes_write_at_once(tmp_path: Path, balls: int) -> None:
    path = tmp_path / "p.db"
    both = [writer(path, balls), writer(path, balls)]
    for child, said in both:
        with said:
            assert said.read().split() == [str(number + 1) for number in range(balls)]
        assert os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == 0
    with closing(open_to_read(path)) as database:
        found = database.execute("SELECT count(*) FROM balls GROUP BY practice").fetchall()
        assert database.execute("SELECT count(*) FROM plans").fetchone() == (1,)
    assert found == [(balls,), (balls,)]


@needs_fork
def test_a_process_killed_from_outside(tmp_path: Path) -> None:
    child, said = writer(tmp_path / "p.db", 100_000)
    with said:
        told = [said.readline() for _ in range(5)]
        os.kill(child, signal.SIGKILL)
        told += said.read().splitlines()  # what it had still said before
    assert os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == -signal.SIGKILL
    last = int(told[-1])
    with closing(open_to_read(tmp_path / "p.db")) as database:
        (found,) = database.execute("SELECT count(*) FROM balls").fetchone()
    assert last <= found <= last + 1


def test_a_writer_that_waits_too_long_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "p.db"
    monkeypatch.setattr(store, "WAIT_S", 0.05)
    with Recorder(climbing(), path) as recorder, closing(open_to_write(path)) as other:
        recorder.ball(0, "steady", None, at(0), Verdict.HIT)
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(LogRefused, match="another program has been writing"):
            recorder.ball(0, "steady", None, at(4), Verdict.HIT)
        other.execute("ROLLBACK")
        assert recorder.ball(0, "steady", None, at(8), Verdict.HIT) == 2


def fills(path: Path) -> int:
    """Balls confirmed until there is no more room."""
    confirmed = 0
    with Recorder(climbing(), path) as recorder:
        recorder._database.execute("PRAGMA synchronous = OFF")  # thousands of balls; no power is lost here
        with pytest.raises(LogRefused, match="the disk is full") as refused:
            for number in range(200_000):
                recorder.ball(0, "steady", None, at(number), Verdict.HIT)
                confirmed += 1
    assert "\n" not in str(refused.value)
    return confirmed


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    disk = tmp_path / "disk"
    disk.mkdir()
    done = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=320k", "tmpfs", disk], capture_output=True, check=False
    )  # fmt: skip
    if done.returncode:
        pytest.skip("no right to mount a small disk here; the test of a small database stands in for it")
    yield disk
    subprocess.run(["umount", disk], check=True)


@pytest.mark.skipif(sys.platform != "linux", reason="mounts a tmpfs")
def test_a_full_disk_keeps_what_was_confirmed(small_disk: Path) -> None:
    path = small_disk / "p.db"
    confirmed = fills(path)
    assert confirmed > 10
    with closing(open_to_read(path)) as database:
        assert database.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        assert database.execute("SELECT count(*) FROM balls").fetchone() == (confirmed,)


def test_a_database_without_room_keeps_what_was_confirmed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The same where nothing can be mounted: SQLite gives SQLITE_FULL beyond `max_page_count`."""

    def small(path: Path) -> sqlite3.Connection:
        connection = open_to_write(path)
        connection.execute("PRAGMA max_page_count = 20")
        return connection

    monkeypatch.setattr(record, "open_to_write", small)
    confirmed = fills(tmp_path / "p.db")
    with closing(open_to_read(tmp_path / "p.db")) as database:
        assert database.execute("SELECT count(*) FROM balls").fetchone() == (confirmed,)
    assert confirmed > 10
