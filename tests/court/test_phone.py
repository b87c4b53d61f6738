"""A real browser as the phone, and a real replay behind it (stage.py)."""

import time
from collections.abc import Iterator
from typing import Any

import pytest

from feedwright.targets.log.progress import Verdict
from feedwright.targets.machine.replay.flow import RunPhase

from ..targets import browser
from .stage import Stage, staged, until

# Real time, on a machine that may be busy: a moment too late is tried again.
pytestmark = pytest.mark.flaky(reruns=2)


@pytest.fixture(scope="module")
def driver() -> Iterator[Any]:
    with browser.opened() as made:
        made.set_window_size(390, 844)
        made.execute_cdp_cmd(
            "Emulation.setDeviceMetricsOverride", {"width": 390, "height": 844, "deviceScaleFactor": 1, "mobile": True}
        )
        yield made


def joined(driver: Any, stage: Stage, name: str = "Ana", word: str | None = None) -> None:
    driver.get("about:blank")
    driver.get_log("browser")
    driver.get(f"{stage.server.origin}/#{word or stage.door.word}")
    driver.find_element("id", "name").clear()
    driver.find_element("id", "name").send_keys(name)
    driver.find_element("css selector", "#join button").click()
    until(lambda: text(driver, "headline"))


def text(driver: Any, id_: str) -> str:
    return str(driver.execute_script("return document.getElementById(arguments[0]).textContent", id_))


def click(driver: Any, id_: str) -> None:
    driver.find_element("id", id_).click()


def test_a_phone_joins_marks_reloads_undoes_and_stops(driver: Any) -> None:
    with staged() as stage:
        stage.throw(2)
        joined(driver, stage)
        assert driver.current_url == f"{stage.server.origin}/", "the word is gone from the address"
        until(lambda: text(driver, "meant").startswith("marks ball 2"))
        assert text(driver, "headline") == "LIVE" and int(text(driver, "seconds")) > 0
        click(driver, "hit")
        until(lambda: stage.host.counts["hit"] == 1)
        until(lambda: "1 hit" in text(driver, "counts") and "1 in a row" in text(driver, "streak"))
        with stage.lock:  # the program hangs: what is tapped now stays in the phone, also over a reload
            click(driver, "miss")
            driver.refresh()
            stored = driver.execute_script("return JSON.parse(localStorage.getItem('court-asks')).length")
            assert stored == 1
        until(lambda: stage.host.counts == {"gone": 2, "missed": 0, "hit": 0, "miss": 1})
        until(lambda: driver.execute_script("return localStorage.getItem('court-asks')") == "[]")
        click(driver, "undo")
        until(lambda: stage.host.state.thrown[1].verdict is Verdict.HIT)
        click(driver, "stop")
        until(lambda: stage.host.phase is RunPhase.ENDED)
        until(lambda: text(driver, "giant") == "STOPPED")
        assert driver.execute_script("return document.body.classList.contains('alarm')")
        assert text(driver, "why") == "Stopped by Ana"
        assert browser.complaints(driver) == []
        here = stage.server.origin
        assert all(url.startswith((here, "about:")) for url in browser.requests(driver))


def test_stop_is_over_half_the_width_in_every_state_and_pause_only_where_it_is_live(driver: Any) -> None:
    wide = (
        "const b = document.getElementById('stop').getBoundingClientRect();"
        "return [b.width / innerWidth, b.height, b.bottom <= innerHeight, document.getElementById('pause').disabled]"
    )
    with staged(RunPhase.READY) as stage:
        joined(driver, stage)
        for phase in (RunPhase.READY, RunPhase.ANSWERING, RunPhase.LIVE, RunPhase.STOPPING):
            with stage.lock:
                if phase is RunPhase.STOPPING:
                    stage.street.stop()
                else:
                    stage.street.arms = 1
                    stage.street.to(phase)
                stage.halted = True  # stay there, but go on telling
                stage.phones.turn(stage.street.now)
                now = stage.street.now
            until(lambda now=now: seen(driver, stage, now))  # type: ignore[misc]
            share, height, inside, no_pause = driver.execute_script(wide)
            assert share > 0.5 and height >= 112 and inside, (phase, share, height)
            assert no_pause is (phase is not RunPhase.LIVE), phase
            assert driver.find_element("id", "stop").is_enabled()
            assert driver.execute_script("return document.documentElement.scrollWidth <= innerWidth")
            stage.halted = False
        assert browser.violations(driver) == []


def seen(driver: Any, stage: Stage, now: float) -> bool:
    phase = driver.execute_script("return shown && shown.phase")
    return bool(phase == stage.host.phase.name.lower())


def test_a_lost_link_is_told_within_a_moment_and_comes_back(driver: Any) -> None:
    with staged() as stage:
        joined(driver, stage)
        assert text(driver, "link") == ""
        driver.execute_cdp_cmd("Network.enable", {})
        offline = {"offline": True, "latency": 0, "downloadThroughput": -1, "uploadThroughput": -1}
        driver.execute_cdp_cmd("Network.emulateNetworkConditions", offline)
        try:
            until(lambda: text(driver, "link") == "No link: use the switch")
            assert text(driver, "seconds") == "", "a countdown that may be wrong is not shown"
            stage.throw(1)
        finally:
            driver.execute_cdp_cmd("Network.emulateNetworkConditions", {**offline, "offline": False})
        until(lambda: text(driver, "link") == "" and "1 thrown" in text(driver, "counts"))


def test_a_stop_without_link_is_said_again_until_the_replay_stops(driver: Any) -> None:
    with staged() as stage:
        joined(driver, stage)
        offline = {"offline": True, "latency": 0, "downloadThroughput": -1, "uploadThroughput": -1}
        driver.execute_cdp_cmd("Network.emulateNetworkConditions", offline)
        click(driver, "stop")
        time.sleep(0.5)
        assert stage.host.phase is RunPhase.LIVE
        driver.execute_cdp_cmd("Network.emulateNetworkConditions", {**offline, "offline": False})
        until(lambda: stage.host.phase is RunPhase.ENDED)


def test_a_guard_whose_page_is_gone_pauses_the_run(driver: Any) -> None:
    with staged(guard=True, phase=RunPhase.READY) as stage:
        joined(driver, stage)
        with stage.lock:
            stage.street.arms = 1
        until(lambda: stage.host.phase is RunPhase.LIVE)
        driver.get("about:blank")
        until(lambda: stage.host.phase is RunPhase.READY)
        assert stage.host.why == "paused, because Ana guards and is not heard"


def test_who_watches_has_no_buttons_and_a_phone_sent_away_is_told(driver: Any) -> None:
    with staged(watching=True) as stage:
        joined(driver, stage, "Eve", stage.door.watch_word)
        until(lambda: text(driver, "headline") == "LIVE")
        assert not driver.find_element("id", "stop").is_displayed()
        assert "machine's own switch" in driver.find_element("tag name", "footer").text
        stage.press("x")
        stage.press("w")
        until(lambda: "sent away" in text(driver, "refused"))


def test_the_alarm_flashes_slowly_and_not_where_motion_is_reduced(driver: Any) -> None:
    style = "return [getComputedStyle(document.getElementById('giant')).animationName, " \
        "getComputedStyle(document.getElementById('giant')).animationDuration]"  # fmt: skip
    with staged() as stage:
        joined(driver, stage)
        click(driver, "stop")
        until(lambda: text(driver, "giant") == "STOPPED")
        name, duration = driver.execute_script(style)
        assert name == "flash" and float(duration.rstrip("s")) > 1 / 3  # WCAG 2.2, 2.3.1: at most three in a second
        driver.execute_cdp_cmd(
            "Emulation.setEmulatedMedia", {"features": [{"name": "prefers-reduced-motion", "value": "reduce"}]}
        )
        assert driver.execute_script(style)[0] == "none"
        driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": []})


def test_a_name_is_text_and_nothing_of_it_runs(driver: Any) -> None:
    with staged() as stage:
        joined(driver, stage, "<img src=x onerror=1>")
        click(driver, "pause")
        until(lambda: text(driver, "why") == "paused by <img src=x onerror=1>")
        assert driver.execute_script("return document.images.length") == 0
        assert browser.complaints(driver) == []


HEARS = """
window.heard = [];
window.AudioContext = class {
  constructor() { this.currentTime = 0; this.destination = {}; }
  resume() {}
  createOscillator() {
    const one = { frequency: {}, connect: () => ({ connect: () => {} }), stop: () => {} };
    one.start = (at) => heard.push(one.frequency.value + " after " + at);
    return one;
  }
  createGain() { return { gain: { setValueAtTime() {}, exponentialRampToValueAtTime() {} }, connect() {} }; }
};
navigator.vibrate = (pattern) => heard.push("shake " + pattern);
window.speechSynthesis.speak = (said) => heard.push("says " + said.text);
"""


def test_a_phone_counts_down_says_the_ball_shakes_and_gives_the_stop(driver: Any) -> None:
    """As REPLAY.md tells under "What you hear"."""
    with staged(every_s=8.0) as stage:
        with stage.lock:
            stage.street.until(lambda: stage.host.first_in_s(stage.street.now) < 0.2)
            stage.street.until(lambda: len(stage.host.state.thrown) == 1)
            stage.street.until(lambda: stage.host.first_in_s(stage.street.now) < 5.0)
        joined(driver, stage)
        driver.execute_script(HEARS)
        driver.find_element("css selector", "#sound option[value=voice]").click()
        click(driver, "shake")
        driver.execute_script("heard.length = 0")
        until(lambda: "shake 150" in driver.execute_script("return heard"))
        heard = driver.execute_script("return heard")
        assert [one for one in heard if "after" in one] == ["660 after 0"] * 3 + ["990 after 0"]
        until(lambda: "says steady" in driver.execute_script("return heard"))
        driver.execute_script("heard.length = 0")
        click(driver, "stop")
        until(lambda: driver.execute_script("return heard.length") >= 10)
        heard = driver.execute_script("return heard")
        assert heard == [*(f"330 after {n * 0.25:g}" for n in range(8)), "shake 400,150,400,150,400", "says Stop"]
