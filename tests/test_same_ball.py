"""A feed that has the ball of another leaves as that does, and is met where its own stance says."""

from typing import Any

import pytest

from feedwright.compiler.pipeline import Compiled, compile_source
from feedwright.grammar.source import Source
from feedwright.targets.machine.feeders import ProfileShelf

from .flown import Reference, launched

HEAD = """program "A kick serve"
    surface   hard
    player    right-handed, 1.85 m tall
    feeder    machine academy, 1 m right of centre, on baseline, raised to 2.6 m, behind a screen

"""
ONE = """feed one
    side      2 to 4 m left of centre
    depth     0 to 2 m inside service line
    stance    1 m behind baseline
    height    shoulder
    spin      topspin 2400 rpm
    interval  10 s

"""
VOLLEY = """feed one
    side      middle
    stance    3 m from net
    height    chest, on the full
    pace      60 km/h
    spin      topspin 300 rpm
    interval  10 s

"""


def compiled(feeds: str, session: str = "    4 balls   one\n    4 balls   two\n", head: str = HEAD) -> Compiled:
    text = f'{head}{feeds}session "Returns"\n{session}'
    return compile_source(Source("same.feed", text), ProfileShelf(), remedies=False)


def shots(found: Compiled) -> dict[str, Any]:
    assert found.plan, [finding.headline for finding in found.findings]
    return {shot["id"]: shot for shot in found.plan.data()["shots"]}


@pytest.mark.parametrize(
    ("ball", "stances"), [(ONE, "on baseline"), (ONE, "1 m inside baseline"), (VOLLEY, "4 m from net")]
)
def test_it_is_the_same_launch_and_another_contact(ball: str, stances: str) -> None:
    found = compiled(f"{ball}feed two, like one\n    ball      same as one\n    stance    {stances}\n\n")
    one, two = shots(found).values()
    assert two["launch"] == one["launch"] and two["settings"] == one["settings"]
    assert two["stance_y_m"] != one["stance_y_m"] and two["zone_m"] == one["zone_m"]
    # scipy's DOP853 with the published laws of flight and bounce: 5 mm are more than the plan rounds off.
    assert found.plan
    reference = Reference(found.plan.data())
    start, spin = launched(two["launch"])
    flight = reference.fly(start, spin, reference.radius)
    if ball is ONE:
        flight = reference.fly(*reference.bounce(flight.y[:, -1].tolist(), spin), reference.radius)
    _, contact = reference.plane(flight, two["stance_y_m"])
    assert contact[2] == pytest.approx(two["predicted"]["contact_m"][2], abs=5e-3)


def test_a_feed_that_is_like_it_has_the_same_ball_too_and_none_says_what_is_another() -> None:
    found = compiled(
        f"{ONE}feed two, like one\n    ball      same as one\n    stance    on baseline\n\n"
        "feed three, like two\n    stance    2, 3 m behind baseline\n    interval  8 s\n\n",
        "    4 balls   mix one, two\n    8 balls   three\n",
    )
    launches = {str(shot["launch"]) for shot in shots(found).values()}
    assert len(shots(found)) == 4 and len(launches) == 1
    assert "not-the-same-ball" not in {finding.code for finding in found.findings}


def test_it_follows_a_ball_that_was_looked_for_and_one_that_no_block_plays() -> None:
    feeds = (
        "feed one\n    side      middle\n    depth     8.5 m from net\n    height    waist, falling\n"
        "    spin      topspin 600 rpm\n    interval  10 s\n\n"
        "feed two\n    ball      same as one\n    stance    2 m behind baseline\n\n"
    )
    both, alone = compiled(feeds), compiled(feeds, "    4 balls   two\n")
    one, two = shots(both).values()
    (only,) = shots(alone).values()
    assert one["launch"] == two["launch"] == only["launch"]
    assert "feed-unused" not in {finding.code for finding in alone.findings}


def test_each_of_several_players_gets_the_ball_that_is_the_others_own() -> None:
    head = HEAD.replace(
        "    player    right-handed, 1.85 m tall\n",
        "    player    called ada, right-handed, 1.60 m tall\n    player    called bea, left-handed, 1.90 m tall\n",
    )
    feeds = (
        "feed one\n    side      backhand wing\n    depth     8 m from net\n    stance    1 m behind baseline\n"
        "    height    chest\n    spin      topspin 900 rpm\n    interval  10 s\n\n"
        "feed two, like one\n    ball      same as one\n    stance    on baseline\n\n"
    )
    session = (
        "    4 balls   one for ada\n    4 balls   one for bea\n    4 balls   two for ada\n    4 balls   two for bea\n"
    )
    found = shots(compiled(feeds, session, head))
    assert found["two for ada"]["launch"] == found["one for ada"]["launch"]
    assert found["two for bea"]["launch"] == found["one for bea"]["launch"]
    assert found["one for ada"]["launch"] != found["one for bea"]["launch"]


@pytest.mark.parametrize(
    "depth", ["depth     8.5 m from net\n    height    waist\n", "height    waist\n    pace      80 km/h\n"]
)
@pytest.mark.parametrize("behind", [2.5, 3.0])
def test_a_stance_behind_the_bounce_is_so_far_along_the_court_from_where_the_ball_lands(
    depth: str, behind: float
) -> None:
    found = compiled(
        f"feed one\n    side      backhand wing\n    {depth}    stance    {behind} m behind the bounce\n"
        "    spin      topspin 900 rpm\n    interval  10 s\n\n",
        "    4 balls   one\n",
        HEAD.replace(", raised to 2.6 m", ""),
    )
    (shot,) = shots(found).values()
    assert found.plan
    reference = Reference(found.plan.data())
    start, spin = launched(shot["launch"])
    landed = reference.fly(start, spin, reference.radius).y[:, -1]
    # The stance is told to the centimetre, and the plan is rounded.
    assert shot["stance_y_m"] - landed[1] == pytest.approx(behind, abs=0.01)
    assert shot["predicted"]["contact_m"][1] == pytest.approx(shot["stance_y_m"], abs=1e-3)
