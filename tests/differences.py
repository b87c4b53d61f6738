"""How far off the tests are at most, for the table in compiler/physics/PHYSICS.md.

`python -m pytest -p tests.differences tests/physics tests/test_answers.py tests/test_programs_flown.py` keeps of every
comparison with a tolerance (pytest.approx, numpy.allclose) the largest difference that the test met, and tells them.
What is beyond the figure of its row fails the run. Without -n: it looks into its own process alone.
"""

import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest

PAGE = Path(__file__).parent.parent / "compiler" / "physics" / "PHYSICS.md"
ROUNDING = 1e-11
"""Smaller differences are the last digits of another machine, not news."""
FOUND: dict[tuple[str, str], float] = {}
_running = [""]
_approx, _allclose = pytest.approx, np.allclose


def _keep(ours: Any, theirs: Any, relative: float | None, absolute: float | None) -> None:
    try:
        a, b = np.broadcast_arrays(np.asarray(ours, float), np.asarray(theirs, float))
    except (TypeError, ValueError):
        return  # a comparison that is no number's
    apart = np.where((a == b) | (np.isnan(a) & np.isnan(b)), 0.0, np.abs(a - b))
    if relative:
        apart = np.where(apart == 0, 0.0, apart / np.maximum(np.abs(b), 1e-300))
    key = _running[0], f"rel {relative:g}" if relative else f"abs {absolute:g}" if absolute else "default"
    FOUND[key] = max(FOUND.get(key, 0.0), float(apart.max(initial=0.0)))


class _Kept:
    __array_ufunc__ = None
    __array_priority__ = 100

    def __init__(self, theirs: Any, rel: float | None = None, abs: float | None = None, nan_ok: bool = False) -> None:
        self._same, self._about = _approx(theirs, rel=rel, abs=abs, nan_ok=nan_ok), (theirs, rel, abs)

    def __eq__(self, ours: object) -> bool:
        _keep(ours, *self._about)
        return bool(self._same == ours)

    __hash__ = None  # type: ignore[assignment]

    def __repr__(self) -> str:
        return repr(self._same)


def _close(ours: Any, theirs: Any, rtol: float = 1e-5, atol: float = 1e-8, equal_nan: bool = False) -> bool:
    _keep(ours, theirs, rtol, atol)
    return bool(_allclose(ours, theirs, rtol, atol, equal_nan))


pytest.approx, np.allclose = _Kept, _close  # type: ignore[assignment]


def pytest_runtest_setup(item: pytest.Item) -> None:
    _running[0] = f"{item.path.name}::{item.name.partition('[')[0]}"


def _number(cell: str) -> float | None:
    found = re.fullmatch(r"(?:at most )?(\d[\d.e-]*)( %)?(?: ?[^\d].*)?", cell)
    return float(found[1]) / (100 if found[2] else 1) if found else None


def compared() -> list[tuple[str, str, float, float]]:
    """Test, tolerance, the page's figure and what was met, for each row of the page whose test ran. A row and a
    comparison belong together where the test is the same and the tolerance to the two digits that the page gives."""
    rows = []
    for line in PAGE.read_text("utf-8").splitlines():
        cells = line.strip("| ").split(" | ")
        if len(cells) != 5 or "::test_" not in line:
            continue
        asked, figure = _number(cells[2]), _number(cells[3])
        if asked is None or figure is None:
            continue
        for (test, tolerance), apart in FOUND.items():
            same = tolerance != "default" and abs(float(tolerance.split()[1]) / asked - 1) < 0.03
            if same and f"`{test}`" in cells[4]:
                rows.append((test, tolerance, figure, apart))
    return rows


def _stale() -> list[tuple[str, str, float, float]]:
    """Beyond the figure by more than half of its second digit, 5 %."""
    return [row for row in compared() if row[3] > max(ROUNDING, row[2] * 1.05)]


def pytest_sessionfinish(session: pytest.Session) -> None:
    if _stale() and session.exitstatus == 0:
        session.exitstatus = pytest.ExitCode.TESTS_FAILED


def pytest_terminal_summary(terminalreporter: Any) -> None:
    terminalreporter.section("largest differences")
    for (test, tolerance), apart in FOUND.items():
        terminalreporter.write_line(f"{test:90} {tolerance:14} {apart:.2g}")
    terminalreporter.write_line(f"{len(compared())} of them stand in PHYSICS.md")
    for test, tolerance, figure, apart in _stale():
        terminalreporter.write_line(f"PHYSICS.md is behind: {test} {tolerance}: {figure:.2g}, now {apart:.2g}")
