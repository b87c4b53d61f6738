"""A ball with the player's goal, from one form."""

import pytest

from feedwright.compiler.pipeline import compile_source
from feedwright.compiler.service.ball_form import ball_changed
from feedwright.compiler.service.blanks import GOES, BallBlanks, BlankProblem
from feedwright.compiler.service.forms import ball_written
from feedwright.compiler.service.goals import with_goal
from feedwright.compiler.service.script import Script, edited, opened
from feedwright.compiler.starter import Answers, first_script
from feedwright.grammar.source import Source
from feedwright.targets.machine.feeders import ProfileShelf


def begun(hand: str = "right", text: str = "") -> Script:
    first = first_script(Answers(hand, None, "club", "", "T", "singles"))
    return opened(Source("a.feed", text or first), None)


def goal(blanks: BallBlanks, script: Script) -> str:
    return edited(script.source, with_goal(script, blanks, ball_written))


WINGS = {"forehand": "forehand wing", "backhand": "backhand wing"}


@pytest.mark.parametrize(
    ("hand", "stroke", "goes", "half"),
    [
        # The right-handed forehand is on the player's right, and across is the other half.
        ("right", "backhand", "crosscourt", "right"), ("right", "forehand", "crosscourt", "left"),
        ("right", "backhand", "down the line", "left"), ("left", "backhand", "crosscourt", "left"),
        ("left", "forehand", "down the line and deep", "left"),
    ],
)  # fmt: skip
def test_a_goal_across_or_along_the_line_is_a_half_of_the_court(hand: str, stroke: str, goes: str, half: str) -> None:
    text = goal(BallBlanks("ball", side=WINGS[stroke], goal=4.0, goes=goes), begun(hand))
    assert f", {goes.removesuffix(' and deep')}, " in text and "    goal      4 in a row\n" in text
    called = "ball-" + goes.replace(" ", "-")
    assert f'variation {called} "{goes}"' in text and f"feed ball aims {called}\n" in text
    found = compile_source(Source("a.feed", text), ProfileShelf(None), remedies=False)
    assert found.plan and f"({half} half)" in next(one for one in found.plan.variations if one.id == called).reply.words


@pytest.mark.parametrize("goes", GOES)
def test_every_goal_is_a_practice_without_an_error(goes: str) -> None:
    text = goal(BallBlanks("ball", side="backhand wing", goal=4.0, goes=goes), begun())
    assert compile_source(Source("a.feed", text), ProfileShelf(None), remedies=False).plan


def test_a_goal_is_in_a_row_or_among_so_many_balls() -> None:
    text = goal(BallBlanks("ball", goal=10.0, among=16.0), begun())
    assert "    goal      10 of 16\n" in text
    assert compile_source(Source("a.feed", text), ProfileShelf(None), remedies=False).plan


def test_a_goal_is_given_to_a_ball_that_stands_there_under_a_new_name() -> None:
    first = begun(text=goal(BallBlanks("ball", side="backhand wing", goal=4.0, goes="deep"), begun()))
    blanks = BallBlanks("ball", side="backhand wing", goal=5.0, goes="deep", like="ball")
    text = edited(first.source, with_goal(first, blanks, ball_changed))
    assert "feed ball aims ball-deep-2\n" in text and text.count("variation ball-deep") == 2


@pytest.mark.parametrize(
    "blanks",
    [
        BallBlanks("ball", goal=4.0, goes="crosscourt"), BallBlanks("ball", goal=2.0), BallBlanks("ball", goal=99.0),
        BallBlanks("ball", goal=4.0, goes="up"), BallBlanks("ball", goal=10.0, among=9.0),
        BallBlanks("ball", goal=10.0, among=300.0),
    ],
)  # fmt: skip
def test_a_goal_that_cannot_be_is_refused(blanks: BallBlanks) -> None:
    with pytest.raises(BlankProblem):
        goal(blanks, begun())
