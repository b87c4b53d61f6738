"""The log's file: its place, how it is opened and migrated, and every error as one sentence.

Each ball is a row in its own transaction, with a write-ahead log and full synchronisation: a writer that is killed, or
whose machine loses power, loses at most the ball it was about to confirm.
"""

import contextlib
import errno
import os
import re
import shutil
import sqlite3
import time
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

from ..folders import NoHome, data
from . import LogRefused
from .schema import APPLICATION_ID, MIGRATIONS

WAIT_S = 10.0
"""How long one process waits for another that writes; writing a ball takes milliseconds."""


def default_path() -> Path:
    """FEEDWRIGHT_DB, or `practice.db` in the user's data folder; LogRefused if there is neither."""
    named = os.environ.get("FEEDWRIGHT_DB")
    try:
        return Path(named) if named else data("--db FILE or FEEDWRIGHT_DB") / "practice.db"
    except NoHome as none:
        raise LogRefused(str(none)) from none


def utc(moment: datetime) -> str:
    """ISO 8601, UTC, to the millisecond; the moment must have a time zone."""
    if moment.tzinfo is None:
        raise ValueError("a moment without a time zone")
    return moment.astimezone(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")


def moment(text: str) -> datetime:
    """`2026-05-01` (noon) or `2026-05-01T18:00`, in this machine's time zone if the text gives none."""
    try:
        found = datetime.fromisoformat(f"{text}T12:00" if re.fullmatch(r"\d{4}-\d\d-\d\d", text, re.ASCII) else text)
        found = found.astimezone()
    except (ValueError, OverflowError, OSError):
        raise LogRefused(f'"{text}" is not a date such as 2026-05-01 or 2026-05-01T18:00') from None
    if found.year < 1970 or found > datetime.now().astimezone() + timedelta(days=1):
        raise LogRefused(f"{text} lies too far back or in the future")
    return found


def open_to_write(path: Path) -> sqlite3.Connection:
    """Open the log to write: make it with its folder if missing, back up an older version and bring it to this one."""
    with told(path):
        if not path.exists():
            path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
            # The log is private; SQLite gives its side files the same rights.
            os.close(os.open(path, os.O_RDWR | os.O_CREAT, 0o600))
        elif not path.is_file():
            raise LogRefused(f"{path} is not an ordinary file, so it holds no practice log")
        connection = sqlite3.connect(
            f"{path.absolute().as_uri()}?mode=rw", uri=True, timeout=WAIT_S, isolation_level=None
        )
    try:
        with told(path):
            _configure(connection)
            _check(connection, path)
            _write_ahead(connection)
            _migrate(connection, path)
    except BaseException:
        connection.close()
        raise
    return connection


def open_to_read(path: Path) -> sqlite3.Connection:
    """Open the log to read; nothing is made or changed."""
    if not path.exists():
        raise LogRefused(f"there is no practice log at {path} yet; feedwright log add begins one")
    if not path.is_file():
        raise LogRefused(f"{path} is not an ordinary file, so it holds no practice log")
    with told(path):
        connection = sqlite3.connect(to_read(path), uri=True, timeout=WAIT_S, isolation_level=None)
    try:
        with told(path):
            _configure(connection)
            connection.execute("PRAGMA query_only = ON")
            version = _check(connection, path)
    except BaseException:
        connection.close()
        raise
    if version < len(MIGRATIONS):
        connection.close()  # an empty file, or one of an older version
        return open_to_write(path)
    return connection


def _write_ahead(connection: sqlite3.Connection) -> None:
    """Changing the journal mode needs the whole file, and SQLite does not wait for that by itself."""
    deadline = time.monotonic() + WAIT_S
    while connection.execute("PRAGMA journal_mode").fetchone() != ("wal",):
        try:
            connection.execute("PRAGMA journal_mode = WAL")
        except sqlite3.OperationalError as error:
            if error.sqlite_errorcode & 0xFF != sqlite3.SQLITE_BUSY or time.monotonic() > deadline:
                raise
            time.sleep(0.01)


def to_read(path: Path) -> str:
    """The file as a URI for reading. SQLite wants side files even for that: who may write clears them away again; where
    nobody can, nothing changes meanwhile and none are needed."""
    wal = path.with_name(f"{path.name}-wal")
    if os.access(path.parent, os.W_OK):
        mode = "mode=rw" if os.access(path, os.W_OK) else "mode=ro"
    else:
        mode = "mode=ro" if wal.exists() and wal.stat().st_size else "immutable=1"
    return f"{path.absolute().as_uri()}?{mode}"


def _configure(connection: sqlite3.Connection) -> None:
    connection.execute("PRAGMA foreign_keys = ON")
    connection.execute("PRAGMA synchronous = FULL")
    connection.execute("PRAGMA secure_delete = ON")
    connection.execute("PRAGMA trusted_schema = OFF")
    connection.execute("PRAGMA temp_store = MEMORY")  # no copies of the log in folders of the system


def _check(connection: sqlite3.Connection, path: Path) -> int:
    """The version of the file; LogRefused if another program or a newer version wrote it."""
    version: int  # at one moment, since another process may be making the file
    version, mark, tables = connection.execute(
        "SELECT user_version, application_id, (SELECT count(*) FROM sqlite_schema) "
        "FROM pragma_user_version, pragma_application_id"
    ).fetchone()
    if mark != APPLICATION_ID and (tables or mark or version):
        raise LogRefused(f"{path} is a database of another program; it stays unchanged")
    if version > len(MIGRATIONS):
        raise LogRefused(
            f"{path} is a practice log of version {version}, written by a newer Feedwright; "
            f"this one reads up to {len(MIGRATIONS)} and changes nothing in it"
        )
    return version


def _migrate(connection: sqlite3.Connection, path: Path) -> None:
    """Run each step in its own transaction, so that a file always has exactly one version."""
    version = connection.execute("PRAGMA user_version").fetchone()[0]
    if 0 < version < len(MIGRATIONS):
        _back_up(connection, path, version)
    for number, statements in enumerate(MIGRATIONS[version:], start=version + 1):
        with transaction(connection):
            # Another process may have migrated it already.
            if connection.execute("PRAGMA user_version").fetchone()[0] >= number:
                continue
            for statement in statements:
                connection.execute(statement)
            connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
            connection.execute(f"PRAGMA user_version = {number}")


def back_ups(path: Path) -> list[Path]:
    """The back-ups that migrations have made beside the log."""
    return sorted(p for p in path.parent.glob(f"{path.name}.version-*") if p.is_file())


def _back_up(connection: sqlite3.Connection, path: Path, version: int) -> None:
    """Make `practice.db.version-1` beside the log, complete or not at all."""
    fresh = path.with_name(f"{path.name}.version-{version}.part")
    fresh.unlink(missing_ok=True)
    os.close(os.open(fresh, os.O_RDWR | os.O_CREAT | os.O_EXCL, 0o600))
    copy = sqlite3.connect(fresh)
    try:
        connection.backup(copy)
        copy.execute("PRAGMA journal_mode = DELETE")
    finally:
        copy.close()
    os.replace(fresh, path.with_name(f"{path.name}.version-{version}"))


@contextlib.contextmanager
def transaction(connection: sqlite3.Connection) -> Iterator[None]:
    """All or nothing. It takes the write lock at once, so that two writers queue and neither has to give up."""
    connection.execute("BEGIN IMMEDIATE")
    try:
        yield
        connection.execute("COMMIT")
    except BaseException:
        with contextlib.suppress(sqlite3.Error):  # SQLite may have rolled back by itself
            connection.execute("ROLLBACK")
        raise


FULL = "the disk is full; what was confirmed before is safe"
DAMAGED = "the file is damaged and stays unchanged"
ROOM = 64 * 1024
"""Bytes of free space needed to begin: the side files of a log with a few balls take as much."""


def must_have_room(path: Path) -> None:
    """OSError if the disk has no room for another ball."""
    if shutil.disk_usage(path.absolute().parent).free < ROOM:
        raise OSError(errno.ENOSPC, FULL)


_TROUBLE = {
    sqlite3.SQLITE_FULL: FULL,
    sqlite3.SQLITE_READONLY: "the file or its folder is read-only",
    sqlite3.SQLITE_CANTOPEN: "the file cannot be opened; perhaps its folder is read-only",
    sqlite3.SQLITE_PERM: "this user may not use the file",
    sqlite3.SQLITE_BUSY: "another program has been writing to it for too long; try again when it is done",
    sqlite3.SQLITE_LOCKED: "another program has been writing to it for too long; try again when it is done",
    sqlite3.SQLITE_IOERR: "the disk has a fault; what was confirmed before is safe",
    sqlite3.SQLITE_CORRUPT: DAMAGED,
    sqlite3.SQLITE_NOTADB: "the file is not a practice log, or it is damaged; it stays unchanged",
    sqlite3.SQLITE_CONSTRAINT: "what was to be written does not fit a practice log",
}


@contextlib.contextmanager
def told(path: Path) -> Iterator[None]:
    """SQLite's and the system's errors as LogRefused, in words."""
    try:
        yield
    except sqlite3.Error as error:
        code = getattr(error, "sqlite_errorcode", 0) & 0xFF  # the low byte is the primary result code
        words = _TROUBLE.get(code, str(error))
        if code in (sqlite3.SQLITE_IOERR, sqlite3.SQLITE_CANTOPEN) and _is_full(path):
            words = FULL  # what SQLite calls a disk that does not answer, where a side file finds no room
        if code in (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB) and back_ups(path):
            words += f"; {back_ups(path)[-1]} is an older copy"
        raise LogRefused(f"cannot use the practice log {path}: {words}") from error
    except UnicodeDecodeError as error:  # of a damaged file even SQLite's own message may be no text
        raise LogRefused(f"cannot use the practice log {path}: {DAMAGED}") from error
    except BrokenPipeError:
        raise
    except OSError as error:
        words = FULL if error.errno == errno.ENOSPC else error.strerror or str(error)
        raise LogRefused(f"cannot use the practice log {path}: {words}") from error


def _is_full(path: Path) -> bool:
    try:
        must_have_room(path)
    except OSError as error:
        return error.errno == errno.ENOSPC
    return False
