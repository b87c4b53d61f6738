"""A headless browser for the tests of pages, one for all files of a process, or a stated reason why there is none."""

import base64
import json
import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from time import monotonic, sleep
from typing import Any

import pytest

SIZE = (1280, 900)
FLAGS = (
    "--headless=new", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-sync",
    "--disable-background-networking", "--disable-component-update", "--disable-dev-shm-usage",
    "--renderer-process-limit=1", "--disable-site-isolation-trials",  # a process for each page takes a tenth more
    "--app=data:,",  # a window without tabs and a line for the address, which take as long to draw as the page
    f"--window-size={SIZE[0]},{SIZE[1]}",
)  # fmt: skip


_STARTED: list[Any] = []


@contextmanager
def opened() -> Iterator[Any]:
    """A driver whose console and requests are logged, in a fresh window that knows nothing of those before; skips
    where Chromium or its driver is missing."""
    if not _STARTED:
        _STARTED.append(_started())
    # A window that came after another one may have no focus, and then tells of none.
    _STARTED[0].execute_cdp_cmd("Emulation.setFocusEmulationEnabled", {"enabled": True})
    try:
        yield _STARTED[0]
    finally:
        try:
            _cleared(_STARTED[0])
        except Exception:
            end()  # the next file has another browser


def end() -> None:
    while _STARTED:
        _STARTED.pop().quit()


def _cleared(driver: Any) -> None:
    """Another window in place of the old ones, without what their pages stored."""
    old = driver.window_handles
    driver.execute_script("open('about:blank', '_blank', 'popup, noopener, width=1, height=1')")
    until(lambda: len(driver.window_handles) > len(old))
    (new,) = set(driver.window_handles) - set(old)
    for window in old:
        driver.switch_to.window(window)
        driver.close()
    driver.switch_to.window(new)
    driver.execute_cdp_cmd("Storage.clearDataForOrigin", {"origin": "*", "storageTypes": "all"})
    driver.set_window_size(*SIZE)
    for log in ("browser", "performance"):
        driver.get_log(log)


def _started() -> Any:
    selenium = pytest.importorskip("selenium.webdriver", reason="selenium is not installed")
    from selenium.webdriver.chrome.service import Service

    browser, driver = shutil.which("chromium"), shutil.which("chromedriver")
    if not browser or not driver:
        pytest.skip("no chromium with chromedriver here (Debian: apt-get install chromium chromium-driver)")
    options = selenium.ChromeOptions()
    options.binary_location = browser
    for flag in FLAGS:
        options.add_argument(flag)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
    made = selenium.Chrome(options=options, service=Service(driver))
    made.set_page_load_timeout(60)
    made.set_script_timeout(60)
    return made


def visit(driver: Any, folder: Path, html: bytes) -> None:
    """Open a page from a file, with the logs empty."""
    path = folder / "page.html"
    path.write_bytes(html)
    for log in ("browser", "performance"):
        driver.get_log(log)
    driver.get(path.as_uri())


def until(holds: Callable[[], object], within_s: float = 60.0) -> None:
    """What follows from a key, a finger or a message comes in its own time, on a busy machine later."""
    end = monotonic() + within_s
    while not holds():
        assert monotonic() < end, "it does not happen"
        sleep(0.05)


def sized(driver: Any, width: int, height: int) -> None:
    """The screen is so many pixels, and the page has heard of it."""
    screen = {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": False}
    driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", screen)
    until(lambda: driver.execute_script("return innerWidth") == width)


def complaints(driver: Any) -> list[str]:
    return [entry["message"] for entry in driver.get_log("browser")]


def requests(driver: Any) -> list[str]:
    """Addresses that the page asked for since it was opened."""
    messages = (json.loads(entry["message"])["message"] for entry in driver.get_log("performance"))
    return [m["params"]["request"]["url"] for m in messages if m["method"] == "Network.requestWillBeSent"]


def printed(driver: Any) -> bytes:
    """The page as it prints, on the paper it asks for."""
    answer = driver.execute_cdp_cmd("Page.printToPDF", {"preferCSSPageSize": True, "printBackground": False})
    return base64.b64decode(answer["data"])


def violations(driver: Any) -> list[str]:
    """Serious and critical findings of the accessibility checker, with the elements they are about."""
    checker = pytest.importorskip("axe_selenium_python", reason="axe-selenium-python is not installed")
    axe = checker.Axe(driver)
    axe.inject()
    return [
        f"{found['id']}: {found['help']}: {found['nodes'][0]['html'][:120]}"
        for found in axe.run(options={"resultTypes": ["violations"]})["violations"]  # the rest is long
        if found["impact"] in {"serious", "critical"}
    ]
