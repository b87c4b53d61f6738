"""What leaves the log and what comes in: export, forget, merge."""

import csv
import io
import random
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from feedwright.targets.log import LogRefused, store
from feedwright.targets.log.exchange import export, forget, guarded, merge
from feedwright.targets.log.figures import Scope
from feedwright.targets.log.progress import Verdict
from feedwright.targets.log.record import Recorder
from feedwright.targets.log.store import back_ups, open_to_read, open_to_write

from .plans import LADDER, RUNGS, at, climbing
from .test_store import NEWER

VERDICTS = list(Verdict)
ALL = Scope()


def practise(path: Path, program: str, balls: int, seed: int = 0, day: int = 0) -> None:
    chance = random.Random(seed)
    with Recorder(climbing(program), path) as recorder:
        for number in range(balls):
            where = chance.choice([(0, "steady", None), (2, "kicker", None), (LADDER, RUNGS[1], 1)])
            recorder.ball(*where, at(86400 * day + number), chance.choice(VERDICTS))


def rows(path: Path) -> list[tuple[object, ...]]:
    """All there is, one row a ball, without the ids of this file."""
    with closing(open_to_read(path)) as database:
        return sorted(database.execute("SELECT * FROM log"), key=repr)


def exported(path: Path, scope: Scope = ALL) -> bytes:
    with closing(open_to_read(path)) as database:
        return b"".join(export(database, scope))


def test_export_is_csv_with_a_mark_and_a_row_a_ball(tmp_path: Path) -> None:
    practise(tmp_path / "p.db", "Baseline pairs", 30)
    data = exported(tmp_path / "p.db")
    assert data.startswith(b"\xef\xbb\xbfprogram,") and data.count(b"\r\n") == 31
    table = list(csv.DictReader(io.StringIO(data.decode("utf-8-sig"))))
    assert [row["ball"] for row in table] == [str(n) for n in range(1, 31)]
    assert {row["verdict"] for row in table} == {"hit", "miss", "not judged"}
    assert {row["rung"] for row in table if row["plan block"] == str(LADDER + 1)} == {"2"}
    assert exported(tmp_path / "p.db", Scope("other")).count(b"\r\n") == 1
    assert exported(tmp_path / "p.db", Scope(None, "2026-05-02T00:00:00.000Z")).count(b"\r\n") == 1


@pytest.mark.parametrize("title", ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1"])
def test_cells_that_a_spreadsheet_would_compute_are_guarded(tmp_path: Path, title: str) -> None:
    """OWASP, "CSV Injection": these six first characters."""
    practise(tmp_path / "p.db", title, 3)
    text = io.StringIO(exported(tmp_path / "p.db").decode("utf-8-sig"), newline="")
    assert all(row["program"] == f"'{title}" for row in csv.DictReader(text))
    assert guarded("wing - 1") == "wing - 1"


SECRET, KEPT = "Marlowe practises alone on Tuesdays", "The other program stays"


def hits_in_files(folder: Path, text: str) -> list[str]:
    return [path.name for path in folder.iterdir() if text.encode() in path.read_bytes()]


@pytest.fixture
def two_programs(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A log of two programs that has been migrated, so that a back-up holds both once more."""
    path = tmp_path / "p.db"
    practise(path, SECRET, 300)
    practise(path, KEPT, 50)
    monkeypatch.setattr(store, "MIGRATIONS", NEWER)
    open_to_write(path).close()
    assert len(back_ups(path)) == 1
    return path


def test_forget_leaves_no_byte_in_any_file(two_programs: Path) -> None:
    assert len(hits_in_files(two_programs.parent, SECRET)) == 2  # the log and its back-up: the search finds it
    kept = [row for row in rows(two_programs) if row[0] == KEPT]
    size = two_programs.stat().st_size
    forget(two_programs, SECRET, None)
    assert hits_in_files(two_programs.parent, SECRET) == []
    assert hits_in_files(two_programs.parent, KEPT)
    assert rows(two_programs) == kept and len(kept) == 50
    assert two_programs.stat().st_size < size and not back_ups(two_programs)


def test_forget_empties_the_write_ahead_log_while_the_file_stays_open(tmp_path: Path) -> None:
    path = tmp_path / "p.db"
    practise(path, SECRET, 20)
    with closing(open_to_write(path)) as other:
        other.execute("SELECT count(*) FROM balls").fetchone()  # open, but not in the middle of reading
        forget(path, None, None)
        assert hits_in_files(tmp_path, SECRET) == []
    assert rows(path) == []


def test_forget_tells_when_another_program_is_reading(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "p.db"
    practise(path, SECRET, 20)
    monkeypatch.setattr(store, "WAIT_S", 0.05)
    with closing(open_to_write(path)) as other:
        other.execute("BEGIN")
        other.execute("SELECT count(*) FROM balls").fetchone()
        with pytest.raises(LogRefused, match=r"another program|forget once more"):
            forget(path, None, None)
        other.execute("ROLLBACK")
        forget(path, None, None)
        assert hits_in_files(tmp_path, SECRET) == []


def test_forget_before_a_day(tmp_path: Path) -> None:
    path = tmp_path / "p.db"
    for day in range(3):
        practise(path, KEPT, 5, day=day)
    forget(path, None, "2026-05-02T00:00:00.000Z")
    assert sorted({str(row[3])[:10] for row in rows(path)}) == ["2026-05-02", "2026-05-03"]


@pytest.fixture
def machines(tmp_path: Path) -> Iterator[tuple[Path, Path]]:
    one, other = tmp_path / "one.db", tmp_path / "other.db"
    practise(one, "Baseline pairs", 40, seed=1)
    practise(one, "Only here", 10, seed=2)
    practise(other, "Only there", 15, seed=3)
    practise(other, "Baseline pairs", 25, seed=4, day=1)
    yield one, other


def test_merge_joins_without_doubles_whichever_way(machines: tuple[Path, Path]) -> None:
    one, other = machines
    both = sorted(rows(one) + rows(other), key=repr)
    assert merge(one, other) == (2, 40)
    assert rows(one) == both
    assert merge(one, other) == (0, 0)
    assert merge(other, one) == (2, 50)
    assert rows(other) == both == rows(one)
    with closing(open_to_read(other)) as database:
        assert database.execute("PRAGMA foreign_key_check").fetchall() == []
        assert database.execute("SELECT count(*) FROM plans").fetchone() == (3,)


def test_a_copy_taken_during_a_practice_is_completed(tmp_path: Path) -> None:
    one, copy = tmp_path / "one.db", tmp_path / "copy.db"
    with Recorder(climbing(), one) as recorder:
        recorder.ball(0, "steady", None, at(0), Verdict.HIT)
        last = recorder.ball(0, "steady", None, at(4), Verdict.NOT_JUDGED)
        with closing(sqlite3.connect(copy)) as target:
            recorder._database.backup(target)
        recorder.judge(last, Verdict.MISS)
        recorder.ball(2, "kicker", None, at(8), Verdict.HIT)
    assert merge(copy, one) == (0, 1)
    assert rows(copy) == rows(one) and len(rows(one)) == 3


def test_merge_refuses_itself_and_damaged_files(machines: tuple[Path, Path]) -> None:
    one, other = machines
    before = rows(one)
    with pytest.raises(LogRefused, match="this log itself"):
        merge(one, one)
    with pytest.raises(LogRefused, match="no practice log at"):
        merge(one, other.with_name("missing.db"))
    data = bytearray(other.read_bytes())
    data[4096 * 8 :] = b"\xff" * len(data[4096 * 8 :])
    other.write_bytes(data)
    with pytest.raises(LogRefused, match="damaged"):
        merge(one, other)
    assert rows(one) == before


def test_merge_is_all_or_nothing(machines: tuple[Path, Path]) -> None:
    """A log that was tampered with past its CHECKs is refused by those of this one."""
    one, other = machines
    with closing(sqlite3.connect(other)) as database:
        database.execute("PRAGMA ignore_check_constraints = ON")
        database.execute("UPDATE balls SET verdict = 'x' WHERE ball = 15")
        database.commit()
    before = rows(one)
    with pytest.raises(LogRefused, match=r"damaged|makes no sense"):
        merge(one, other)
    assert rows(one) == before
