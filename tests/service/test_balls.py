"""Which feed a place is about, and the lines that move a ball."""

import pytest

from feedwright.compiler.pipeline import compile_source
from feedwright.compiler.service.balls import feed_at, made_at
from feedwright.compiler.service.moving import moved
from feedwright.compiler.service.script import edited, opened
from feedwright.grammar.source import Source
from feedwright.targets.machine.feeders import ProfileShelf

from ..shipped import FOLDER, compiled

FIRST = FOLDER / "02-first-script.feed"
TEXT = FIRST.read_text("utf-8")
BOTH = opened(Source("a.feed", TEXT), None)


@pytest.mark.parametrize(
    ("words", "feed"),
    [
        ("feed high", "high"), ("1.2 m, falling", "high"), ("6 s", "high"), ("0.6 m over", "low"), ("like high", "low"),
        ("variation clear", "high"), ("5 in a row", "high"), ("cycle high", "high"), ("low\n    rest", "low"),
        ("4 min", "high"), ("mix high", "high"), ("rest", None), ("# The smallest", None), ("surface", None),
        ('session "Ten', "high"),
    ],
)  # fmt: skip
def test_a_place_is_about_a_feed(words: str, feed: str | None) -> None:
    assert feed_at(BOTH, TEXT.index(words) + 1) == feed


def test_every_place_of_every_text_has_an_answer() -> None:
    into = "zone z\nfeed a\n    into z\n"
    for text in ("", "\n", "feed", "feed a\n    like", "session\n    3 min a", TEXT[:700], into):
        script = opened(Source("a.feed", text), None)
        assert {feed_at(script, place) for place in range(len(text) + 1)} <= {None, "a", "high", "low"}
    assert feed_at(opened(Source("a.feed", into), None), 3) == "a"


def test_a_feed_is_made_where_its_name_first_stands() -> None:
    assert made_at(BOTH, "low") == TEXT.index("feed low") + 5
    assert made_at(BOTH, "nobody") is None


def lands(text: str, feed: str) -> tuple[float, float]:
    made = compile_source(Source("a.feed", text), ProfileShelf(None), plan=False, remedies=False)
    assert made.shots
    landing = made.shots.shots[feed].predicted.landing
    assert landing
    return landing


def test_a_ball_that_is_moved_lands_where_it_was_put() -> None:
    """Half a metre deeper and to the player's right; a setting of the feeder is rounded, hence 10 cm."""
    known = compiled(FIRST)
    assert known.program
    before = lands(TEXT, "high")
    edits = moved(known.program, "high", {"depth": -0.5, "side": -0.5})
    after = lands(edited(known.source, edits), "high")
    assert (after[0] - before[0], after[1] - before[1]) == pytest.approx((-0.5, -0.5), abs=0.1)


def test_a_line_that_was_inherited_becomes_the_feeds_own() -> None:
    known = compiled(FIRST)
    assert known.program
    (edit,) = moved(known.program, "low", {"depth": 0.5})
    text = edited(known.source, (edit,))
    assert "feed low aims clear, like high\n    depth 0.5 to 3.5 m inside baseline\n" in text
    assert text.count("depth     1 to 4 m") == 1


def test_what_no_line_says_is_not_written() -> None:
    known = compiled(FIRST)
    assert known.program
    assert moved(known.program, "low", {"height": 0.5}) == ()  # it is the height over the net that decides
    assert moved(known.program, "high", {"depth": 0.1}) == ()  # less than half a step
    assert moved(known.program, "high", {"depth": 29.0}) == () and moved(known.program, "nobody", {"depth": 1.0}) == ()
    pocket = compiled(FOLDER / "99-every-construct.feed")
    assert pocket.program
    ball = next(name for name in pocket.program.feeds if name.startswith("pocketed"))
    assert moved(pocket.program, ball, {"depth": 1.0, "side": 1.0}) == ()  # the zone says them


def test_the_height_of_the_contact_is_moved_where_the_feed_says_it() -> None:
    known = compiled(FIRST)
    assert known.program
    (edit,) = moved(known.program, "high", {"height": 0.1})
    assert edit.text == "height 1.3 m, falling"
