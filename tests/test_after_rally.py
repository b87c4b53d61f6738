"""An interval that begins where a rally ends: its seconds and those of the rally are the time from launch to launch, by
the words of the line. How long a rally lasts the coach says; whoever feeds waits for its end."""

import pytest

from feedwright.compiler.pipeline import compile_source
from feedwright.grammar.finding import Severity
from feedwright.grammar.source import Source
from feedwright.targets.machine.feeders import ProfileShelf
from feedwright.targets.outputs.sheet.page import sheet

from .test_points import BALLS, compiled, plan_of, times

FEED = "feed played, like slow\n    interval  20 s after a rally of 8 s\n"
ROWS = f'{FEED}session "s"\n    4 balls played\n    4 balls slow\n'
BY_HAND = BALLS.split("feed middling")[0].replace("machine {machine}", "person racket").format(interval="4 s")


def test_the_launches_are_apart_by_the_rally_and_the_time_after_it() -> None:
    plan = plan_of(ROWS)
    assert times(plan) == [0, 28, 56, 84] and {shot.feed: shot.interval_s for shot in plan.shots}["played"] == 28
    under = 'session "s"\n    4 balls slow\n        interval  12 s after the rally of 3 s\n'
    assert times(plan_of(under)) == [0, 15, 30, 45]


def test_a_person_reads_to_wait_for_the_end_of_the_rally_and_a_machine_its_rhythm() -> None:
    assert sheet(plan_of(ROWS)).parts[0].rows[0].every == "every 28 s"
    found = compile_source(Source("by-hand.feed", BY_HAND + ROWS), ProfileShelf(), plan=True).plan
    assert found
    assert sheet(found).parts[0].rows[0].every == "20 s after the rally, about every 28 s"


@pytest.mark.parametrize(
    "line", ["90 s after a rally of 40 s", "20 s after a rally of 0.1 s", "20 s after a rally of 8 m"]
)
def test_an_impossible_rally_is_refused(line: str) -> None:
    found = compiled(ROWS.replace("20 s after a rally of 8 s", line)).findings
    (code,) = [one.code for one in found if one.severity is Severity.ERROR]
    assert code in ("impossible-number", "wrong-unit")
