"""What leaves the log and what comes from another log: export, forget, merge."""

import csv
import io
import sqlite3
from collections.abc import Iterator
from pathlib import Path

from . import PLANNED, LogRefused
from .figures import Scope
from .store import back_ups, open_to_read, open_to_write, to_read, told, transaction

_GUARDED = ("=", "+", "-", "@", "\t", "\r")
"""First characters that make a spreadsheet treat a cell as a formula: OWASP, "CSV Injection"."""


_THOSE = (
    "SELECT practices.id FROM practices JOIN plans ON plans.id = plan "
    "WHERE (?1 IS NULL OR program = ?1) AND (?2 IS NULL OR started < ?2)"
)


def export(database: sqlite3.Connection, scope: Scope) -> Iterator[bytes]:
    """CSV as in RFC 4180, UTF-8 with a byte order mark, one row for each ball, in pieces. Its blocks are those of
    the plan, counted from one."""
    rows = database.execute(
        "SELECT * FROM log WHERE (?1 IS NULL OR program = ?1) AND (?2 IS NULL OR started >= ?2) "
        "ORDER BY started, practice, ball",
        (scope.program, scope.since),
    )
    names = [column[0].replace("_", " ") for column in rows.description]
    at = names.index("block")
    names[at] = PLANNED
    yield b"\xef\xbb\xbf" + _line(names)
    for row in rows:
        yield _line((*row[:at], row[at] + 1, *row[at + 1 :]))


def _line(cells: "tuple[object, ...] | list[str]") -> bytes:
    text = io.StringIO()
    csv.writer(text).writerow("" if cell is None else guarded(str(cell)) for cell in cells)
    return text.getvalue().encode()


def guarded(cell: str) -> str:
    return f"'{cell}" if cell.startswith(_GUARDED) else cell


def matching(database: sqlite3.Connection, program: str | None, before: str | None) -> tuple[int, int]:
    """The numbers of practices and balls that `forget` would delete."""
    row: tuple[int, int] = database.execute(
        f"SELECT count(*), (SELECT count(*) FROM balls WHERE practice IN ({_THOSE})) "
        f"FROM practices WHERE id IN ({_THOSE})",
        (program, before),
    ).fetchone()
    return row


def forget(path: Path, program: str | None, before: str | None) -> None:
    """Delete practices of a program, before a moment, or all, and plans without a practice. Their bytes leave all files
    of the log: deleted pages are zeroed, the file is rewritten, the write-ahead log is emptied, and the back-ups, which
    hold the same data, are deleted."""
    database = open_to_write(path)
    try:
        with told(path):
            with transaction(database):
                database.execute(f"DELETE FROM practices WHERE id IN ({_THOSE})", (program, before))
                database.execute(
                    "DELETE FROM shots WHERE lane IN "
                    "(SELECT id FROM lanes WHERE plan NOT IN (SELECT plan FROM practices))"
                )
                for table in ("lanes", "goals"):
                    database.execute(f"DELETE FROM {table} WHERE plan NOT IN (SELECT plan FROM practices)")
                database.execute("DELETE FROM plans WHERE id NOT IN (SELECT plan FROM practices)")
                if program is None:  # corrections belong to no program
                    database.execute("DELETE FROM corrections WHERE ?1 IS NULL OR day < substr(?1, 1, 10)", (before,))
            for copy in back_ups(path):
                copy.unlink()
            database.execute("VACUUM")
            if database.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()[0]:
                raise LogRefused(
                    f"it is deleted from the log {path}, but another program has the log open, so old pages are still "
                    f"in {path.name}-wal; end that program and forget once more"
                )
    finally:
        database.close()


_MERGE = (
    "INSERT INTO plans (digest, program, session, feeder) "
    "SELECT digest, program, session, feeder FROM other.plans WHERE true ON CONFLICT DO NOTHING",
    "CREATE TEMP TABLE plan_of AS SELECT theirs.id AS theirs, ours.id AS ours "
    "FROM other.plans AS theirs JOIN main.plans AS ours USING (digest)",
    "INSERT INTO lanes (plan, block, variation, goal, goal_in, planned, ladder, up, up_in, down, within, in_sets, "
    "most_sets, down_sets, ends) "
    "SELECT ours, block, variation, goal, goal_in, planned, ladder, up, up_in, down, within, in_sets, most_sets, "
    "down_sets, ends "
    "FROM other.lanes JOIN plan_of ON theirs = plan WHERE true ON CONFLICT DO NOTHING",
    "INSERT INTO goals (plan, number, block, hits, among, in_all, variation, points, planned, known, sheet, who, "
    "places, whole) "
    "SELECT ours, number, block, hits, among, in_all, variation, points, planned, known, sheet, who, places, whole "
    "FROM other.goals JOIN plan_of ON theirs = plan WHERE true ON CONFLICT DO NOTHING",
    "CREATE TEMP TABLE lane_of AS SELECT theirs.id AS theirs, ours.id AS ours FROM other.lanes AS theirs "
    "JOIN plan_of ON plan_of.theirs = theirs.plan JOIN main.lanes AS ours "
    "ON ours.plan = plan_of.ours AND ours.block = theirs.block AND ours.variation = theirs.variation",
    "INSERT INTO shots (lane, shot, feed, rung, label, player) SELECT ours, shot, feed, rung, label, player "
    "FROM other.shots JOIN lane_of ON theirs = lane WHERE true ON CONFLICT DO NOTHING",
    "CREATE TEMP TABLE shot_of (theirs INTEGER PRIMARY KEY, lane, shot)",
    "INSERT INTO shot_of SELECT theirs.id, ours.lane, ours.id FROM other.shots AS theirs "
    "JOIN lane_of ON lane_of.theirs = theirs.lane "
    "JOIN main.shots AS ours ON ours.lane = lane_of.ours AND ours.shot = theirs.shot",
    "INSERT INTO practices (uid, plan, started, in_order) SELECT uid, ours, started, in_order "
    "FROM other.practices JOIN plan_of ON theirs = plan WHERE true ON CONFLICT DO NOTHING",
    "CREATE TEMP TABLE practice_of (theirs INTEGER PRIMARY KEY, ours)",
    "INSERT INTO practice_of SELECT theirs.id, ours.id "
    "FROM other.practices AS theirs JOIN main.practices AS ours USING (uid)",
    # If only one of the logs has judged a ball, its verdict counts.
    "INSERT INTO balls (practice, lane, ball, shot, at, verdict, place) "
    "SELECT practice_of.ours, shot_of.lane, ball, shot_of.shot, at, verdict, place FROM other.balls "
    "JOIN practice_of ON practice_of.theirs = practice JOIN shot_of ON shot_of.theirs = balls.shot WHERE true "
    "ON CONFLICT (practice, lane, ball) DO UPDATE SET verdict = excluded.verdict "
    "WHERE verdict = 'n' AND excluded.verdict <> 'n'",
    "INSERT INTO longest_streaks (practice, lane, best) SELECT practice_of.ours, lane_of.ours, best "
    "FROM other.longest_streaks "
    "JOIN practice_of ON practice_of.theirs = practice JOIN lane_of ON lane_of.theirs = lane "
    "WHERE true ON CONFLICT DO NOTHING",
    # The count that knows more of the same points.
    "INSERT INTO points (practice, block, name, won, lost, open, first_to) "
    "SELECT practice_of.ours, block, name, won, lost, open, first_to FROM other.points "
    "JOIN practice_of ON practice_of.theirs = practice WHERE true ON CONFLICT (practice, block, name) "
    "DO UPDATE SET won = excluded.won, lost = excluded.lost, open = excluded.open "
    "WHERE excluded.won + excluded.lost > won + lost",
    # The score that more marks have moved.
    "INSERT INTO scores (practice, block, sheet, score, goal, ends, ended, judged, who) "
    "SELECT practice_of.ours, block, sheet, score, goal, ends, ended, judged, who FROM other.scores "
    "JOIN practice_of ON practice_of.theirs = practice WHERE true ON CONFLICT (practice, block, who) "
    "DO UPDATE SET score = excluded.score, ended = excluded.ended, judged = excluded.judged "
    "WHERE excluded.judged > judged",
    "INSERT INTO corrections (day, profile, balls, along, aside) SELECT day, profile, balls, along, aside "
    "FROM other.corrections WHERE true ON CONFLICT DO NOTHING",
    *(f"DROP TABLE temp.{name}_of" for name in ("plan", "lane", "shot", "practice")),
)


def merge(path: Path, other: Path) -> tuple[int, int]:
    """Add what another log has and this one lacks, all or nothing. Returns the numbers of new practices and balls. A
    practice has its own identity from its first ball on, so nothing is added twice."""
    if path.exists() and other.exists() and path.samefile(other):
        raise LogRefused(f"{other} is this log itself")
    source = open_to_read(other)
    try:
        with told(other):
            verdict = source.execute("PRAGMA quick_check(1)").fetchone()[0]
    finally:
        source.close()
    if verdict != "ok":
        raise LogRefused(f"cannot use the practice log {other}: the file is damaged; nothing was taken from it")
    database = open_to_write(path)
    try:
        with told(path):
            database.execute("ATTACH ? AS other", (to_read(other),))
            with transaction(database):
                before = _size(database)
                for statement in _MERGE:
                    database.execute(statement)
                after = _size(database)
    finally:
        database.close()
    return after[0] - before[0], after[1] - before[1]


def _size(database: sqlite3.Connection) -> tuple[int, int]:
    row: tuple[int, int] = database.execute(
        "SELECT (SELECT count(*) FROM main.practices), (SELECT count(*) FROM main.balls)"
    ).fetchone()
    return row
