"""What the sheet for a phone says of games, blocks that may end early, and goals, while a feeder marks balls."""

from pathlib import Path
from typing import Any

import pytest

from feedwright.targets.log.points import PointBall
from feedwright.targets.log.progress import Rules, Standing, Verdict, step
from feedwright.targets.log.until import holding
from feedwright.targets.outputs.sheet import phone

from .. import shipped
from ..replay.test_broad_goals import SESSION as BROAD
from ..replay.test_broad_goals import played
from ..test_each import PAIR
from ..test_each import plan_of as turns
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
    block = next(b for b in plan.blocks if b.until and b.until[0].among > b.until[0].hits and not b.sets)
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


@pytest.mark.parametrize("ends", ["2 of every 3", "2 misses in every 3", "3 of every 3"])
@pytest.mark.parametrize("marks", ["hm-h-mmmh-hh", "hhmmm", "mmhmhhmmm", "-h--mm"])
def test_a_block_in_sets_says_when_to_go_on(driver: Any, tmp_path: Path, ends: str, marks: str) -> None:
    rows = f"    12 balls slow, until {ends}\n        rest 20 s after every 3 balls\n"
    plan = plan_of(f'session "s"\n{rows}        note "{marks}"\n')  # a browser keeps the marks of each plan
    browser.visit(driver, tmp_path, phone.render(plan))
    block, fed = plan.blocks[0], list[PointBall]()
    go_to(driver, plan, block)
    for launch, letter in zip(plan.launches, marks, strict=False):
        (far,) = holding(block, fed, {})
        if fed and len(fed) % 3 == 0:
            assert f", {far}" in where(driver), "on the card of the rest"
            tap(driver, "next")
        assert where(driver).endswith(f", {far}{', over: go on with what comes next' if far.met else ''}")
        fed.append(PointBall(len(fed), launch.first, Verdict({"-": "n"}.get(letter, letter))))
        tap(driver, {"h": "hit", "m": "miss", "-": "next"}[letter])


def test_points_in_sets_are_counted_as_in_a_replay(driver: Any, tmp_path: Path) -> None:
    """A point without a mark is one of its set, and not won."""
    plan = plan_of('point two\n    plays slow, then middling\nsession "s"\n    6 points two, until 2 of every 3\n')
    browser.visit(driver, tmp_path, phone.render(plan))
    (block,), fed = plan.blocks, list[PointBall]()
    go_to(driver, plan, block)
    for launch, letter in zip(plan.launches, "hhh--mhhhmh", strict=False):
        (far,) = holding(block, fed, {})
        assert where(driver).endswith(f", {far}") and not far.met
        fed.append(PointBall(len(fed), launch.first, Verdict({"-": "n"}.get(letter, letter))))
        tap(driver, {"h": "hit", "m": "miss", "-": "next"}[letter])
    assert (far.now, far.in_set) == (1, 2), "the fourth point was won, the fifth lost"


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


def test_a_goal_of_each_player_is_told_to_whoever_gets_the_ball(driver: Any, tmp_path: Path) -> None:
    """Balls by turns of two, then points by turns of two: anna wins one of hers, ben none."""
    plan = turns("8 balls easy\n    goal 2 in a row each\n4 points two\n    goal 1 of 2 each", PAIR, "goal 3 of 4 each")
    browser.visit(driver, tmp_path, phone.render(plan))
    go_to(driver, plan, plan.blocks[0])

    def told() -> list[str]:
        text = str(driver.execute_script("return document.getElementById('counts').textContent"))
        return [one for one in text.split("; ") if one.startswith("goal ")]

    def after(marks: str) -> list[str]:
        tap(driver, *({"h": "hit", "m": "miss"}[mark] for mark in marks))
        return told()

    assert after("hm") == ["goal 3 of 4 each, ben: 0", "goal 2 in a row each, ben: 0"]
    assert after("hh") == ["goal 3 of 4 each, anna: 1", "goal 2 in a row each, anna: 0"]
    assert after("hh") == ["goal 3 of 4 each, ben: 2", "goal 2 in a row each, ben reached"]
    assert after("mm") == []  # the card of the next block
    tap(driver, "next")
    assert told() == ["goal 3 of 4 each, anna: 0", "goal 1 of 2 each, anna: 0"]
    assert after("hhhm") == ["goal 3 of 4 each, ben: 0", "goal 1 of 2 each, ben: 0"]
    after("mhhm")
    lines = str(driver.execute_script("return document.getElementById('lines').textContent"))
    assert "Block 1, go: goal 3 of 4 each, anna reachedBlock 1, go: goal 3 of 4 each, ben: 2" in lines
    assert "Block 2: goal 1 of 2 each, anna reachedBlock 2: goal 1 of 2 each, ben: 0" in lines


def test_a_point_that_is_won_with_some_of_its_balls_is_counted_as_in_a_replay(driver: Any, tmp_path: Path) -> None:
    plan = plan_of(
        "point three\n    plays slow, then middling, then fast\n    won with 2 of 3\n"
        'session "s"\n    5 points three, until 4 of 5\n'
    )
    browser.visit(driver, tmp_path, phone.render(plan))
    assert "It is won with 2 of its 3 balls." in phone.render(plan).decode()
    (block,), fed = plan.blocks, list[PointBall]()
    go_to(driver, plan, block)
    for launch, letter in zip(plan.launches, "hmhmhmhhmmm-h-", strict=False):
        (far,) = holding(block, fed, {})
        assert where(driver).endswith(f", until 4 of 5: {far.now}")
        fed.append(PointBall(len(fed), launch.first, Verdict({"-": "n"}.get(letter, letter))))
        tap(driver, {"h": "hit", "m": "miss", "-": "next"}[letter])
    assert far.now == 2


def test_after_so_many_sets_on_a_rung_the_page_goes_up_as_a_replay_does(driver: Any, tmp_path: Path) -> None:
    """Two sets without hits enough lead up, where the second does not lead down; then the count begins anew."""
    plan = plan_of(
        'session "s"\n    ladder    slow, up to 24 balls, pace 66, 72, 78 km/h\n        up        2 of every 2\n'
        "        down      2 misses in every 2\n        at most 2 sets on a rung\n"
    )
    browser.visit(driver, tmp_path, phone.render(plan))
    (block,) = plan.blocks
    assert block.ladder
    rules, standing = Rules.of(block.ladder), Standing()
    go_to(driver, plan, block)
    seen = []
    for letter in "hmhmhmmmhmmmmmhhhm":
        standing = step(rules, standing, Verdict(letter))
        tap(driver, {"h": "hit", "m": "miss"}[letter])
        assert where(driver).endswith(
            f"{block.ladder.labels[standing.rung]}, {len(standing.recent) + 1} of 2 in the set"
        )
        seen.append(standing.rung)
    assert seen == [0, 0, 0, 1, 1, 1, 1, 0, 0, 0, 0, 1, 1, 0, 0, 1, 1, 1]


def test_a_ladder_is_won_on_the_page_as_in_a_replay_and_goes_down_by_sets(driver: Any, tmp_path: Path) -> None:
    plan = plan_of(
        'session "s"\n    ladder    slow, up to 16 sets, pace 66, 72 km/h\n        up        2 of every 2\n'
        "        down      after 2 sets on a rung\n        until     the last rung is won\n    4 balls slow\n"
    )
    browser.visit(driver, tmp_path, phone.render(plan))
    block = plan.blocks[0]
    assert block.ladder
    rules, standing = Rules.of(block.ladder), Standing()
    go_to(driver, plan, block)
    seen = []
    for letter in "hmhmhhhmhmhmhhhh":
        standing = step(rules, standing, Verdict(letter))
        tap(driver, {"h": "hit", "m": "miss"}[letter])
        far = f"{len(standing.recent) + 1} of 2 in the set"
        far = "won: go on with what comes next" if standing.won else far
        assert where(driver).endswith(f"{block.ladder.labels[standing.rung]}, {far}")
        seen.append(standing.rung)
    assert seen == [0, 0, 0, 0, 0, 1, 1, 1, 1, 0, 0, 0, 0, 1, 1, 1] and standing.won
    assert not driver.execute_script(
        "return [...document.querySelectorAll('#hit, #miss')].some((one) => !one.disabled)"
    )
    tap(driver, "undo")
    assert where(driver).endswith(f"{block.ladder.labels[1]}, 2 of 2 in the set")


def test_a_ladder_without_sets_is_won_on_the_page_by_the_hits_that_would_lead_up(driver: Any, tmp_path: Path) -> None:
    plan = plan_of(
        'session "s"\n    ladder slow, up to 9 balls, pace 66, 72 km/h\n        up 2 in a row\n        until top rung\n'
    )
    browser.visit(driver, tmp_path, phone.render(plan))
    go_to(driver, plan, plan.blocks[0])
    told = []
    for letter in "hhhmhh":
        tap(driver, {"h": "hit", "m": "miss"}[letter])
        told.append("won" in where(driver))
    assert told == [False] * 5 + [True]
