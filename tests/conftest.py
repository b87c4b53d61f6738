import os
import re
import tempfile
from importlib.util import find_spec
from pathlib import Path

import pytest

# Nothing a test does reaches the log of whoever runs the tests.
os.environ["FEEDWRIGHT_DB"] = os.path.join(tempfile.mkdtemp(prefix="feedwright-tests-"), "log.sqlite")


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--update", action="store_true", help="write what the cases give now as their expectation")


# Where parts of POSIX are missing, as with tests/bare on PYTHONPATH, the files that play in a terminal are left out.
PARTS = ("termios", "fcntl", "pty", "tty", "resource", "grp", "pwd")
NEEDS = re.compile(rf"^\s*(?:import|from) (?:{'|'.join(PARTS)}|pexpect|\.+(?:replay\.)?rig|\.test_commands)\b", re.M)


def pytest_ignore_collect(collection_path: Path) -> bool | None:
    if _BARE and collection_path.suffix == ".py" and NEEDS.search(collection_path.read_text("utf-8")):
        return True
    return None


def _missing(name: str) -> bool:
    try:
        return find_spec(name) is None
    except ModuleNotFoundError:
        return True


_BARE = any(map(_missing, PARTS))
