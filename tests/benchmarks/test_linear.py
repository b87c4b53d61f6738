"""Long practices and many balls take time in proportion, and hardly more memory."""

import resource
from time import process_time

import pytest

from feedwright.compiler import kept
from feedwright.compiler.pipeline import compile_source
from feedwright.grammar.source import Source
from feedwright.programs import ScriptShelf
from feedwright.targets.machine.feeders import ProfileShelf

pytestmark = pytest.mark.benchmark

HEAD = """program "Long"
    surface   hard
    player    right-handed, 1.74 m tall, reply up to 120 km/h
    feeder    machine academy, on centre, 0.5 m behind baseline, behind a screen

variation back "deep"
    when      it comes
    reply     deep, at least 1 m over net, topspin 900 rpm, 80 km/h
    goal      8 in a row

"""
FEED = """feed f{0} aims back
    side      middle
    depth     {1:.2f} to {2:.2f} m inside baseline, in 6 steps
    stance    {3:.2f} m behind baseline
    height    0.8 to 1.8 m over net, in 10 steps
    spin      topspin 900 rpm
    interval  2 s

"""


def script(feeds: int, blocks: int) -> str:
    """Feeds of 60 balls each, and blocks of 100 launches."""
    told = "".join(FEED.format(i, 1 + 0.01 * i, 3 + 0.01 * i, 2 + 0.01 * i) for i in range(feeds))
    played = "".join(
        f"    100 balls  mix f{k % feeds}, f{(k + 1) % feeds}\n    collect   1 min\n" for k in range(blocks)
    )
    return f'{HEAD}{told}session "Long"\n{played}'


def measured(feeds: int, blocks: int) -> tuple[float, int]:
    kept.forget()
    start = process_time()
    done = compile_source(Source("long.feed", script(feeds, blocks)), ProfileShelf(None), ScriptShelf(None))
    spent = process_time() - start
    assert done.plan, [finding.headline for finding in done.findings]
    megabytes = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
    print(f"{len(done.shots.shots) if done.shots else 0} balls, {100 * blocks} launches in "
          f"{done.plan.totals.duration_s / 3600:.1f} h: {spent:.2f} s, at most {megabytes} MB")  # fmt: skip
    return spent, megabytes


def test_a_long_practice_takes_time_in_proportion() -> None:
    print()
    measured(2, 5)
    short, before = measured(2, 25)
    long, after = measured(2, 100)
    assert long < 4 * 1.5 * short and after - before < 64


def test_many_balls_take_time_in_proportion() -> None:
    print()
    measured(2, 5)
    few, before = measured(10, 10)
    many, after = measured(40, 40)
    assert many < 4 * 1.5 * few and after - before < 128
