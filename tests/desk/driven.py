"""The page of the desk in a real browser, driven as a person drives it."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from time import monotonic, sleep
from typing import Any

from ..targets import browser
from .served import served

CONTROL, ENTER, END, ALT, SHIFT = "\ue009", "\ue007", "\ue010", "\ue00a", "\ue008"  # WebDriver, 17.4.2: the keys


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

    def before(self) -> str:
        """What stands in front of the cursor."""
        return str(self.js("return desk.text().slice(0, desk.view().state.selection.main.head)"))

    def until(self, holds: Callable[[], object]) -> None:
        end = monotonic() + 60
        while not holds():
            assert monotonic() < end, (self.text("state"), self.text("ball"), self.text("old"), self.problems())
            sleep(0.1)

    def problems(self) -> list[str]:
        return list(self.js("return [...document.querySelectorAll('.problem')].map(p => p.textContent)"))

    def press(self, name: str) -> None:
        self.js("document.getElementById(arguments[0]).click()", name)

    def mend(self, wrong: str) -> None:
        """The button under the line with these words, once it is there."""
        button = """
            const rows = [...document.querySelector('.cm-content').children];
            const line = rows.findIndex(row => row.matches('.cm-line') && row.textContent.includes(arguments[0]));
            const under = rows.slice(line + 1), end = under.findIndex(row => row.matches('.cm-line'));
            const found = line < 0 ? [] : under.slice(0, end < 0 ? undefined : end).map(r => r.querySelector('.mend'));
            const first = found.find(Boolean);
            if (first) { first.click(); first.click(); }  // a second click writes nothing more
            return !!first"""
        self.until(lambda: self.js(button, wrong))
        self.until(lambda: wrong not in self.script)

    def fill(self, opener: str, **blanks: object) -> None:
        """Opens a form unless one is open already, fills its blanks and writes."""
        self.js(
            "const [name] = arguments, found = document.getElementById(name) || document.querySelector(name);"
            "document.getElementById('begin').open || found.click()",
            opener,
        )
        self.until(lambda: self.js("return document.getElementById('begin').open"))
        script = """
            const form = document.querySelector('#begin form');
            for (const [name, value] of Object.entries(arguments[0]))
                if (Array.isArray(value)) for (const one of value) form.querySelector(`[value=${one}]`).checked = true;
                else if (form.elements[name].type === "checkbox") form.elements[name].checked = value;
                else form.elements[name].value = value;
            form.dispatchEvent(new Event('input'));
            form.requestSubmit()"""
        self.js(script, blanks)

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
            if len(key) == 2 and key[0] in (CONTROL, ALT, SHIFT):
                chain = chain.key_down(key[0]).send_keys(key[1]).key_up(key[0])
            else:
                chain = chain.send_keys(key)
        chain.perform()


@contextmanager
def at_the_desk(driver: Any, folder: Path, name: str = "a.feed", unnamed: bool = False) -> Iterator[Page]:
    with served(folder, name, unnamed) as desk:
        if driver.current_url != "about:blank":  # of a test that failed, whose page still asks its desk
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
