"""What is asked of a sheet that was filled in by hand: in the words of the paper itself."""

import re
from collections import Counter
from contextlib import closing
from pathlib import Path

import pytest

from feedwright.compiler.model.chance import Goal
from feedwright.compiler.model.plan import GoalRecord, Plan
from feedwright.targets.log import LogRefused
from feedwright.targets.log.exchange import merge
from feedwright.targets.log.figures import Scope, figures
from feedwright.targets.log.progress import Verdict
from feedwright.targets.log.record import Recorder
from feedwright.targets.log.store import open_to_read
from feedwright.targets.log.typed import answer, asked, identity, read_csv, units
from feedwright.targets.log.typed_units import TypedUnit
from feedwright.targets.outputs.sheet.letters import letters
from feedwright.targets.outputs.sheet.page import sheet

from .. import shipped
from .plans import START, climbing


def test_each_block_is_asked_by_the_number_the_letters_and_the_order_of_the_paper() -> None:
    told_to = [re.fullmatch(r'Block ([0-9]+), (.+) "(.*)"', unit.sheet) for unit in units(climbing())]
    told = list(dict.fromkeys((int(m[1]), m[2], m[3]) for m in told_to if m))
    assert all(told_to)
    *parts, ladder = sheet(climbing()).parts
    named = letters(climbing())
    paper = [
        (part.number, named.short(one.letters).replace(", ", " "), one.title.strip("“”"))
        for part in parts
        for one in part.variations
    ]
    assert told == paper + [(ladder.number, *rung) for rung in ladder.rungs[0].rungs]


@pytest.mark.parametrize("path", shipped.OF_A_KIND, ids=lambda path: path.stem[:2])
def test_there_is_a_question_for_each_set_of_boxes_on_the_paper_and_all_balls_are_in_one(path: Path) -> None:
    plan = shipped.plan(path)
    named = letters(plan)
    paper: list[tuple[str, str]] = []
    for part in sheet(plan).parts:
        climbed = {letter for ladder in part.rungs for letter in ladder.letters}
        paper += [(f"Block {part.number}", letter) for ladder in part.rungs for letter, _ in ladder.rungs]
        paper += [
            (f"Block {part.number}", named.short(one.letters).replace(", ", " "))
            for one in part.variations
            if not climbed.issuperset(one.letters)
        ]
    questions = units(plan)
    # A ball without a variation has no box, but may be counted.
    assert [tuple(re.split(r', | "', unit.sheet)[:2]) for unit in questions if unit.variation] == paper
    counted = Counter(block for unit in questions if unit.rung is None for block, _ in unit.balls)
    planned = {block.index: block.balls for block in plan.blocks if block.kind == "balls" and not block.ladder}
    assert dict(counted) == planned


@pytest.mark.parametrize(
    "rows", ["block,verdict\n" + "3,hit\n" * 10, "block,variation,hits,misses\n3,rally,6,0\n3,climb,4,0\n"]
)
def test_the_rounds_of_a_block_have_one_number_in_a_csv_as_on_the_sheet(rows: str) -> None:
    """Block 3 of the sheet is two rounds of three steady balls and two kickers, which are blocks 5 to 8 of the plan."""
    typed = read_csv(rows.encode(), climbing(), START)
    assert Counter(ball.block for ball in typed.balls) == {4: 3, 5: 2, 6: 3, 7: 2}
    assert {ball.verdict for ball in typed.balls} == {Verdict.HIT}


def test_a_session_may_begin_with_a_rest() -> None:
    plan = climbing()
    pause = plan.blocks[1]
    assert pause.kind == "rest" and units(plan.model_copy(update={"blocks": (pause, *plan.blocks)})) != []


def test_counts_of_all_rounds_are_shared_out_to_the_rounds_in_their_order() -> None:
    plan = shipped.plan(next(path for path in shipped.OF_A_KIND if path.stem.startswith("03")))
    rounds = [block for block in plan.blocks if block.round and block.kind == "balls"]
    told = [unit for unit in units(plan) if {block for block, _ in unit.balls} & {block.index for block in rounds}]
    assert rounds and all(len({block for block, _ in unit.balls}) == 2 for unit in told)
    sizes = [len(unit.balls) for unit in told]
    given = iter(f"{size - 1}/{size} streak {size // 2}" if unit in told else "" for unit, size in _sized(plan))
    typed = asked(plan, lambda question: next(given), None, START)
    assert Counter(ball.block for ball in typed.balls) == {block.index: block.balls for block in rounds}
    assert sum(ball.verdict is Verdict.MISS for ball in typed.balls) == len(sizes)


def _sized(plan: Plan) -> list[tuple[TypedUnit, int]]:
    return [(unit, len(unit.balls)) for unit in units(plan)]


def sixteen() -> Plan:
    """With a goal of 3 of 5 for the first variation, of which the first block has four balls."""
    plan = climbing()
    goal = GoalRecord(hits=3, among=5)
    return plan.model_copy(
        update={"variations": (plan.variations[0].model_copy(update={"goal": goal}), *plan.variations[1:])}
    )


def test_of_a_goal_among_so_many_balls_the_best_is_typed_and_no_streak() -> None:
    plan = sixteen()
    (first, *_) = [unit for unit in units(plan) if unit.among]
    assert (first.among, first.best, len(first.balls)) == (5, "best", 4)

    def best(text: str) -> int | None:
        found = answer(text, first)
        return found.best if found else None

    assert best("3/4") == 3, "of so few balls the hits are the best there was"
    assert best("3/8") is None and best("3/8 best 2") == 2
    for text, words in (
        ("3/8 streak 2", "counts the hits among 5 balls: write best and a number, not streak"),
        ("5/8 best 6", "best among 5 is 3 to 5, not 6"),
        ("5/8 best 2", "best among 5 is 3 to 5, not 2"),
        ("lots", "best 7 the most among 5"),
    ):
        with pytest.raises(LogRefused, match=words):
            answer(text, first)
    other = next(unit for unit in units(plan) if not unit.among)
    with pytest.raises(LogRefused, match="the goal is a streak: write streak and a number, not best"):
        answer("3/4 best 3", other)


def test_the_best_is_kept_and_shown_beside_its_goal(tmp_path: Path) -> None:
    plan = sixteen()
    rows = b"block,variation,hits,misses,best\n1,rally,3,5,2\n"
    typed = read_csv(rows, plan, START)
    with Recorder(plan, tmp_path / "p.db") as log:
        assert log.sheet(typed.balls, typed.best, identity(plan, rows, ""), START, typed.in_order, typed.points)
    with Recorder(climbing("Other"), tmp_path / "q.db"):
        pass
    merge(tmp_path / "q.db", tmp_path / "p.db")
    for name in ("p.db", "q.db"):
        with closing(open_to_read(tmp_path / name)) as database:
            (one,) = figures(database, Scope()).variations
        assert (one.goal, one.total.best, one.total.hits) == (Goal(3, 5), 2, 3)
