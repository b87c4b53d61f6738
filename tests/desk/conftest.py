from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from ..shipped import FOLDER
from .driven import Page, at_the_desk


@pytest.fixture
def page(driver: Any, tmp_path: Path) -> Iterator[Page]:
    """A desk with the first script, drawn and judged."""
    (tmp_path / "a.feed").write_bytes((FOLDER / "02-first-script.feed").read_bytes())
    with at_the_desk(driver, tmp_path) as made:
        made.ready()
        yield made
