"""The forms of a ball and of a block in a real browser: what they say while they are filled, and what they write."""

import pytest

from .driven import Page

pytestmark = pytest.mark.flaky(reruns=2)  # a real browser against the clock, on a machine that may be busy


def opens(page: Page, button: str, heading: str) -> None:
    page.js("(document.getElementById(arguments[0]) || document.querySelector(arguments[0])).click()", button)
    page.until(lambda: page.js("return document.querySelector('#begin[open] h2')?.textContent") == heading)


def choose(page: Page, blank: str, value: object) -> None:
    """As a hand does: one blank after the other, each told to the form."""
    page.js("const made = document.querySelector('#begin form').elements[arguments[0]]; made.value = arguments[1];"
            "made.dispatchEvent(new Event('input', {bubbles: true}))", blank, value)  # fmt: skip


def held(page: Page, blank: str) -> str:
    return str(page.js("return document.querySelector('#begin form').elements[arguments[0]].value", blank))


def says(page: Page, part: str) -> str:
    return str(page.js("return document.querySelector('#begin [role=status].' + arguments[0]).textContent", part))


def at(page: Page, words: str) -> None:
    page.js("desk.view().dispatch({selection: {anchor: desk.text().indexOf(arguments[0])}})", words)


def written(page: Page) -> None:
    page.js("document.querySelector('#begin form').requestSubmit()")
    page.until(lambda: not page.js("return document.getElementById('begin').open"))


def test_of_place_height_and_pace_the_form_lets_one_follow(page: Page) -> None:
    opens(page, "[data-add=ball]", "A ball")
    page.until(lambda: "It leaves at" in says(page, "does") and "passes 1.00 m over the net" in says(page, "does"))
    # Nobody has chosen the height: it follows from the pace, and what comes of it is said.
    choose(page, "speed", "pace")
    assert (held(page, "level"), held(page, "depth"), says(page, "follow")) == ("open", "metres", "")
    choose(page, "pace", 70)
    page.until(lambda: "It leaves at 70 km/h" in says(page, "does"))
    # All three are chosen: the coach says which one follows.
    choose(page, "depth", "deep")
    choose(page, "level", "drive")
    assert "Which one follows" in says(page, "follow")
    page.js("document.querySelector('#begin [role=status].follow button').click()")
    assert (held(page, "depth"), says(page, "follow")) == ("open", "")
    page.until(lambda: "It leaves at 70 km/h, passes 1.0" in says(page, "does"))
    # A ball that cannot be had says so before it is written; where it is met goes with where it lands.
    assert (held(page, "stance"), held(page, "stance_from")) == ("1", "behind baseline")
    choose(page, "depth", "short")
    assert held(page, "stance_from") == "waist high"
    choose(page, "level", "open")
    choose(page, "pace", 105)
    page.until(lambda: "\u2715" in says(page, "does") and "It leaves" not in says(page, "does"))
    # What the feeder gives stands beside the blank, and more of it is not taken in silence.
    choose(page, "turn", "topspin")
    choose(page, "rpm", 9000)
    limit = "return document.querySelector('#begin [name=rpm]').parentNode.querySelector('small').textContent"
    assert page.js(limit).startswith("this feeder: up to ") and held(page, "rpm") == "9000"
    assert not page.js("return document.querySelector('#begin form').checkValidity()")


def test_a_ball_is_changed_and_called_anew_by_its_form(page: Page) -> None:
    at(page, "feed low")
    page.until(lambda: page.text("ball") == "B low")
    opens(page, "change", "The ball low")
    assert [held(page, one) for one in ("name", "side", "stance", "level", "height", "turn", "aims")] == [
        "low", "forehand wing", "0.5", "over the net", "0.6", "flat", "clear",
    ]  # fmt: skip
    choose(page, "name", "fast")
    choose(page, "speed", "pace")
    page.js("document.querySelectorAll('#begin [role=status].follow button')[1].click()")
    choose(page, "pace", 80)
    written(page)
    page.until(lambda: page.text("ball") == "B fast" and "pace      80 km/h" in page.script)
    assert "cycle high, fast" in page.script and "0.6 m over net" not in page.script
    page.until(lambda: "80 km/h" in page.text("verdict"))
    # The height follows from the pace now: its buttons are grey, and the page says why.
    grey = 'return document.querySelector(`[data-move*=\\"over\\"]`).disabled'
    page.until(lambda: page.js(grey) and "Higher, Lower: how high it is follows" in page.text("grey"))


def test_a_ball_that_cannot_be_drawn_is_changed_by_its_form(page: Page) -> None:
    """Not the one that is in sight."""
    page.fill("[data-add=ball]", name="smash", bounce="on the full", met=2.3, stance=3, stance_from="from net",
              level="lob", played="not yet")  # fmt: skip
    page.until(lambda: "smash cannot be drawn" in page.text("marks") and "smash" in page.text("list"))
    opens(page, "change", "The ball smash")
    choose(page, "level", "high ball")
    written(page)
    page.until(lambda: page.text("ball") == "smash" and "cannot" not in page.text("marks"))
    # Also where it is the only one.
    page.fill("anew", title="Tuesday juniors")
    page.until(lambda: page.js("return document.querySelector('#begin[open] h2')?.textContent") == "A ball")
    page.fill("[data-add=ball]", name="first", depth="short", stance=3, stance_from="inside baseline", level="lob")
    page.until(lambda: "first cannot be drawn" in page.text("marks"))
    assert page.js("return document.getElementById('change').checkVisibility()")
    opens(page, "change", "The ball first")
    choose(page, "level", "drive")
    written(page)
    page.until(lambda: page.text("ball") == "A first")


def test_a_block_of_the_strip_is_the_one_at_the_cursor(page: Page) -> None:
    page.js("document.querySelectorAll('#strip .part')[2].click()")
    page.until(lambda: page.before().endswith("\n    5 min     mix high, low, at most 2 alike"))
    page.until(lambda: not page.js("return document.getElementById('block').hidden"))
    page.until(lambda: page.text("ball") in ("A high", "B low"))


def test_a_block_is_changed_by_its_form(page: Page) -> None:
    at(page, "4 min     cycle")
    page.until(lambda: not page.js("return document.getElementById('block').hidden"))
    opens(page, "part", "This block of the session")
    assert [held(page, one) for one in ("amount", "measure", "before", "rest")] == ["4", "min", "0", "60"]
    choose(page, "amount", 6)
    choose(page, "rest", 30)
    written(page)
    page.until(lambda: "    6 min     cycle high, low\n    rest      30 s\n" in page.script)
    assert "lasts 11.5 min" in page.script
    # Where no form can change it, the page says so.
    at(page, "rest      30 s")
    page.press("part")
    page.until(lambda: "Put the cursor on a block" in page.text("bar"))


def test_a_ball_that_comes_high_is_met_where_it_is_waist_high(page: Page) -> None:
    opens(page, "[data-add=ball]", "A ball")
    choose(page, "level", "lob")
    meet = "[...document.querySelectorAll('#begin .follow button')].find(one => one.textContent.startsWith('waist'))"
    page.js(f"{meet}.click()")
    assert held(page, "stance_from") == "waist high"
    height = page.js(f"return {meet}.textContent").split()[1]
    page.until(lambda: f"is met {float(height):.2f} m high, falling" in says(page, "does"))
    choose(page, "name", "lobbed")
    choose(page, "played", "not yet")
    written(page)
    page.until(lambda: "where it is waist high, falling" in page.script)


def test_a_reply_across_is_told_by_the_hand_of_the_player(page: Page) -> None:
    """A ball across from a right-hander's forehand goes to the player's left."""
    page.replace("right-handed", "left-handed")
    page.ready()
    opens(page, "[data-add=variation]", "What the player does")
    options = "return [...document.querySelector('#begin [name=toward]').options].map(one => one.textContent)"
    assert "to the right corner: across, from the forehand" in page.js(options)
    choose(page, "name", "cross")
    choose(page, "title", "crosscourt")
    choose(page, "toward", "right corner")
    page.js("document.querySelector('#begin [value=high]').click()")
    written(page)
    page.until(lambda: "to right corner" in page.script and "feed high aims cross\n" in page.script)


def test_a_pause_to_collect_is_added_by_the_form_of_a_block(page: Page) -> None:
    opens(page, "[data-add=part]", "A block of the session")
    choose(page, "part", "collect")
    choose(page, "amount", 2)
    assert page.js("return document.querySelector('#begin form').elements.order.disabled")
    written(page)
    page.until(lambda: page.script.endswith("    collect   2 min\n"))


def test_a_practice_that_has_only_begun_has_no_error(page: Page) -> None:
    page.fill("anew", title="Tuesday juniors", surface="clay")
    page.until(lambda: page.js("return document.querySelector('#begin[open] h2')?.textContent") == "A ball")
    page.type("\ue00c")
    page.until(lambda: any("next: add its first ball" in told for told in page.problems()))
    assert "surface   clay" in page.script and page.text("next") == ""
    page.fill("[data-add=ball]", name="soft", played="not yet")
    page.until(lambda: any("next: play a ball" in told for told in page.problems()))
    page.until(lambda: page.text("ball") == "soft" and page.text("next") == "")


def test_a_rest_has_a_length_of_its_own_in_minutes(page: Page) -> None:
    opens(page, "[data-add=part]", "A block of the session")
    choose(page, "measure", "balls")
    choose(page, "amount", 24)
    choose(page, "part", "rest")
    assert (held(page, "amount"), held(page, "measure")) == ("1", "min")
    assert page.js("return getComputedStyle(document.querySelector('#begin [name=measure]')).visibility") == "visible"
    written(page)
    page.until(lambda: page.script.endswith("    rest      1 min\n"))
