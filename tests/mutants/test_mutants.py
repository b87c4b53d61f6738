"""Of the changes that a person could see, at least 95 of 100 are noticed by some test of their area."""

import json
import os
import shutil
import subprocess
import sys
import time
import tomllib
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import asdict, dataclass
from hashlib import sha256
from pathlib import Path
from queue import Queue
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Any

import pytest

from .areas import AREAS, files_for
from .worker import ALL, LOADED

if TYPE_CHECKING:
    from .sample import Mutant

ROOT = Path(__file__).parent.parent.parent
MUTANTS, SEED = int(os.environ.get("MUTANTS", "300")), int(os.environ.get("SEED", "1"))
OF, WORKERS = tuple(os.environ.get("MUTANTS_OF", "").split()) or ("",), int(os.environ.get("MUTANTS_WORKERS", "2"))
ENOUGH = 0.95
SLOWER, SPARE_S = 8, 40.0
"""A file hangs that takes so many times what it takes unchanged and that many seconds more: the machine may be busy."""


@dataclass(frozen=True)
class Equal:
    """A change that nobody can see, found by what is done to what the line says, so that it holds when lines move."""

    file: str
    operator: str
    before: str
    after: str


def equivalent() -> dict[Equal, str]:
    listed = tomllib.loads((Path(__file__).parent / "equivalent.toml").read_text("utf-8"))
    return {
        Equal(file, change["operator"], change["before"], change["after"]): entry["reason"]
        for file, entries in listed.items()
        for entry in entries
        for change in entry["changes"]
    }


class Copy:
    """The tree in a folder of its own, with a warm process that runs its tests."""

    def __init__(self, folder: Path) -> None:
        self._tree, names = folder / "tree", folder / "names" / "feedwright"
        told = subprocess.run(
            ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"],
            cwd=ROOT, capture_output=True, text=True, check=True,
        ).stdout  # fmt: skip
        for name in filter(None, told.split("\0")):
            if (ROOT / name).is_file():
                (self._tree / name).parent.mkdir(parents=True, exist_ok=True)
                shutil.copy2(ROOT / name, self._tree / name)
        # The package as it is installed, of this tree: it comes before the installed one.
        names.mkdir(parents=True)
        for path in (self._tree / "targets" / "api").iterdir():
            (names / path.name).symlink_to(path)
        for room in ("compiler", "grammar", "programs", "targets"):
            (names / room).symlink_to(self._tree / room)
        self._changes, self._reached = 0, folder / "reached.json"
        self._worker = subprocess.Popen(
            ["nice", "-n", "19", sys.executable, "-m", "tests.mutants.worker"],
            cwd=self._tree, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, bufsize=1,
            env=os.environ | {"PYTHONPATH": str(names.parent), "TMPDIR": str(_made(folder / "tmp"))},
        )  # fmt: skip
        assert self._worker.stdout and self._worker.stdout.readline() == "ready\n"

    def run(self, file: str, limit_s: float, **more: object) -> tuple[str, float]:
        """What notices in a test file, "" where nothing does, and how long that took."""
        assert self._worker.stdin and self._worker.stdout
        start = time.monotonic()
        print(json.dumps({"file": file, "limit_s": limit_s, **more}), file=self._worker.stdin)
        return json.loads(self._worker.stdout.readline())["by"], round(time.monotonic() - start, 2)

    def watched(self, file: str, limit_s: float) -> tuple[str, float, dict[str, list[str]]]:
        """The same, and which tests enter each function."""
        self._reached.unlink(missing_ok=True)
        by, seconds = self.run(file, limit_s, reached=str(self._reached))
        return by, seconds, {} if by else json.loads(self._reached.read_text("utf-8"))

    @contextmanager
    def with_text(self, file: str, text: str) -> Iterator[None]:
        path = self._tree / file
        try:
            self._write(path, text)
            yield
        finally:
            self._write(path, (ROOT / file).read_text("utf-8"))

    def _write(self, path: Path, text: str) -> None:
        """With a time of its own, or what Python compiled of the text before would be taken for this one."""
        path.write_text(text, "utf-8")
        self._changes += 1
        os.utime(path, (1_000_000_000 + self._changes,) * 2)

    def close(self) -> None:
        assert self._worker.stdin
        self._worker.stdin.close()
        self._worker.wait()


def _made(folder: Path) -> Path:
    folder.mkdir(parents=True, exist_ok=True)
    return folder


class Kept:
    """Results by what was tried, a line each in a file, so that an interrupted run goes on. What no test noticed is
    tried again once tests have changed."""

    def __init__(self, path: Path | None) -> None:
        self._path = path
        self._tests = sha256(b"".join(p.read_bytes() for p in sorted((ROOT / "tests").rglob("*.py")))).hexdigest()[:16]
        self._known: dict[str, dict[str, Any]] = {}
        if path and path.exists():
            for line in path.read_text("utf-8").splitlines():
                one = json.loads(line)
                self._known[one["name"]] = one

    def get(self, name: str) -> dict[str, Any] | None:
        found = self._known.get(name)
        return found if found and (found["by"] or found["tests"] == self._tests) else None

    def put(self, name: str, by: str, seconds: float, **more: object) -> dict[str, Any]:
        self._known[name] = one = {"name": name, "by": by, "tests": self._tests, "seconds": seconds, **more}
        if self._path:
            with self._path.open("a", encoding="utf-8") as out:
                print(json.dumps(one), file=out)
        return one


@pytest.mark.mutants
def test_what_a_person_could_see_is_noticed(request: pytest.FixtureRequest, capsys: pytest.CaptureFixture[str]) -> None:
    from .sample import drawn  # the tool is an extra of its own

    given = request.config.getoption("--mutants")
    kept = Kept(Path(given) if given else None)
    mutants = drawn(MUTANTS, SEED, OF)
    with TemporaryDirectory(prefix="feedwright-mutants-") as folder, capsys.disabled():
        copies = [Copy(Path(folder) / f"{i}") for i in range(WORKERS)]
        try:
            found, failing = _tried(mutants, kept, copies)
        finally:
            for copy in copies:
                copy.close()
    left = [one for one in found if not one["by"]]
    listed = equivalent()
    seen = [one for one in left if Equal(*(one[k] for k in ("file", "operator", "before", "after"))) not in listed]
    with capsys.disabled():
        print(_table(found, left, seen), *map(_shown, seen), sep="\n")
    assert not failing, "fail without any change, so they noticed nothing"
    assert len(seen) <= (1 - ENOUGH) * (len(found) - len(left) + len(seen))


Result = dict[str, Any]


def _entering(files: list[tuple[str, Result]], function: str) -> Iterator[tuple[str, Result, list[str] | None]]:
    """Of each file the tests that enter the function; all, None, if that is before the first test, or on loading."""
    for file, known in files:
        tests = {*known["reached"].get(function, ()), *known["reached"].get(ALL, ())}
        if tests and ("" in tests or function.endswith(LOADED)):
            yield file, known, None
        elif tests:
            yield file, known, sorted(tests)


def _whole(files: list[tuple[str, Result]], function: str) -> Iterator[tuple[str, Result, None]]:
    for file, known in files:
        if not function.endswith(LOADED) and known["reached"].get(function):
            yield file, known, None


def _tried(mutants: "list[Mutant]", kept: Kept, copies: list[Copy]) -> tuple[list[Result], dict[str, str]]:
    """Of each change what notices it, and what fails without any. A test file is first run on what is not changed: it
    tells how long it takes and which tests enter which function, and if it does not hold, twice, it is left out. The
    tests that enter the changed function are run first, then the whole of the files in which there are any, because
    what one test has computed others may look at."""
    free: Queue[Copy] = Queue()
    for copy in copies:
        free.put(copy)
    waiting = [mutant for mutant in mutants if not kept.get(mutant.name)]
    failing: dict[str, str] = {}
    print(f"\n{len(mutants)} changes, {len(waiting)} to try", flush=True)

    def unchanged(copy: Copy, file: str) -> Result | None:
        if file in failing:
            return None
        known = kept.get(f"unchanged {file}")
        if known is None:
            by, seconds, reached = copy.watched(file, 900.0)
            if by:  # a busy machine may be at fault, or that it is watched
                by, seconds = copy.run(file, 900.0)
            if by:
                failing[file] = by
                print(f"left out, it fails without any change: {by}", flush=True)
                return None
            known = kept.put(f"unchanged {file}", "", seconds, reached=reached)
        return known

    def tried(mutant: "Mutant") -> None:
        copy, by, took, made = free.get(), "", 0.0, mutant.made()
        files = [(file, known) for file in files_for(mutant.area, mutant.file) if (known := unchanged(copy, file))]
        for file, known, tests in [*_entering(files, mutant.function), *_whole(files, mutant.function)]:
            with copy.with_text(mutant.file, made.text):
                by, seconds = copy.run(file, SLOWER * float(known["seconds"]) + SPARE_S, tests=tests)
            took += seconds
            if by:
                break
        free.put(copy)
        one = kept.put(mutant.name, by, took, **asdict(mutant), before=made.before, after=made.after)
        print(f"{took:6.1f} s  {by or 'LEFT'}  {_shown(one)}", flush=True)

    with ThreadPoolExecutor(len(copies)) as pool:
        list(pool.map(tried, waiting))
    return [kept.get(mutant.name) or {} for mutant in mutants], failing


def _shown(one: Result) -> str:
    return f"{one['file']}:{one['line']} {one['operator']}\n    - {one['before']}\n    + {one['after']}"


def _table(found: list[Result], left: list[Result], seen: list[Result]) -> str:
    rows = [f"{'area':10} {'mutants':>7} {'caught':>7} {'equivalent':>10} {'left':>5}"]
    for area in [*AREAS, ""]:
        total, unnoticed, to_see = (sum(not area or m["area"] == area for m in some) for some in (found, left, seen))
        rows.append(f"{area or 'all':10} {total:7} {total - unnoticed:7} {unnoticed - to_see:10} {to_see:5}")
    return "\n".join(rows)
