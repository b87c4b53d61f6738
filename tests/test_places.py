"""Where a named side or a stretch across the centre lies, on which court.

The widths of courts are those of the ITF Rules of Tennis (rule 1): 8.23 m for singles, 10.97 m for doubles."""

import re
from pathlib import Path

import pytest

from feedwright.compiler.model.court import courts
from feedwright.compiler.model.player import Player
from feedwright.compiler.pipeline import compile_source
from feedwright.compiler.resolve import options
from feedwright.compiler.resolve.amounts import Rejected
from feedwright.compiler.resolve.bounds import own_bounds
from feedwright.compiler.resolve.members import way_of
from feedwright.compiler.resolve.places import Ground
from feedwright.grammar import syntax as s
from feedwright.grammar.parse import parse
from feedwright.grammar.print import text
from feedwright.grammar.source import Source
from feedwright.targets.command.summary import sum_up
from feedwright.targets.machine.feeders import ProfileShelf

SINGLES, DOUBLES = 8.23 / 2, 10.97 / 2


BASELINE, SERVICE = 23.77 / 2, 6.40
"""From the net, by the same rule."""


def _side(words: str) -> s.Side:
    tree, faults = parse(Source("x", f"feed a\n    side {words}"))
    node = tree.lines[0].children[0].sentence
    assert isinstance(node, s.Side) and not faults
    return node


def _ends(words: str, court: str = "singles") -> tuple[float, float]:
    node = _side(words)
    found = Ground(courts(False)[court], Player("right", None)).side(node.choices[0])
    assert found.aim == pytest.approx((found.low + found.high) / 2)
    return found.low, found.high


@pytest.mark.parametrize(
    "words, low, high",
    [
        ("1.5 m left of centre to 3 m right of centre", -3, 1.5),
        ("3 m right of the centre to 1.5 m left of the center", -3, 1.5),
        ("on centre to 2 m left of centre", 0, 2),
        ("1 m inside left sideline to 1 m right of centre", -1, SINGLES - 1),
        ("1 m left of centre to 1 m forehand of centre", -1, 1),
        ("within 1.5 m of centre", -1.5, 1.5),
        ("within 150 cm of the centre", -1.5, 1.5),
    ],
)
def test_a_side_reaches_across_the_centre(words: str, low: float, high: float) -> None:
    assert _ends(words) == pytest.approx((low, high))


@pytest.mark.parametrize(
    "words, low, high",
    [
        ("1 m inside service line to 2.5 m behind service line", SERVICE - 1, SERVICE + 2.5),
        ("1 m inside baseline to on service line", SERVICE, BASELINE - 1),
        ("4 m from net to 2 m inside the baseline", 4, BASELINE - 2),
    ],
)
def test_a_depth_reaches_from_one_line_to_another(words: str, low: float, high: float) -> None:
    tree, faults = parse(Source("x", f"feed a\n    depth {words}"))
    node = tree.lines[0].children[0].sentence
    assert isinstance(node, s.Depth) and not faults
    (whole,) = options.depths(node, (ground := Ground(courts(False)["singles"], Player("right", None))))
    assert (whole.value.low, whole.value.high) == pytest.approx((low, high))
    # Steps follow the order that is written.
    tree, _ = parse(Source("x", f"feed a\n    depth {words}, in 2 steps"))
    first, last = options.depths(tree.lines[0].children[0].sentence, ground)  # type: ignore[arg-type]
    assert (first.value.aim < last.value.aim) == (not words.startswith("1 m inside baseline"))


@pytest.mark.parametrize(
    "court, words, counted, near",
    [
        ("singles", "7.5 m from net", (6.0, 9.0), (6.75, 8.25)),
        ("singles", "0.5 m inside baseline", (BASELINE - 2, BASELINE), (BASELINE - 1.25, BASELINE)),
        ("red", "3 m from net", (2.25, 3.75), (2.25, 3.75)),
    ],
)
def test_balls_count_farther_from_a_single_distance_than_they_are_looked_for(
    court: str, words: str, counted: tuple[float, float], near: tuple[float, float]
) -> None:
    """Common practice, no source: a wish is no zone."""
    ground = Ground(courts(False)[court], Player("right", None))
    node = parsed(f"depth {words}")
    assert isinstance(node, s.Depth)
    (fed,) = options.depths(node, ground)
    assert (fed.value.low, fed.value.high) == pytest.approx(counted) and fed.value.part == pytest.approx(near)
    # Of a reply and of a zone it stays a zone.
    target = ground.depth(node.choices[0])  # type: ignore[arg-type]
    assert target.high - target.low == pytest.approx(1.5) and target.aim == pytest.approx(fed.value.aim)


@pytest.mark.parametrize("court, half", [("singles", SINGLES), ("green", SINGLES), ("doubles", DOUBLES)])
def test_a_corner_is_as_far_inside_the_sideline_of_the_court_in_play_as_a_distance(court: str, half: float) -> None:
    assert _ends("left corner", court) == pytest.approx((half - 1.8, half - 0.3))
    assert _ends("left corner", court) == pytest.approx(_ends("0.3 to 1.8 m inside left sideline", court))
    assert _ends("left wing", court) == pytest.approx((0.8, 2.3)), "from the centre, which is the same on both"


@pytest.mark.parametrize(
    "said, usual",
    [
        ("1.5 m left of  centre to 3 m right of centre", "1.5 m left of centre to 3 m right of centre"),
        ("within  2 m of centre", "within 2 m of centre"),
    ],
)
def test_it_is_printed_in_one_form(said: str, usual: str) -> None:
    node = _side(said)
    assert text(node) == f"side {usual}"
    assert text(_side(usual)) == f"side {usual}"


@pytest.mark.parametrize(
    "line, places",
    [
        ("stance 0.5, 1.5, 3 m behind service line", [0.5, 1.5, 3.0]),
        ("stance 0.5 m, 1.5 m, 3 m behind the service line", [0.5, 1.5, 3.0]),
        ("depth 50 cm, 1.5 m behind service line", [0.5, 1.5]),
        ("stance on service line, 1, 2 m behind service line", [0.0, 1.0, 2.0]),
    ],
)
def test_a_list_of_places_says_its_line_once(line: str, places: list[float]) -> None:
    tree, faults = parse(Source("x", f"feed a\n    {line}"))
    node = tree.lines[0].children[0].sentence
    assert isinstance(node, s.Stance | s.Depth) and not faults and text(node) == line
    ground = Ground(courts(False)["singles"], Player("right", None))
    offered = options.stances(node, ground) if isinstance(node, s.Stance) else options.depths(node, ground)
    found = [one.value if isinstance(node, s.Stance) else one.value.aim for one in offered]
    assert found == pytest.approx([6.40 + place for place in places])


@pytest.mark.parametrize(
    "said, sign",
    [("spin topspin at most 2500 rpm", 1), ("spin at least 300 rpm backspin", -1), ("spin at most 9 rpm", 0)],
)
def test_a_bound_of_spin_may_name_its_kind_in_either_order(said: str, sign: int) -> None:
    tree, faults = parse(Source("x", f"feed a\n    {said}"))
    node = tree.lines[0].children[0].sentence
    assert node and not faults
    (bound,) = own_bounds({"": node}, Ground(courts(False)["singles"], Player("right", None)))
    assert bound.turn == sign and text(parsed(text(node))) == text(node)


@pytest.mark.parametrize("way", ["rising", "falling"])
def test_a_bound_of_the_height_may_say_which_way_the_ball_goes(way: str) -> None:
    node = parsed(f"height no higher than shoulder {way}")
    assert text(node) == f"height no higher than shoulder, {way}"
    assert way_of([node, parsed(f"height 1 m over net, {way}")]) == way
    with pytest.raises(Rejected) as other:
        way_of([node, parsed(f"height waist, {'falling' if way == 'rising' else 'rising'}")])
    assert other.value.finding.code == "duplicate"


def parsed(line: str) -> s.Sentence:
    node = parse(Source("x", f"feed a\n    {line}"))[0].lines[0].children[0].sentence
    assert node
    return node


OLD = """\
kind = "machine"
how = "machine"
title = "an old machine"
basis = "invented for this test"
release_height_m = 0.62
shortest_interval_s = 3.2
speed = { unit = "km/h", low = 35, high = 95, step = 5, rate = 30 }
elevation = { unit = "deg", low = 5, high = 45, step = 1, rate = 15 }
azimuth = { unit = "deg", low = 0, high = 0 }
topspin = { unit = "rpm", low = 0, high = 0 }
repeatability = { speed_percent = 2.5, elevation_deg = 0.8, azimuth_deg = 0.8, spin_rpm = 100 }
"""


def test_a_machine_whose_head_never_turns_is_offered_the_place_in_line_with_the_zone(tmp_path: Path) -> None:
    """The backhand wing lies 0.8 to 2.3 m from the centre, so its middle is 1.55 m away."""
    (tmp_path / "old.toml").write_text(OLD, "utf-8")
    text = (
        'program "Old"\n    surface hard\n    player right-handed, 1.75 m tall\n'
        "    feeder machine old, 1.5 m right of centre, behind a screen\n"
        "feed straight\n    side backhand wing\n    depth 1 to 4 m behind service line\n"
        "    stance where it is waist high\n    height 1.5 m over net\n    spin flat\n    interval 4 s\n"
        'session "One"\n    8 balls straight\n'
    )
    found = compile_source(Source("old.feed", text), ProfileShelf(tmp_path)).findings
    (missed,) = [finding for finding in found if finding.code == "zone-missed"]
    *_, offered = missed.remedies
    assert re.fullmatch(r"feeder +machine old, 1\.[56] m left of centre, behind a screen", offered.text)


WIDE = """program "Wide"
    surface   hard
    player    right-handed, 1.75 m tall
    feeder    machine academy, on centre, on baseline, behind a screen
feed wide
    side      0.3 to 1 m inside left sideline
    depth     short
    stance    2 m behind service line
    height    0.6 m over net
    spin      flat
    interval  6 s
session "Wide"
    10 balls  wide
"""


def test_a_ball_that_is_met_outside_the_sideline_is_told_how_far(capsys: pytest.CaptureFixture[str]) -> None:
    """As seen from above a flat ball flies on in a straight line from the feeder on the centre, through its landing."""
    found = compile_source(Source("t.feed", WIDE), ProfileShelf(), plan=False, remedies=False)
    assert found.shots
    (shot,) = found.shots.shots.values()
    assert shot.predicted.landing
    (x, y), met = shot.predicted.landing, SERVICE + 2
    outside = x * (met + BASELINE) / (y + BASELINE) - SINGLES
    assert outside > 0.2
    sum_up(found)
    assert f"met outside the sideline, m: A {outside:.1f}R\n" in capsys.readouterr().out


@pytest.mark.parametrize("best", ["pace fastest", "height lowest over net", "time shortest"])
def test_the_flattest_ball_to_a_single_distance_lands_there_and_that_to_a_zone_elsewhere_in_it(best: str) -> None:
    """The page says: within 0.2 m of its aim, and all over a zone that is written."""
    lands = []
    for depth in ("2.4 m inside baseline", "0.9 to 3.9 m inside baseline"):
        lines = f"    side      middle\n    depth     {depth}\n    stance    2 m behind baseline\n    {best}\n"
        lines += "    height    at least 0.9 m over net\n" * ("height" not in best)
        feed = f"feed wide\n{lines}    spin      topspin 1200 rpm\n    interval  6 s\nsession"
        text = re.sub(r"feed wide\n.*?session", feed, WIDE, flags=re.S)
        found = compile_source(Source("t.feed", text), ProfileShelf(), plan=False, remedies=False)
        assert found.shots
        (shot,) = found.shots.shots.values()
        assert shot.predicted.landing
        lands.append(shot.predicted.landing[1])
    assert lands[0] == pytest.approx(BASELINE - 2.4, abs=0.2 + 0.05)
    assert abs(lands[1] - (BASELINE - 2.4)) > 0.3, lands


@pytest.mark.parametrize(
    ("words", "near", "far"),
    [
        ("deep", BASELINE - 2.5, BASELINE - 0.5),
        ("to deep", BASELINE - 2.5, BASELINE - 0.5),
        ("in the court", 0.0, BASELINE),
        ("past the service line", SERVICE, BASELINE),
    ],
)
def test_a_reply_says_in_words_how_far_from_the_net_it_lands(words: str, near: float, far: float) -> None:
    """Deep is, as the page has it, the strip of 2 m that ends 0.5 m inside the baseline; the side is its own."""
    asked = f'variation v "v"\n    reply {words}, to left corner\nfeed wide aims v\n'
    plan = compile_source(Source("t.feed", WIDE.replace("feed wide\n", asked)), ProfileShelf(), remedies=False).plan
    assert plan
    (variation,) = plan.variations
    assert variation.reply.zone_m
    assert variation.reply.zone_m[2:] == pytest.approx((-far, -near), abs=0.01)
    assert variation.reply.zone_m[1] < SINGLES and variation.reply.zone_m[0] > 0
