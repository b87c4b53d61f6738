"""The page in a real browser, as a coach uses it: one browser, and a desk in the test's own process."""

import re
from collections.abc import Iterator
from contextlib import suppress
from hashlib import sha256
from io import BytesIO
from pathlib import Path
from time import sleep
from typing import Any

import pytest

from feedwright.targets.desk import session
from feedwright.targets.desk.pictures import picture

from ..shipped import FOLDER
from ..targets import browser
from ..whole import WHOLE
from .driven import ALT, CONTROL, ENTER, Page, at_the_desk

# A real browser against the clock, on a machine that may be busy.
pytestmark = pytest.mark.flaky(reruns=2)
THOROUGH = pytest.mark.skipif(not WHOLE, reason="FEEDWRIGHT_WHOLE=1 tries the rest of the page")
FIRST = (FOLDER / "02-first-script.feed").read_text("utf-8")
DRESS = ("page/desk.html", "page/desk.css", "../outputs/show/drawing.css")


@pytest.fixture
def page(driver: Any, tmp_path: Path) -> Iterator[Page]:
    (tmp_path / "a.feed").write_text(FIRST, "utf-8")
    with at_the_desk(driver, tmp_path) as made:
        yield made


def kept(page: Page, name: str, config: pytest.Config) -> None:
    """A picture of the page in the guide: `--update` takes it anew, and it tells of what it was taken. Digits do not
    count, which another machine may round otherwise."""
    path = FOLDER.parent / "targets" / "desk" / f"{name}.png"
    styles = "".join((path.parent / style).read_text("utf-8") for style in DRESS)

    def what() -> str:
        told = [page.script, *page.problems(), *(page.text(part) for part in ("ball", "verdict", "differs", "strip"))]
        return sha256((styles + re.sub(r"\d+", "0", "".join(told))).encode()).hexdigest()

    if config.getoption("--update"):
        from PIL import Image, PngImagePlugin

        sleep(0.5)  # what fades has faded
        note = PngImagePlugin.PngInfo()
        note.add_text("what", what())
        shot = Image.open(BytesIO(page.driver.get_screenshot_as_png())).convert("RGB")
        shot.quantize(48).save(path, pnginfo=note, optimize=True)
    with suppress(AssertionError):
        page.until(lambda: what().encode() in path.read_bytes())
    assert what().encode() in path.read_bytes(), f"look at it, then: pytest tests/desk/{Path(__file__).name} --update"
    assert path.stat().st_size < 150_000


def test_a_day_at_the_desk(driver: Any, tmp_path: Path, pytestconfig: pytest.Config) -> None:
    """A coach without a file: blanks, three problems, a ball dragged deeper and compared, paper, save, the next day."""
    name, script = "practice.feed", tmp_path / "practice.feed"
    with at_the_desk(driver, tmp_path, name) as page:
        page.ready()
        page.fill(
            "anew", title="First script", court="doubles", hand="left", stature=1.72, screen=True, variation="past"
        )
        page.until(lambda: "left-handed, 1.72 m tall" in page.script)
        page.fill("[data-add=ball]", name="wide", side="backhand wing", level="over the net", height=0.1, interval=0.7,
                  aims="past", played="in turn")  # fmt: skip
        page.until(lambda: "feed wide aims past" in page.script)
        page.until(lambda: "mix return, return-middle, wide, at most 2 alike" in page.script)
        page.fill("[data-add=part]", balls=("wide", "return"))
        page.until(lambda: page.script.endswith("3 min     cycle return, wide\n"))
        # Three problems: a word, a ball that the net is in the way of, and balls that come too fast for the machine.
        page.replace("spin      flat\n    interval  0.7 s", "spin      topspinn 900 rpm\n    interval  0.7 s")
        page.until(lambda: any("Did the line mean topspin?Write: spin topspin" in told for told in page.problems()))
        assert [told[:10] for told in page.problems()] == ["\u2715 error: \u201c"], "the rest depends on this line"
        for wrong in ("topspinn", "interval  0.7 s", "height    0.1 m"):
            page.mend(wrong)
        page.until(lambda: not page.problems())
        mended = page.script.split("feed wide")[1]
        assert "spin      topspin 900 rpm" in mended
        assert float(re.findall(r"height +([\d.]+) m over net", mended)[0]) > 0.1
        assert float(re.findall(r"interval +([\d.]+) s", mended)[0]) > 0.7
        # A ball dragged deeper: its line is written, and the difference told in words over the held one.
        page.js("desk.view().dispatch({selection: {anchor: desk.text().indexOf('feed wide')}})")
        page.until(lambda: page.text("ball").endswith(" wide"))
        page.ready()
        sleep(0.5)  # a picture that was asked for at the same time has come
        page.press("hold")
        from selenium.webdriver import ActionChains

        (handle,) = (one for one in page.driver.find_elements("css selector", "#side .handle")
                     if page.js("return arguments[0].textContent", one) == "Drag where it lands")  # fmt: skip
        ActionChains(page.driver).click_and_hold(handle).move_by_offset(20, 0).release().perform()
        page.until(lambda: "depth     1 to 4 m" not in page.script.split("feed wide")[1])
        first = "document.querySelector('.mend')?.click()"  # a faster ball may leave the machine too little time
        page.until(lambda: "deeper" in page.text("differs"))
        page.until(lambda: (page.text("ball").endswith(" wide") and page.text("next") == "") or page.js(first))
        page.ready()
        page.until(lambda: page.js("return document.querySelectorAll('#side .ghost').length") == 1)
        kept(page, "held", pytestconfig)
        deeper = page.script
        page.press("undo")
        assert page.script != deeper
        page.press("redo")
        assert page.script == deeper
        page.ready()
        # Paper, in a page of its own.
        page.press("paper")
        page.until(lambda: len(driver.window_handles) == 2)
        here, paper = driver.window_handles
        driver.switch_to.window(paper)
        page.until(lambda: driver.title == "First script: feed sheet")
        assert "wide" in driver.find_element("css selector", "body").text and browser.complaints(driver) == []
        driver.close()
        driver.switch_to.window(here)
        # Nothing is written before it is saved; then all of it is, and nothing is left beside it.
        assert not script.exists()
        page.type(CONTROL + "s")
        page.until(lambda: page.text("state") == "saved")
        assert script.read_text("utf-8") == deeper
        page.until(lambda: [path.name for path in tmp_path.iterdir()] == [name])
    with at_the_desk(driver, tmp_path, name) as page:
        assert page.script == deeper and page.text("state") == "saved"


def test_a_practice_of_ones_own_begins_with_its_first_ball(page: Page) -> None:
    page.ready()
    page.fill("anew", title="Tuesday juniors")
    page.until(lambda: page.js("return document.querySelector('#begin[open] h2')?.textContent") == "A ball")
    page.fill("[data-add=ball]", name="soft", level="over the net", height=1.2, amount=6)
    page.until(lambda: page.text("ball") == "A soft" and not page.problems())
    assert page.script.endswith('session "Tuesday juniors"\n    6 balls   soft\n')
    assert page.text("next") == ""
    # A new line is indented under a heading, and the problems are counted and shown.
    page.js("desk.view().dispatch({selection: {anchor: desk.text().indexOf('\\n    6 balls')}})")
    page.type(ENTER, "hrest 30 s")
    page.until(lambda: page.text("next") == "1 error: show it")
    assert 'juniors"\n    hrest 30 s\n    6 balls' in page.script
    page.js("desk.view().dispatch({selection: {anchor: 0}})")
    page.press("next")
    assert page.before().endswith("    hrest 30 s")


def test_a_ball_is_drawn_at_once_whatever_the_rest_comes_to(page: Page) -> None:
    """Not yet in the session, with the button that adds it; and while another line has an error."""
    page.ready()
    page.fill("[data-add=ball]", name="soft", level="high ball", played="not yet", aims="clear")
    page.until(lambda: page.text("ball") == "soft" and "not yet in the session" in page.text("lone"))
    page.replace("interval  6 s", "interval  6 years")
    page.until(lambda: "errors" in page.text("next") or "error" in page.text("next"))
    page.js("desk.view().dispatch({selection: {anchor: desk.text().indexOf('feed soft')}})")
    page.until(lambda: page.text("ball") == "soft" and page.js("return document.getElementById('old').hidden"))
    page.press("undo")
    page.until(lambda: page.text("next") == "" or "error" not in page.text("next"))
    page.press("throw")
    page.until(lambda: page.script.endswith("    5 min     soft\n"))
    page.until(lambda: page.text("ball") == "C soft")
    assert page.js("return document.getElementById('alone').hidden")
    page.fill("copy", played="not yet")
    page.until(lambda: page.text("ball") == "soft-2")
    page.press("remove")
    page.until(lambda: "soft-2" not in page.script)
    # Enter ends the line, whatever is offered there; only who has moved in the list writes a word of it.
    page.js("const at = desk.text().length; desk.view().dispatch({selection: {anchor: at}}); desk.view().focus()")
    page.type("    res")
    page.until(lambda: page.js("return document.querySelectorAll('.cm-tooltip-autocomplete li').length"))
    sleep(0.2)  # the list takes no key in its first moment
    page.type(ENTER)
    page.until(lambda: page.script.endswith("soft\n    res\n") or page.script.endswith("res\n    "))


def test_a_problem_in_the_guide(page: Page, pytestconfig: pytest.Config) -> None:
    page.ready()
    page.replace("interval  6 s", "interval  4 s")
    page.until(lambda: "collect" in page.text("strip"))  # the session of this text, whatever comes after it
    page.replace("over net\n    spin      flat", "over net\n    spin      flatt")
    page.replace("spin      flatt", "spin      backspinn 300 rpm")
    page.until(lambda: any("Write: spin" in told for told in page.problems()))
    page.js("desk.view().scrollDOM.scrollTop = 320")
    kept(page, "problem", pytestconfig)


@THOROUGH
def test_the_ball_follows_the_cursor_and_the_cursor_the_ball(page: Page) -> None:
    page.ready()
    page.js("desk.view().dispatch({selection: {anchor: desk.text().indexOf('0.6 m over')}})")
    page.until(lambda: page.text("ball") == "B low")
    page.js("document.querySelector('[data-choice=\"ball high\"]').click()")
    page.until(lambda: page.text("ball") == "A high")
    assert page.before().endswith("\nfeed high aims clear")
    page.js("""[...document.querySelectorAll('#half .ball:not(.on)')][0]
               .dispatchEvent(new MouseEvent('click', {bubbles: true}))""")
    page.until(lambda: page.text("ball") == "B low")


def test_an_old_picture_is_marked_and_nothing_is_lost(page: Page, tmp_path: Path) -> None:
    page.ready()
    page.replace("height    0.6 m over net", "height    0.6 m over")
    page.until(lambda: any("error" in told for told in page.problems()))
    page.until(lambda: "older" in page.text("old"))
    page.until(lambda: page.js("return document.getElementById('drawings').classList.contains('old')"))
    assert page.text("ball") in ("A high", "B low")
    # A reload, as after a crash of the browser, brings back what was typed.
    typed = page.script
    page.until(lambda: (tmp_path / ".a.feed.draft").exists())
    page.driver.refresh()
    page.until(lambda: page.js("return !!(window.desk && desk.text())"))
    page.until(lambda: page.script == typed and "back" in page.text("bar") and page.text("state") == "not saved")
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
    page.driver.set_window_size(390, 700)
    try:
        assert page.js("return document.documentElement.scrollWidth <= innerWidth")
        assert browser.violations(page.driver) == []
        for form in ("anew", *(f"[data-add={what}]" for what in ("variation", "ball", "point", "part"))):
            page.js("(document.getElementById(arguments[0]) || document.querySelector(arguments[0])).click()", form)
            page.until(lambda: page.js("return document.getElementById('begin').open"))
            assert browser.violations(page.driver) == []
            assert page.js("const box = document.getElementById('begin'); return box.scrollWidth <= box.clientWidth")
            page.type("\ue00c")  # Escape closes it, and the keys go back to where they were
            page.until(lambda: not page.js("return document.getElementById('begin').open"))
        page.js("desk.view().focus()")
    finally:
        page.driver.set_window_size(*browser.SIZE)
    assert page.js("return document.activeElement.getAttribute('aria-label')") == "Script a.feed"
    page.js("desk.view().dispatch({selection: {anchor: desk.text().indexOf('interval  6 s') + 13}})")
    page.type("\ue003" * 3, "0.7 s")
    page.until(lambda: page.js("return document.querySelectorAll('.mend').length"))
    page.type("\ue00c")  # Escape closes what is offered
    page.type(ALT + ENTER)
    page.until(lambda: "0.7 s" not in page.script)
    page.type(ALT + ENTER)  # the line has a second problem, whose remedy is not known yet: the key is kept
    page.until(lambda: "interval  2.5 s" in page.script)
    while page.ready() or page.problems():
        left = page.script
        page.press("next")
        page.type(ALT + ENTER)
        page.until(lambda before=left: page.script != before)
    dark = {"name": "prefers-color-scheme", "value": "dark"}
    page.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": [dark]})
    assert browser.violations(page.driver) == []
    page.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": []})


def test_a_click_on_a_remedy_that_is_not_ready_is_carried_out_once_it_is(page: Page) -> None:
    page.ready()
    page.replace("interval  6 s", "interval  2 s")
    page.until(lambda: page.js("return document.querySelectorAll('.mend[aria-disabled=false]').length"))
    page.js("""const client = desk.client(), ask = client.request.bind(client);
               const free = new Promise(done => window.free = done);
               client.request = async (what, params) => {
                   if (what === "textDocument/codeAction") await free;
                   return ask(what, params) }""")
    page.replace("# Level: improver.", "# Level: improver!")  # the problem stays, and its remedies are looked for anew
    waiting = "return [...document.querySelectorAll('.problem.error .mend[aria-disabled=true]')]"
    page.until(lambda: page.js(f"{waiting}.length"))
    page.js(f"{waiting}[0].click()")
    assert "interval  2 s" in page.script
    page.js("window.free()")
    page.until(lambda: "interval  2.5 s" in page.script)


@THOROUGH
def test_a_practice_begins_from_blanks_or_from_a_program_and_goes_to_paper(page: Page) -> None:
    page.ready()
    page.press("anew")
    page.until(lambda: page.js("return document.getElementById('begin').open"))
    page.js("""const form = document.querySelector('#begin form');
               form.elements.title.value = 'First script'; form.elements.court.value = 'doubles';
               form.elements.variation.value = 'past';
               form.elements.hand.value = 'left'; form.elements.stature.value = 1.72;
               form.dispatchEvent(new Event('input')); form.requestSubmit();""")
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
    page.until(lambda: page.script == FIRST)
    page.press("anew")
    page.until(lambda: page.js("return document.querySelectorAll('#begin li').length > 20"))
    page.js("""const find = document.querySelector('#begin input[type=search]');
               find.value = 'second bounce wheelchair'; find.dispatchEvent(new Event('input'));""")
    page.until(lambda: page.js("return document.querySelectorAll('#begin li').length") <= 2)
    page.js("document.querySelector('#begin li button, #begin > button').click()")


MARKUP = (
    "return document.querySelectorAll('script, img, svg a, image, foreignObject, use, [onclick], [onerror]').length"
)


def test_what_a_script_holds_is_text(page: Page, monkeypatch: pytest.MonkeyPatch) -> None:
    """Names, notes and slips are never markup, whoever wrote them: in a picture, a problem, the button that mends it
    and what is told of a name. In a drawing nothing runs, whatever the server sends."""
    from selenium.webdriver.common.actions.action_builder import ActionBuilder

    page.ready()
    before = page.js(MARKUP)
    bad = "<img src=x onerror='window.hit=1'><script>window.hit=1</script>"

    def drawn(*about: Any, **how: Any) -> Any:
        made = picture(*about, **how)
        harm = "<script>window.hit=1</script><foreignObject/><a href='x'/><image href='x'/><use href='#x'/></svg>"
        return made and {**made, "side": made["side"].replace("</svg>", harm)}

    monkeypatch.setattr(session, "picture", drawn)
    page.replace("High and low", bad)
    page.replace("deep, out of reach", f"</text></svg>{bad}")
    page.replace("4 min     cycle", '1 min high\n        note "<b onclick=window.hit=1>x</b>"\n    3 min     cycle')
    page.ready()
    place = "const at = desk.view().coordsAtPos(desk.text().indexOf('aims clear') + 7); return [at.left, at.top + 5]"
    chain = ActionBuilder(page.driver)
    chain.pointer_action.move_to_location(*map(int, page.js(place)))
    chain.perform()
    page.until(lambda: bad in page.js("return document.querySelector('.cm-tooltip-hover')?.textContent || ''"))
    page.replace("variation clear", "variaton clear")
    page.until(lambda: bad in page.js("return document.querySelector('.mend')?.textContent || ''"))
    assert bad in page.problems()[0]
    assert page.js(MARKUP) == before and page.js("return window.hit") is None
