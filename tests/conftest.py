import gc
import os
import tempfile

import pytest

_KEPT = tempfile.TemporaryDirectory(prefix="feedwright-tests-")
# Nothing a test does reaches the log of whoever runs the tests.
os.environ["FEEDWRIGHT_DB"] = os.path.join(_KEPT.name, "log.sqlite")
# Some tests run the program as a process: they share what the first one compiled, also where nothing is to be written.
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
os.environ["PYTHONPYCACHEPREFIX"] = os.path.join(_KEPT.name, "bytecode")


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--update", action="store_true", help="write what the cases give now as their expectation")


def pytest_collection_finish() -> None:
    # The libraries and the tests stay until the end: collections need not look through them again and again.
    gc.collect()
    gc.freeze()
