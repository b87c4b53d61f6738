"""What the sheet for a phone says of a score while a feeder marks balls: the same as a replay."""

from pathlib import Path
from typing import Any

import pytest

from feedwright.compiler.model.plan import Plan
from feedwright.targets.outputs.sheet import phone

from ..replay.test_scores import so_far
from ..test_each_score import RACE
from ..test_each_score import plan_of as each_plan
from ..test_points import plan_of
from ..test_scores import session
from . import browser
from .test_phone import cards, go_to, tap, where

TAPS = {"h": "hit", "m": "miss", "-": "next"}


def told(driver: Any, plan: Plan, marks: str) -> None:
    """Before each ball the card says the score so far."""
    kinds = [card["kind"] for card in cards(plan)]
    go_to(driver, plan, plan.blocks[0])
    at = kinds.index("ball")
    for done, letter in enumerate(marks):
        while kinds[at] != "ball":
            tap(driver, "next")
            at += 1
        far = so_far(plan, marks[:done], plan.launches[done].block)
        over = ", over: go on with what comes next" if far.end is not None else ""
        assert where(driver).endswith(f", {str(far).removesuffix(': over')}{over}"), (done, where(driver))
        tap(driver, TAPS[letter])
        at += 1


@pytest.mark.parametrize(
    ("lines", "marks"),
    [
        (("12 balls cycle easy, hard, until score 6", "    score easy 1, hard 2"), "hhm-hhh"),
        (("12 balls mix easy, hard, until score 0", "    score from 3, hit 0, miss -1, 2 in a row +1, at most 3"),
         "mhhhhm-mmhm"),
        (("12 balls cycle easy, hard, until score -6", "    score miss -1, hard miss -3, easy 2"),
         "mhhmm-m"),
        (("9 balls easy, until score 3 or -2", "    score miss -1, 3 in a row -4, at least -3"), "mhhhm"),
        (("5 points both, until score 4 or -2", "    score both 2, miss -1"), "hhhm--hhmh"),
        (("2 rounds", "    score miss -1, 2 in a row +3", "    goal score 4", "    3 balls easy",
          "    rest 10 s between rounds"), "mhhhm-"),
    ],
)  # fmt: skip
def test_it_counts_as_a_replay_does(driver: Any, tmp_path: Path, lines: tuple[str, ...], marks: str) -> None:
    plan = plan_of(session(*lines))
    browser.visit(driver, tmp_path, phone.render(plan))
    told(driver, plan, marks)


def test_the_last_card_sums_it_up_once(driver: Any, tmp_path: Path) -> None:
    plan = plan_of(session("2 rounds", "    score miss -1", "    goal score 2", "    2 balls easy", "    rest 10 s"))
    browser.visit(driver, tmp_path, phone.render(plan))
    told(driver, plan, "hmhh")
    driver.execute_script(
        "const part = document.getElementById('part'); part.value = 'end'; part.dispatchEvent(new Event('change'))"
    )
    last = str(driver.execute_script("return document.getElementById('lines').textContent"))
    assert last.count("score 2, goal 2 or more") == 1


RESULTS = ("6 balls easy, until score 5", '    score "in the corner" 3, "in the court" 1, "in the net" -2')


def test_other_results_than_hits_have_buttons_of_their_own_and_move_the_score(driver: Any, tmp_path: Path) -> None:
    """Three, then one less two, then three: five with the fourth ball. Undo takes one back."""
    plan = plan_of(session(*RESULTS))
    browser.visit(driver, tmp_path, phone.render(plan))
    go_to(driver, plan, plan.blocks[0])

    def result(words: str) -> None:
        shown = (
            "[...document.querySelectorAll('.results button')].find((one) => one.textContent === arguments[0]).click()"
        )
        driver.execute_script(shown, words)

    assert where(driver).endswith(", score 0 of 5")
    hidden = "return ['hit', 'miss'].map((id) => document.getElementById(id).hidden)"
    assert driver.execute_script(hidden) == [True, True]
    named = "return [...document.querySelectorAll('.results button')].map((one) => one.textContent)"
    assert driver.execute_script(named) == ["in the corner", "in the court", "in the net", "anything else"]
    for words, far in (("in the corner", "3 of 5"), ("in the court", "4 of 5"), ("in the net", "2 of 5"),
                       ("anything else", "2 of 5")):  # fmt: skip
        result(words)
        assert where(driver).endswith(f", score {far}"), words
    tap(driver, "undo")
    result("in the corner")
    assert where(driver).endswith(", score 5 of 5, over: go on with what comes next")
    marked = driver.execute_script("return JSON.parse(localStorage.getItem(arguments[0])).marks.map((one) => one[2])",
                                   f"sheet-{plan.digest}")  # fmt: skip
    assert marked == ["hit", "hit", "miss", "miss", "not judged", "hit"]  # what adds more than nothing is a hit


def test_a_block_of_hits_has_the_two_buttons(driver: Any, tmp_path: Path) -> None:
    plan = plan_of(session("6 balls easy, until score 5"))
    browser.visit(driver, tmp_path, phone.render(plan))
    go_to(driver, plan, plan.blocks[0])
    assert driver.execute_script("return document.querySelector('.results').hidden")


def test_each_has_a_score_and_the_first_to_come_there_ends_the_block(driver: Any, tmp_path: Path) -> None:
    """Two balls each in turns: anna comes to three with her third hit, the fifth ball."""
    plan = each_plan(RACE)
    browser.visit(driver, tmp_path, phone.render(plan))
    go_to(driver, plan, plan.blocks[0])
    for mark, before in zip(
        "hhmhh", ("anna: score 0", "anna: score 1", "ben: score 0", "ben: score -1", "anna: score 2"), strict=True
    ):
        assert where(driver).endswith(f", {before} of 3"), before
        tap(driver, TAPS[mark])
    assert where(driver).endswith(", anna: score 3 of 3, over: go on with what comes next")
