"""Goals of whole blocks and of the session in the log: worked out from the balls of a replay, or from the counts of a
sheet, and told by show, page and advice."""

from contextlib import closing
from pathlib import Path

import pytest
from scipy.stats import binom

from feedwright.compiler.model.plan import Plan
from feedwright.targets.log.advice import advice
from feedwright.targets.log.exchange import forget, merge
from feedwright.targets.log.goal_figures import rows
from feedwright.targets.log.page import render
from feedwright.targets.log.progress import Verdict
from feedwright.targets.log.record import Recorder
from feedwright.targets.log.store import open_to_read
from feedwright.targets.log.typed import asked, identity

from ..replay.test_broad_goals import SESSION
from ..test_broad_goals import script
from ..test_points import plan_of
from .plans import START, at
from .test_point_counts import read

GOALS = ["Block 1, goal 4 in a row", "Block 2, goal 2 of 3", "go, goal 6 of 11 in all"]


def told(path: Path) -> dict[str, tuple[int, int, int]]:
    """Of each goal how often it was reached, in how many practices, and the best."""
    return {one.name: (one.reached, one.practices, one.best) for one in read(path).goals}


def played(path: Path, plan: Plan, marks: str, number: int = 0) -> None:
    with Recorder(plan, path) as log:
        log.begin(f"{number:032x}")
        for n, (launch, mark) in enumerate(zip(plan.launches, marks, strict=False), start=1):
            log.ball(launch.block, launch.first, None, at(n), Verdict(mark), n)


def typed(path: Path, plan: Plan, *answers: str) -> list[str]:
    """What a person is asked, and answers."""
    given, questions = iter(answers), list[str]()

    def answer(question: str) -> str:
        questions.append(question)
        return next(given, "")

    made = asked(plan, answer, None, START)
    with Recorder(plan, path) as log:
        assert log.sheet(made.balls, made.best, identity(plan, b"", ""), START, made.in_order, made.points)
    return questions


def test_the_balls_of_replays_tell_in_which_practices_a_goal_was_reached(tmp_path: Path) -> None:
    path, plan = tmp_path / "p.db", plan_of(SESSION)
    played(path, plan, "mhhhnhmmhm")
    assert told(path) == dict(zip(GOALS, [(1, 1, 4), (0, 1, 1), (0, 1, 5)], strict=True))
    played(path, plan, "hhmhhmhhmmhhhhhh", 1)
    both = dict(zip(GOALS, [(1, 2, 4), (1, 2, 2), (1, 2, 8)], strict=True))
    assert told(path) == both | {"Block 3, goal 2 of 3": (1, 1, 3)}, "its points were played in one of them"
    said = read(path).told(plan.program)
    assert "go, goal 6 of 11 in all: reached in 1 of 2 practices, 8 at best" in said
    assert b"go, goal 6 of 11 in all: reached in 1 of 2 practices, 8 at best" in render(read(path))
    assert f"Block 2, goal 2 of 3 ({plan.program}): reached in 1 of 2 practices, 2 at best." in advice(read(path))


def test_a_goal_of_the_whole_session_is_told_so_in_the_log_and_in_another_one(tmp_path: Path) -> None:
    path, plan = tmp_path / "p.db", plan_of(script("goal 5 of 8 in all\n4 balls easy\nrest 10 s\n4 balls hard"))
    played(path, plan, "mhhhnhhm")
    assert told(path) == {"The whole session, goal 5 of 8 in all": (1, 1, 5)}
    merge(tmp_path / "merged.db", path)
    assert told(tmp_path / "merged.db") == told(path)


SHEET = script(
    "20 balls  cycle easy, hard\n    goal 12 of 20\n10 balls  hard\n    goal 3 of 5\n"
    "2 rounds\n    goal 12 in all\n    8 balls easy\n        goal 6 of 8\n    rest 30 s\n"
    "8 points  two\n    goal 3 of 8",
    "goal 20 of 34 in all",
)


def test_the_counts_of_a_sheet_tell_it_where_the_order_of_the_balls_does_not_matter(tmp_path: Path) -> None:
    path, plan = tmp_path / "p.db", plan_of(SHEET)
    questions = typed(path, plan, "8/10", "5/10", "7/10", "11/16", "7/8", "5/8", "4/8")
    assert [one.partition(" ")[2].partition(",")[0] for one in questions] == ["1", "1", "2", "3", "4", "4", "4"]
    assert told(path) == {
        "Block 1, goal 12 of 20": (1, 1, 13), "Block 3, goal 12 in all": (0, 1, 11), "Block 4, goal 3 of 8": (1, 1, 4),
        "go, goal 20 of 34 in all": (1, 1, 26),
    }  # fmt: skip


@pytest.mark.parametrize(
    "session",
    ["2 rounds\n    goal 9 in all\n    4 balls hard\n    4 points  two\n", "20 balls hard\n    goal 20 in a row"],
    ids=["balls and points", "in a row"],
)
def test_counts_alone_tell_no_goal_of_balls_and_points_and_none_in_a_row(session: str) -> None:
    known = [one.known for one in rows(plan_of(script(session)))]
    assert known and not any(known)


def test_advice_compares_a_goal_over_all_balls_with_the_share_so_far(tmp_path: Path) -> None:
    """scipy.stats.binom: 20 hits or more of the 34 balls, at 26 of 34."""
    path, plan = tmp_path / "p.db", plan_of(SHEET)
    typed(path, plan, "8/10", "", "", "11/16", "7/8", "", "")
    (go,) = [one for one in read(path).variations if one.variation == "go"]
    assert go.chance == pytest.approx(binom.sf(19, 34, 26 / 34), abs=1e-12) and go.planned == 34
    assert go.needed is not None and binom.sf(19, 34, go.needed) == pytest.approx(0.5, abs=1e-3)
    (said,) = [one for one in advice(read(path)) if one.startswith("go (") and "in all need" in one]
    assert said.startswith(f"go ({plan.program}) needs no more time for its goal: 26 of 34")
    assert "; 20 of 34 in all need a share of 57% for an even chance" in said


def test_a_goal_of_more_hits_than_balls_is_none_to_be_reached(tmp_path: Path) -> None:
    path, plan = tmp_path / "p.db", plan_of(script("20 balls  easy\n10 balls hard", "goal 25 in all"))
    played(path, plan, "h" * 20)
    (go,) = [one for one in read(path).variations if one.variation == "go"]
    assert go.needed is None and go.chance == 0.0
    assert told(path) == {"go, goal 25 in all": (0, 1, 20)}


def test_goals_come_with_a_practice_from_another_log_and_go_with_it(tmp_path: Path) -> None:
    plan, one, other = plan_of(SESSION), tmp_path / "one.db", tmp_path / "other.db"
    played(one, plan, "mhhhnhmmhm")
    played(other, plan_of(SHEET), "h" * 20, 2)
    played(other, plan, "hhmhhmhhmmhhhhhh", 1)
    merge(one, other)
    merge(one, other)
    assert told(one)["go, goal 6 of 11 in all"] == (1, 2, 8)
    assert told(one)["Block 1, goal 12 of 20"] == (1, 1, 20)
    forget(one, None, None)
    with closing(open_to_read(one)) as database:
        assert database.execute("SELECT count(*) FROM goals").fetchone() == (0,)
