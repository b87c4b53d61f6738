"""Time by the number of launches: everything after aiming, up to 10,000 launches; linear is a ratio near one."""

import pytest

from feedwright.compiler.pipeline import compile_source
from feedwright.grammar.source import Source
from feedwright.targets.machine.feeders import ProfileShelf

from .timing import best

pytestmark = pytest.mark.benchmark

SCRIPT = """program "Many"
    surface   hard
    player    right-handed, 1.75 m tall
    feeder    person racket, on centre, on baseline, behind a screen
feed a
    side      middle
    depth     1 to 4 m inside baseline
    stance    1 m behind baseline
    height    1.5 m over net
    spin      flat
    interval  3 s
feed b, like a
    height    1.8 m over net
session "Many"
    {balls} balls mix a, b, at most 2 alike
"""


def test_time_grows_linearly_with_launches(capsys: pytest.CaptureFixture[str]) -> None:
    def compiled(balls: int) -> None:
        found = compile_source(Source("many.feed", SCRIPT.format(balls=balls)), ProfileShelf())
        assert found.plan and len(found.plan.launches) == balls

    compiled(10)
    none = best(lambda: compiled(10))
    times = {balls: best(lambda: compiled(balls)) - none for balls in (1000, 3000, 9000)}  # noqa: B023 - timed at once
    with capsys.disabled():
        for balls, seconds in times.items():
            print(f"\n{balls} launches: {seconds / balls * 1e6:.1f} µs each, {seconds / none:.2f} of aiming two feeds")
    assert times[9000] / 9000 < 2 * times[1000] / 1000 + 1e-5
