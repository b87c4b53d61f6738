"""The choices of the form of a ball in a real browser: they work together, and say what a coach asks."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from feedwright.targets.desk.beginnings import answered, begun

from .driven import Page, at_the_desk
from .test_beginnings import Said
from .test_forms import choose, held, opens, says, written

pytestmark = pytest.mark.flaky(reruns=2)  # a real browser against the clock, on a machine that may be busy
HEIGHT = "return document.getElementById('begin').getBoundingClientRect().height"
FEEDERS = ("club", "academy", "racket", "dials")


@pytest.fixture(scope="module")
def driver(driver: Any) -> Any:
    driver.set_window_size(1280, 700)
    return driver


def desk(driver: Any, folder: Path, feeder: str = "club") -> Any:
    text = begun(answered(Said(feeder=feeder, title="T", variation="", court="singles", stature=1.7)))
    (folder / "a.feed").write_text(text, "utf-8")
    return at_the_desk(driver, folder)


@pytest.fixture
def page(driver: Any, tmp_path: Path) -> Iterator[Page]:
    with desk(driver, tmp_path) as made:
        yield made


def test_a_goal_is_written_with_its_ball(page: Page) -> None:
    opens(page, "[data-add=ball]", "A ball")
    for blank, value in (("name", "backhand"), ("side", "backhand wing"), ("goal", 4), ("goes", "crosscourt")):
        choose(page, blank, value)
    # Another variation is no longer asked for, and one ball is not judged by four.
    assert page.js("return document.querySelector('#begin [name=aims]').disabled")
    page.until(lambda: "It leaves at" in says(page, "does"))
    assert "in a row" not in says(page, "does")
    written(page)
    page.until(lambda: "feed backhand aims backhand-crosscourt\n" in page.script)
    assert ", crosscourt, " in page.script and "goal      4 in a row" in page.script
    # The next ball has no goal of its own.
    opens(page, "[data-add=ball]", "A ball")
    assert (held(page, "goal"), held(page, "aims"), held(page, "rest"), held(page, "pause")) == ("0", "", "0", "rest")


def test_the_balls_are_collected_before_a_block(page: Page) -> None:
    page.fill("[data-add=ball]", name="one")
    page.until(lambda: "session" in page.script)
    opens(page, "[data-add=ball]", "A ball")
    choose(page, "name", "two")
    choose(page, "pause", "collect")
    assert held(page, "rest") == "120"
    written(page)
    page.until(lambda: "    collect   2 min\n" in page.script and "two" in page.script.split("collect")[1])


@pytest.mark.parametrize("feeder", FEEDERS)
def test_what_the_form_proposes_has_no_doubt(driver: Any, tmp_path: Path, feeder: str) -> None:
    """A zone, a height and a place that the form itself chose are within what this feeder does."""
    with desk(driver, tmp_path, feeder) as page:
        opens(page, "[data-add=ball]", "A ball")
        for depth in ("deep and wide", "midcourt", "short"):
            choose(page, "depth", depth)
            page.js("document.querySelector('#begin .does').replaceChildren()")
            page.until(lambda: "It leaves at" in says(page, "does"))
            assert "\u25b2" not in says(page, "does"), depth
        choose(page, "bounce", "overhead")
        assert (held(page, "met"), held(page, "stance"), held(page, "stance_from")) == ("2.4", "3", "from net")
        page.js("document.querySelector('#begin .does').replaceChildren()")
        page.until(lambda: "on the full" in says(page, "does"))
        assert "\u25b2" not in says(page, "does") or "Fine to use" in says(page, "does")


def test_a_feeder_on_the_players_side_is_asked_for_no_height_over_the_net(driver: Any, tmp_path: Path) -> None:
    with desk(driver, tmp_path, "basket") as page:
        opens(page, "[data-add=ball]", "A ball")
        assert (held(page, "level"), held(page, "speed")) == ("open", "time")
        page.until(lambda: "It leaves at" in says(page, "does"))
        assert "\u25b2" not in says(page, "does")
        choose(page, "bounce", "overhead")
        assert (held(page, "level"), held(page, "speed")) == ("open", "time")


def test_a_lob_at_the_net_is_too_steep_in_a_coachs_words_and_nothing_moves(page: Page) -> None:
    opens(page, "[data-add=ball]", "A ball")
    page.until(lambda: "It leaves at" in says(page, "does"))
    before = page.js(HEIGHT)
    choose(page, "bounce", "overhead")
    choose(page, "stance", 3)
    choose(page, "level", "lob")
    page.until(lambda: "Too steep for this feeder" in says(page, "does"))
    assert "elevation" not in says(page, "does") and page.js(HEIGHT) == before
    choose(page, "stance", 6)
    page.until(lambda: "Fine to use" in says(page, "does"))
    assert page.js(HEIGHT) == before


@pytest.mark.parametrize("form", ["ball", "variation", "part"])
def test_no_form_scrolls_sideways(page: Page, form: str) -> None:
    page.js("document.querySelector(`[data-add=${arguments[0]}]`).click()", form)
    page.until(lambda: page.js("return document.getElementById('begin').open"))
    if form == "ball":
        choose(page, "bounce", "overhead")
        choose(page, "goal", 4)
    wide = "const box = document.getElementById('begin'); return box.scrollWidth <= box.clientWidth"
    page.until(lambda: page.js(wide))


def test_a_new_practice_asks_the_level_and_offers_doubles_balls_for_doubles_alone(page: Page) -> None:
    page.press("anew")
    page.until(lambda: page.js("return document.getElementById('begin').open"))
    offered = "return document.querySelector('#begin [name=variation]').checkVisibility({visibilityProperty: true})"
    assert not page.js(offered)
    choose(page, "court", "doubles")
    assert page.js(offered)
    choose(page, "court", "singles")
    assert not page.js(offered)
    choose(page, "level", "improver")
    choose(page, "title", "Thursday group")
    written(page)
    page.until(lambda: "scatter improver" in page.script)
    page.until(lambda: page.js("return document.querySelector('#begin[open] h2')?.textContent") == "A ball")
