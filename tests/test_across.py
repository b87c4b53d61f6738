"""Replies crosscourt and down the line: to which half they go.

Crosscourt is over the net to the diagonally opposite half, down the line to the half straight ahead: common practice,
no source. How wide a half is, is that of the ITF Rules of Tennis, rule 1: 8.23 m and 10.97 m.
"""

import math

import pytest

from feedwright.compiler.model.compiled import Compiled
from feedwright.compiler.pipeline import compile_source
from feedwright.compiler.verify import verify
from feedwright.grammar.format import formatted
from feedwright.grammar.source import Source
from feedwright.targets.machine.feeders import ProfileShelf
from feedwright.targets.outputs.sheet import html
from feedwright.targets.outputs.sheet.layout import document
from feedwright.targets.outputs.sheet.words import for_feeder

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


ACADEMY = ProfileShelf(None).load("academy")
OTHER = {"forehand": "backhand", "backhand": "forehand"}
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


def halves(found: Compiled) -> dict[str, str]:
    """To which half the reply to each ball goes."""
    assert found.plan, found.findings
    ends = {shot.id: [zone[:2] for zone in found.plan.targets(shot)] for shot in found.plan.shots}
    return {ball: {(0.0, 4.115): "left", (-4.115, 0.0): "right"}[zone] for ball, (zone,) in ends.items()}


@pytest.mark.parametrize("reply", ["past service line, crosscourt", "deep, down the line"])
def test_balls_from_both_halves_have_each_the_half_of_their_own(reply: str) -> None:
    found = of(reply, "left wing, right wing, left corner")
    across = "cross" in reply
    near, far = ("left", "right") if across else ("right", "left")
    # In the script's order: the reply to a ball at the left goes to the right, and the other way round.
    assert list(halves(found).values()) == [far, near, far]
    assert found.plan and found.plan.variations[0].reply.zone_m
    assert found.plan.variations[0].reply.zone_m[:2] == (-4.115, 4.115) and not verify(found.plan, ACADEMY)
    one_side = of(reply, "left wing").plan
    assert one_side and found.plan.shots[0].reply == one_side.shots[0].reply  # the forecast is that of its own half
    for shot in found.plan.shots:
        assert shot.reply and shot.reply.azimuth_deg
        # 180 degrees is straight back along the court, less is to the player's left.
        aimed = shot.predicted.contact_m[0] - math.tan(math.radians(shot.reply.azimuth_deg)) * 20
        assert (aimed > 0) == (halves(found)[shot.id] == "left")


@pytest.mark.parametrize(
    ("hand", "stroke", "to"),
    [
        ("right", "forehand", "left"), ("right", "backhand", "right"),
        ("left", "forehand", "right"), ("left", "backhand", "left"),
    ],
)  # fmt: skip
def test_from_the_middle_the_stroke_says_the_half(hand: str, stroke: str, to: str) -> None:
    """Across the body, to the side opposite that of the stroke, as from that side: common practice, no source."""
    player = f"{hand}-handed, 1.75 m tall"
    said = of(f"in court, crosscourt\n    stroke    {stroke}", "middle", player=player)
    assert halves(said) == {"wide": to}
    along = of(f"in court, down the line\n    stroke    {stroke}", "middle", player=player)
    assert halves(along) == {"wide": "left" if to == "right" else "right"}
    # A line of the feed counts before that of its variation, and a ball to one side needs none.
    both = of(f"in court, crosscourt\n    stroke    {stroke}", f"middle\n    stroke    {OTHER[stroke]}", player=player)
    assert halves(both) != halves(said)
    assert halves(of("in court, crosscourt\n    stroke    backhand", "right wing", player=player)) == {"wide": "left"}


def test_a_mix_of_both_corners_counts_one_goal_and_the_cones_say_which_half_is_whose() -> None:
    found = of("past service line, crosscourt\n    goal      3 of 4", "left corner, right corner")
    assert found.plan and len(found.plan.variations) == 1 and found.plan.variations[0].goal
    page = html.render(document(found.plan)).decode().replace("\u00a0", " ")
    # The feeder's left is the player's right.
    said = "past service line, crosscourt: 0–5.5 m inside baseline, 0–4.1 m"
    assert f"A1: {said} left of middle; A2: {said} right of middle" in page


CORNERS = {"left corner": (2.315, 3.815), "right corner": (-3.815, -2.315)}
"""0.3 to 1.8 m inside the sideline, as LANGUAGE.md has it, of a court 8.23 m wide: ITF Rules of Tennis, rule 1."""
ZONES = """zone away
    side      1 to 4 m left of centre
    depth     8 to 11 m from net

zone near
    side      0 to 2 m right of centre
    depth     3 to 6 m from net
"""
DEEP, SHORT = (-11.385, -9.385), (-5.4, -3.0)


@pytest.mark.parametrize(
    ("reply", "places"),
    [
        ("deep, to left corner or right corner", [(*CORNERS[side], *DEEP) for side in CORNERS]),
        ("deep, left corner or to right corner, flat", [(*CORNERS[side], *DEEP) for side in CORNERS]),
        ("to left corner, short or deep", [(*CORNERS["left corner"], *deep) for deep in (SHORT, DEEP)]),
        ("into away or near", [(1.0, 4.0, -11.0, -8.0), (-2.0, 0.0, -6.0, -3.0)]),
        ("short or to left corner", [(-4.115, 4.115, *SHORT), (*CORNERS["left corner"], -11.885, 0.0)]),
        ("in court, crosscourt or down the line", [(-4.115, 4.115, -11.885, 0.0)]),  # either half is all of it
    ],
)
def test_a_reply_may_land_in_either_of_two_places(reply: str, places: list[tuple[float, ...]]) -> None:
    found = of(reply, "left wing", more=ZONES)
    assert found.plan, found.findings
    (shot,) = found.plan.shots
    assert [pytest.approx(place) for place in places] == list(found.plan.targets(shot))
    assert not verify(found.plan, ACADEMY)


def test_of_two_places_the_better_one_is_aimed_at() -> None:
    """The forecast is that of the better place alone, so never worse than of either."""
    both, *alone = (
        plan.shots[0].reply
        for reply in ("into away or near", "into away", "into near")
        if (plan := of(f"{reply}, 80 km/h", "left wing", more=ZONES).plan)
    )
    assert both and len(alone) == 2 and None not in alone
    assert both.share_good == max(one.share_good for one in alone if one) > min(one.share_good for one in alone if one)
    assert both in alone


def test_a_plan_whose_reply_lands_beside_the_zone_of_its_variation_is_refused() -> None:
    plan = of("deep, to left corner or right corner", "left wing").plan
    assert plan
    far = plan.shots[0].model_copy(update={"targets_m": ((2.0, 3.9, -11.385, -9.385),)})
    with pytest.raises(ValueError, match="outside the zone of its variation"):
        plan.model_copy(update={"shots": (far,)}).check()


def test_spins_and_places_are_joined_by_and() -> None:
    found = of("flat and deep and crosscourt", "left wing")
    assert found.plan and found.plan.variations[0].reply.topspin_rpm == 0
    assert halves(found) == {"wide": "right"}
    spun = of("topspin 900 rpm and sidespin 300 rpm to the left and deep", "left wing").plan
    assert spun and (spun.variations[0].reply.topspin_rpm, spun.variations[0].reply.sidespin_rpm) == (
        900,
        -300,
    )  # positive is to the right: DEVELOPERS.md, the frame
    text, _ = formatted(Source("a.feed", script("flat and deep, to left corner or to right corner", "left wing")))
    assert "    reply     flat, deep, to left corner or to right corner\n" in text


def test_zones_keep_their_names_for_the_feeder() -> None:
    """Left and right change sides, but not in a name that the coach gave."""
    for said, told in (
        ("into left-box or right-box, flat", "into “left-box” or “right-box”, flat"),
        ("into left-box or deep", "into “left-box” or deep"),
        ("to left corner or into left-box", "to right corner or into “left-box”"),
        ("into far or into near", "into “far” or into “near”"),
        ("into left-box, to left corner", "into “left-box”, to right corner"),
    ):
        assert for_feeder(said) == told
