import os
import tempfile

import pytest

# Nothing a test does reaches the log of whoever runs the tests.
os.environ["FEEDWRIGHT_DB"] = os.path.join(tempfile.mkdtemp(prefix="feedwright-tests-"), "log.sqlite")


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--update", action="store_true", help="write what the cases give now as their expectation")
