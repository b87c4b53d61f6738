"""The sheet for a phone: its cards are the plan's balls, and a feeder goes through them by tap, swipe and key."""

import json
import re
from collections.abc import Callable, Iterable
from datetime import datetime
from pathlib import Path
from random import Random
from typing import Any

import pytest

from feedwright.compiler.model.plan import Block, BlockRestRecord, GoalRecord, Plan
from feedwright.targets.log.points import PointBall, course, left_out, shot_of
from feedwright.targets.log.progress import Rules, Verdict, climb, tally
from feedwright.targets.log.typed import read_csv
from feedwright.targets.outputs.blocks import grouped
from feedwright.targets.outputs.sheet import phone
from feedwright.targets.outputs.sheet.letters import letters

from .. import shipped
from ..test_rungs import plan_of as of_families
from ..whole import WHOLE
from . import browser
from .more_plans import HOSTILE, everywhere, ladder, ten_rows
from .plans import make_plan

WIDTHS = (320, 390, 820, 1280)


@pytest.fixture(scope="module")
def driver(driver: Any) -> Any:
    driver.set_window_size(390, 844)  # of a phone, and drawn in less time
    return driver


def cards(plan: Plan) -> list[dict[str, Any]]:
    (text,) = re.findall(r'id="data">(.*?)</script>', phone.render(plan).decode())
    found: list[dict[str, Any]] = json.loads(text)["cards"]
    return found


@pytest.mark.parametrize("path", shipped.OF_A_KIND, ids=lambda path: path.stem[:2])
def test_the_cards_are_the_balls_rests_and_collects_of_the_plan_in_their_order(path: Path) -> None:
    plan = shipped.plan(path)
    named = letters(plan)
    wanted: list[tuple[str, str]] = []
    for block in plan.blocks:
        if block.kind != "balls" or block.ladder:
            wanted.append(("ladder", named.rung(block.ladder.rungs[block.ladder.start])) if block.ladder
                          else (block.kind, block.kind.capitalize()))  # fmt: skip
        else:
            balls = [("ball", named.of[one.first]) for one in plan.launches if one.block == block.index]
            for n, ball in enumerate(balls):
                wanted += [("rest", "Rest")] * (n in block.rested) + [ball]
    made = cards(plan)
    told = [(card["kind"], card["big"]) for card in made]
    assert [one for one in told if one[0] not in ("start", "block", "end")] == wanted
    assert told[0][0] == "start" and told[-1][0] == "end"
    waits = [
        wait
        for block in plan.blocks
        for wait in (
            [block.rest.rest_s] * len(block.rested)
            if block.rest and not block.ladder
            else [block.duration_s] * (not block.order)
        )
    ]
    assert [card["seconds"] for card in made if "seconds" in card] == waits
    numbers = [n for card in made if "ball" in card for n in range(card["ball"], card["ball"] + card.get("balls", 1))]
    assert numbers == list(range(1, len(plan.launches) + 1)), "each launch once, by its number"


def test_the_cautions_are_the_first_card_and_all_of_them_are_on_it() -> None:
    first = cards(make_plan(machine=True))[0]
    assert any("STOP" in line for line in first["lines"]) and any("eye protection" in line for line in first["lines"])
    assert any("Nobody stands in front of a machine" in line for line in first["lines"])


def test_the_next_player_steps_up_after_as_many_balls_as_the_plan_says() -> None:
    plan = ten_rows(machine=False)
    in_line = plan.player.model_copy(update={"in_line": 3, "rotate_every": 8})
    balls = [card for card in cards(plan.model_copy(update={"player": in_line})) if card["kind"] == "ball"]
    turns = [n for n, card in enumerate(balls) if any("next player steps up" in line for line in card["lines"])]
    assert turns == list(range(8, len(balls), 8))


def shown(driver: Any) -> str:
    return str(driver.execute_script("return document.getElementById('big').textContent"))


def where(driver: Any) -> str:
    return str(driver.execute_script("return document.getElementById('where').textContent"))


def drag(driver: Any, across: int, along: int = 0) -> None:
    from selenium.webdriver.common.action_chains import ActionChains

    card = driver.find_element("id", "big")
    ActionChains(driver).move_to_element(card).click_and_hold().move_by_offset(across, along).release().perform()


def test_a_tap_a_swipe_a_key_and_a_button_go_on_and_a_reload_stays(driver: Any, tmp_path: Path) -> None:
    from selenium.webdriver.common.keys import Keys

    browser.visit(driver, tmp_path, phone.render(plan := ten_rows(machine=True)))
    fed = [letters(plan).of[one.first] for one in plan.launches]
    assert shown(driver) == "Before the first ball"
    driver.find_element("id", "next").click()
    assert shown(driver) == "Block 1"
    driver.find_element("id", "big").click()
    assert (shown(driver), where(driver)) == (fed[0], "Block 1, 0:00: ball 1 of 60")
    drag(driver, -80)
    browser.until(lambda: shown(driver) == fed[1] and "ball 2 of 60" in where(driver))
    drag(driver, 80)
    browser.until(lambda: "ball 1 of 60" in where(driver))
    drag(driver, 5, 90)  # a scroll
    assert "ball 1 of 60" in where(driver)
    body = driver.find_element("tag name", "body")
    for key, number in ((Keys.ARROW_RIGHT, 2), (Keys.SPACE, 3), (Keys.PAGE_DOWN, 4), (Keys.ARROW_LEFT, 3)):
        body.send_keys(key)
        browser.until(lambda wanted=f"ball {number} of 60": wanted in where(driver))
    assert driver.find_element("id", "then").text == "then " + ", ".join(fed[3:7])
    driver.refresh()
    assert shown(driver) == fed[2] and "ball 3 of 60" in where(driver)
    assert browser.complaints(driver) == []
    assert all(url.startswith("file:") for url in browser.requests(driver))


def test_on_a_ladder_the_feeder_takes_the_rung_up_and_down(driver: Any, tmp_path: Path) -> None:
    browser.visit(driver, tmp_path, phone.render(plan := ladder(machine=False)))
    rungs = plan.blocks[0].ladder.shots if plan.blocks[0].ladder else ()
    for _ in range(2):
        driver.find_element("id", "next").click()
    named = letters(plan).of
    assert shown(driver) == named[rungs[0]] and not driver.find_element("id", "easier").is_enabled()
    for _ in rungs[1:]:
        driver.find_element("id", "harder").click()
    assert shown(driver) == named[rungs[-1]] and not driver.find_element("id", "harder").is_enabled()
    driver.find_element("id", "easier").click()
    assert shown(driver) == named[rungs[-2]]
    assert driver.find_element("id", "where").text.endswith("74 km/h")


BUTTONS = {"h": "hit", "m": "miss", "n": "next"}
"""What marks a ball, and what goes on from one that nobody judges."""
TAPS = """const [of, names] = arguments, said = () => document.getElementById(of).textContent;
  return [said(), ...names.map((name) => { document.getElementById(name).click(); return said(); })]"""


def taps(driver: Any, of: str, names: Iterable[str]) -> list[str]:
    """What the page says at a place before these buttons and after each; disabled ones do nothing."""
    return [str(said) for said in driver.execute_script(TAPS, of, list(names))]


def tap(driver: Any, *names: str) -> str:
    """What is large on the card after these buttons."""
    return taps(driver, "big", names)[-1]


def go_to(driver: Any, plan: Plan, block: Block) -> None:
    """To the first ball of a block, by the list of all."""
    driver.execute_script(
        "const to = document.getElementById('part'); to.value = arguments[0]; to.dispatchEvent(new Event('change'));",
        str(next(n for n, group in enumerate(grouped(plan.blocks), 1) if block in group)),
    )
    tap(driver, "next")


def saved(driver: Any) -> bytes:
    """The file that "Save the marks" writes."""
    return str(driver.execute_async_script(
        "const done = arguments[0], make = URL.createObjectURL;"
        "URL.createObjectURL = (file) => { file.text().then(done); URL.createObjectURL = make; return 'data:,'; };"
        "HTMLAnchorElement.prototype.click = () => {}; document.getElementById('save').click();"
    )).encode()  # fmt: skip


def test_marks_stay_over_a_reload_are_undone_and_go_into_the_log_by_a_file(driver: Any, tmp_path: Path) -> None:
    browser.visit(driver, tmp_path, phone.render(plan := ten_rows(machine=True)))
    assert not driver.find_element("id", "undo").is_displayed()
    tap(driver, "next", "next", "hit", "hit", "miss", "next", "hit", "undo", "undo", "hit")
    assert "ball 4 of 60" in where(driver), "undo goes back to the ball whose mark it took"
    tap(driver, "back", "back", "back", "miss")  # the first ball, after all
    driver.refresh()
    assert "ball 2 of 60, marked: hit" in where(driver)
    typed = read_csv(saved(driver), plan, datetime.now().astimezone())
    assert [(one.block, one.shot) for one in typed.balls] == [
        (plan.launches[n].block, plan.launches[n].first) for n in (0, 1, 2, 4)
    ]
    wanted = [Verdict.MISS, Verdict.HIT, Verdict.HIT, Verdict.NOT_JUDGED]
    assert [one.verdict for one in typed.balls] == wanted and typed.in_order
    assert all(abs((one.when - datetime.now().astimezone()).total_seconds()) < 120 for one in typed.balls)
    tap(driver, "anew")
    assert "forgets" in driver.find_element("id", "anew").text
    tap(driver, "anew")
    driver.refresh()
    assert shown(driver) == "Before the first ball" and not driver.find_element("id", "undo").is_displayed()


def often(plan: Plan) -> Plan:
    """With a goal among so many balls, and a ladder that goes up by another."""
    (one, *others), (block,) = plan.variations, plan.blocks
    assert block.ladder
    rules = block.ladder.model_copy(update={"up": GoalRecord(hits=3, among=4)})
    goal = one.model_copy(update={"goal": GoalRecord(hits=5, among=7)})
    blocks = (block.model_copy(update={"ladder": rules}),)
    return plan.model_copy(update={"variations": (goal, *others), "blocks": blocks}).sealed()


def in_sets(plan: Plan) -> Plan:
    """Sets of three balls, with a rest between them."""
    (block,) = plan.blocks
    assert block.ladder and block.balls % 3 == 0
    up = {"up": GoalRecord(hits=2, among=3), "down_misses": 2, "down_in": 3, "in_sets": True}
    rules = {"ladder": block.ladder.model_copy(update=up), "rest": BlockRestRecord(rest_s=45.0, every=3)}
    return plan.model_copy(update={"blocks": (block.model_copy(update=rules),)}).sealed()


def test_the_phone_says_how_far_a_set_is_and_when_to_rest(driver: Any, tmp_path: Path) -> None:
    browser.visit(driver, tmp_path, phone.render(in_sets(ladder(machine=False))))
    tap(driver, "next", "next")
    assert not driver.find_element("id", "then").text
    tap(driver, "hit", "miss")
    assert where(driver).endswith(", 3 of 3 in the set") and not driver.find_element("id", "then").text
    tap(driver, "hit")
    assert where(driver).endswith(", 1 of 3 in the set")
    assert driver.find_element("id", "then").text == "rest 45 s"


@pytest.mark.parametrize("change", [lambda plan: plan, often, in_sets], ids=["in a row", "of the last", "in sets"])
def test_hits_and_misses_take_the_ladder_up_and_down_as_they_do_in_the_log(
    driver: Any, tmp_path: Path, change: Callable[[Plan], Plan]
) -> None:
    browser.visit(driver, tmp_path, phone.render(plan := change(ladder(machine=False))))
    driver.execute_script("localStorage.clear()")  # of the test above, which has the same plan
    browser.visit(driver, tmp_path, phone.render(plan))
    (block,), named, random = plan.blocks, letters(plan).of, Random(5)
    assert block.ladder
    played, pressed, wanted = list[tuple[int, Verdict]](), list[str](), dict[int, str]()
    for _ in range(block.balls):
        rung = climb(Rules.of(block.ladder), played).rung if played else block.ladder.start
        wanted[len(pressed)] = named[block.ladder.shots[rung]]
        hit = random.random() < 0.7
        played.append((rung, Verdict.HIT if hit else Verdict.MISS))
        pressed += [button := "hit" if hit else "miss", *(["undo", button] if len(played) % 5 == 0 else [])]
    tap(driver, "next", "next")
    said = taps(driver, "big", pressed)
    assert {n: said[n] for n in wanted} == wanted, pressed
    assert len({rung for rung, _ in played}) > 2
    assert not driver.find_element("id", "hit").is_enabled(), "all balls of the block are marked"
    typed = read_csv(saved(driver), plan, datetime.now().astimezone())
    assert [(one.rung, one.verdict) for one in typed.balls] == played
    goal = plan.variations[0].goal
    best, now = tally((verdict for _, verdict in played), goal), "of the last 7" if change is often else "in a row"
    assert goal
    assert f"{best.hits} hit, {best.misses} missed; {best.now} {now}, best {best.best}, goal {goal.words}" + \
        " reached" * (best.best >= goal.hits) in driver.find_element("id", "counts").text  # fmt: skip


def test_on_rungs_that_are_families_the_phone_shows_and_saves_the_ball_whose_turn_it_is(
    driver: Any, tmp_path: Path
) -> None:
    browser.visit(driver, tmp_path, phone.render(plan := of_families()))
    (block,), named, marks = plan.blocks, letters(plan).of, "mmmhmhhhhmhhhhhmm"
    assert block.ladder
    played, wanted = list[tuple[int, Verdict]](), list[str]()
    for ball, mark in zip(plan.launches, marks, strict=False):
        rung = climb(Rules.of(block.ladder), played).rung if played else block.ladder.start
        wanted.append(ball.any_of[rung])
        played.append((rung, Verdict(mark)))
    tap(driver, "next", "next")
    said = taps(driver, "big", (BUTTONS[mark] for mark in marks))
    assert said[: len(marks)] == [named[shot] for shot in wanted] and len({rung for rung, _ in played}) > 2
    typed = read_csv(saved(driver), plan, datetime.now().astimezone())
    assert [(one.rung, one.verdict) for one in typed.balls] == played
    assert [one.shot for one in typed.balls] == wanted


def test_where_a_point_begins_again_a_miss_chooses_the_next_letter(driver: Any, tmp_path: Path) -> None:
    plan = shipped.plan(next(path for path in shipped.PROGRAMS if path.stem.startswith("32")))
    browser.visit(driver, tmp_path, phone.render(plan))
    named, random, again = letters(plan).of, Random(3), 0
    block = next(block for block in plan.blocks if block.begins_again)
    fed: list[PointBall] = []
    for n in range(block.balls):
        wanted = shot_of(block, course(block, fed))
        again += wanted != [one.first for one in plan.launches if one.block == block.index][n]
        fed.append(PointBall(n, wanted, random.choice(list(Verdict))))
    go_to(driver, plan, block)
    said = taps(driver, "big", (BUTTONS[ball.verdict.value] for ball in fed))
    assert said[:-1] == [named[ball.shot] for ball in fed]
    assert again > 3, "the misses changed the order"
    fed = fed[: max(n for n, ball in enumerate(fed) if ball.verdict is not Verdict.NOT_JUDGED) + 1]
    typed = read_csv(saved(driver), plan, datetime.now().astimezone())
    assert [(one.shot, one.verdict) for one in typed.balls] == [(ball.shot, ball.verdict) for ball in fed]


def test_where_a_miss_ends_a_point_the_rest_of_its_letters_is_left_out(driver: Any, tmp_path: Path) -> None:
    plan = shipped.plan(next(path for path in shipped.PROGRAMS if path.stem.startswith("32")))
    block = next(block for block in plan.blocks if block.begins_again)
    points = tuple(point.model_copy(update={"after_miss": "next point"}) for point in block.points)
    block = block.model_copy(update={"points": points})
    blocks = tuple(block if one.index == block.index else one for one in plan.blocks)
    plan = plan.model_copy(update={"blocks": blocks, "digest": "0" * 64})
    browser.visit(driver, tmp_path, phone.render(plan))
    named, random, fed, out = letters(plan).of, Random(3), list[PointBall](), 0
    for n, shot in enumerate(shot for point in points for shot in point.shots):
        if left_out(block, fed, n):
            out += 1
            continue
        fed.append(PointBall(n, shot, random.choice([Verdict.HIT, Verdict.MISS])))
    go_to(driver, plan, block)
    said = taps(driver, "big", (BUTTONS[ball.verdict.value] for ball in fed))
    assert out > 3 and said[:-1] == [named[ball.shot] for ball in fed]
    typed = read_csv(saved(driver), plan, datetime.now().astimezone())
    assert [(one.shot, one.verdict) for one in typed.balls] == [(ball.shot, ball.verdict) for ball in fed]


OVER = """return [document.documentElement.scrollWidth > window.innerWidth ? 'page' : '',
  ...[...document.querySelectorAll('button, select, #big')].filter(e => e.offsetParent &&
    (e.scrollWidth > e.clientWidth + 1 || e.getBoundingClientRect().right > window.innerWidth)).map(e => e.id),
  ...[...document.querySelectorAll('button, select')].filter(e => e.offsetParent && e.offsetHeight < 44).map(e => e.id),
  ...[...document.querySelectorAll('p, li, dd, dt')].filter(e => parseFloat(getComputedStyle(e).fontSize) < 16)
    .map(e => e.textContent)].filter(Boolean)"""
"""What is cut or too small: 44 px is the size of a target in WCAG 2.2 (2.5.5), 16 px the browsers' own size of text."""


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_it_fits_each_screen_in_light_and_dark_and_the_accessibility_checker_is_silent(
    driver: Any, tmp_path: Path, scheme: str
) -> None:
    path = next(path for path in shipped.OF_A_KIND if path.stem.startswith("08"))
    browser.visit(driver, tmp_path, phone.render(shipped.plan(path), "2026-05-31"))
    media = [{"name": "prefers-color-scheme", "value": scheme}, {"name": "prefers-reduced-motion", "value": "reduce"}]
    driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": media})
    try:
        for width in WIDTHS:
            browser.sized(driver, width, 844)
            assert driver.execute_script(OVER) == [], width
            driver.find_element("id", "next").click()
            assert driver.execute_script("return document.getAnimations().length") == 0  # reduced motion
            if width == 390:
                assert browser.violations(driver) == []
                button = driver.find_element("id", "next").rect
                assert button["y"] + button["height"] <= 844  # the letter and the button without a scroll
    finally:
        driver.execute_cdp_cmd("Emulation.clearDeviceMetricsOverride", {})
        driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": []})


def test_without_its_script_it_is_a_sheet_to_scroll_through(driver: Any, tmp_path: Path) -> None:
    driver.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": True})
    try:
        browser.visit(driver, tmp_path, phone.render(make_plan(machine=False)))
    finally:
        driver.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": False})
    assert not driver.find_element("id", "play").is_displayed()
    assert "Anyone may call STOP" in driver.find_element("tag name", "main").text


def test_hostile_text_is_shown_and_nothing_runs(driver: Any, tmp_path: Path) -> None:
    for title in HOSTILE if WHOLE else HOSTILE[::4]:
        browser.visit(driver, tmp_path, phone.render(everywhere(make_plan(machine=True), title)))
        driver.find_element("id", "next").click()
        assert browser.complaints(driver) == []
        assert all(url.startswith("file:") for url in browser.requests(driver))
        assert driver.execute_script("return document.documentElement.scrollWidth <= window.innerWidth")
