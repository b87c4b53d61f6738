"""Stop goes out whatever disk, log, line and terminal do; the whole program, measured from outside.

The bound here is one that only waiting breaks: a busy machine may take any process off its core.
tests/benchmarks/test_stop.py measures.
"""

import re
from collections.abc import Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from pathlib import Path

import pytest

from .hindered import HINDRANCES, key_to_line

pytestmark = pytest.mark.flaky(reruns=2)

WAITED_S = 5.0
"""A log that is held makes who waits for it wait 9.5 s; a stalled disk and a stopped terminal for ever."""
Ended = tuple[float, int, str]


@pytest.fixture(scope="module")
def together(tmp_path_factory: pytest.TempPathFactory) -> Iterator[dict[str, "Future[Ended]"]]:
    """All at once: they mostly wait."""
    with ThreadPoolExecutor(len(HINDRANCES)) as pool:
        yield {name: pool.submit(key_to_line, tmp_path_factory.mktemp("hindered"), name) for name in HINDRANCES}


@pytest.mark.parametrize("hindrance", HINDRANCES)
def test_stop_is_on_the_line_and_waits_for_nothing(
    request: pytest.FixtureRequest, together: dict[str, "Future[Ended]"], hindrance: str, tmp_path: Path
) -> None:
    first = getattr(request.node, "execution_count", 1) == 1
    took, code, shown = together[hindrance].result() if first else key_to_line(tmp_path, hindrance)
    assert took < WAITED_S
    assert code == 0 and "The machine is stopped and said so." in shown
    if hindrance == "a log that is held":
        told = "".join(shown.split())  # the terminal breaks it anywhere
        assert re.search(r"notkept:\d+balls?ofthispractice(is|are)notinit:.*:anotherprogramhasbeenwritingtoit", told)
    if hindrance == "a full disk":
        assert "disk" in shown and "practice log" in shown
    if hindrance == "a stalled disk":
        assert "the disk does not answer" in shown
