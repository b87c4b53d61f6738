"""A practice may begin a ladder on any rung, so every change into it is checked, not that to the first rung alone."""

from pathlib import Path

from feedwright.compiler.pipeline import Compiled, compile_source
from feedwright.compiler.report.render import short
from feedwright.grammar.source import Source
from feedwright.targets.machine.feeders import ProfileShelf

PROGRAM = (Path(__file__).parents[1] / "programs" / "three-replies.feed").read_text("utf-8")
SESSION = """accept feed-unused
accept variation-unused

feed brisk, like rocket
    side      backhand wing
    pace      66 km/h
    interval  1.55 s

session "Climb"
    10 balls  brisk
PAUSE    ladder brisk, up to 20 balls, pace 66, 78, 90, 102, 119 km/h
        up        5 in a row
"""


def climbed(pause: str) -> Compiled:
    text = PROGRAM[: PROGRAM.index("session ")] + SESSION.replace("PAUSE", pause)
    return compile_source(Source("climb.feed", text), ProfileShelf(), remedies=False)


def test_a_change_to_a_high_rung_without_time_for_it_is_told() -> None:
    # The machine changes pace by 45 km/h a second; of 1.55 s, 0.4 s are spent: 51.75 km/h, and 119 is 53 from 66.
    # From rung to rung it is 17 at most.
    found = short(climbed("").findings)
    assert found.count("error") == found.count("change-too-fast") == 1 and "rung 5" in found


def test_a_rest_gives_it_the_time() -> None:
    compiled = climbed("    rest      20 s\n")
    assert compiled.plan is not None, short(compiled.findings)
