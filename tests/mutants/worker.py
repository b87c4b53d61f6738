"""Runs test files in the copy in which it stands, one request a line, each file in a fork of a warm process.

    {"file": "tests/test_verify.py", "limit_s": 60.0} -> {"by": "tests/test_verify.py::test_what_is_not_so_is_refused"}

With `tests` only those of the file are run. With `reached`, the name of a file, that file tells afterwards which
functions of the sources each test enters. What third parties wrote is loaded once; the sources under test are loaded
anew for each file, so a change counts.
"""

import contextlib
import importlib
import json
import os
import select
import signal
import sys
import threading
import time
from collections import defaultdict
from collections.abc import Iterable, Iterator
from pathlib import Path
from types import FrameType

import pytest

WARM = (
    "numpy", "numpy.ma", "scipy.integrate", "scipy.optimize", "scipy.stats", "pydantic", "lark", "rich.console",
    "rich.live", "rich.table", "serial", "hypothesis", "hypothesis.extra.lark", "jsonschema", "pexpect", "psychrolib",
    "ambiance", "sqlite3", "http.server", "xdist", "pytest_rerunfailures",
)  # fmt: skip
HANGS, BREAKS = "a hang", "a file that cannot be run"


class First:
    """The first test that fails, written where the parent reads it, so that it is known even if the end hangs."""

    def __init__(self, out: int) -> None:
        self._out = out

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if report.failed:
            os.write(self._out, report.nodeid.encode()[:900])
            self._out = os.open(os.devnull, os.O_WRONLY)


class Chosen:
    """Leaves out the other tests of the file."""

    def __init__(self, tests: Iterable[str]) -> None:
        self._tests = set(tests)

    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        items[:] = [item for item in items if item.nodeid in self._tests]


STARTS = ("subprocess.Popen", "os.fork", "os.forkpty", "os.posix_spawn")
ALL, LOADED = "*", "<module>"
SOURCES = "/names/feedwright/"
"""In the name of each file of the package."""


class Reached:
    """Notes, for each function of the sources, the tests that enter it, "" for what happens before the first; under
    `ALL` stand those that start a process, in which anything may be entered."""

    def __init__(self, out: str) -> None:
        self._out, self._test = out, ""
        self._found: dict[str, set[str]] = defaultdict(set)
        sys.addaudithook(self._started)
        threading.settrace(self._entered)
        sys.settrace(self._entered)

    def _started(self, event: str, _: object) -> None:
        if event in STARTS:
            self._found[ALL].add(self._test)

    def _entered(self, frame: FrameType, event: str, _: object) -> None:
        code = frame.f_code
        if SOURCES in code.co_filename:
            self._found[function(code.co_filename, code.co_qualname)].add(self._test)

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Iterator[None]:
        self._test = item.nodeid
        return (yield)

    def pytest_sessionfinish(self) -> None:
        sys.settrace(None)
        Path(self._out).write_text(json.dumps({name: sorted(tests) for name, tests in self._found.items()}), "utf-8")


def function(file: str, name: str) -> str:
    """The outermost function, with its class, by the last two parts of its file's name."""
    return f"{'/'.join(file.split('/')[-2:])} {name.partition('.<locals>')[0]}"


def by(file: str, limit_s: float, tests: list[str] | None = None, reached: str | None = None) -> str:
    """What notices in one file: a test, a hang, a file that breaks; "" where nothing does."""
    told, out = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(told)
        _run(file, out, tests, reached)
    os.close(out)
    ended = time.monotonic() + limit_s
    while (done := os.waitpid(child, os.WNOHANG)) == (0, 0) and time.monotonic() < ended:
        # A test that failed has noticed; what else that process does is not waited for long.
        if select.select([told], [], [], 0.05)[0]:
            ended = min(ended, time.monotonic() + 10)
            time.sleep(0.05)
    hangs = done == (0, 0)
    if hangs:
        with contextlib.suppress(ProcessLookupError):
            os.killpg(child, signal.SIGKILL)
        done = os.waitpid(child, 0)
    os.set_blocking(told, False)
    try:
        name = os.read(told, 1000).decode()
    except BlockingIOError:
        name = ""
    os.close(told)
    return name or (f"{HANGS} in {file}" if hangs else "" if done[1] == 0 else f"{BREAKS}: {file}")


def _run(file: str, out: int, tests: list[str] | None, reached: str | None) -> None:
    os.setsid()
    hole = os.open(os.devnull, os.O_RDWR)
    for stream in (0, 1, 2):
        os.dup2(hole, stream)
    code = 1
    try:
        plugins = [First(out), *([Chosen(tests)] if tests else []), *([Reached(reached)] if reached else [])]
        code = pytest.main(["-x", "-q", "-p", "no:cacheprovider", "-p", "no:xdist", "--no-header", file], plugins)
    finally:
        os._exit(int(code))


def main() -> None:
    for name in WARM:
        with contextlib.suppress(ImportError):
            importlib.import_module(name)
    assert not [name for name in sys.modules if name.startswith("feedwright")], "a source under test is loaded already"
    print("ready", flush=True)
    for line in sys.stdin:
        wanted = json.loads(line)
        print(json.dumps({"by": by(**wanted)}), flush=True)


if __name__ == "__main__":
    assert Path("tests/mutants/worker.py").exists(), "to be run in the copy"
    main()
