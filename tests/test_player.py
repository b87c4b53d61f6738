"""The player is safe: what comes over the head, and what leaves no time to see it and to get there."""

from math import sqrt

import pytest

from feedwright.compiler.check.figures import rounded_up
from feedwright.compiler.check.player import _body, meets
from feedwright.compiler.findings.flight import NoStature, OverTheHead
from feedwright.compiler.findings.player import NoTimeToSee
from feedwright.compiler.findings.scatter import HeightVaries
from feedwright.compiler.model.player import Player
from feedwright.compiler.moves import GROWN_M, Mover, mover, reached, recognised
from feedwright.compiler.pipeline import Compiled, compile_source
from feedwright.grammar.source import Source
from feedwright.targets.machine.feeders import ProfileShelf

from .requests import program_of

SCRIPT = """program "Safe"
    court     {court}
    surface   hard
    player    right-handed{player}
{body}    feeder    person racket, on centre, {far} m from net, behind a screen

feed high
    side      {side}
    stance    {stance} m from net
    height    {height} m, on the full
    {pace}
    spin      flat
    interval  5 s

feed other, like high
    side      {other}

session "Two"
    20 balls  mix high, other
"""


def played(
    player: str = ", 1.75 m tall", body: str = "", stance: float = 3, height: float = 1.2, pace: str = "pace 60 km/h",
    side: str = "1 m left of centre", other: str = "1 m right of centre", court: str = "singles", far: float = 8,
) -> Compiled:  # fmt: skip
    text = SCRIPT.format(**locals())
    return compile_source(Source("safe.feed", text), ProfileShelf(None), plan=False, remedies=False)


BOUNCED = """program "Kicker"
    surface   hard
    player    right-handed{player}
{body}    feeder    machine academy, on centre, on baseline, behind a screen

feed kicker
    side      middle
    depth     3 to 5 m inside baseline
    stance    1 m behind baseline
    height    3.8 m over net
    spin      topspin 1800 rpm
    interval  6 s

session "One"
    10 balls  kicker
"""


def over(player: str = "", body: str = "") -> list[OverTheHead]:
    found = compile_source(
        Source("kicker.feed", BOUNCED.format(player=player, body=body)), ProfileShelf(None), plan=False, remedies=False
    )
    return [f.message for f in found.findings if isinstance(f.message, OverTheHead)]


def test_a_ball_far_over_a_seated_players_eyes_is_over_the_head() -> None:
    """The eye is at 0.936 of an adult's stature (Winter 2009, fig. 4.1), so the head ends 7 % above it."""
    (told,) = over(", two bounces", "    body      eye 1.30 m\n")
    assert told.height == pytest.approx(2.3, abs=0.15) and told.head == pytest.approx(1.30 / 0.936)
    assert not over(", 2.25 m tall")


def test_without_a_stature_that_of_such_players_is_taken_and_said() -> None:
    """A woman of 19 has 1.63 m in the middle (WHO growth reference 2007, from memory)."""
    text = BOUNCED.format(player="", body="")
    found = compile_source(Source("kicker.feed", text), ProfileShelf(None), plan=False).findings
    (told,) = [f for f in found if isinstance(f.message, OverTheHead)]
    assert isinstance(told.message, OverTheHead) and told.message.head == 1.63
    assert isinstance(told.hint, NoStature) and "1.63 m" in told.hint.text()


def test_a_body_height_without_a_stature_is_that_of_most_such_players() -> None:
    """Medians of girls of 8, 9 and 10 and of women of 19 years: 126.6, 132.5, 138.6, 163.2 cm, of boys of 10 137.8 cm
    (WHO growth reference 2007, from memory). The waist is at 0.620 of that (Winter 2009)."""
    player = Player("right", None)
    for court, median in (("red", 1.266), ("orange", 1.325), ("green", 1.378), ("singles", 1.632), ("doubles", 1.632)):
        assert player.height_on("waist", court) == pytest.approx(0.620 * median, abs=0.005), court
    assert Player("right", 1.80).height_on("waist", "red") == pytest.approx(0.620 * 1.80)
    assert Player("right", None, body={"waist": 0.7}).height_on("waist", "singles") == 0.7
    assert Player("right", None, body={"waist": 0.7}).height_on("shoulder", "singles") is None


def test_a_player_in_a_chair_is_as_high_as_one_who_sits() -> None:
    """Over the seat the median woman of a survey has the eyes at 0.74 m, the shoulder at 0.555 m, the elbow at 0.22 m
    and the head at 0.85 m, with a stature of 1.63 m (ANSUR 1988, from memory); a seat of 0.5 m."""
    seated = Player("right", None, two_bounces=True)
    for part, over in (("eye", 0.74), ("shoulder", 0.555), ("elbow", 0.22)):
        assert seated.height_on(part, "singles") == pytest.approx(0.5 + over, abs=0.03), part
    assert seated.height_on("knee", "singles") == 0.5
    assert seated.head_on("singles") == pytest.approx(0.5 + 0.85, abs=0.03)
    assert Player("right", 1.63, two_bounces=True).height_of("elbow") == seated.height_on("elbow", "singles")
    assert Player("right", 1.63, two_bounces=True, body={"elbow": 0.8}).height_of("elbow") == 0.8


def test_a_head_is_where_the_highest_measured_part_puts_it() -> None:
    assert Player("right", 1.80).head_on("singles") == 1.80
    assert Player("right", None, body={"shoulder": 0.96}).head_on("red") == pytest.approx(0.96 / 0.818)
    assert Player("right", 1.80, body={"eye": 1.20}).head_on("singles") == pytest.approx(1.20 + 0.064 * 1.80)
    assert Player("right", None, body={"knee": 0.40}).head_on("red") == 1.27
    assert Player("right", 1.80).height_of("head") == 1.80 and Player("right", None).height_on("head", "red") == 1.27
    assert Player("right", 1.80, body={"eye": 1.20}).height_of("head") == pytest.approx(1.20 + 0.064 * 1.80)
    assert Player("right", 1.80, body={"head": 1.75}).head_on("singles") == 1.75


def test_a_volley_after_0_38_s_leaves_no_time() -> None:
    """To recognise a ball alone takes 0.38 s (Laming 1968, as quoted in reviews); the racket has to get there too."""
    found = played(pace="time 0.38 s to contact", far=8, stance=1)
    told = [f.message for f in found.findings if isinstance(f.message, NoTimeToSee)]
    assert told and all(one.see == 0.38 and one.move >= 0.15 for one in told), found.findings
    far = played(pace="pace 45 km/h", far=11, stance=4)
    assert not [f for f in far.findings if isinstance(f.message, NoTimeToSee)], far.findings


def test_children_take_as_much_longer_as_published() -> None:
    """R. Kail, Psychological Bulletin 109, 490 (1991), from memory: at eight years twice as long as an adult, at ten
    1.6 times; the figures here are read off the curve, to a twentieth."""
    assert recognised("red") / 0.38 == pytest.approx(2.0, abs=0.05)
    assert recognised("green") / 0.38 == pytest.approx(1.6, abs=0.05)
    assert recognised("singles") == recognised("doubles") == 0.38


def test_a_small_player_meets_slower_balls() -> None:
    """An adult has 0.38 s to recognise a ball and 1.2 s to run 3 m at 2.5 m/s; whoever is as much smaller as 1.27 m is
    than 1.63 m runs as much slower, and at eight years takes 1.96 times as long to see (Kail 1991)."""
    assert meets(program_of("club", more=", scatter improver")) == pytest.approx(110 / 3.6)
    assert meets(program_of("club", more=", scatter improver, 1.90 m tall")) == pytest.approx(110 / 3.6)
    small = (0.38 + 1.2) / (0.38 + 1.2 * 1.63 / 1.55)
    assert meets(program_of("club", more=", scatter improver, 1.55 m tall")) == pytest.approx(110 / 3.6 * small)
    child = (0.38 + 1.2) / (0.38 * 1.96 + 1.2 * 1.63 / 1.27)
    of_eight = played(player=", scatter improver", court="red").program
    assert of_eight and meets(of_eight) == pytest.approx(110 / 3.6 * child, rel=0.01)


def test_a_chair_gets_along_as_measured() -> None:
    """Van der Slikke and others (2020): 1.33 m/s2 to two metres, 224 degrees a second, 2.17 m/s at best in play. Two
    metres from rest take sqrt(2 * 2 / 1.33) s, within the rush's end: 1.77 m."""
    chair = mover(program_of("club", more=", two bounces"))
    assert chair.time(1.0) == pytest.approx(45 / 224 + sqrt(2 / 1.33))
    assert chair.time(2.0) == pytest.approx(45 / 224 + sqrt(2 * 2 / 1.33), abs=0.02)
    assert chair.time(4.0) - chair.time(3.0) == pytest.approx(1 / 2.17)
    # Goosey-Tolfrey & Moss (2005): over 20 m 4.39 m/s, 0.18 less with a racket; in play nobody is faster than that.
    assert 20 / chair.time(20.0) < 4.39 - 0.18
    assert chair.time(0.0) == 0.0


def test_a_child_runs_slower_than_an_adult() -> None:
    adult, child = mover(program_of("club")), mover(program_of("club", court="red"))
    assert isinstance(adult, Mover) and child.time(2.0) > adult.time(2.0) == pytest.approx(2.0 / 2.5)
    dash = mover(program_of("club"), dash=True)
    # Half of the mean of a run gets faster, half slower: at twice it the top of a dash is reached, and kept.
    assert adult.time(3.0) == pytest.approx(3.0 / 2.5)
    assert adult.time(13.0) - adult.time(3.0) == pytest.approx(10.0 / dash.speed)
    # About 1.15 s over the first 5 m, from memory: no source was checked, so to a fifth.
    assert dash.time(5.0) == pytest.approx(1.15, rel=0.2) and dash.time(3.0) < adult.time(3.0)


def test_a_run_backwards_is_slower_than_one_forward() -> None:
    """0.7 of the speed: Uthoff and others, Sports Med. 48, 1083 (2018), from memory. So the time from the first step on
    over a way is that over 1/0.7 of it; a chair turns round and is as fast."""
    program, chair = program_of("club"), program_of("club", more=", two bounces")
    dash = mover(program, dash=True)
    for way in (2.0, 5.5):
        assert reached(program, 0.0, way) == pytest.approx(0.15 + dash.time(way / 0.7 - 0.8))
        assert reached(program, 0.0, -way) == pytest.approx(0.15 + dash.time(way - 0.8))
        assert reached(chair, 0.0, way) == reached(chair, 0.0, -way)
    # From the net to an overhead behind the service line that is nearly half a second.
    assert reached(program, 0.0, 5.5) - reached(program, 0.0, -5.5) > 0.4


def test_two_hands_reach_less_far_on_the_backhand_alone() -> None:
    one, two = program_of("club").player, program_of("club", more=", two-handed backhand").player
    right, left = -1.0, 1.0  # a right-hander's forehand is at -x
    assert two.reach_at(left) < one.reach_at(left) == one.reach_at(right) == two.reach_at(right)


def test_a_smaller_child_starts_and_runs_as_much_slower() -> None:
    child, grown = (mover(program_of("racket", more=f", {tall} m tall"), dash=True) for tall in ("1.2", "1.8"))
    slower = 1.2 / GROWN_M
    assert (child.acceleration, child.speed) == pytest.approx((slower * grown.acceleration, slower * grown.speed))


def test_the_body_stands_an_arm_beside_the_ball_towards_the_middle_on_either_side() -> None:
    program = program_of("racket")
    for x in (-1.5, -0.4, 0.4, 1.5):
        assert _body(program, x, "") == pytest.approx(x - (1 if x > 0 else -1) * program.player.reach)
        # A right-hander's forehand has the body on the ball's left, which is +x, wherever it is met.
        assert _body(program, x, "forehand") == pytest.approx(x + program.player.reach)
        assert _body(program, x, "backhand") == pytest.approx(x - program.player.reach)


def test_a_time_is_proposed_in_tenths_and_from_two_seconds_in_halves_and_never_too_short() -> None:
    """To a billionth of a second: a sum of floats may lie that little above what it stands for."""
    asked = (0.31, 1.5, 1.5 + 1e-12, 1.51, 1.95, 2.0, 2.01, 4.5 + 1e-12)
    assert [rounded_up(s) for s in asked] == [0.4, 1.5, 1.5, 1.6, 2.0, 2.0, 2.5, 4.5]


FASTEST = """program "Fastest"
    surface   hard
    player    left-handed, 1.84 m tall, scatter tournament
    feeder    machine academy, on centre, on baseline, behind a screen

feed fast
    side      backhand corner
    depth     0 to 3 m inside baseline
    stance    2 m behind baseline
    height    at least 0.6 m over net
    pace      fastest
    spin      topspin 1500 rpm
    interval  5 s
    starts    {starts}

session "One"
    12 balls  fast
"""


@pytest.mark.parametrize(
    ("starts", "x", "y"),
    [("on centre", 0.0, None), ("1 m left of centre, on baseline", 1.0, 11.885), ("2 m right of centre", -2.0, None)],
)
def test_the_fastest_ball_leaves_time_for_the_way_from_the_start(starts: str, x: float, y: float | None) -> None:
    """0.22 s to see a ball that is known to come (Laming 1968, as quoted in reviews) and 0.15 s for the stroke; the way
    without a step of 0.8 m and the reach of 0.7 m, from rest at 7.5 m/s² up to 5 m/s, back at 0.7 of
    that: as `compiler/moves.py` says. The
    last start leaves more time than the net does, so there the ball is as fast as without the line."""
    text = FASTEST.replace("    starts    {starts}\n", "")
    free = compile_source(Source("fast.feed", text), ProfileShelf(None), remedies=False)
    assert free.shots
    made = compile_source(Source("fast.feed", FASTEST.format(starts=starts)), ProfileShelf(None), remedies=False)
    assert made.plan and made.shots and not [f for f in made.findings if f.code == "no-time-to-see"]
    shot = made.shots.shots["fast"]
    across, along, _ = shot.predicted.contact
    way = sqrt((abs(across - x) - 0.7) ** 2 + (0 if y is None else (along - y) / 0.7) ** 2) - 0.8
    dash = sqrt(2 * way / 7.5) if way < 5**2 / (2 * 7.5) else 5 / 7.5 + (way - 5**2 / (2 * 7.5)) / 5
    spare = shot.predicted.contact_time - (0.22 + 0.15 + dash)
    assert spare > 0 and (spare < 0.1 or x == -2.0)
    assert (shot.speed == free.shots.shots["fast"].speed) == (x == -2.0)


@pytest.mark.parametrize(("height", "pace", "high"), [(2.3, 85, True), (1.2, 85, False)])
def test_a_ball_over_the_head_is_high_though_its_flight_is_flat(height: float, pace: float, high: bool) -> None:
    """For it a player steps forward or back. At 85 km/h a flat ball over 14 m rises by half a metre."""
    found = played(height=height, pace=f"pace {pace} km/h", far=11).findings
    told = [f.message for f in found if isinstance(f.message, HeightVaries)]
    assert told and all(one.high is high for one in told)
