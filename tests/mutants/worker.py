"""Runs test files in the copy in which it stands, one request a line, each file in a fork of a warm process.

    {"file": "tests/test_verify.py", "limit_s": 60.0} -> {"by": "tests/test_verify.py::test_what_is_not_so_is_refused"}

What third parties wrote is loaded once; the sources under test are loaded anew for each file, so a change counts.
"""

import contextlib
import importlib
import json
import os
import select
import signal
import sys
import time
from pathlib import Path

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


def by(file: str, limit_s: float) -> str:
    """What notices in one file: a test, a hang, a file that breaks; "" where nothing does."""
    told, out = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(told)
        _run(file, out)
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


def _run(file: str, out: int) -> None:
    os.setsid()
    hole = os.open(os.devnull, os.O_RDWR)
    for stream in (0, 1, 2):
        os.dup2(hole, stream)
    code = 1
    try:
        code = pytest.main(["-x", "-q", "-p", "no:cacheprovider", "-p", "no:xdist", "--no-header", file], [First(out)])
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
        print(json.dumps({"by": by(wanted["file"], wanted["limit_s"])}), flush=True)


if __name__ == "__main__":
    assert Path("tests/mutants/worker.py").exists(), "to be run in the copy"
    main()
