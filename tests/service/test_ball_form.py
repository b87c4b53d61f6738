"""A ball through its form: what the form writes it reads again, and a change writes what differs and nothing else."""

from functools import lru_cache
from itertools import product

import pytest

from feedwright.compiler.pipeline import read_source
from feedwright.compiler.service.ball_form import ball_changed, ball_of
from feedwright.compiler.service.blanks import (
    BOUNCES,
    DEPTHS,
    LEVELS,
    OPEN,
    SPEEDS,
    STANCES,
    TURNS,
    BallBlanks,
    BlankProblem,
)
from feedwright.compiler.service.forms import ball_written
from feedwright.compiler.service.script import Script, edited, opened
from feedwright.grammar.frozen import replace
from feedwright.grammar.source import Source
from feedwright.targets.machine.feeders import ProfileShelf

from ..shipped import FOLDER

TEXT = (FOLDER / "02-first-script.feed").read_text("utf-8")
WIDE = BallBlanks(
    "wide", "clear", "backhand corner", near=1.0, far=3.5, level="over the net", height=1.3, played="not yet"
)
FULL = BOUNCES[1:]


@lru_cache(8)
def script(text: str) -> Script:
    return opened(Source("a.feed", text), None)


def with_wide(blanks: BallBlanks = WIDE) -> str:
    first = script(TEXT)
    return edited(first.source, ball_written(first, blanks))


def changed(text: str, feed: str, **values: object) -> str:
    first = script(text)
    return edited(first.source, ball_changed(first, replace(ball_of(first, feed)[0], **values)))


def feed(text: str, name: str) -> str:
    return f"feed {name}" + text.split(f"\nfeed {name}")[1].split("\n\n")[0]


def allowed() -> list[BallBlanks]:
    found = []
    for n, (bounce, depth, level, speed) in enumerate(product(BOUNCES, DEPTHS, LEVELS, SPEEDS)):
        said = (depth != OPEN) + (level != OPEN) + (speed != OPEN)
        full = bounce in FULL and ((level == OPEN) == (speed == OPEN) or level in ("falling", "rising"))
        if full or (bounce not in FULL and said != 2) or (bounce in FULL and depth != DEPTHS[0]):
            continue
        found.append(
            replace(WIDE, bounce=bounce, depth=depth, level=level, speed=speed, near=1.0, far=2.5, height=1.25,
                    pace=72.0, time=1.35, met=1.1, stance=n % 3 / 2, stance_from=STANCES[n % 3], turn=TURNS[n % 3],
                    rpm=900.0)
        )  # fmt: skip
    return found


@pytest.mark.parametrize("blanks", allowed(), ids=lambda one: f"{one.bounce}-{one.depth}-{one.level}-{one.speed}")
def test_what_a_form_wrote_opens_it_again(blanks: BallBlanks) -> None:
    text = with_wide(blanks)
    read, kept = ball_of(script(text), "wide")
    assert not kept and read.like == "wide"
    assert edited((first := script(TEXT)).source, ball_written(first, replace(read, like="", played="not yet"))) == text
    assert changed(text, "wide") == text, "written again, nothing changes"


def test_every_feed_of_the_library_opens_its_form_and_stays_as_it_is() -> None:
    """What no blank can hold stays as it was written."""
    held = 0
    for path in sorted(FOLDER.glob("[0-9]*.feed")):
        text = path.read_text("utf-8")
        for name in (one.name for one in script(text).names if one.made and one.kind.value == "feed"):
            blanks, kept = ball_of(script(text), name)
            assert set(blanks.kept) == set(kept) and changed(text, name) == text, (path, name)
            held += not kept
    assert held >= 10


def test_a_change_writes_the_line_that_differs() -> None:
    text = with_wide()
    assert (
        feed(changed(text, "wide", level=OPEN, speed="pace", pace=80.0), "wide")
        == """feed wide aims clear
    side      backhand corner
    depth     1 to 3.5 m inside baseline
    stance    0.5 m behind baseline
    pace      80 km/h
    spin      flat
    interval  6 s"""
    )
    both = changed(text, "wide", depth=OPEN, speed="pace", pace=80.0, note="Early.")
    assert (
        feed(both, "wide")
        == """feed wide aims clear
    side      backhand corner
    stance    0.5 m behind baseline
    height    1.3 m over net
    pace      80 km/h
    spin      flat
    interval  6 s
    note      "Early.\""""
    )
    assert feed(changed(both, "wide", note="", depth="deep", level=OPEN), "wide").count("\n") == 6
    assert read_source(Source("a.feed", both), ProfileShelf(None)).findings == ()


@pytest.mark.parametrize("way", ["falling", "rising"])
def test_a_ball_is_met_where_it_is_as_high_as_the_form_says(way: str) -> None:
    blanks = replace(WIDE, near=3.0, far=5.0, level="drive", stance=0.9, stance_from=way)
    text = with_wide(blanks)
    assert f"    stance    where it is 0.9 m above ground, {way}\n" in text
    read, kept = ball_of(script(text), "wide")
    assert (read.stance, read.stance_from, kept) == (0.9, way, {})
    assert changed(text, "wide") == text and read_source(Source("a.feed", text), ProfileShelf(None)).program
    for wrong in ({"bounce": FULL[0], "level": "drive"}, {"level": "falling"}, {"stance": 9.0}):
        with pytest.raises(BlankProblem):
            changed(text, "wide", **wrong)


def test_a_ball_is_called_anew_wherever_its_name_stands() -> None:
    text = changed(TEXT, "low", name="fast")
    assert "cycle high, fast" in text and "mix high, fast" in text and "\nfeed fast aims clear, like high\n" in text
    for name in ("high", "two words", "clear at"):
        with pytest.raises(BlankProblem):
            changed(TEXT, "low", name=name)


def test_the_ball_of_another_feed_keeps_its_flight_and_is_called_anew_there_too() -> None:
    text = f"{TEXT}\nfeed later, like high\n    ball      same as high\n    stance    4 m behind baseline\n"
    blanks, kept = ball_of(script(text), "later")
    assert kept == dict.fromkeys(("side", "depth", "flight", "spin"), "ball same as high") and blanks.stance == 4.0
    met = changed(text, "later", stance=3.0)
    assert (
        feed(met, "later").strip()
        == "feed later, like high\n    ball      same as high\n    stance    3 m behind baseline"
    )
    assert "    ball      same as higher\n" in changed(met, "high", name="higher")


def test_a_copy_says_what_differs_from_its_ball() -> None:
    first = script(TEXT)
    blanks = replace(ball_of(first, "low")[0], name="low-wide", side="backhand corner", played="not yet")
    text = edited(first.source, ball_written(first, blanks))
    assert feed(text, "low-wide") == "feed low-wide, like low\n    side      backhand corner"
    assert ball_of(script(text), "low-wide")[0].side == "backhand corner"
    assert read_source(Source("a.feed", text), ProfileShelf(None)).findings == ()
    # Where nothing lands, the copy says all of it: no line takes a depth back.
    full = replace(blanks, bounce=FULL[0], level=OPEN, speed="pace", stance_from="from net", stance=3.0)
    text = edited(first.source, ball_written(first, full))
    assert "on the full" in feed(text, "low-wide") and "depth" not in feed(text, "low-wide")
    # Its height and pace decide where it lands: that the line of its ball is not meant is said.
    far = replace(blanks, depth=OPEN, level="drive", speed="pace")
    text = edited(first.source, ball_written(first, far))
    assert "depth     anywhere" in feed(text, "low-wide")
    assert read_source(Source("a.feed", text), ProfileShelf(None)).findings == ()


def test_what_the_player_does_is_changed_but_not_taken_from_the_ball_that_it_is_like() -> None:
    text = changed(with_wide(), "wide", name="far", aims="")
    assert "\nfeed far\n" in text
    assert "\nfeed wide aims clear\n" in changed(text, "far", name="wide", aims="clear")
    with pytest.raises(BlankProblem, match="takes"):
        changed(TEXT, "low", aims="")


@pytest.mark.parametrize(
    ("values", "says"),
    [
        ({"speed": "pace"}, "two of them"), ({"level": OPEN}, "one more"),
        ({"bounce": FULL[0], "level": OPEN}, "either"),
        ({"speed": "wild", "depth": OPEN}, "speed is one of"), ({"note": 'a "b"'}, "note"), ({"note": "a\x07"}, "note"),
        ({"level": OPEN, "speed": "time", "time": 0.0}, "time is a number"), ({"aims": "nobody"}, "no variation"),
    ],
)  # fmt: skip
def test_what_a_ball_cannot_be_is_refused(values: dict[str, object], says: str) -> None:
    with pytest.raises(BlankProblem, match=says):
        changed(with_wide(), "wide", **values)
