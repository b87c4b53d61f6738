"""What meets somebody who begins at the desk: nothing of an older practice, and keys that go where one writes."""

import re
from pathlib import Path
from typing import Any

import pytest

from .driven import CONTROL, ENTER, SHIFT, Page, at_the_desk
from .served import Served, answer

pytestmark = pytest.mark.flaky(reruns=2)  # a real browser against the clock, on a machine that may be busy
ESCAPE, TAB = "\ue00c", "\ue004"
LINE = "const all = desk.text(), at = desk.view().state.selection.main.head;" \
       "return [all.slice(0, at).split('\\n').pop(), all.slice(at).split('\\n')[0]]"  # fmt: skip


def hidden(page: Page, name: str) -> bool:
    return bool(page.js("return document.getElementById(arguments[0]).hidden", name))


def at(page: Page, words: str) -> None:
    """The cursor behind these words."""
    page.js("desk.view().focus(); const at = desk.text().indexOf(arguments[0]) + arguments[0].length;"
            "desk.view().dispatch({selection: {anchor: at}})", words)  # fmt: skip


def in_the_script(page: Page) -> bool:
    return bool(page.js("return document.activeElement === desk.view().contentDOM"))


def sheet(page: Page) -> str:
    address = page.driver.current_url
    desk = Served(address, int(address.split(":")[2].split("/")[0]))
    return answer(desk, f"/{desk.word}/paper")[1].decode()


def test_a_new_practice_shows_nothing_of_the_one_before(page: Page) -> None:
    page.press("anew")
    page.until(lambda: page.js("return document.getElementById('begin').open"))
    # Balls for doubles are there where doubles are played; on another court none of them is left.
    begins = page.js("""
        const [begins, court] = ["variation", "court"].map((one) => document.getElementsByName(one)[0]);
        const on = (one) => { court.value = one; court.dispatchEvent(new Event("input", {bubbles: true})); };
        on("doubles");
        begins.selectedIndex = 1;
        const there = [begins.disabled, begins.value];
        on("singles");
        return [...there, begins.disabled, begins.value]""")
    assert begins[0] is False and begins[1] and begins[2:] == [True, ""]
    page.fill("anew", title="Tuesday juniors")
    page.until(lambda: page.text("ball") == "No ball yet" and hidden(page, "order"))
    page.until(lambda: "Add a ball" in page.text("soon"))
    page.until(lambda: page.js("return document.querySelector('#begin[open] h2')?.textContent") == "A ball")
    page.fill("[data-add=ball]", name="soft", side="forehand corner", level="high ball", played="not yet")
    page.until(lambda: page.text("ball") == "soft")
    # Not a letter, not a block, not a ball that is not in this script.
    page.until(lambda: page.text("list") == "soft" and hidden(page, "order"))
    assert not page.js("return document.querySelector('#drawings .label')")
    assert "There is no sheet yet" in (told := sheet(page)) and "session" in told.split("\n\n")[1]
    page.press("throw")
    page.until(lambda: page.text("ball") == "A soft" and not hidden(page, "order"))
    assert page.script.endswith('session "Tuesday juniors"\n    8 balls   soft\n')
    page.until(lambda: page.text("strip") == "8 balls soft" and page.text("whole") == "8 balls, 0:48 min in all.")
    whole = "document.querySelector('#play').focus(), document.querySelector('#strip .part').focus()"
    page.until(lambda: page.js(whole) or page.text("said") == "0:00 to 0:48: 8 balls soft")
    # An error: the session stays in sight, and is neither played nor printed as if it were that of the script.
    page.press("play")
    page.until(lambda: "Ball 1 of 8" in page.text("said"))
    page.replace("8 balls   soft", "9 bals   soft")
    page.until(lambda: "errors" in page.text("lone"))
    order = "return document.getElementById('order').className"
    page.until(lambda: page.text("said") == "" and page.js(order) == "behind")
    page.press("play")
    page.until(lambda: page.text("said") == "The session is played once the errors are mended.")
    line = page.script.split("\n").index("    9 bals   soft") + 1
    assert f"an error in line {line}." in sheet(page)
    page.replace("9 bals", "9 balls")
    page.until(lambda: page.js("return document.getElementById('order').className") == "")
    assert "feed sheet" in sheet(page)
    # The same to the other side, and blocks in another order, by buttons: the cursor stays with the block.
    page.press("mirror")
    page.until(lambda: page.script.endswith("    9 balls   soft\n    9 balls   soft-other\n"))
    page.until(lambda: page.text("ball") == "B soft-other")
    at(page, "9 balls   soft-other")
    for name, order in (("earlier", ["soft-other", "soft"]), ("later", ["soft", "soft-other"])):
        page.js("document.querySelector(`[data-block=${arguments[0]}]`).click()", name)
        page.until(lambda wanted=order: re.findall(r"balls +(\S+)", page.script) == wanted)
        page.until(lambda: page.js(LINE) == ["    9 balls   soft-other", ""])
    page.js("document.querySelector('[data-block=out]').click()")
    page.until(lambda: page.script.endswith("    9 balls   soft\n"))
    at(page, "interval  6 s")
    page.until(lambda: hidden(page, "block"))


def test_what_is_typed_goes_into_the_script(page: Page) -> None:
    from selenium.webdriver import ActionChains

    def click(css: str) -> None:
        button = page.driver.find_element("css selector", css)
        ActionChains(page.driver).move_to_element(button).click().perform()

    # A list closed, a line ended, a line moved out, by keys alone: the keys stay in the script.
    at(page, "    5 min     mix high, low, at most 2 alike")
    page.type(ENTER, "not")
    page.until(lambda: page.js("return document.querySelectorAll('.cm-tooltip-autocomplete li').length"))
    page.type(ESCAPE, ENTER, SHIFT + TAB, TAB, "rest 30 s")
    assert in_the_script(page) and page.script.endswith("\n    not\n    rest 30 s\n")
    for _ in range(3):
        page.type(CONTROL + "z")
    # Escape, then Tab leaves it; a sentence typed there comes to the script, and its spaces press nothing.
    at(page, "surface   hard")
    page.type(ESCAPE, TAB)
    page.until(lambda: not in_the_script(page))
    page.js("document.getElementById('paper').focus()")
    page.type("s and more")
    page.until(lambda: in_the_script(page) and "surface   hards and more\n" in page.script)
    assert len(page.driver.window_handles) == 1
    page.press("undo")
    page.until(lambda: page.text("next") == "" and "hards" not in page.script)
    # After a button, a form, a form without an end, and a remedy.
    click("#undo")
    page.until(lambda: in_the_script(page))
    click("[data-add=part]")
    page.until(lambda: page.js("return document.getElementById('begin').open"))
    page.type(ESCAPE)
    page.until(lambda: in_the_script(page))
    page.fill("[data-add=ball]", name="wide", side="backhand wing", level="high ball", aims="clear", played="not yet")
    page.until(lambda: in_the_script(page) and "feed wide" in page.script)
    page.until(lambda: page.js(LINE) == ["    interval  6 s", ""])  # one writes on behind what the form wrote
    page.replace("interval  6 s", "interval  0.7 s")
    at(page, "interval  0.")
    page.mend("0.7 s")
    page.until(lambda: in_the_script(page))
    page.until(lambda: page.js(LINE)[1] == "")  # one writes on behind what the remedy wrote


def test_the_line_under_the_mouse_holds_its_place_while_a_problem_appears(page: Page) -> None:
    """The problem stands above it, and is taller than a line."""
    line = "[...document.querySelectorAll('.cm-line')].filter(row => row.textContent.includes('feed low'))[0]"
    over = f"""
        const row = {line}, {{ left, top }} = row.getBoundingClientRect();
        row.dispatchEvent(new MouseEvent("mousemove", {{ clientX: left + 40, clientY: top + 5, bubbles: true }}));
        return top"""
    first = page.js(over)
    page.js(f"setInterval(() => {{ {over} }}, 100)")  # the hand does not rest, however long an answer takes
    page.replace("surface   hard", "surface   hart")
    page.until(lambda: page.js(over) is not None and page.problems())
    moved = "return desk.view().scrollDOM.scrollTop"
    page.until(lambda: page.js(moved) > 30 and abs(page.js(over) - first) <= 2)  # whole pixels


def test_the_first_save_asks_for_the_name_of_the_file(driver: Any, tmp_path: Path) -> None:
    (tmp_path / "taken.feed").write_text("# other\n", "utf-8")
    with at_the_desk(driver, tmp_path, "practice.feed", unnamed=True) as page:
        # Nobody has written anything yet: a new practice is offered first, and the example can be looked at.
        page.until(lambda: page.js("return document.querySelector('#begin[open] h2')?.textContent") == "A new practice")
        page.type(ESCAPE)
        page.until(lambda: not page.js("return document.getElementById('begin').open"))
        page.replace('program "First script"', 'program "Thursday: approach & net"')
        page.until(lambda: (tmp_path / ".practice.feed.draft").exists())
        for name in ("../out.feed", "taken.feed"):
            page.press("save")
            page.fill("save", name=name)
            page.until(lambda: page.text("bar"))
        assert (tmp_path / "taken.feed").read_text("utf-8") == "# other\n" and page.text("state") == "not saved"
        page.press("save")
        name = "return document.querySelector('#begin[open] input')?.value"
        page.until(lambda: page.js(name) == "thursday-approach-net.feed")
        page.type(ENTER)
        page.until(lambda: page.text("state") == "saved" and page.text("name") == "thursday-approach-net.feed")
        page.until(lambda: {one.name for one in tmp_path.iterdir()} == {"taken.feed", "thursday-approach-net.feed"})
        page.replace("surface   hard", "surface   clay")
        page.press("save")
        page.until(lambda: page.text("state") == "saved")
        page.driver.refresh()
        page.until(lambda: page.js("return !!(window.desk && desk.text())"))
        assert page.text("name") == "thursday-approach-net.feed" and "surface   clay" in page.script
