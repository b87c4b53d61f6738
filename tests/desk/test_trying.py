"""A ball in its form before it is written: what it does is what the written ball does, and what is wrong is said."""

import re
from typing import Any

import pytest

from feedwright.compiler.pipeline import compile_source
from feedwright.compiler.service.blanks import BlankProblem
from feedwright.compiler.service.forms import accepted
from feedwright.compiler.service.script import edited, opened
from feedwright.grammar.source import Source
from feedwright.grammar.units import KMH
from feedwright.programs import ScriptShelf
from feedwright.targets.desk.beginnings import FORMS
from feedwright.targets.desk.trying import FINE, TriedBall, around, ball_alone, tried
from feedwright.targets.machine.feeders import ProfileShelf

from ..shipped import FOLDER
from .test_beginnings import Said

TEXT = (FOLDER / "02-first-script.feed").read_text("utf-8")
SCRIPT = opened(Source("a.feed", TEXT), None)
LIBRARY = ScriptShelf(None)


def told(what: str = "ball", **said: Any) -> TriedBall | None:
    alone = ball_alone(SCRIPT, what, Said(**said), LIBRARY)
    assert alone
    return tried(*alone, ProfileShelf(None), LIBRARY, lambda: True)


def test_what_the_form_says_of_a_ball_is_what_comes_of_it() -> None:
    said = {"name": "wide", "side": "backhand wing", "level": "high ball", "aims": "clear"}
    found = told(**said)
    assert found and not found["against"]
    text = edited(SCRIPT.source, FORMS["ball"](SCRIPT, Said(**said)))
    shots = compile_source(Source("a.feed", text), ProfileShelf(None), remedies=False).shots
    assert shots
    shot = shots.shots["wide"]
    assert found["does"].startswith(
        f"It leaves at {shot.speed / KMH:.0f} km/h, passes {shot.predicted.clearance:.2f} m"
    )
    assert f"met {shot.predicted.contact[2]:.2f} m high" in found["does"]


def test_a_ball_that_cannot_be_had_says_why_and_what_is_possible() -> None:
    found = told(name="", depth="deep", level="open", speed="pace", pace=45.0)
    assert found and found["does"] == ""
    assert found["against"][0][0] == "\u2715" and "possible: about" in found["against"][0][1]
    assert "this-ball" in found["against"][0][1]
    small = told(name="small", near=0.25, far=0.75)
    assert small and small["does"] and small["against"][0][0] == "\u25b2" and small["against"][-1] == FINE
    with pytest.raises(BlankProblem, match="two of them"):
        told(name="x", speed="pace")


def test_nothing_is_said_of_a_goal_that_one_ball_cannot_meet() -> None:
    found = told("change", name="high", like="high", aims="clear", depth="metres", level="drive", stance=2.5)
    assert found and "in a row" not in str(found)


def test_nobody_waits_for_an_overtaken_ball() -> None:
    alone = ball_alone(SCRIPT, "ball", Said(name="wide"), LIBRARY)
    assert alone and tried(*alone, ProfileShelf(None), LIBRARY, lambda: False) is None


def test_the_heights_of_the_body_are_those_of_the_player() -> None:
    """An adult's waist at 62 % of the stature is that of `BODY_SHARES`, whose source stands there."""
    tall = compile_source(
        Source("a.feed", re.sub("player +.*", "player    right-handed, 2 m tall", TEXT)), ProfileShelf(None)
    )
    assert tall.program and around(tall.program)["heights"]["waist"] == 1.24
    assert around(None)["limits"] == {} and around(tall.program)["forehand"] == "right"


def test_what_is_meant_is_accepted_below_the_head() -> None:
    text = edited(SCRIPT.source, accepted(SCRIPT, "height-varies"))
    assert "\n\naccept height-varies\n\nvariation" in text
    second = opened(Source("a.feed", text), None)
    assert "accept height-varies\n\naccept over-the-head\n" in edited(second.source, accepted(second, "over-the-head"))
    for wrong in ("net-hit", "nothing", "None"):
        with pytest.raises(BlankProblem):
            accepted(SCRIPT, wrong)
