"""Replies crosscourt and down the line: to which half they go.

Crosscourt is over the net to the diagonally opposite half, down the line to the half straight ahead: common practice,
no source. How wide a half is, is that of the ITF Rules of Tennis, rule 1: 8.23 m and 10.97 m.
"""

import pytest

from feedwright.compiler.model.compiled import Compiled
from feedwright.compiler.pipeline import compile_source
from feedwright.grammar.format import formatted
from feedwright.grammar.source import Source
from feedwright.targets.machine.feeders import ProfileShelf

SCRIPT = """\
program "Across"
    court     {court}
    surface   hard
    player    {player}
    feeder    machine academy, {place}, 0.5 m behind baseline, behind a screen

variation go "over the net"
    reply     {reply}

feed wide aims go
    side      {side}
    depth     1 to 3.5 m inside baseline
    stance    2.5 m behind baseline
    height    1 m over net
    spin      topspin 900 rpm
    interval  5 s
{more}
session "T"
    4 balls   wide
"""


USUAL = {"court": "singles", "player": "right-handed, 1.75 m tall", "place": "on centre", "more": ""}


def script(reply: str, side: str, **others: str) -> str:
    return SCRIPT.format(reply=reply, side=side, **{**USUAL, **others})


def of(reply: str, side: str, **others: str) -> Compiled:
    return compile_source(Source("a.feed", script(reply, side, **others)), ProfileShelf(None), remedies=False)


@pytest.mark.parametrize(
    ("reply", "side", "to", "others"),
    [
        ("crosscourt", "left wing", "right", {}), ("crosscourt", "right wing", "left", {}),
        ("down the line", "left wing", "left", {}), ("down the line", "right wing", "right", {}),
        ("deep, to cross-court", "left wing", "right", {}), ("deep, up the line", "left corner", "left", {}),
        # A right-hander's backhand is on the left, a left-hander's on the right.
        ("past service line, crosscourt", "backhand wing", "right", {}),
        ("past service line, crosscourt", "backhand wing", "left", {"player": "left-handed, 1.75 m tall"}),
        # Every ball of a family in one half.
        ("crosscourt, deep", "left wing, 1 to 3 m left of centre", "right", {}),
        ("crosscourt", "0.8 to 3 m left of centre, in 2 steps", "right", {}),
        # It lands 0.3 m right of the centre, but comes from 7 m right of it, so it is met 1.1 m left of it.
        ("crosscourt", "0 to 0.6 m right of centre", "right", {"place": "7 m right of centre"}),
    ],
)  # fmt: skip
def test_a_reply_goes_to_the_half_across_from_the_ball_or_straight_ahead(
    reply: str, side: str, to: str, others: dict[str, str]
) -> None:
    plan = of(reply, side, **others).plan
    assert plan
    asked = plan.variations[0].reply
    assert asked.zone_m
    assert asked.zone_m[:2] == ((0.0, 4.115) if to == "left" else (-4.115, 0.0))
    assert f"({to} half)" in asked.words
    # The player's left is +x. The ball is met on the other side for crosscourt.
    assert ("cross" in reply) == all((shot.predicted.contact_m[0] > 0) != (to == "left") for shot in plan.shots)


def test_on_a_doubles_court_the_half_is_as_wide_as_the_alley_makes_it() -> None:
    plan = of("deep, crosscourt", "left wing", court="doubles").plan
    assert plan and plan.variations[0].reply.zone_m
    assert plan.variations[0].reply.zone_m[:2] == pytest.approx((-5.485, 0.0))


def test_the_form_has_one_word_for_it() -> None:
    text, _ = formatted(Source("a.feed", script("deep, to cross court", "left wing")))
    assert "    reply     deep, crosscourt\n" in text


def test_a_point_and_a_mix_take_it_as_one_ball_does() -> None:
    more = """
feed other aims go, like wide
    side      left corner

point both
    plays     wide, then other
"""
    text = script("deep, crosscourt", "left wing", more=more).replace("4 balls   wide", "4 balls   mix wide, other")
    plan = compile_source(Source("a.feed", f"{text}    2 points  both\n"), ProfileShelf(None), remedies=False).plan
    assert plan and plan.variations[0].reply.zone_m
    assert plan.variations[0].reply.zone_m[:2] == (-4.115, 0.0)


def test_players_of_either_hand_have_the_half_of_their_own_ball() -> None:
    """The same backhand: on the left of a right-hander, on the right of a left-hander."""
    players = "called anna, right-handed, 1.75 m tall\n    player    called ben, left-handed, 1.75 m tall"
    found = of("deep, crosscourt", "backhand wing", player=f"{players}\n    rotation  changing every 2 balls")
    assert found.plan, found.findings
    zones = {one.id: one.reply.zone_m and one.reply.zone_m[:2] for one in found.plan.variations}
    assert zones == {"go": (-4.115, 0.0), "go for ben": (0.0, 4.115)}
