"""The included programs, each compiled once for all tests of a run, whatever the number of its processes."""

import os
import pickle
import sqlite3
import tempfile
from collections.abc import Iterator
from contextlib import closing, contextmanager
from functools import cache
from pathlib import Path

from feedwright.compiler.model.plan import Plan
from feedwright.compiler.pipeline import Compiled, compile_source
from feedwright.grammar.source import Source
from feedwright.programs import ScriptShelf
from feedwright.targets.machine.feeders import ProfileShelf

FOLDER = Path(__file__).parent.parent / "programs"
PROGRAMS = sorted(FOLDER.glob("*.feed"))
EVERYTHING = sorted((Path(__file__).parent / "everything").glob("*.feed"))
OF_A_KIND = tuple(
    path for path in PROGRAMS
    if path.stem[:2] in ("02", "03", "04", "05", "08", "19", "20", "21", "23", "28", "29", "30", "99")
)  # fmt: skip
"""For what every kind of program has to show, but not each program: `test_library` holds that no kind is missing."""


@cache
def compiled(path: Path, sample: bool = False) -> Compiled:
    kept = Path(os.environ["FEEDWRIGHT_COMPILED"], f"{path.stem}.{sample}.pickle")
    if not kept.exists():
        with _one_at_a_time(kept.with_suffix(".lock")):
            if not kept.exists():
                _compile(path, sample, kept)
    return pickle.loads(kept.read_bytes())  # type: ignore[no-any-return]


def _compile(path: Path, sample: bool, kept: Path) -> None:
    made = compile_source(
        Source(path.name, path.read_text("utf-8")), ProfileShelf(None), ScriptShelf(None), sample=sample
    )
    with tempfile.NamedTemporaryFile(dir=kept.parent, delete=False) as file:
        pickle.dump(made, file)
    os.replace(file.name, kept)


@contextmanager
def _one_at_a_time(path: Path) -> Iterator[None]:
    """One process of the run; a database's lock works on every system, and goes with a process that is killed."""
    with closing(sqlite3.connect(path, timeout=120, isolation_level=None)) as database:
        database.execute("BEGIN EXCLUSIVE")
        yield


def plan(path: Path) -> Plan:
    found = compiled(path)
    assert found.plan, found.findings
    return found.plan
