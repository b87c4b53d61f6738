"""Numbers of a plan in words on the feed sheet."""

import pytest

from feedwright.compiler.model.plan import Plan
from feedwright.targets.outputs.sheet import words
from feedwright.targets.outputs.sheet.page import sheet
from feedwright.targets.outputs.sheet.panels import shown

from ..log.plans import climbing
from .plans import COURT, make_plan


# Lines: ITF Rules of Tennis, Rule 1: service line 6.40 m from the net, baseline 11.885 m, singles 8.23 m wide.
@pytest.mark.parametrize(
    ("low", "high", "said"),
    [
        (9.885, 9.885, "2 m inside baseline"),
        (8.885, 10.885, "1–3 m inside baseline"),
        (11.885, 11.885, "on baseline"),
        (12.385, 12.385, "0.5 m behind baseline"),
        (11.585, 12.085, "from 0.3 m inside to 0.2 m behind baseline"),
        (5.9, 5.9, "0.5 m short of service line"),
        (6.9, 7.4, "0.5–1 m past service line"),
        (2.0, 2.0, "2 m from net"),
    ],
)
def test_depth_is_told_from_the_nearest_line(low: float, high: float, said: str) -> None:
    assert words.along(low, high, COURT) == said


@pytest.mark.parametrize(
    ("x", "said"),
    [
        (0.1, "on the middle"),
        (1.0, "1 m right of middle"),
        (-1.0, "1 m left of middle"),
        (3.115, "1 m inside right singles line"),
        (-3.115, "1 m inside left singles line"),
        (-4.615, "0.5 m outside left singles line"),
    ],
)
def test_sides_are_the_feeders(x: float, said: str) -> None:
    assert words.across(x, x, COURT) == said


@pytest.mark.parametrize(
    ("x", "said"),
    [
        (0.1, "on the middle"),
        (-1.0, "1 m left of middle"),
        (3.115, "1 m in from right"),
        (-4.615, "0.5 m outside left"),
        (4.115, "on right sideline"),
    ],
)
def test_sides_in_a_table(x: float, said: str) -> None:
    assert words.aside(x, x, COURT) == said


@pytest.mark.parametrize(
    ("height", "said"),
    [(0.12, "just over"), (0.35, "½ racket"), (0.7, "1 racket"), (1.05, "1½ rackets"), (2.1, "3 rackets")],
)
def test_heights_over_the_net_in_rackets(height: float, said: str) -> None:
    assert words.rackets(height, height) == said


@pytest.mark.parametrize(
    ("heights", "said"),
    [
        ((0.9, 1.2), ["1¼ rackets", "1¾ rackets"]),  # both 1½ to the half
        ((0.7, 1.05), ["1 racket", "1½ rackets"]),
        ((1.0, 1.1), ["1½ rackets", "1½ rackets"]),  # less than 0.15 m apart
    ],
)
def test_heights_that_differ_do_not_read_alike(heights: tuple[float, float], said: list[str]) -> None:
    plan = make_plan(machine=False)
    over = [s.predicted.model_copy(update={"net_clearance_m": h}) for s, h in zip(plan.shots, heights, strict=True)]
    shots = tuple(s.model_copy(update={"predicted": p}) for s, p in zip(plan.shots, over, strict=True))
    part = sheet(plan.model_copy(update={"shots": shots})).parts[1]
    assert [feed.cells[1][0] for feed in part.rows] == said


@pytest.mark.parametrize(
    ("asked", "over", "said"),
    [
        ("into gap, at least 0.7 m over net, 65 km/h", 0.7, "into gap, at least 0.7 m (1 racket) over net, 65 km/h"),
        ("at least 0.1 m over net", 0.1, "at least 0.1 m over net"),  # no half of a racket
        ("deep", None, "deep"),
    ],
)
def test_a_reply_s_height_is_told_in_rackets_where_the_script_has_it(asked: str, over: float, said: str) -> None:
    assert words.also_in_rackets(asked, over) == said


@pytest.mark.parametrize(
    ("setting", "value", "said"),
    [
        ("azimuth", 4.0, " (right)"),
        ("azimuth", -4.0, " (left)"),
        ("azimuth", 0.0, ""),
        ("speed", 4.0, ""),
        ("elevation", -4.0, " (down)"),
        ("elevation", 4.0, ""),
    ],
)
def test_an_azimuth_says_to_which_side(setting: str, value: float, said: str) -> None:
    """Azimuth is positive towards +x, the feeder's right, as in the plan."""
    assert words.turned(setting, value) == said


def test_a_span_of_heights_names_its_unit_once() -> None:
    assert words.rackets(0.7, 1.4) == "1 to 2 rackets"


@pytest.mark.parametrize(
    ("interval", "said"),
    [(3.0, "1 2 feed"), (4.5, "1 2 3 and feed"), (2.5, "1 and feed"), (4.1, ""), (30.0, ""), (1.0, "")],
)
def test_a_count_of_one_a_second(interval: float, said: str) -> None:
    assert words.counted(interval) == said
    # From one feed to the next: each word lasts a second, "and" half of one, and the next feed is the last word.
    assert not said or sum(0.5 if word == "and" else 1 for word in said.split()) == interval


def test_a_count_does_not_break_before_its_feed() -> None:
    assert shown("1 2 3 and feed") == "1 2 3\u00a0and\u00a0feed"
    assert shown("1 2 feed") == "1 2\u00a0feed"


def test_sidespin_curves_as_the_plan_says(person_plan: Plan) -> None:
    """+z spin on a ball flying along +y: lift along spin x velocity is towards -x, the feeder's left."""
    launch = person_plan.shots[0].launch.model_copy(update={"topspin_rpm": 0.0, "sidespin_rpm": 900.0})
    assert words.spin(launch) == "some sidespin, curves left"
    assert words.spin(launch.model_copy(update={"sidespin_rpm": -1600.0})) == "much sidespin, curves right"
    assert words.spin(launch.model_copy(update={"sidespin_rpm": 0.0, "topspin_rpm": -900.0})) == "some backspin"


def test_the_rules_in_words_are_the_rules_of_the_plan() -> None:
    ladder = climbing().blocks[-1].ladder
    assert ladder is not None
    assert words.ladder_rule(ladder, ["A", "B", "C"]) == (
        "Start on A, or where the last practice ended. Up after 3 hits in a row, down after 2 misses in the last 4 "
        "balls; then count afresh."
    )
    only_up = ladder.model_copy(update={"down_misses": None, "down_in": None, "up_in_a_row": 1})
    assert "Up after 1 hit in a row, never down;" in words.ladder_rule(only_up, only_up.labels)
