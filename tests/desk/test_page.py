"""The page in a real browser, as a coach uses it: one browser, and a desk in the test's own process."""

from collections.abc import Callable, Iterator
from pathlib import Path
from time import monotonic, sleep
from typing import Any

import pytest

from ..shipped import FOLDER
from ..targets import browser
from ..whole import WHOLE
from .served import served

# A real browser against the clock, on a machine that may be busy.
pytestmark = pytest.mark.flaky(reruns=2)
THOROUGH = pytest.mark.skipif(not WHOLE, reason="FEEDWRIGHT_WHOLE=1 tries the rest of the page")
FIRST = (FOLDER / "02-first-script.feed").read_text("utf-8")
CONTROL, ENTER, END, ALT = "\ue009", "\ue007", "\ue010", "\ue00a"  # WebDriver, 17.4.2: the keys


@pytest.fixture(scope="module")
def driver() -> Iterator[Any]:
    with browser.opened() as made:
        yield made


class Page:
    def __init__(self, driver: Any) -> None:
        self.driver = driver

    def js(self, script: str, *values: object) -> Any:
        return self.driver.execute_script(script, *values)

    def text(self, name: str) -> str:
        return str(self.js("return document.getElementById(arguments[0]).textContent", name))

    @property
    def script(self) -> str:
        return str(self.js("return desk.text()"))

    def until(self, holds: Callable[[], object]) -> None:
        end = monotonic() + 30
        while not holds():
            assert monotonic() < end, (self.text("state"), self.text("ball"), self.text("old"), self.problems())
            sleep(0.03)

    def problems(self) -> list[str]:
        return list(self.js("return [...document.querySelectorAll('.problem')].map(p => p.textContent)"))

    def press(self, name: str) -> None:
        self.js("document.getElementById(arguments[0]).click()", name)

    def ready(self) -> None:
        """Every problem is told and the ball is drawn as the script says it."""
        self.until(
            lambda: self.text("ball") != "No ball yet" and self.js("return document.getElementById('old').hidden")
        )

    def replace(self, old: str, new: str) -> None:
        """Typed into the editor, as one change of the text by the user."""
        script = """
            const all = desk.text(), at = all.indexOf(arguments[0]);
            desk.view().dispatch({changes: {from: at, to: at + arguments[0].length, insert: arguments[1]},
                                  selection: {anchor: at + arguments[1].length}, userEvent: "input.type"})"""
        self.js(script, old, new)

    def type(self, *keys: str) -> None:
        from selenium.webdriver import ActionChains

        chain = ActionChains(self.driver)
        for key in keys:
            if len(key) == 2 and key[0] in (CONTROL, ALT):
                chain = chain.key_down(key[0]).send_keys(key[1]).key_up(key[0])
            else:
                chain = chain.send_keys(key)
        chain.perform()


@pytest.fixture
def page(driver: Any, tmp_path: Path) -> Iterator[Page]:
    (tmp_path / "a.feed").write_text(FIRST, "utf-8")
    with served(tmp_path) as desk:
        driver.get("about:blank")
        for log in ("browser", "performance"):
            driver.get_log(log)
        driver.get(desk.address)
        made = Page(driver)
        made.until(lambda: made.js("return !!(window.desk && desk.text())"))
        yield made
        assert all(url.startswith(("http://127.0.0.1:", "ws://127.0.0.1:", "data:", "about:"))
                   for url in browser.requests(driver))  # fmt: skip
        assert [told for told in browser.complaints(driver) if "Content Security" in told or "Uncaught" in told] == []
        driver.get("about:blank")


def test_a_day_at_the_desk(page: Page, tmp_path: Path) -> None:
    page.ready()
    assert page.text("state") == "saved" and page.text("ball") == "A high" and page.problems() == []
    # A problem stands under its line, its remedy is a button, and what stood there stays in sight.
    page.replace("interval  6 s", "interval  0.7 s")
    page.until(page.problems)
    assert "warning" in page.problems()[0] or "error" in page.problems()[0]
    page.until(lambda: page.js("return document.querySelectorAll('.mend').length"))
    line = page.js("""return [...document.querySelectorAll('.cm-content > *')].findIndex(e => e.matches('.problem')) -
                             [...document.querySelectorAll('.cm-content > *')]
                             .findIndex(e => e.textContent.includes('0.7 s'))""")
    assert line == 1
    page.js("document.querySelector('.mend').click()")
    page.until(lambda: "0.7 s" not in page.script)
    assert "0.7 s" in page.js("return document.querySelector('.before del').textContent")
    page.until(lambda: not page.problems())
    page.ready()
    # Hold the ball, drag it deeper: the line is written, the difference is told in words.
    page.press("hold")
    from selenium.webdriver import ActionChains

    handle = page.driver.find_element("css selector", "#side .handle")
    ActionChains(page.driver).click_and_hold(handle).move_by_offset(20, 0).release().perform()
    page.until(lambda: "depth     1 to 4 m" not in page.script)
    page.until(lambda: "deeper" in page.text("differs"))
    assert page.js("return document.querySelectorAll('#side .ghost').length") == 1
    # Nothing is written before it is saved; then all of it is.
    page.until(lambda: (tmp_path / ".a.feed.draft").exists())
    assert (tmp_path / "a.feed").read_text("utf-8") == FIRST
    page.type(CONTROL + "s")
    page.until(lambda: page.text("state") == "saved")
    assert (tmp_path / "a.feed").read_text("utf-8") == page.script
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a.feed"]
    # Undo goes back to the first text, step by step.
    for _ in range(4):
        page.press("undo")
    assert page.script == FIRST


@THOROUGH
def test_the_ball_follows_the_cursor_and_the_cursor_the_ball(page: Page) -> None:
    page.ready()
    page.js("desk.view().dispatch({selection: {anchor: desk.text().indexOf('0.6 m over')}})")
    page.until(lambda: page.text("ball") == "B low")
    page.js("document.querySelector('[data-choice=\"ball high\"]').click()")
    page.until(lambda: page.text("ball") == "A high")
    head = page.js("return desk.text().slice(desk.view().state.selection.main.head).split('\\n')[0]")
    assert head == "feed high aims clear"
    page.js("""[...document.querySelectorAll('#half .ball:not(.on)')][0]
               .dispatchEvent(new MouseEvent('click', {bubbles: true}))""")
    page.until(lambda: page.text("ball") == "B low")


def test_an_old_picture_is_marked_and_nothing_is_lost(page: Page, tmp_path: Path) -> None:
    page.ready()
    page.replace("height    0.6 m over net", "height    0.6 m over")
    page.until(lambda: any("error" in told for told in page.problems()))
    page.until(lambda: "older" in page.text("old"))
    assert page.js("return document.getElementById('drawings').classList.contains('old')")
    assert page.text("ball") in ("A high", "B low")
    # A reload, as after a crash of the browser, brings back what was typed.
    typed = page.script
    page.until(lambda: (tmp_path / ".a.feed.draft").exists())
    page.driver.refresh()
    page.until(lambda: page.js("return !!(window.desk && desk.text())"))
    assert page.script == typed and "back" in page.text("bar") and page.text("state") == "not saved"
    # Another program's change is told, and stays until the coach decides.
    (tmp_path / "a.feed").write_text(FIRST + "# other\n", "utf-8")
    page.until(lambda: "Another program" in page.text("bar"))
    page.press("save")
    page.until(lambda: "Another program" in page.text("bar"))
    assert (tmp_path / "a.feed").read_text("utf-8").endswith("# other\n")
    page.js("document.querySelector('#bar button').click()")
    page.until(lambda: page.script.endswith("# other\n") and page.text("state") == "saved")


@THOROUGH
def test_a_line_that_breaks_is_taken_up_again(page: Page) -> None:
    """What no page says makes the server cut it, as a computer that slept for a while would be."""
    page.ready()
    page.js("desk.client().notification('exit', {})")
    page.until(lambda: "has stopped" in page.text("bar"))
    page.replace("height    0.6 m over net", "height    0.7 m over net")
    page.until(lambda: page.js("return document.getElementById('bar').hidden"))
    page.js("desk.view().dispatch({selection: {anchor: desk.text().indexOf('0.7 m over')}})")
    page.until(lambda: page.text("ball") == "B low" and "0.60 m" not in page.text("verdict"))
    page.ready()
    assert "0.7 m over net" in page.script and page.text("state") == "not saved"


@THOROUGH
def test_keys_alone_and_readers_and_a_narrow_screen(page: Page) -> None:
    page.ready()
    page.driver.set_window_size(390, 800)
    try:
        assert page.js("return document.documentElement.scrollWidth <= innerWidth")
        assert browser.violations(page.driver) == []
    finally:
        page.driver.set_window_size(1280, 1000)
    assert page.js("return document.activeElement.getAttribute('aria-label')") == "Script a.feed"
    page.js("desk.view().dispatch({selection: {anchor: desk.text().indexOf('interval  6 s') + 13}})")
    page.type("\ue003" * 3, "0.7 s")
    page.until(lambda: page.js("return document.querySelectorAll('.mend').length"))
    page.type("\ue00c")  # Escape closes what is offered
    page.type(ALT + ENTER)
    page.until(lambda: "0.7 s" not in page.script and not page.problems())
    dark = {"name": "prefers-color-scheme", "value": "dark"}
    page.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": [dark]})
    assert browser.violations(page.driver) == []
    page.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": []})


@THOROUGH
def test_a_practice_begins_from_blanks_or_from_a_program_and_goes_to_paper(page: Page) -> None:
    page.ready()
    page.press("anew")
    page.until(lambda: page.js("return document.getElementById('begin').open"))
    page.js("""const form = document.querySelector('#begin form');
               form.elements.hand.value = 'left'; form.elements.stature.value = 1.72; form.requestSubmit();""")
    page.until(lambda: "left-handed, 1.72 m tall" in page.script)
    page.until(lambda: page.text("ball") == "A return" and page.js("return document.getElementById('old').hidden"))
    page.press("paper")
    page.until(lambda: len(page.driver.window_handles) == 2)
    here, paper = page.driver.window_handles
    page.driver.switch_to.window(paper)
    try:
        page.until(lambda: page.driver.title == "First script: feed sheet")
        assert page.js("return getComputedStyle(document.querySelector('.cautions')).borderStyle") == "solid"
        assert browser.complaints(page.driver) == []
    finally:
        page.driver.close()
        page.driver.switch_to.window(here)
    page.press("undo")
    assert page.script == FIRST
    page.press("anew")
    page.until(lambda: page.js("return document.querySelectorAll('#begin li').length > 20"))
    page.js("""const find = document.querySelector('#begin input[type=search]');
               find.value = 'second bounce wheelchair'; find.dispatchEvent(new Event('input'));""")
    assert page.js("return document.querySelectorAll('#begin li').length") <= 2
    page.js("document.querySelector('#begin li button, #begin > button').click()")


def test_what_a_script_holds_is_text(page: Page) -> None:
    """Names and notes are never markup, whoever wrote them."""
    page.ready()
    bad = "<img src=x onerror=\\'window.hit=1\\'><script>window.hit=1</script>"
    page.replace("High and low", bad.replace("\\'", "'"))
    page.replace("deep, out of reach", "</text></svg><script>window.hit=1</script>")
    page.replace("4 min     cycle", '1 min high\n        note "<b onclick=window.hit=1>x</b>"\n    3 min     cycle')
    page.ready()
    page.js("desk.view().dispatch({selection: {anchor: desk.text().indexOf('aims clear') + 7}})")
    sleep(0.2)
    assert page.js("return window.hit") is None
    assert page.js("return document.querySelectorAll('main script, main img, [onclick], [onerror]').length") == 0
