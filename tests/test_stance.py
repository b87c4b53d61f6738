"""Where the player stands whose stance no line says: in time, and not far back, where there is such a place."""

import pytest

from feedwright.compiler.model.compiled import Compiled
from feedwright.compiler.pipeline import compile_source
from feedwright.grammar.source import Source
from feedwright.targets.machine.feeders import ProfileShelf

COURTS = {
    "singles": ("", "1.72 m tall", "", "machine club"),
    "orange": ("ball stage 2", "1.3 m tall", "body hip 0.65 m", "person racket"),
    "red": ("ball stage 3", "1.2 m tall", "body hip 0.6 m", "person racket"),
}
OPEN = """\
program "On the way"
    court {court}
    {ball}
    surface hard
    player right-handed, {tall}
    {body}
    feeder {feeder}, on centre, on baseline, behind a screen
feed ball
    side {side}
    depth {depth}
    stance where it is hip high{way}
    height 1 m over net
    starts on centre, on baseline
    spin flat
    interval 6 s
session "One"
    8 balls ball
"""
CHAIR = """\
program "A serve to a chair"
    surface hard
    player right-handed, two bounces, reach 0.9 m
    body hip 0.55 m, waist 0.75 m, shoulder 1.1 m, eye 1.3 m
    feeder person racket, 1 m right of centre, 9.1 m from net, lets go at 2.4 m, behind a screen
feed wide
    starts 3 m left of centre, 2 m behind baseline
    side 3.2 m left of centre
    depth 1.5 m inside service line
    stance where it is waist high, falling{after}
    height 0.7 m over net
    spin flat
    interval 10 s
session "Ten"
    10 balls wide
"""


def of(text: str) -> Compiled:
    return compile_source(Source("stance.feed", text), ProfileShelf(None), remedies=False)


def codes(one: Compiled) -> set[str]:
    return {finding.code for finding in one.findings}


def on(court: str, depth: str, side: str, way: str) -> Compiled:
    ball, tall, body, feeder = COURTS[court]
    said = {"court": court, "ball": ball, "tall": tall, "body": body, "feeder": feeder}
    return of(OPEN.format(**said, depth=depth, side=side, way=way))


@pytest.mark.parametrize("court", COURTS)
@pytest.mark.parametrize("depth, side", [("short", "forehand corner"), ("deep", "backhand corner")])
def test_where_no_line_says_which_way_the_player_comes_in_time_and_not_far_back(
    court: str, depth: str, side: str
) -> None:
    """The times of no-time-to-see have their sources in `compiler/moves.py`."""
    assert not codes(on(court, depth, side, "")) & {"met-far-back", "no-time-to-see"}


def test_a_line_that_says_falling_is_kept_and_told() -> None:
    one = on("singles", "deep", "backhand corner", ", falling")
    assert "met-far-back" in codes(one)
    assert one.shots and one.shots.shots["ball"].predicted.phase == "falling"


def test_a_chair_that_comes_too_late_to_the_first_bounce_takes_the_second() -> None:
    """Two are allowed by the rules of the ITF for wheelchair tennis."""
    first, either = of(CHAIR.format(after=", after one bounce")), of(CHAIR.format(after=""))
    assert "no-time-to-see" in codes(first) and "no-time-to-see" not in codes(either)
    assert either.shots and either.shots.shots["wide"].predicted.bounces == 2
