"""A stance that is found follows the ball, and the ball stays in its zone: flown by an integrator of its own."""

import numpy as np
import pytest

from feedwright.compiler.model.program import Feed, Program
from feedwright.compiler.model.shots import SolvedShot
from feedwright.compiler.resolve import resolve
from feedwright.compiler.solve import solve
from feedwright.grammar.parse import parse
from feedwright.grammar.source import Source
from feedwright.targets.machine.feeders import ProfileShelf

from .test_best import Flown, launch_of, scattered

SCRIPT = """\
program "Found"
    surface   {surface}
    player    right-handed, 1.70 m tall
    feeder    machine academy, on centre, on baseline, behind a screen

feed ball
    side      backhand wing
    depth     {depth}
    stance    where it is {part} high, falling
    height    {height} m over net
    spin      {spin}
    interval  6 s
{more}"""
DEEP = {
    "surface": "clay",
    "depth": "0 to 2 m inside baseline",
    "part": "shoulder",
    "height": 2.2,
    "spin": "topspin heavy",
}
DROP = {"surface": "hard", "depth": "0.5 to 2.5 m from net", "part": "knee", "height": 0.6, "spin": "backspin 600 rpm"}


def found(ball: dict[str, object], more: str = "") -> tuple[Program, Feed, SolvedShot, Flown]:
    return of_script(SCRIPT.format(more=more, **ball))


def of_script(script: str) -> tuple[Program, Feed, SolvedShot, Flown]:
    program, slips = resolve(parse(Source("found.feed", script))[0], ProfileShelf(), {})
    assert program and not slips
    shots = solve(program, program.feeds)
    feed, shot = shots.feeds.get("ball", program.feeds["ball"]), shots.shots["ball"]
    return program, feed, shot, Flown(program, feed.stance, *launch_of(shot))


@pytest.mark.parametrize(("ball", "share"), [(DEEP, 0.818), (DROP, 0.285)], ids=["deep", "drop"])
def test_the_ball_keeps_two_deviations_inside_its_zone_and_the_player_stands_where_it_is_so_high(
    ball: dict[str, object], share: float
) -> None:
    """Shoulder and knee of an adult: Winter (2009), fig. 4.1. The first is met beyond the 5.48 m of the ITF's run-off
    for clubs, the other before the service line, 6.40 m from the net."""
    program, feed, shot, flown = found(ball)
    moved = scattered(program, feed, launch_of(shot))
    deviation = np.sqrt(sum((one.landing[1] - flown.landing[1]) ** 2 for one in moved))
    inside = np.minimum(flown.landing[1] - feed.depth.low, feed.depth.high - flown.landing[1])
    assert inside >= 2 * deviation
    assert flown.height == pytest.approx(share * 1.70, abs=0.02) and flown.rise < 0
    assert flown.clearance == pytest.approx(ball["height"], abs=0.1)
    assert not 6.40 <= feed.stance <= 11.885 + 5.48


def test_a_bound_of_the_stance_says_how_far_back() -> None:
    """Within it the ball falls to the shoulder only where it lands nearer to the net."""
    program, feed, _, flown = found(DEEP, "    stance    at most 5.8 m behind baseline\n")
    *_, free = found(DEEP)
    assert feed.stance - program.court.half_length <= 5.8 + 0.01
    assert flown.landing[1] < free.landing[1] - 0.3
    wide = found(DEEP, "    stance    at most 8 m behind baseline\n")[1]
    assert 5.9 < wide.stance - program.court.half_length <= 8.0


@pytest.mark.parametrize(("over_net", "short"), [(0.8, 0.1), (1.0, 0.02)])
def test_a_ball_that_never_comes_up_to_the_waist_is_met_at_the_top_of_its_bounce(over_net: float, short: float) -> None:
    """Waist of an adult: Winter (2009), fig. 4.1. All that the other lines fix stays, even where a little more over the
    net and a little deeper would bring the ball up."""
    flat = {"surface": "hard", "depth": "9.5 m from net", "part": "waist", "height": over_net, "spin": "flat"}
    program, feed, shot, flown = found(flat)
    beside = [Flown(program, feed.stance + way, *launch_of(shot)).height for way in (-0.3, 0.3)]
    assert max(beside) < flown.height < 0.620 * 1.70 - short and abs(flown.rise) < 0.3
    assert flown.clearance == pytest.approx(over_net, abs=0.05) and flown.landing[1] == pytest.approx(9.5, abs=0.15)
    assert shot.topspin == 0


@pytest.mark.parametrize("stance", ["on baseline", "where it is hip high"])
def test_a_height_over_the_net_can_say_which_way_the_ball_is_met(stance: str) -> None:
    ball = {"surface": "hard", "depth": "1 to 4 m inside baseline", "part": "", "height": "0.8", "spin": "flat"}
    rises = []
    for way in ("rising", "falling"):
        script = SCRIPT.replace("where it is {part} high, falling", stance).replace("over net", f"over net, {way}")
        _, _, _, flown = of_script(script.format(more="", **ball))
        assert flown.clearance == pytest.approx(0.8, abs=0.1) and 7.885 <= flown.landing[1] <= 10.885
        rises.append(flown.rise)
    assert rises[0] > 0 > rises[1]


WRITTEN = {
    "room": """\
    surface   hard
    feeder    machine academy, on centre, on baseline, behind a screen
    air       36 C

feed ball
    side      forehand corner
    depth     10.385 m from net
    stance    where it is waist high, falling
    height    1.3 m over net
    spin      topspin 1200 rpm
""",
    "spin": """\
    surface   hard
    feeder    machine academy, 1 m left of centre, 0.5 m behind baseline, raised to 2.6 m, behind a screen
    air       altitude 2600 m

feed ball
    side      0.6 m right of centre
    depth     5.7 m from net
    stance    where it is chest high, falling
    height    at least 0.5 m over net
    height    no higher than shoulder
    pace      110 km/h
""",
    "spare": """\
    surface   clay
    feeder    person racket, on centre, on service line, behind a screen
    limit     pace at most 55 km/h
    limit     way at most 1 m

feed ball
    side      0.7 m right of centre
    depth     8 m from net
    stance    where it is hip high, falling
    height    1.3 m over net
    spin      flat
""",
}


@pytest.mark.parametrize(
    ("which", "depth", "over_net"), [("room", 10.385, 1.3), ("spin", 5.7, None), ("spare", 8.0, 1.3)], ids=list(WRITTEN)
)
def test_a_distance_and_a_height_that_lines_state_come_before_what_they_leave_open(
    which: str, depth: float, over_net: float | None
) -> None:
    """Before the room behind the baseline that clubs mostly have, a ball as flat as may be, and the second deviation
    inside a bound, of which nine balls of ten keep this one: 1.28 deviations of a normal distribution."""
    head = 'program "Written"\n    player    right-handed, 1.77 m tall\n'
    program, feed, shot, flown = of_script(head + WRITTEN[which] + "    interval  6 s\n")
    assert flown.landing[1] == pytest.approx(depth, abs=0.25)
    assert flown.clearance >= 0.5 if over_net is None else flown.clearance == pytest.approx(over_net, abs=0.1)
    run_off = feed.stance - program.court.half_length
    assert (run_off > 5.48) is (which == "room")
    if which == "spin":
        assert shot.topspin > 1500 / 60 * 2 * np.pi and shot.speed == pytest.approx(110 / 3.6, abs=0.5)
    if which == "spare":
        deviation = shot.speed * program.feeder.repeatability.speed_percent / 100
        assert shot.speed + 1.28 * deviation <= 55 / 3.6


def test_a_high_lob_gives_way_by_less_than_a_tenth_where_no_launch_has_it() -> None:
    """A person who feeds with a racket hits up to 60 degrees (the profile), so no lob that comes up to 2 m there passes
    4.4 m over the net: a grid of all launches shows it."""
    script = SCRIPT.replace("    depth     {depth}\n", "").replace("backhand wing", "middle")
    for old, new in (
        ("machine academy, on centre, on baseline", "person racket, on centre, 1 m behind service line"),
        ("where it is {part} high, falling", "4.25 m from net\n    height    2 m"),
    ):
        script = script.replace(old, new)
    program, _, _, flown = of_script(script.format(surface="hard", height=4.4, spin="flat", more=""))
    assert 4.4 * 0.9 <= flown.clearance[0] < 4.2 and flown.height[0] == pytest.approx(2.0, abs=0.15)
    steep, fast = (
        each.ravel() for each in np.meshgrid(np.radians(np.arange(30.0, 60.5, 0.5)), np.arange(8.5, 16, 0.05))
    )
    every = Flown(program, 4.25, fast, steep, np.zeros(len(fast)), np.zeros(len(fast)))
    there = (abs(every.height - 2.0) < 0.05) & (every.landing[1] < 4.25)
    assert there.any() and every.clearance[there].max() < 4.2


def test_a_ball_that_is_dropped_by_hand_comes_up_as_in_the_drop_test_of_the_rules() -> None:
    """ITF Rules of Tennis, Appendix I: a ball of type 2 that falls 2.54 m comes up 1.35 to 1.47 m, 53 to 58 of 100."""
    script = SCRIPT.replace(
        "machine academy, on centre, on baseline", "person basket, on the player's side, 8 m from net, lets go at 2 m"
    )
    script = script.replace("height    {height} m over net", "pace      slowest").replace("backhand wing", "middle")
    ball = {"surface": "hard", "depth": "8.5 to 9.5 m from net", "part": "waist", "spin": "flat"}
    program, _, shot, flown = of_script(script.format(more="", **ball))
    assert shot.speed < 7 / 3.6 and 8.5 <= flown.landing[1] <= 9.5
    assert flown.height == pytest.approx(0.620 * 1.70, abs=0.02) and flown.rise < 0
    tops = [Flown(program, flown.landing[1] + way, *launch_of(shot)).height for way in np.arange(0.1, 0.6, 0.05)]
    assert max(tops) / 2.0 == pytest.approx((0.53 + 0.58) / 2, abs=0.04)


@pytest.mark.parametrize(("place", "deviations"), [("service line", 2.0), ("baseline", 1.28)])
def test_a_bound_over_the_net_is_kept_by_two_deviations_where_no_line_says_how_high(
    place: str, deviations: float
) -> None:
    """From the baseline two would bend the distance, and nine balls of ten keep it: 1.28 of a normal distribution."""
    script = SCRIPT.replace("    stance    where it is {part} high, falling\n", "    height    {part}, falling\n")
    script = script.replace("height    {height}", "height    at least {height}")
    script = script.replace("machine academy, on centre, on baseline", f"person racket, on centre, on {place}")
    ball = {"surface": "hard", "depth": "on service line", "part": "hip", "height": 1.2, "spin": "topspin 400 rpm"}
    program, feed, shot, flown = of_script(script.format(more="", **ball))
    moved = scattered(program, feed, launch_of(shot))
    deviation = np.sqrt(sum((one.clearance - flown.clearance) ** 2 for one in moved))
    assert flown.clearance >= 1.2 + deviations * deviation - 0.01
    assert flown.landing[1] == pytest.approx(6.4, abs=0.25)
    assert flown.height == pytest.approx(0.53 * 1.70, abs=0.02) and flown.rise < 0  # Winter (2009)


def test_a_flat_ball_that_keeps_its_lines_comes_before_a_lob_that_comes_as_high_as_asked() -> None:
    """On the player's own side, where a racket from the net post has both."""
    script = SCRIPT.replace(
        "machine academy, on centre, on baseline", "person racket, on the player's side, 0.5 m from net"
    )
    script = script.replace("height    {height} m over net", "pace      48 km/h").replace("backhand wing", "middle")
    ball = {"surface": "hard", "depth": "9 m from net", "part": "hip", "spin": "flat"}
    *_, shot, flown = of_script(script.format(more="", **ball))
    assert flown.landing[1] == pytest.approx(9.0, abs=0.25) and shot.speed == pytest.approx(48 / 3.6, abs=0.3)
    assert flown.height < 0.53 * 1.70
