"""Points and players in the log: counted from the balls of a replay or a CSV, or as a person counted them on paper."""

from contextlib import closing
from pathlib import Path

import pytest

from feedwright.compiler.model.plan import Plan, PointRecord
from feedwright.targets.log import LogRefused
from feedwright.targets.log.exchange import forget, merge
from feedwright.targets.log.figures import Figures, Scope, figures
from feedwright.targets.log.page import render
from feedwright.targets.log.points import PointTally
from feedwright.targets.log.progress import Verdict
from feedwright.targets.log.record import Recorder
from feedwright.targets.log.store import open_to_read
from feedwright.targets.log.typed import asked, identity, read_csv, units

from .plans import START, at, climbing

HIT, MISS, OPEN = Verdict.HIT, Verdict.MISS, Verdict.NOT_JUDGED


def with_points(after_miss: str = "goes on") -> Plan:
    """`climbing`, in whose first block pairs of steady balls are points; its other balls are for another player."""
    plan = climbing()
    first = next(block for block in plan.blocks if block.kind == "balls")
    pair = PointRecord(name="pair", shots=(first.shots[0],) * 2, serve_s=None, after_miss=after_miss)
    points = (pair,) * (first.balls // 2)
    blocks = tuple(one.model_copy(update={"points": points}) if one is first else one for one in plan.blocks)
    shots = tuple(one.model_copy(update={"player": "anna" if one.id in first.shots else "ben"}) for one in plan.shots)
    return plan.model_copy(update={"blocks": blocks, "shots": shots}).sealed()


def read(path: Path) -> Figures:
    with closing(open_to_read(path)) as database:
        return figures(database, Scope())


def points(path: Path) -> dict[str, PointTally]:
    return {one.name: one.total for one in read(path).points}


def test_points_are_counted_ball_by_ball_and_again_when_a_mark_changes(tmp_path: Path) -> None:
    path = tmp_path / "p.db"
    with Recorder(with_points(), path) as log:
        balls = [log.ball(0, "steady", None, at(n), verdict) for n, verdict in enumerate([HIT, HIT, HIT, OPEN])]
        assert points(path) == {"pair": PointTally(won=1, open=1)}
        log.judge(balls[3], MISS)
        assert points(path) == {"pair": PointTally(won=1, lost=1)}
        log.judge(balls[0], MISS)
        assert points(path) == {"pair": PointTally(lost=2)}


def test_a_ball_that_was_not_thrown_moves_no_other_point(tmp_path: Path) -> None:
    """The second of the balls is missing: the first pair stays undecided, the second is won."""
    with Recorder(with_points(), tmp_path / "p.db") as log:
        for number in (1, 3, 4):
            log.ball(0, "steady", None, at(number), HIT, number)
    assert points(tmp_path / "p.db") == {"pair": PointTally(won=1, open=1)}


def test_an_interrupted_practice_goes_on_with_its_points(tmp_path: Path) -> None:
    path, plan = tmp_path / "p.db", with_points(after_miss="from the start")
    for verdicts in ([HIT], [HIT, MISS]):
        with Recorder(plan, path) as log:
            log.begin("ab" * 16)
            for verdict in verdicts:
                log.ball(0, "steady", None, at(0), verdict)
    assert points(path) == {"pair": PointTally(won=1, lost=1)}


def test_the_paper_asks_for_points_after_the_balls_of_their_block(tmp_path: Path) -> None:
    plan, questions = with_points(), list[str]()

    def answer(question: str) -> str:
        questions.append(question)
        return "2/3" if "point pair" in question else ""

    typed = asked(plan, answer, None, START)
    at_block = [question.startswith("Block 1,") for question in questions]
    assert questions[at_block.count(True) - 1] == f"Block 1, point pair, won of {len(plan.blocks[0].points)} points:"
    with Recorder(plan, tmp_path / "p.db") as log:
        assert log.sheet(typed.balls, typed.best, identity(plan, b"", ""), START, typed.in_order, typed.points)
    assert points(tmp_path / "p.db") == {"pair": PointTally(won=2, lost=1)}
    assert b"point pair: 2 of 3 points won" in render(read(tmp_path / "p.db"))


@pytest.mark.parametrize(
    ("typed", "why"),
    [
        ("3/2", "3 points won of 2 are impossible"), ("two", "is not a count: 5/8 means 5 points won of 8"),
        ("99/99", "99 points are more than twice"),
    ],
)  # fmt: skip
def test_an_impossible_count_of_points(typed: str, why: str) -> None:
    with pytest.raises(LogRefused, match=why):
        asked(with_points(), lambda question: typed if "point pair" in question else "", None, START)


def test_a_csv_of_balls_in_order_gives_the_points_and_one_of_counts_has_rows_for_them(tmp_path: Path) -> None:
    plan, csv = with_points(), b"block,verdict\n" + b"1,hit\n" * 3 + b"1,miss\n"
    typed = read_csv(csv, plan, START)
    with Recorder(plan, tmp_path / "p.db") as log:
        log.sheet(typed.balls, typed.best, identity(plan, csv, ""), START, typed.in_order, typed.points)
    assert points(tmp_path / "p.db") == {"pair": PointTally(won=1, lost=1)}
    typed = read_csv(b"block,hits,misses,point,won,lost\n1,3,1,,,\n1,,,pair,1,1\n", plan, START)
    assert len(typed.balls) == 4 and [(one.name, one.tally) for one in typed.points] == [("pair", PointTally(1, 1))]
    assert read_csv(b"block;point;won;lost\n1;pair;0;2\n", plan, START).points[0].tally == PointTally(0, 2)


@pytest.mark.parametrize(
    ("row", "why"),
    [
        ("1,par,1,1", 'line 2 of the CSV: block 1 has no point "par"; it has pair'),
        ("1,pair,,1", "line 2 of the CSV: .* is not a whole number for won"),
        ("1,,1,1", "line 2 of the CSV: .* is not a whole number for hits"),
        ("3,pair,1,1", 'line 2 of the CSV: block 3 has no point "pair"$'),
        ("1,pair,900,1", "are more than twice"),
    ],
)
def test_a_csv_with_an_impossible_count_of_points(row: str, why: str) -> None:
    with pytest.raises(LogRefused, match=why):
        read_csv(f"block,point,won,lost\n{row}\n".encode(), with_points(), START)


def test_merging_takes_the_count_that_knows_more_and_forgetting_takes_it_away(tmp_path: Path) -> None:
    one, other = tmp_path / "one.db", tmp_path / "other.db"
    for path, last in ((one, OPEN), (other, HIT)):
        with Recorder(with_points(), path) as log:
            log.begin("ab" * 16)
            for verdict in (HIT, last):
                log.ball(0, "steady", None, at(0), verdict)
    merge(one, other)
    assert points(one) == {"pair": PointTally(won=1)}
    merge(other, one)
    assert points(other) == {"pair": PointTally(won=1)}
    forget(one, None, None)
    with closing(open_to_read(one)) as database:
        assert database.execute("SELECT count(*) FROM points").fetchone() == (0,)


def test_each_player_of_several_has_a_sum(tmp_path: Path) -> None:
    plan = with_points()
    with Recorder(plan, tmp_path / "p.db") as log:
        log.ball(0, "steady", None, at(0), HIT)
        log.ball(0, "steady", None, at(1), OPEN)
        log.ball(2, "kicker", None, at(2), MISS)
    found = read(tmp_path / "p.db")
    assert found.told(plan.program)[-2:] == ["anna: 2 balls, 1 of 1 judged hit", "ben: 1 ball, 0 of 1 judged hit"]


def test_a_single_ball_beside_points_is_no_point(tmp_path: Path) -> None:
    plan = with_points()
    single = PointRecord(name="steady", shots=("steady",), serve_s=None, after_miss="goes on")
    first = plan.blocks[0].model_copy(update={"points": (single, *plan.blocks[0].points[:-1], single)})
    plan = plan.model_copy(update={"blocks": (first, *plan.blocks[1:])}).sealed()
    with Recorder(plan, tmp_path / "p.db") as log:
        for number in range(3):
            log.ball(0, "steady", None, at(number), HIT)
    assert points(tmp_path / "p.db") == {"pair": PointTally(won=1)}
    assert [point.name for unit in units(plan) for point in unit.points] == ["pair"]


def test_a_block_without_points_asks_for_none() -> None:
    assert not any(unit.points for unit in units(climbing()))


def test_a_practice_of_which_only_points_were_counted_can_be_shown(tmp_path: Path) -> None:
    plan, typed = with_points(), read_csv(b"block,point,won,lost\n1,pair,2,0\n", with_points(), START)
    with Recorder(plan, tmp_path / "p.db") as log:
        assert log.sheet(typed.balls, typed.best, identity(plan, b"", ""), START, typed.in_order, typed.points)
    found = read(tmp_path / "p.db")
    assert found.variations == [] and found.told(plan.program) == ["point pair: 2 of 2 points won"]
    assert b"2 of 2 points won" in render(found)


@pytest.mark.parametrize(
    ("won", "lost", "told"), [(2, 1, ["1 game to 2: 1 won"]), (0, 2, ["1 game to 2: 0 won"]), (1, 1, []), (3, 1, [])]
)
def test_a_game_counts_once_one_side_has_its_points(tmp_path: Path, won: int, lost: int, told: list[str]) -> None:
    """3 to 1 is no game to 2: a sheet counts the games of several rounds together. Another log takes it over."""
    plan = with_points()
    blocks = tuple(one.model_copy(update={"first_to": 2 if one.points else None}) for one in plan.blocks)
    plan = plan.model_copy(update={"blocks": blocks}).sealed()
    typed = read_csv(f"block,point,won,lost\n1,pair,{won},{lost}\n".encode(), with_points(), START)
    with Recorder(plan, tmp_path / "p.db") as log:
        log.sheet(typed.balls, typed.best, identity(plan, b"", ""), START, typed.in_order, typed.points)
    merge(tmp_path / "q.db", tmp_path / "p.db")
    for path in (tmp_path / "p.db", tmp_path / "q.db"):
        assert read(path).told(plan.program)[1:] == told
