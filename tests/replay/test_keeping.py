"""A replay keeps its balls and verdicts in the practice log, and begins ladders where the last practice left them."""

import sqlite3
from pathlib import Path

from feedwright.targets.log.progress import Verdict
from feedwright.targets.log.record import Recorder
from feedwright.targets.replay.keeping import Kept, Log
from feedwright.targets.replay.places import Ladders, places, shelf

from ..log.plans import LADDER, climbing


class Paper:
    """A record that keeps what it is told."""

    def __init__(self) -> None:
        self.said: list[tuple[object, ...]] = []

    def begin(self, facts: dict[str, object]) -> None:
        self.said.append(("run",))

    def sent(self, ball: int, shot: str) -> None:
        self.said.append(("sent", ball, shot))

    def fate(self, ball: int, fate: str) -> None:
        self.said.append(("fate", ball, fate))

    def mark(self, ball: int, hit: bool | None) -> None:
        self.said.append(("mark", ball, hit))

    def close(self) -> None:
        self.said.append(("closed",))


def play(db: Path, verdicts: list[bool | None], lose: int = 0) -> list[str]:
    """Balls of the ladder, each gone and judged as said (None: not judged), the ball `lose` missed by the machine."""
    plan = climbing()
    log = Log(plan, Recorder(plan, db))
    held = shelf(plan, log.rungs())
    ladder = [place for place in places(plan) if place.block == LADDER]
    ladders, kept = Ladders(held), Kept(Paper(), log, places(plan))
    thrown = []
    for number, (place, hit) in enumerate(zip(ladder, verdicts, strict=False), start=1):
        shot = ladders.choose(place)
        kept.sent(place.number, shot)
        kept.fate(place.number, "missed" if number == lose else "gone")
        thrown.append(shot)
        if hit is not None:
            kept.mark(place.number, hit)
            ladders.mark(place, shot, Verdict.HIT if hit else Verdict.MISS)
    log.close()
    assert log.trouble == ""
    return thrown


def kept(db: Path) -> list[tuple[int, str]]:
    with sqlite3.connect(db) as database:
        return database.execute(
            "SELECT shots.rung, verdict FROM balls JOIN shots ON shots.id = balls.shot ORDER BY ball"
        ).fetchall()


def test_balls_and_verdicts_reach_the_log(tmp_path: Path) -> None:
    thrown = play(tmp_path / "log.sqlite", [True, False, None])
    rungs = list(climbing().blocks[LADDER].ladder.rungs)  # type: ignore[union-attr]
    assert kept(tmp_path / "log.sqlite") == [(rungs.index(shot), v) for shot, v in zip(thrown, "hmn", strict=True)]


def test_a_ball_that_was_never_thrown_is_not_in_the_log(tmp_path: Path) -> None:
    play(tmp_path / "log.sqlite", [True, None, True], lose=2)
    assert [verdict for _, verdict in kept(tmp_path / "log.sqlite")] == ["h", "h"]


def test_the_next_practice_begins_on_the_rung_last_held(tmp_path: Path) -> None:
    ladder = climbing().blocks[LADDER].ladder
    assert ladder
    first = play(tmp_path / "log.sqlite", [True] * ladder.up_in_a_row)
    assert set(first) == {ladder.rungs[0]}
    assert play(tmp_path / "log.sqlite", [None])[0] == ladder.rungs[1]


def test_a_log_that_cannot_be_written_does_not_stop_a_ball(tmp_path: Path) -> None:
    plan = climbing()
    log = Log(plan, Recorder(plan, tmp_path / "log.sqlite"))
    log.close()
    paper = Paper()
    record = Kept(paper, log, places(plan))
    number = next(place.number for place in places(plan) if place.block == LADDER)
    try:
        record.sent(number, plan.blocks[LADDER].shots[0])
        record.fate(number, "gone")
        record.mark(number, True)
    except sqlite3.ProgrammingError:
        raise AssertionError("the log held up a ball") from None
    assert paper.said[-1] == ("mark", number, True) and log.trouble
