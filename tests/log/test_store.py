"""The file of the log: where it is, what it takes, its versions, and trouble with it in one sentence."""

import os
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from contextlib import closing
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from feedwright.targets.log import LogRefused, schema, store
from feedwright.targets.log.progress import Verdict
from feedwright.targets.log.record import Recorder
from feedwright.targets.log.store import back_ups, default_path, moment, open_to_read, open_to_write, utc

from .plans import LADDER, at, climbing

HIT, MISS = Verdict.HIT, Verdict.MISS


@pytest.fixture
def log(tmp_path: Path) -> Path:
    """A log of two balls."""
    path = tmp_path / "new folder #?%" / "practice.db"
    with Recorder(climbing(), path) as recorder:
        recorder.ball(0, "steady", None, at(0), HIT)
        recorder.ball(2, "kicker", None, at(4), MISS)
    return path


def letters(path: Path) -> list[str]:
    with closing(open_to_read(path)) as database:
        return [v for (v,) in database.execute("SELECT verdict FROM balls ORDER BY practice, ball")]


def one_sentence(refused: pytest.ExceptionInfo[LogRefused]) -> str:
    text = str(refused.value)
    assert text and "\n" not in text and "Error" not in text and not text.endswith(".")
    return text


def test_where_the_log_is(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("FEEDWRIGHT_DB", "/somewhere/else.db")
    assert default_path() == Path("/somewhere/else.db")
    monkeypatch.delenv("FEEDWRIGHT_DB")
    monkeypatch.setenv("HOME", "/home/player")
    for platform, given, folder in (
        ("linux", "/data", "/data/feedwright"),
        ("linux", "relative", "/home/player/.local/share/feedwright"),  # XDG Base Directory Specification: ignored
        ("linux", "", "/home/player/.local/share/feedwright"),
        ("darwin", "/data", "/home/player/Library/Application Support/feedwright"),
    ):
        monkeypatch.setattr(sys, "platform", platform)
        monkeypatch.setenv("XDG_DATA_HOME", given)
        assert default_path() == Path(folder) / "practice.db"
    monkeypatch.setattr(sys, "platform", "win32")
    monkeypatch.setenv("LOCALAPPDATA", "/local")
    assert default_path() == Path("/local/feedwright/practice.db")


def test_one_row_a_ball_in_write_ahead_mode_and_private(log: Path) -> None:
    with closing(open_to_read(log)) as database:
        rows = database.execute("SELECT program, block, shot, feed, variation, rung, at, verdict FROM log").fetchall()
        assert database.execute("PRAGMA journal_mode").fetchone() == ("wal",)
        assert database.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        assert database.execute("PRAGMA foreign_key_check").fetchall() == []
    assert rows == [
        ("Baseline pairs", 0, "steady", "steady", "rally", None, "2026-05-01T18:00:00.000Z", "hit"),
        ("Baseline pairs", 2, "kicker", "kicker", "climb", None, "2026-05-01T18:00:04.000Z", "miss"),
    ]
    assert log.stat().st_mode & 0o077 == 0
    assert log.parent.stat().st_mode & 0o077 == 0


def test_a_ball_is_judged_later(log: Path) -> None:
    with Recorder(climbing(), log) as recorder:
        ball = recorder.ball(0, "steady", None, at(60), Verdict.NOT_JUDGED)
        recorder.judge(ball, HIT)
    assert letters(log) == ["h", "m", "h"]


@pytest.mark.parametrize(
    "ball", [(1, "steady", None), (0, "kicker", None), (0, "steady", 0), (99, "steady", None), (LADDER, "steady", 0),
             (LADDER, "steady rung 2", 0), (LADDER, "steady rung 2", None)],
)  # fmt: skip
def test_only_balls_of_the_plan_are_taken(tmp_path: Path, ball: tuple[int, str, int | None]) -> None:
    with Recorder(climbing(), tmp_path / "p.db") as recorder, pytest.raises(ValueError, match=r"no ball|is on rung"):
        recorder.ball(*ball, at(0), HIT)


def test_a_practice_lies_after_1970_and_at_most_a_day_ahead() -> None:
    """A day ahead, because somewhere it is tomorrow already."""
    now = datetime.now().astimezone()
    assert moment((now + timedelta(hours=23)).isoformat()) > now
    for text in ((now + timedelta(hours=25)).isoformat(), "2999-01-01", "1969-12-30"):
        with pytest.raises(LogRefused, match="lies too far back or in the future"):
            moment(text)
    assert moment("1970-01-02").year == 1970


def test_a_moment_without_a_zone_is_refused() -> None:
    with pytest.raises(ValueError, match="zone"):
        utc(at(0).replace(tzinfo=None))


@pytest.mark.parametrize(
    "change",
    ["verdict = 'x'", "verdict = NULL", "at = 'yesterday'", "at = '2026-05-01T18:00:00Z'", "ball = 0", "ball = 'one'",
     "shot = 999", "practice = 999", "lane = 999"],
)  # fmt: skip
def test_the_table_itself_refuses_what_makes_no_sense(log: Path, change: str) -> None:
    with closing(open_to_write(log)) as database, pytest.raises(sqlite3.IntegrityError):
        database.execute(f"UPDATE balls SET {change} WHERE ball = 1")


NOW = len(schema.MIGRATIONS)
"""The version of a log that is written now."""
NEWER: tuple[tuple[str, ...], ...] = (
    *schema.MIGRATIONS,
    ("ALTER TABLE practices ADD COLUMN place TEXT", "UPDATE practices SET place = 'court 1'"),
    ("CREATE TABLE courts (name TEXT)",),
)


@pytest.fixture
def newer(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(store, "MIGRATIONS", NEWER)


def version(path: Path) -> int:
    with closing(sqlite3.connect(path)) as database:
        return int(database.execute("PRAGMA user_version").fetchone()[0])


def test_a_migration_keeps_a_whole_back_up(log: Path, newer: None) -> None:
    assert letters(log) == ["h", "m"] and version(log) == len(NEWER)
    (copy,) = back_ups(log)
    assert version(copy) == NOW and copy.stat().st_mode & 0o077 == 0
    with closing(sqlite3.connect(copy)) as database:
        assert database.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        assert [v for (v,) in database.execute("SELECT verdict FROM balls")] == ["h", "m"]


def test_a_failing_migration_leaves_the_old_version_whole(log: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    broken = (*NEWER[:-1], ("CREATE TABLE courts (name TEXT)", "INSERT INTO nowhere VALUES (1)"))
    monkeypatch.setattr(store, "MIGRATIONS", broken)
    with pytest.raises(LogRefused):
        open_to_write(log)
    assert version(log) == NOW + 1
    with closing(sqlite3.connect(log)) as database:
        assert "courts" not in [n for (n,) in database.execute("SELECT name FROM sqlite_schema")]
        assert database.execute("SELECT count(*) FROM balls").fetchone() == (2,)


def test_a_newer_file_is_refused_and_left_alone(log: Path) -> None:
    with closing(sqlite3.connect(log)) as database:
        database.execute("PRAGMA user_version = 99")
    before = log.read_bytes()
    for open_ in (open_to_read, open_to_write):
        with pytest.raises(LogRefused, match="newer Feedwright") as refused:
            open_(log)
        one_sentence(refused)
    assert log.read_bytes() == before


def test_a_database_of_another_program_is_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "other.db"
    with closing(sqlite3.connect(path)) as database:
        database.execute("CREATE TABLE notes (text)")
    before = path.read_bytes()
    for open_ in (open_to_read, open_to_write):
        with pytest.raises(LogRefused, match="another program") as refused:
            open_(path)
        one_sentence(refused)
    assert path.read_bytes() == before


def test_an_empty_file_becomes_a_log(tmp_path: Path) -> None:
    (tmp_path / "p.db").touch()
    assert letters(tmp_path / "p.db") == []


def test_a_corrupt_file_is_told_and_kept(log: Path, newer: None) -> None:
    assert letters(log)  # migrated: there is a back-up to name
    whole = log.read_bytes()
    for damaged in (b"no database at all" * 300, whole[:100] + os.urandom(len(whole) - 100)):
        log.write_bytes(damaged)
        for open_ in (open_to_write, letters):
            with pytest.raises(LogRefused, match="damaged") as refused:
                open_(log)
            assert f"version-{NOW} is an older copy" in one_sentence(refused)
        assert log.read_bytes() == damaged


def test_folders_and_missing_files_are_told(tmp_path: Path) -> None:
    for open_, path, words in (
        (open_to_read, tmp_path / "none.db", "no practice log at"),
        (open_to_read, tmp_path, "not an ordinary file"),
        (open_to_write, tmp_path, "not an ordinary file"),
        (open_to_write, tmp_path / "f" / "p.db", "cannot use"),
    ):
        (tmp_path / "f").write_text("a file where a folder should be") if "f" in path.parts else None
        with pytest.raises(LogRefused, match=words) as refused:
            open_(path)
        one_sentence(refused)


@pytest.fixture
def read_only(log: Path) -> Iterator[Path]:
    log.chmod(0o444)
    log.parent.chmod(0o555)
    yield log
    log.parent.chmod(0o755)


AS_ANYBODY = """
import ctypes, os, sys
from pathlib import Path
from feedwright.targets.log import LogRefused, store
if os.getuid() == 0:  # whose capabilities know no read-only folder: capset(2), version 3, none of them
    uint32s = ctypes.c_uint32 * 2, ctypes.c_uint32 * 6
    assert ctypes.CDLL(None).capset(uint32s[0](0x20080522, 0), uint32s[1]()) == 0
path = Path(sys.argv[1])
with store.told(path):
    print(store.open_to_read(path).execute("SELECT count(*) FROM balls").fetchone()[0])
for target in (path, path.with_name("new.db")):
    try:
        store.open_to_write(target)
        print("written")
    except LogRefused as refused:
        print(refused)
"""


@pytest.mark.skipif(
    os.name != "posix" or (os.getuid() == 0 and sys.platform != "linux"),
    reason="rights of folders are those of POSIX, and root gives its own up on Linux alone",
)
def test_a_read_only_folder_is_read_and_not_written(read_only: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-c", AS_ANYBODY, read_only], capture_output=True, text=True, timeout=60, check=False
    )
    assert done.returncode == 0, done.stderr
    count, old, new = done.stdout.splitlines()
    assert count == "2"
    assert "is read-only" in old and "cannot use the practice log" in new and "ermission" in new
