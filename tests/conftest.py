import contextlib
import gc
import os
import re
import shutil
import sys
import tempfile
from collections.abc import Iterator
from importlib import import_module
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import pytest
from hypothesis import settings

from . import fast
from .balance import part, rank

# Files of tests are in memory where it has room: hundreds of tests write a log, and each ball waits for the disk.
MEMORY, LEAST = "/dev/shm", 2 << 30
if os.path.isdir(MEMORY) and os.access(MEMORY, os.W_OK) and shutil.disk_usage(MEMORY).free > LEAST:
    os.environ.setdefault("TMPDIR", MEMORY)
    tempfile.tempdir = None
_KEPT = tempfile.TemporaryDirectory(prefix="feedwright-tests-")
# Nothing a test does reaches the log of whoever runs the tests.
os.environ["FEEDWRIGHT_DB"] = os.path.join(_KEPT.name, "log.sqlite")
# The included programs, compiled: of several workers with one another.
if os.environ.get("PYTEST_XDIST_WORKER") is None:
    os.environ["FEEDWRIGHT_COMPILED"] = _KEPT.name
# What is compiled of tests and program is kept for the next run: workers need not do it again, nor do the processes
# that tests start. Beside the sources, where what came along with the libraries is found too.
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
sys.dont_write_bytecode = False
settings.register_profile("busy", deadline=None)  # an example waits for the processor, too
settings.load_profile("busy")
gc.disable()  # until all is loaded, which stays


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--update", action="store_true", help="write what the cases give now as their expectation")
    parser.addoption("--mutants", metavar="FILE", help="where the results of changed sources are kept, to go on with")
    parser.addoption("--fast", action="store_true", help="a few tests for each stage, to run while working")


@pytest.fixture(scope="module")
def driver() -> Iterator[Any]:
    """A browser of a test module's own."""
    from .targets import browser

    with browser.opened() as made:
        yield made


# Where parts of POSIX are missing, as with tests/bare on PYTHONPATH, the files that play in a terminal are left out.
PARTS = ("termios", "fcntl", "pty", "tty", "resource", "grp", "pwd")
ENDS = "rig|outside|hindered|test_commands|test_records_rig|test_own_commands|test_loop"
"""What opens pseudo-terminals or sends signals for others."""
NEEDS = re.compile(
    rf"^\s*(?:import|from) (?:{'|'.join(PARTS)}|pexpect|\.+(?:replay\.)?(?:{ENDS}))\b|\bsignal\.SIGHUP\b", re.M
)


def pytest_ignore_collect(collection_path: Path, config: pytest.Config) -> bool | None:
    bare = _BARE and collection_path.suffix == ".py" and NEEDS.search(collection_path.read_text("utf-8"))
    return True if bare or (config.getoption("--fast") and fast.left_out(collection_path)) else None


def _missing(name: str) -> bool:
    try:
        return find_spec(name) is None
    except ModuleNotFoundError:
        return True


_BARE = any(map(_missing, PARTS))


def pytest_sessionstart(session: pytest.Session) -> None:
    """Of several workers each loads its share of the files first, so that in a fresh copy no two compile the same."""
    if worker := getattr(session.config, "workerinput", None):
        number, workers = int(worker["workerid"].removeprefix("gw")), int(worker["workercount"])
        files = sorted(path for place in session.config.args for path in Path(place).rglob("test_*.py"))
        for path in files[number::workers]:
            if not pytest_ignore_collect(path, session.config):
                with contextlib.suppress(Exception, pytest.skip.Exception):  # told when it is collected
                    import_module(".".join(path.absolute().relative_to(session.config.rootpath).with_suffix("").parts))


def pytest_configure(config: pytest.Config) -> None:
    if hasattr(config.option, "loadscopereorder"):
        config.option.loadscopereorder = False  # pytest-xdist's own order, by the number of tests


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> Any:
    if config.getoption("dist") == "loadfile":
        from xdist.scheduler import LoadFileScheduling

        scheduled = LoadFileScheduling(config, log)
        scheduled._split_scope = part  # type: ignore[method-assign]
        return scheduled
    return None


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    if hasattr(config, "workerinput"):
        items.sort(key=lambda item: rank(item.nodeid))
    if config.getoption("--fast"):
        chosen = fast.kept([item.nodeid.partition("[")[0] for item in items])
        config.hook.pytest_deselected(items=[item for item, keep in zip(items, chosen, strict=True) if not keep])
        items[:] = [item for item, keep in zip(items, chosen, strict=True) if keep]


def pytest_collection_finish() -> None:
    # The libraries and the tests stay until the end: collections need not look through them again and again.
    gc.collect()
    gc.freeze()
    gc.set_threshold(50_000, 20, 100)  # to look after each 700 objects takes a twentieth of all time
    gc.enable()


def pytest_sessionfinish() -> None:
    for name in ("replay.processes", "targets.browser"):
        if started := sys.modules.get(f"{__package__}.{name}"):
            started.end()
