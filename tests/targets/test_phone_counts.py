"""What the sheet for a phone says of games, blocks that may end early, and goals, while a feeder marks balls."""

from pathlib import Path
from typing import Any

import pytest

from feedwright.targets.log.points import PointBall
from feedwright.targets.log.progress import Verdict
from feedwright.targets.log.until import holding
from feedwright.targets.outputs.sheet import phone

from .. import shipped
from ..replay.test_broad_goals import SESSION as BROAD
from ..replay.test_broad_goals import played
from ..test_goals import pair
from ..test_points import plan_of
from . import browser
from .test_phone import BUTTONS, cards, go_to, tap, taps, where


def test_a_game_shows_its_score_and_when_to_go_on(driver: Any, tmp_path: Path) -> None:
    plan = shipped.plan(next(path for path in shipped.PROGRAMS if path.stem.startswith("99")))
    browser.visit(driver, tmp_path, phone.render(plan))
    block = next(block for block in plan.blocks if block.first_to == 1)
    first = next(n for n, card in enumerate(cards(plan)) if card.get("block") == block.index + 1)
    go_to(driver, plan, block)
    assert where(driver).endswith("game to 1: 0 to 0")
    assert str(driver.execute_script("return document.getElementById('big').textContent")) == cards(plan)[first]["big"]
    *before, over = taps(driver, "where", ["hit"] * len(block.points[0].shots))
    assert all(said.endswith("game to 1: 0 to 0") for said in before)
    assert over.endswith("game to 1: 1 to 0, over: go on with what comes next")
    tap(driver, "undo")
    tap(driver, "miss")
    assert where(driver).endswith("game to 1: 0 to 1, over: go on with what comes next")


def test_a_block_that_ends_when_it_holds_says_when_to_go_on(driver: Any, tmp_path: Path) -> None:
    """Whatever is marked, the page counts as a replay does."""
    plan = shipped.plan(next(path for path in shipped.PROGRAMS if path.stem.startswith("99")))
    browser.visit(driver, tmp_path, phone.render(plan))
    block = next(block for block in plan.blocks if block.until and block.until[0].among > block.until[0].hits)
    variations = {shot.id: shot.variation for shot in plan.shots}
    go_to(driver, plan, block)
    fed, marks = list[PointBall](), "hmnhmhm"
    said = taps(driver, "where", (BUTTONS[mark] for mark in marks))
    for launch, mark in zip([one for one in plan.launches if one.block == block.index], marks, strict=False):
        (far,) = holding(block, fed, variations)
        assert said[len(fed)].endswith(f", {far}{', over: go on with what comes next' if far.met else ''}")
        fed.append(PointBall(len(fed), launch.first, Verdict(mark)))
    assert far.met


@pytest.mark.parametrize("ends", ["3 misses in a row", "3 misses in 5"])
def test_a_block_that_ends_at_misses_says_when_to_go_on(driver: Any, tmp_path: Path, ends: str) -> None:
    plan = plan_of(f'session "s"\n    12 balls slow, until {ends}\n')
    browser.visit(driver, tmp_path, phone.render(plan))
    (block,), fed, marks = plan.blocks, list[PointBall](), "mhmmnmhm"
    go_to(driver, plan, block)
    said = taps(driver, "where", (BUTTONS[mark] for mark in marks))
    for launch, mark in zip(plan.launches, marks, strict=False):
        (far,) = holding(block, fed, {})
        assert said[len(fed)].endswith(f", until {ends}: {far.now}") or far.met
        assert said[len(fed)].endswith(", over: go on with what comes next") is far.met
        fed.append(PointBall(len(fed), launch.first, Verdict(mark)))
    assert holding(block, fed, {})[0].met


def test_a_block_of_points_that_ends_when_they_hold_counts_its_points(driver: Any, tmp_path: Path) -> None:
    plan = plan_of('point two\n    plays slow, then middling\nsession "s"\n    6 points two, until 2 of 3\n')
    browser.visit(driver, tmp_path, phone.render(plan))
    (block,), fed, marks = plan.blocks, list[PointBall](), "hhhmhh"  # won, lost, won
    go_to(driver, plan, block)
    *before, over = taps(driver, "where", (BUTTONS[mark] for mark in marks))
    for said, launch, mark in zip(before, plan.launches, marks, strict=False):
        (far,) = holding(block, fed, {})
        assert said.endswith(f", until 2 of 3: {far.now}") and not far.met
        fed.append(PointBall(len(fed), launch.first, Verdict(mark)))
    assert over.endswith(", until 2 of 3: reached, over: go on with what comes next")


def test_a_goal_that_counts_on_from_block_to_block_is_counted_as_in_a_replay(driver: Any, tmp_path: Path) -> None:
    plan = plan_of(BROAD)
    browser.visit(driver, tmp_path, phone.render(plan))
    assert "Goal over all rounds: 4 in a row." in phone.render(plan).decode()
    go_to(driver, plan, plan.blocks[0])
    marks, kinds = "mhhhmhmhmhhhhmhh", [card["kind"] for card in cards(plan)]
    at = kinds.index("ball")
    for done, letter in enumerate(marks):
        while kinds[at] != "ball":
            tap(driver, "next")
            at += 1
        block = plan.launches[done].block
        variation = next(shot.variation for shot in plan.shots if shot.id == plan.launches[done].first)
        told = str(driver.execute_script("return document.getElementById('counts').textContent"))
        wanted = [
            f"goal {one.goal.words}{' reached' if one.met else f': {one.now}'}"
            for one in played(plan, marks[:done])
            if block in one.goal.blocks and one.goal.variation in (None, variation)
        ]
        assert [one for one in told.split("; ") if one.startswith("goal ")] == wanted, (done, told)
        tap(driver, {"h": "hit", "m": "miss"}[letter])
        at += 1
    last = str(driver.execute_script("return document.getElementById('lines').textContent"))
    assert "go: goal 6 of 11 in all reachedBlock 1: goal 4 in a row: 1Block 2: goal 2 of 3 reached" in last


def test_players_who_take_turns_share_a_goal(driver: Any, tmp_path: Path) -> None:
    plan = pair("24 balls  easy", "5 of 8").plan
    assert plan
    browser.visit(driver, tmp_path, phone.render(plan))
    tap(driver, "next", "next", "hit", "miss", "hit", "hit")  # anna's turn of four
    tap(driver, "hit")
    told = driver.find_element("id", "counts").text
    assert told == "ben, go: 1 hit, 0 missed; 1 of the last 8, best 1, goal 5 of 8: 4 together"
    tap(driver, "hit")
    assert driver.find_element("id", "counts").text.endswith("best 2, goal 5 of 8 reached")
