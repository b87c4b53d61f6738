"""A million balls: `log show` as a whole process. It takes half a minute to prepare."""

import resource
import subprocess
import sys
import time
from contextlib import closing
from pathlib import Path

import pytest

from feedwright.targets.log.progress import Verdict
from feedwright.targets.log.record import Recorder
from feedwright.targets.log.store import open_to_write, utc

from ..log.plans import LADDER, RUNGS, at, climbing

PRACTICES, BALLS = 4000, 250


@pytest.mark.benchmark
def test_a_million_balls_are_shown_in_two_seconds(tmp_path: Path) -> None:
    path = tmp_path / "p.db"
    with Recorder(climbing(), path) as recorder:  # makes the plan, its lanes and shots
        for where in ((0, "steady", None), (2, "kicker", None), (2, "steady", None), (LADDER, RUNGS[0], 0)):
            recorder.ball(*where, at(0), Verdict.HIT)
    with closing(open_to_write(path)) as database:
        database.execute("DELETE FROM practices")
        shots = database.execute("SELECT lane, id FROM shots ORDER BY id").fetchall()
        database.execute("BEGIN")
        for practice in range(1, PRACTICES + 1):
            when = utc(at(86400 * practice / 2))
            database.execute("INSERT INTO practices VALUES (?, ?, 1, ?, 1)", (practice, f"{practice:032x}", when))
            balls = ((practice, *shots[n * 7 % len(shots)], n + 1, utc(at(43200 * practice + n))) for n in range(BALLS))
            database.executemany(
                "INSERT INTO balls (practice, lane, shot, ball, at, verdict) "
                "VALUES (?, ?, ?, ?, ?, substr('hhmhhmhhhn', abs(random()) % 10 + 1, 1))",
                balls,
            )
        database.execute("COMMIT")
    started = time.perf_counter()
    command = [sys.executable, "-m", "feedwright.targets.command.cli", "log", "show", "--db", str(path)]
    done = subprocess.run(command, capture_output=True, text=True, check=True, timeout=60)
    seconds = time.perf_counter() - started
    peak = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024  # KiB on Linux
    print(f"\n{seconds:.2f} s, {peak:.0f} MB at most, {path.stat().st_size / 1e6:.0f} MB of file\n{done.stdout}")
    assert "4000 practices, 1000000 balls" in done.stdout
    assert seconds < 2.0
    assert peak < 200
