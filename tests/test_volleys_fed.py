"""What is told of volleys that a person feeds: one note of how they scatter, and where they would land."""

from math import degrees

import pytest

from feedwright.compiler.pipeline import compile_source
from feedwright.compiler.verdicts import rows
from feedwright.grammar.finding import Severity
from feedwright.grammar.source import Source
from feedwright.targets.machine.feeders import ProfileShelf

VOLLEYS = """\
program "Two volleys"
    surface hard
    player right-handed, {tall}
    feeder person racket, on centre, on baseline, behind a screen
feed chest-high
    side middle
    stance 3 m from net
    height chest, on the full
    pace 80 km/h
    spin flat
    interval 5 s
feed lower, like chest-high
    height hip, on the full
session "Volleys"
    8 balls cycle chest-high, lower
"""


def test_what_a_person_scatters_and_no_line_mends_is_one_note_for_all_balls() -> None:
    found = compile_source(Source("told.feed", VOLLEYS.format(tall="1.78 m tall")), ProfileShelf(None))
    (note,) = (finding for finding in found.findings if finding.code == "height-varies")
    assert note.severity is Severity.NOTE and note.about == ("chest-high", "lower") and not note.remedies
    assert "as high as the eyes" in note.headline


def test_balls_that_come_as_high_as_the_eyes_of_a_child_stay_a_warning() -> None:
    found = compile_source(Source("told.feed", VOLLEYS.format(tall="1.3 m tall")), ProfileShelf(None))
    told = [finding for finding in found.findings if finding.code == "height-varies"]
    assert any(finding.severity is Severity.WARNING and "chest-high" in finding.about for finding in told)


def test_a_ball_on_the_full_would_land_where_the_same_launch_comes_down() -> None:
    """The same feeder reaches that place, at the same pace, with the same launch."""
    head, feed = VOLLEYS.format(tall="1.78 m tall").split("feed chest-high\n")
    volley = compile_source(Source("told.feed", f"{head}feed chest-high\n{feed}"), ProfileShelf(None), remedies=False)
    lands = rows(volley)[0].would_land
    assert lands
    lines = feed.replace("    height chest, on the full\n", f"    depth {lands:.2f} m from net\n", 1)
    lines = lines.replace("stance 3 m from net", "stance on baseline", 1).split("feed lower")[0]
    text = f'{head}feed chest-high\n{lines}session "One"\n    8 balls chest-high\n'
    bounced = compile_source(Source("told.feed", text), ProfileShelf(None), remedies=False)
    assert volley.shots and bounced.shots, bounced.findings
    one, other = (each.shots.shots["chest-high"] for each in (volley, bounced) if each.shots)
    assert degrees(one.elevation) == pytest.approx(degrees(other.elevation), abs=0.1)  # settings are smooth
