"""How far off the tests are at most, for the table in compiler/physics/PHYSICS.md.

`python -m pytest -p tests.differences tests/physics tests/test_answers.py tests/test_programs_flown.py` keeps of every
comparison with a tolerance (pytest.approx, numpy.allclose) the largest difference that the test met, and tells them.
"""

from typing import Any

import numpy as np
import pytest

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


def pytest_terminal_summary(terminalreporter: Any) -> None:
    terminalreporter.section("largest differences")
    for (test, tolerance), apart in FOUND.items():
        terminalreporter.write_line(f"{test:90} {tolerance:14} {apart:.2g}")
