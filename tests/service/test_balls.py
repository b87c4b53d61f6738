"""Which feed a place is about, and the lines that move a ball."""

import pytest

from feedwright.compiler.pipeline import compile_source, read_source
from feedwright.compiler.service.balls import feed_at, made_at, told_at
from feedwright.compiler.service.moving import movable, moved
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
    """Half a metre shallower and to the player's right. Both balls are rounded to half degrees, which lie about 0.25 m
    apart along the court and 0.2 m across."""
    known = compiled(FIRST)
    assert known.program
    before = lands(TEXT, "high")
    edits = moved(known.program, "high", {"depth": -0.5, "side": -0.5})
    after = lands(edited(known.source, edits), "high")
    assert (after[0] - before[0], after[1] - before[1]) == pytest.approx((-0.5, -0.5), abs=0.25)


def test_a_line_that_was_inherited_becomes_the_feeds_own() -> None:
    known = compiled(FIRST)
    assert known.program
    (edit,) = moved(known.program, "low", {"depth": 0.5})
    text = edited(known.source, (edit,))
    assert "feed low aims clear, like high\n    depth     0.5 to 3.5 m inside baseline\n" in text
    assert text.count("depth     1 to 4 m") == 1


def test_what_no_line_says_is_not_written() -> None:
    known = compiled(FIRST)
    assert known.program
    assert moved(known.program, "low", {"height": 0.5}) == ()  # it is the height over the net that decides
    assert moved(known.program, "high", {"depth": 0.1}) == ()  # less than half a step
    assert moved(known.program, "high", {"depth": 29.0}) == () and moved(known.program, "nobody", {"depth": 1.0}) == ()


def test_the_height_of_the_contact_is_moved_where_the_feed_says_it() -> None:
    known = compiled(FIRST)
    assert known.program
    (edit,) = moved(known.program, "high", {"height": 0.1})
    assert edit.text == "height    1.3 m, falling"
    assert "height" in movable(known.program, "high") and "over" not in movable(known.program, "high")


def test_the_way_over_the_net_is_moved_where_the_feed_says_it() -> None:
    known = compiled(FIRST)
    assert known.program
    (edit,) = moved(known.program, "low", {"over": 0.2, "height": 0.2})
    assert edit.text == "height    0.8 m over net" and "0.6 m over net" in edit.span.text


ZONED = """\
program "P"
    court     singles
    surface   hard
    player    right-handed
    feeder    machine club, on centre, on baseline, behind a screen

zone deep
    side      middle
    depth     1 to 4 m inside baseline

feed one
    into      deep
    stance    0.5 m behind baseline
    height    1.2 m over net
    spin      flat
    interval  6 s

feed two, like one
    height    1.4 m over net

session "Practice"
    3 min     cycle one, two
"""


def test_a_ball_that_aims_at_a_zone_gets_a_place_of_its_own_and_the_zone_stays() -> None:
    source = Source("a.feed", ZONED)
    known = compile_source(source, ProfileShelf(None), plan=False, remedies=False)
    assert known.program and {"depth", "side", "near", "far"} <= set(movable(known.program, "one"))
    own = "    side      on centre\n    depth     0.5 to 3.5 m inside baseline\n"
    for ball, stood, stands in (
        ("one", "feed one\n    into      deep\n", f"feed one\n{own}"),
        ("two", "feed two, like one\n", f"feed two, like one\n{own}"),
    ):
        text = edited(source, moved(known.program, ball, {"depth": 0.5}))
        assert text == ZONED.replace(stood, stands)
        again = compile_source(Source("a.feed", text), ProfileShelf(None), plan=False, remedies=False)
        assert again.program and not again.findings
        before, after = (one.feeds[ball].depth for one in (known.program, again.program))
        assert before and after and (after.low, after.high) == pytest.approx((before.low + 0.5, before.high + 0.5))
    aside = edited(source, moved(known.program, "one", {"side": 0.5, "over": 0.2}))
    assert "    side      0.5 m left of centre\n    depth     1 to 4 m inside baseline\n" in aside
    assert "    height    1.4 m over net\n    spin      flat" in aside


@pytest.mark.parametrize(
    ("said", "part", "faster"),
    [
        ("pace      60 km/h", "pace", "pace      65 km/h"),
        ("time      1.4 s to contact", "time", "time      1.3 s to contact"),
    ],
)
def test_a_ball_is_made_faster_by_the_line_that_says_how_fast_it_is(said: str, part: str, faster: str) -> None:
    source = Source("a.feed", TEXT.replace("height    1.2 m, falling", said))
    program = read_source(source, ProfileShelf(None)).program
    assert program and part in movable(program, "high") and part not in movable(program, "low")
    (edit,) = moved(program, "high", {"pace": 5.0, "time": -0.1})
    assert edit.text == faster and moved(program, "low", {"pace": 5.0, "time": -0.1}) == ()


def test_an_edge_of_the_zone_is_moved_alone() -> None:
    """`depth 1 to 4 m inside baseline`: the edge near the net is the far one of the baseline."""
    known = compiled(FIRST)
    assert known.program
    for by, said in (
        ({"near": -0.5}, "depth     1 to 4.5 m inside baseline"),
        ({"far": -0.5}, "depth     1.5 to 4 m inside baseline"),
        ({"near": -1.0, "far": 0.5}, "depth     0.5 to 5 m inside baseline"),
    ):  # fmt: skip
        (edit,) = moved(known.program, "high", by)
        assert edit.text == said
    (side,) = moved(known.program, "high", {"left": -0.5})
    feed = known.program.feeds["high"]  # on the player's right, which is the feeder's left: -x
    inner, outer = (round(abs(edge) * 4) / 4 for edge in (feed.side.high, feed.side.low))  # in steps of 25 cm
    assert feed.side.high < 0 and side.text == f"side      {inner:g} to {outer + 0.5:g} m right of centre"
    assert moved(known.program, "high", {"near": 0.1}) == () and moved(known.program, "high", {"far": 9.0}) == ()


def test_a_feeds_name_and_its_lines_tell_what_the_ball_does() -> None:
    """The figures are those of the plan, which a replay flies."""
    known = compiled(FIRST)
    assert known.plan
    shot = next(shot for shot in known.plan.shots if shot.id == "high")
    seen = shot.predicted
    assert seen.landing_m and seen.net_clearance_m and shot.spread
    places = [TEXT.index(words) for words in ("high aims", "stance    2.5", "high, low\n    rest", "high\n    stance")]
    (told,) = {told_at(BOTH, known, place) for place in places[:3]}
    assert told[0].startswith("A high: ") and len(told) == 1
    for said in (
        f"{shot.launch.speed_mps * 3.6:.0f} km/h", f"{seen.net_clearance_m:.2f} m over the net",
        f"({shot.spread.share_over_net:.0%} pass)", f"lands {seen.landing_m[1]:.1f} m from the net",
        f"{abs(seen.landing_m[0]):.1f} m to the feeder's left", f"met {seen.contact_m[2]:.2f} m high, falling",
        f"{seen.contact_s:.2f} s after the launch", f"{shot.spread.share_in_zone:.0%} in the zone",
    ):  # fmt: skip
        assert said in told[0]
    assert told_at(BOTH, known, places[3]) == told  # a feed that another is like
    for words in ("surface", "variation clear", "4 min", "rest"):
        assert told_at(BOTH, known, TEXT.index(words)) == ()


def test_a_family_tells_a_line_for_each_ball_and_no_more_than_fit() -> None:
    path = FOLDER / "99-every-construct.feed"
    known = compiled(path)
    script = opened(known.source, None)
    told = told_at(script, known, known.source.text.index("feed pocketed") + 6)
    assert len(told) > 1 and all("pocketed" in line or line.startswith("and ") for line in told)


def test_an_impossible_ball_is_told_as_such() -> None:
    text = TEXT.replace("height    1.2 m, falling", "height    3.5 m, falling")
    source = Source("a.feed", text)
    known = compile_source(source, ProfileShelf(None), plan=False, remedies=False)
    assert told_at(opened(source, None), known, text.index("high aims")) == ("high: impossible, or met by nobody",)
