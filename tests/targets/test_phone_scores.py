"""What the sheet for a phone says of a score while a feeder marks balls: the same as a replay."""

from pathlib import Path
from typing import Any

import pytest

from feedwright.compiler.model.plan import Plan
from feedwright.targets.outputs.sheet import phone

from ..replay.test_scores import so_far
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
