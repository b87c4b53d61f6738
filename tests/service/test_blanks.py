"""What the blanks of a form write: sentences that compile, in their place, and nothing that a blank may not hold."""

from itertools import product

import pytest

from feedwright.compiler.pipeline import compile_source, read_source
from feedwright.compiler.service.blanks import (
    BOUNCES,
    DEPTHS,
    LEVELS,
    OPEN,
    ORDERS,
    PLAYED,
    SPEEDS,
    STANCES,
    TURNS,
    WHERE,
    BallBlanks,
    BlankProblem,
    PartBlanks,
    PointBlanks,
    VariationBlanks,
)
from feedwright.compiler.service.forms import ball_written, part_written, point_written, thrown, variation_written
from feedwright.compiler.service.script import Script, edited, opened
from feedwright.grammar.format import formatted
from feedwright.grammar.frozen import replace
from feedwright.grammar.parse import parse
from feedwright.grammar.source import Source
from feedwright.targets.machine.feeders import ProfileShelf

from ..shipped import FOLDER

TEXT = (FOLDER / "02-first-script.feed").read_text("utf-8")
FULL = BOUNCES[1:]


def script(text: str) -> Script:
    return opened(Source("a.feed", text), None)


def test_a_ball_stands_below_the_last_one_and_a_part_ends_the_session() -> None:
    first = script(TEXT)
    blanks = BallBlanks("wide", "clear", "backhand corner", far=3.5, stance=0.5, stance_from="inside baseline",
                        level="falling", height=0.8, turn="topspin", rpm=800.0, played="not yet")  # fmt: skip
    text = edited(first.source, ball_written(first, blanks))
    wide = """
feed wide aims clear
    side      backhand corner
    depth     1 to 3.5 m inside baseline
    stance    0.5 m inside baseline
    height    0.8 m, falling
    spin      topspin 800 rpm
    interval  6 s

session "Ten minutes"""
    assert wide in text
    second = script(text)
    text = edited(second.source, part_written(second, PartBlanks(3.0, "min", ("wide", "low"), "mix", before=60.0)))
    assert text.endswith("    rest      1 min\n    3 min     mix wide, low\n")
    assert formatted(Source("a.feed", text))[0] == text and text.startswith(TEXT[: TEXT.index("\nsession")])
    assert 'session "Ten minutes", lasts 14 min' in text  # 10 min of before, 3 of balls and 1 of rest


def test_a_variation_stands_below_the_last_one() -> None:
    first = script(TEXT)
    blanks = VariationBlanks("past", "low past  the player", "the net player stands still", 0.5, 6.0, 0.3, 5.0)
    text = edited(first.source, variation_written(first, blanks))
    past = """
    goal      5 in a row

variation past "low past the player"
    when      the net player stands still
    reply     0.5 to 6 m inside baseline, at least 0.3 m over net
    goal      5 in a row

feed high"""
    assert past in text


def test_a_variation_says_to_where_and_which_balls_ask_for_it() -> None:
    first = script(TEXT)
    blanks = VariationBlanks("across", "crosscourt", toward="left corner", balls=("high", "low"), pace=70.0)
    text = edited(first.source, variation_written(first, blanks))
    assert (
        "    reply     0.5 to 5 m inside baseline, to left corner, at least 0.5 m over net, at least 70 km/h\n" in text
    )
    assert "\nfeed high aims across\n" in text and "\nfeed low aims across, like high\n" in text
    assert not [
        one for one in read_source(Source("a.feed", text), ProfileShelf(None)).findings if one.severity.value == "error"
    ]
    for wrong in (replace(blanks, toward="roof"), replace(blanks, balls=("roof",)), replace(blanks, pace=1.0)):
        with pytest.raises(BlankProblem):
            variation_written(first, wrong)


def test_every_choice_is_a_sentence_of_the_language() -> None:
    """Whatever a form offers, the script still reads, and says no more than it said and the form."""
    first = script(TEXT)
    for n, (side, depth, level, turn) in enumerate(product(WHERE, DEPTHS, LEVELS, TURNS)):
        full = n % 2 and level not in ("falling", "rising")
        said = (depth != OPEN and not full) + (level != OPEN) + (2 if full else 1)
        if said < 2:
            continue  # neither place nor height: the pace alone decides nothing
        speed = SPEEDS[0] if said > 2 else SPEEDS[1 + n % 2]
        blanks = BallBlanks("new", "", side, depth, 1.0, 2.0, 0.0 if n % 3 else 1.25, STANCES[n % 3],
                            BOUNCES[bool(full)], 1.0, level, 1.0, turn, speed=speed,
                            played="not yet")  # fmt: skip
        text = edited(first.source, ball_written(first, blanks))
        tree, slips = parse(Source("a.feed", text))
        assert slips == [] and len(tree.lines) == len(first.tree.lines) + 1


def test_an_empty_script_gets_a_ball_and_a_session() -> None:
    head = ("court singles", "surface hard", "player right-handed", "feeder machine club, on centre, on baseline")
    empty = script("\n    ".join(('program "P"', *head)) + "\n")
    second = script(edited(empty.source, ball_written(empty, BallBlanks("one", played="not yet"))))
    text = edited(second.source, part_written(second, PartBlanks(2.0, "min", ("one",))))
    found = compile_source(Source("a.feed", text), ProfileShelf(None), remedies=False)
    assert found.plan and [block.words for block in found.plan.blocks] == ["2 min     one"]
    nothing = script("")
    assert ball_written(nothing, BallBlanks("one"))[0].text.startswith("feed one\n")


@pytest.mark.parametrize(
    ("blanks", "says"),
    [
        (BallBlanks("two words"), "one word"), (BallBlanks(""), "one word"), (BallBlanks("a\nfeed b"), "one word"),
        (BallBlanks("high"), "already"), (BallBlanks("new", "nowhere"), "no variation"),
        (BallBlanks("new", side="roof"), "side is one of"), (BallBlanks("new", level="\n"), "level is one of"),
        (BallBlanks("new", turn="wild"), "turn is one of"),
        (BallBlanks("new", level="over net", height=1.0), "level is one of"),
        (BallBlanks("new", level="over the net", height=float("nan")), "height is a number"),
        (BallBlanks("new", stance=-1.0), "stance is a number"), (BallBlanks("new", rest=-1.0), "rest is a number"),
        (BallBlanks("new", amount=0.0), "amount is a number"), (BallBlanks("new", played="never"), "played is one of"),
        (BallBlanks("new", near=2.0, far=2.0), "25 cm"), (BallBlanks("new", near=-1.0), "near is a number"),
        (BallBlanks("new", interval=0.0), "interval is a number"),
        (BallBlanks("new", turn="topspin", rpm=9e9), "rpm is"),
    ],
)  # fmt: skip
def test_what_a_ball_cannot_be_is_refused(blanks: BallBlanks, says: str) -> None:
    with pytest.raises(BlankProblem, match=says):
        ball_written(script(TEXT), blanks)


def test_a_ball_has_a_block_of_its_own_or_joins_the_last_one() -> None:
    first = script(TEXT)
    alone, in_turn, not_yet = (
        edited(first.source, ball_written(first, BallBlanks("new", played=played)))[len(TEXT) // 2 :]
        for played in PLAYED
    )
    assert "mix high, low, new" in in_turn and in_turn.count("lasts 10 min") == 1
    assert alone.endswith("\n    3 min     new\n") and 'session "Ten minutes", lasts 13 min' in alone
    assert not_yet.endswith(TEXT[-40:])
    counted = BallBlanks("new", amount=8.0, measure="balls", rest=30.0)
    assert edited(first.source, ball_written(first, counted)).endswith("\n    rest      30 s\n    8 balls   new\n")
    # Nothing comes before the first block, and after a rest that stands there no other one is wanted.
    empty = script(TEXT.split("session")[0])
    assert "rest" not in edited(empty.source, ball_written(empty, counted)).split("session")[1]
    rested = script(f"{TEXT}    rest      1 min\n")
    assert edited(rested.source, ball_written(rested, counted)).endswith("rest      1 min\n    8 balls   new\n")


@pytest.mark.parametrize(
    ("session", "behind"),
    [("6 balls   high\n    rest      20 s", "    6 balls   low\n    rest      20 s\n"),
     ("9 balls   high", "    9 balls   low\n"), ("24 balls  high, until 4 in a row", "    24 balls  low\n"),
     ("2 rounds\n        2 min     cycle high, low\n        rest      1 min",
      "    2 min     low\n    rest      1 min\n"),
     ("2 rounds\n        9 balls   high\n        rest      1 min between rounds",
      "    rest      1 min\n    9 balls   low\n"), ("rest      1 min", "    8 balls   low\n")],
)  # fmt: skip
def test_a_ball_is_added_to_the_session_like_the_block_before(session: str, behind: str) -> None:
    text = f'{TEXT.split("session")[0]}session "S"\n    {session}\n'
    first = script(text)
    assert edited(first.source, thrown(first, "low")) == text + behind
    timed = script(TEXT)
    # 10 min of before, 5 as the last block, and a minute of rest before it, as before the last one.
    text = edited(timed.source, thrown(timed, "low"))
    assert "lasts 16 min" in text
    assert text.endswith("at most 2 alike\n    rest      1 min\n    5 min     low\n")
    with pytest.raises(BlankProblem, match="no ball"):
        thrown(timed, "nobody")


def test_a_copy_is_added_to_the_session_like_the_ball_that_it_is_like() -> None:
    feeds = TEXT.split("session")[0] + "feed wide aims clear, like high\n\n"
    first = script(f'{feeds}session "S"\n    6 balls   high\n    rest      20 s\n    9 balls   low\n')
    behind = "    6 balls   wide\n    rest      20 s\n"
    assert edited(first.source, thrown(first, "wide")) == first.source.text + behind


def test_a_rest_between_rounds_does_not_follow_the_last_one() -> None:
    blanks = PartBlanks(2.0, "min", ("high", "low"), rounds=4.0, rest=30.0)
    text = edited((first := script(TEXT)).source, part_written(first, blanks))
    rounds = "    4 rounds\n        2 min     cycle high, low\n        rest      30 s between rounds\n"
    assert text.endswith(rounds) and "lasts 19.5 min" in text  # 10 min of before, 8 of balls and 1.5 of rests
    twice = replace(blanks, rounds=2.0, measure="balls", amount=6.0)
    text = edited(first.source, part_written(first, twice))
    assert text.endswith("    2 rounds\n        6 balls   cycle high, low\n        rest      30 s between rounds\n")
    assert edited(first.source, part_written(first, replace(twice, rounds=1.0))).endswith(
        "    6 balls   cycle high, low\n"
    )
    at_once = edited(first.source, part_written(first, replace(twice, rest=0.0)))
    assert at_once.endswith("    2 rounds\n        6 balls   cycle high, low\n")


def test_a_rest_and_a_collect_end_the_session_until_a_block_follows() -> None:
    first = script(TEXT)
    for part, line in (("rest", "rest      1.5 min"), ("collect", "collect   1.5 min")):
        text = edited(first.source, part_written(first, PartBlanks(1.5, part=part)))
        assert text.endswith(f"at most 2 alike\n    {line}\n") and "lasts 11.5 min" in text
    text = edited(first.source, part_written(first, PartBlanks(2.0, part="collect")))
    assert text.endswith("    collect   2 min\n")
    for wrong in (PartBlanks(0.0, part="rest"), PartBlanks(1.0, part="nap")):
        with pytest.raises(BlankProblem):
            part_written(first, wrong)
    with pytest.raises(BlankProblem, match="no block yet"):
        part_written(script(TEXT.split("session")[0]), PartBlanks(1.0, part="rest"))


def test_rounds_ladders_and_points_are_written_as_a_coach_would() -> None:
    known = script(TEXT)
    for blanks in (
        PartBlanks(6.0, "balls", ("high", "low"), "mix", rounds=3.0, rest=30.0),
        PartBlanks(balls=("low",), order="ladder", step="height", first=1.4, last=0.8, most=24.0, up=6.0, up_in=10.0),
    ):
        known = script(edited(known.source, part_written(known, blanks)))
    known = script(
        edited(known.source, point_written(known, PointBlanks("attack", "low", "high", "", "from the start")))
    )
    text = edited(known.source, part_written(known, PartBlanks(5.0, "points", ("attack",))))
    assert text.endswith(
        """
    3 rounds
        6 balls   mix high, low
        rest      30 s between rounds
    ladder    low, up to 24 balls, height 1.4, 1.2, 1, 0.8 m over net
        up        6 of 10
        down      2 misses in 6
    5 points  attack
"""
    )
    assert "\npoint attack\n    plays     low, then high\n    if missed, from the start\n\nsession" in text
    assert formatted(Source("a.feed", text))[0] == text
    assert read_source(Source("a.feed", text), ProfileShelf(None)).findings == ()


@pytest.mark.parametrize(
    "blanks",
    [
        PointBlanks("high", "low", "high"), PointBlanks("two words", "low", "high"), PointBlanks("new", "low"),
        PointBlanks("new", "low", "roof"), PointBlanks("new", "low", "high", missed="never"),
    ],
)  # fmt: skip
def test_what_a_point_cannot_be_is_refused(blanks: PointBlanks) -> None:
    with pytest.raises(BlankProblem):
        point_written(script(TEXT), blanks)


@pytest.mark.parametrize(
    "blanks",
    [
        VariationBlanks("clear", "again"), VariationBlanks("new", ' "" '), VariationBlanks("new", "  "),
        VariationBlanks("new", "good", "a # b"), VariationBlanks("new", "good", goal=1.0),
        VariationBlanks("new", "good", goal=5.0, among=4.0),
        VariationBlanks("new", "go\x07od"), VariationBlanks("new", "good", over=float("nan")),
    ],
)  # fmt: skip
def test_what_a_variation_cannot_be_is_refused(blanks: VariationBlanks) -> None:
    with pytest.raises(BlankProblem):
        variation_written(script(TEXT), blanks)


@pytest.mark.parametrize(
    "blanks",
    [
        PartBlanks(0.0, "min", ("high",)), PartBlanks(float("inf"), "min", ("high",)), PartBlanks(1.0, "min", ()),
        PartBlanks(1.0, "min", ("roof",)), PartBlanks(1.0, "years", ("high",)), PartBlanks(0.0, "balls", ("high",)),
        PartBlanks(1.0, "min", ("high",), "by chance"), PartBlanks(1.0, "min", ("high",), ORDERS[0], rest=-1.0),
        PartBlanks(1.0, "min", ("high",), rounds=0.0), PartBlanks(5.0, "points", ("high",)),
        PartBlanks(balls=("high", "low"), order="ladder"), PartBlanks(balls=("high",), order="ladder", first=9.0),
        PartBlanks(balls=("high",), order="ladder", first=80.0, last=80.0),
        PartBlanks(balls=("high",), order="ladder", rungs=1.0),
        PartBlanks(balls=("high",), order="ladder", step="height", last=80.0),
    ],
)  # fmt: skip
def test_what_a_part_cannot_be_is_refused(blanks: PartBlanks) -> None:
    with pytest.raises(BlankProblem):
        part_written(script(TEXT), blanks)


@pytest.mark.parametrize("bounce", BOUNCES)
@pytest.mark.parametrize("level", LEVELS)
def test_a_ball_of_each_level_is_said_in_full(level: str, bounce: str) -> None:
    """Nothing is missing that decides its flight; whether it can be had is for the check of its balls."""
    first = script(TEXT)
    place = (3.0, "from net") if bounce in FULL else (0.5, STANCES[0])
    speed = "pace" if level == OPEN else SPEEDS[0]
    ball = BallBlanks("new", "clear", stance=place[0], stance_from=place[1], bounce=bounce, level=level, speed=speed)
    if bounce in FULL and level in ("falling", "rising"):
        with pytest.raises(BlankProblem, match="on the full"):
            ball_written(first, ball)
        return
    source = Source("a.feed", edited(first.source, ball_written(first, ball)))
    assert read_source(source, ProfileShelf(None)).findings == ()
