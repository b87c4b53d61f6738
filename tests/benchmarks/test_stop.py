"""From key to line while something hinders the run: median and p99. FEEDWRIGHT_BENCH=1 runs it.

FEEDWRIGHT_BENCH=1 python -m pytest -s tests/benchmarks/test_stop.py
"""

import os
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from ..replay.hindered import HINDRANCES, key_to_line

pytestmark = pytest.mark.skipif("FEEDWRIGHT_BENCH" not in os.environ, reason="benchmarks are run by name")
STOPS = int(os.environ.get("FEEDWRIGHT_STOPS", "50"))
AT_ONCE = int(os.environ.get("FEEDWRIGHT_AT_ONCE", "2"))
"""Runs beside each other; they mostly wait."""


@pytest.mark.parametrize("hindrance", HINDRANCES)
def test_from_key_to_line(hindrance: str, tmp_path: Path) -> None:
    folders = [tmp_path / str(n) for n in range(STOPS)]
    for folder in folders:
        folder.mkdir()
    with ThreadPoolExecutor(AT_ONCE) as pool:
        # Pressed at other moments of the time between two balls each time.
        runs = [pool.submit(key_to_line, f, hindrance, 0.1 + n % 7 * 0.07) for n, f in enumerate(folders)]
        took = sorted(run.result()[0] * 1000 for run in runs)
    p99 = took[min(STOPS - 1, int(STOPS * 0.99))]
    slowest = ", ".join(f"{t:.1f}" for t in took[-4:])
    print(f"\n{hindrance}: {STOPS} stops, median {took[STOPS // 2]:.1f} ms, p99 {p99:.1f} ms; the slowest {slowest}")
    assert p99 < 50.0
