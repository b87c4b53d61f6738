"""Write balls to the log: during a replay, or afterwards from a sheet that is typed in.

A replay needs three calls:

    with Recorder(plan, db) as log:
        rung = log.starting_rung(block)                               # of a ladder: where the last practice left it
        ball = log.ball(block, shot, rung, when, Verdict.NOT_JUDGED)  # as it is thrown; on return it is on the disk
        log.judge(ball, Verdict.HIT)                                  # when the key is pressed

or only `ball` for each ball, with its verdict. `begin` before them names the practice, so that an interrupted one can
go on. All raise LogRefused, one sentence, if the file cannot be written; everything that returned before is safe. A
practice without balls is not written.
"""

import hashlib
import secrets
import sqlite3
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from types import TracebackType
from typing import NamedTuple, Self

from ...compiler.model.plan import Block, GoalRecord, Plan
from ...compiler.model.score import end_of
from ...compiler.model.takers import takers_of_score
from ..outputs.sheet.words import score_ends
from . import LogRefused
from .goal_figures import rows as goal_rows
from .points import PointBall, PointTally, course, of_points
from .progress import Rules, Verdict, climb
from .schema import FIRST_FEED
from .scores import counted_with, score_of
from .store import DAMAGED, WAIT_S, default_path, must_have_room, open_to_write, told, transaction, utc

READY_MS = 2000
"""How long `ready` waits for another program; somebody is about to walk onto the court, so not long."""


def practice_of(run: str) -> str:
    """The log's identity for the practice of a run, from the run's word."""
    return hashlib.sha256(f"run {run}".encode()).hexdigest()[:32]


class LoggedBall(NamedTuple):
    block: int
    shot: str
    rung: int | None
    when: datetime
    verdict: Verdict
    place: int | None = None
    """How many of the block's balls come before it; None where only the order is known, or not even that."""


class LongestStreak(NamedTuple):
    """The most hits in a row in a lane, or among as many balls as its goal says, as a person gave it when the order of
    the balls was not kept."""

    block: int
    variation: str
    best: int


class PointCount(NamedTuple):
    """The points of one name in a block, as a person counted them."""

    block: int
    name: str
    tally: PointTally


class ScoreCount(NamedTuple):
    """What a score came to that begins in a block, as a person counted it."""

    block: int
    score: int
    who: str = ""
    """Whose, where each has their own."""


class Recorder:
    """One practice with one plan. `db` is the file; None is the user's own."""

    def __init__(self, plan: Plan, db: Path | None = None) -> None:
        self.path = db or default_path()
        self._plan = plan
        self._blocks = {block.index: block for block in plan.blocks if block.kind == "balls"}
        self._variations = {shot.id: shot.variation or "" for shot in plan.shots}
        self._uid = secrets.token_hex(16)
        self._practice: int | None = None
        self._lane_of: dict[int, int] = {}
        self._first_of: dict[int, int] = {}
        for number, launch in enumerate(plan.launches, start=1):
            self._first_of.setdefault(launch.block, number)
        self._database = open_to_write(self.path)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None) -> None:
        self.close()

    def close(self) -> None:
        self._database.close()

    def ready(self) -> None:
        """LogRefused if a ball could not be written now."""
        with told(self.path):
            must_have_room(self.path)
            self._database.execute(f"PRAGMA busy_timeout = {READY_MS}")
            try:
                with transaction(self._database):
                    pass
            finally:
                self._database.execute(f"PRAGMA busy_timeout = {round(WAIT_S * 1000)}")

    def begin(self, uid: str) -> None:
        """The next balls belong to the practice `uid` (32 hex digits) and follow those that the log has of it."""
        self._uid = uid
        with told(self.path):
            row = self._database.execute("SELECT id FROM practices WHERE uid = ?", (uid,)).fetchone()
            self._practice = row[0] if row else None
            self._lane_of = dict(
                self._database.execute("SELECT ball, lane FROM balls WHERE practice = ?", (self._practice,))
            )

    def has(self, ball: int) -> bool:
        """Whether the log has a ball of this number in this practice."""
        return ball in self._lane_of

    def ball(
        self, block: int, shot_id: str, rung: int | None, when: datetime, verdict: Verdict, number: int | None = None,
        keyed: bool = False,
    ) -> int:  # fmt: skip
        """Write one ball of a block of the plan; `rung`, from zero, only in a ladder; `number`, that of the plan's
        launch, None if each ball of the block is written, in order. Returns its number in this practice, from one: the
        next, or if `keyed` that of the launch, for balls that come in another order than they were played in.
        ValueError if the plan has no such ball."""
        place = None if number is None else number - self._first_of.get(block, number)
        ball = LoggedBall(block, shot_id, rung, when, verdict, place)
        self._must_be_planned(ball)
        with told(self.path), transaction(self._database):
            practice = self._practice or self._begin(self._uid, when, in_order=True)
            own = number if keyed and number is not None else max(self._lane_of, default=0) + 1
            lane = self._write(practice, own, ball)
            self._count_points(practice, block)
            self._count_score(practice, block)
        self._practice = practice
        self._lane_of[own] = lane
        return own

    def judge(self, ball: int, verdict: Verdict) -> None:
        """Change the verdict of a ball of this practice."""
        key = (self._practice, self._lane_of[ball], ball)
        with told(self.path), transaction(self._database):
            self._database.execute(
                "UPDATE balls SET verdict = ? WHERE practice = ? AND lane = ? AND ball = ?", (verdict.value, *key)
            )
            (block,) = self._database.execute("SELECT block FROM lanes WHERE id = ?", (self._lane_of[ball],)).fetchone()
            self._count_points(self._practice, block)
            self._count_score(self._practice, block)

    def sheet(
        self, balls: Sequence[LoggedBall], best: Sequence[LongestStreak], uid: str, when: datetime, in_order: bool,
        points: Sequence[PointCount] = (), scores: Sequence[ScoreCount] = (),
    ) -> bool:  # fmt: skip
        """Write a whole practice, all or nothing. Where the order of the balls is known they give the points and the
        scores; else `points` and `scores` do. False if the log already has the practice `uid`."""
        for ball in balls:
            self._must_be_planned(ball)
        with told(self.path), transaction(self._database):
            if self._database.execute("SELECT 1 FROM practices WHERE uid = ?", (uid,)).fetchone():
                return False
            practice = self._begin(uid, when, in_order)
            lanes = {}
            for number, ball in enumerate(balls, start=1):
                lanes[ball.block, self._lane_name(ball)] = self._write(practice, number, ball)
            self._database.executemany(
                "INSERT INTO longest_streaks (practice, lane, best) VALUES (?, ?, ?)",
                [(practice, lanes[b.block, b.variation], b.best) for b in best],
            )
            for block in {ball.block for ball in balls} if in_order else ():
                self._count_points(practice, block)
                self._count_score(practice, block)
            self._write_points(practice, points)
            for one in scores:
                self._write_score(practice, one)
        return True

    def starting_rung(self, block: int) -> int:
        """The rung on which a ladder of the plan begins: where it stood at the end of the last practice that had a
        ladder in the same quantity with the same feed of the same program, found by its label. Its own start
        where there was none, or where that label is no rung of this ladder."""
        ladder = self._blocks[block].ladder
        if ladder is None:
            raise ValueError(f"block {block} is no ladder")
        feed = next(shot.feed for shot in self._plan.shots if shot.id == ladder.shots[0])
        with told(self.path):
            try:
                label = last_label(self._database, self._plan.program, feed, ladder.quantity)
            except (ValueError, KeyError, TypeError) as error:  # rows that no Feedwright wrote
                raise LogRefused(f"cannot use the practice log {self.path}: {DAMAGED}") from error
        return ladder.labels.index(label) if label in ladder.labels else ladder.start

    def _must_be_planned(self, ball: LoggedBall) -> None:
        block = self._blocks.get(ball.block)
        if block is None or ball.shot not in block.shots:
            raise ValueError(f"the plan has no ball {ball.shot} in block {ball.block}")
        rung = block.ladder.at(ball.shot) if block.ladder else None
        if ball.rung != rung:
            raise ValueError(f"{ball.shot} is on rung {rung} of block {ball.block}, not on {ball.rung}")

    def _lane_name(self, ball: LoggedBall) -> str:
        return self._variations[ball.shot]

    def _begin(self, uid: str, when: datetime, in_order: bool) -> int:
        plan = self._plan
        self._database.execute(
            "INSERT INTO plans (digest, program, session, feeder) VALUES (?, ?, ?, ?) ON CONFLICT DO NOTHING",
            (plan.digest, plan.program[:400], plan.session[:400], plan.feeder.name[:400]),
        )
        (known,) = self._database.execute("SELECT id FROM plans WHERE digest = ?", (plan.digest,)).fetchone()
        self._database.executemany(
            "INSERT INTO goals (plan, number, block, hits, among, in_all, variation, points, planned, known, sheet, "
            "who, places, whole) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT DO NOTHING",
            [(known, *row) for row in goal_rows(plan)],
        )
        cursor = self._database.execute(
            "INSERT INTO practices (uid, plan, started, in_order) VALUES (?, ?, ?, ?)",
            (uid, known, utc(when), in_order),
        )
        assert cursor.lastrowid is not None
        return cursor.lastrowid

    def _write(self, practice: int, number: int, ball: LoggedBall) -> int:
        found = self._find(ball) or self._add_lane(practice, ball)
        lane, shot = found
        self._database.execute(
            "INSERT INTO balls (practice, lane, ball, shot, at, verdict, place) VALUES (?, ?, ?, ?, ?, ?, ?)",
            (practice, lane, number, shot, utc(ball.when), ball.verdict.value, ball.place),
        )
        return lane

    def _count_points(self, practice: int | None, block: int) -> None:
        """The points of a block as its balls give them now."""
        planned = self._blocks[block]
        if not planned.points:
            return
        rows = self._database.execute(
            "SELECT place, shots.shot, verdict FROM lanes JOIN balls ON balls.lane = lanes.id "
            "JOIN shots ON shots.id = balls.shot "
            "WHERE plan = (SELECT plan FROM practices WHERE id = ?1) AND block = ?2 AND practice = ?1 ORDER BY ball",
            (practice, block),
        )
        balls = [PointBall(n if at is None else at, shot, Verdict(mark)) for n, (at, shot, mark) in enumerate(rows)]
        tallies = of_points(self._plan, course(planned, balls).tallies)
        self._database.execute("DELETE FROM points WHERE practice = ? AND block = ?", (practice, block))
        self._write_points(practice, [PointCount(block, *one) for one in tallies.items()])

    def _write_points(self, practice: int | None, points: Sequence[PointCount]) -> None:
        self._database.executemany(
            "INSERT INTO points (practice, block, name, won, lost, open, first_to) VALUES (?, ?, ?, ?, ?, ?, ?)",
            [
                (practice, block, name, tally.won, tally.lost, tally.open, self._blocks[block].first_to)
                for block, name, tally in points
            ],
        )

    def _count_score(self, practice: int | None, block: int) -> None:
        """The score that counts a block, as the balls give it now."""
        score = self._blocks[block].score
        if not score or score.results:
            return
        mine, balls = counted_with(self._blocks, block), dict[int, list[PointBall]]()
        for of, at, shot, mark in self._database.execute(
            "SELECT block, place, shots.shot, verdict FROM balls JOIN lanes ON lanes.id = balls.lane "
            "JOIN shots ON shots.id = balls.shot WHERE practice = ? ORDER BY ball",
            (practice,),
        ):
            held = balls.setdefault(of, [])
            held.append(PointBall(len(held) if at is None else at, shot, Verdict(mark)))
        self._database.execute("DELETE FROM scores WHERE practice = ? AND block = ?", (practice, mine[0].index))
        for who, theirs in takers_of_score(self._plan, block).items():
            found = score_of(self._blocks, mine[-1].index, balls, who, theirs)
            if found and found.judged:
                self._write_score(practice, ScoreCount(mine[0].index, found.now, who), found.judged)

    def _write_score(self, practice: int | None, one: ScoreCount, judged: int = 0) -> None:
        from ..outputs.blocks import numbered

        rules = self._blocks[one.block].score
        assert rules
        ended, sheet = end_of(rules, one.score) is not None, numbered(self._plan.blocks)[one.block]
        self._database.execute(
            "INSERT INTO scores (practice, block, sheet, score, goal, ends, ended, judged, who) "
            "VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
            (practice, one.block, sheet, one.score, rules.goal, score_ends(rules), ended, judged, one.who),
        )

    def _find(self, ball: LoggedBall) -> tuple[int, int] | None:
        row: tuple[int, int] | None = self._database.execute(
            "SELECT lanes.id, shots.id FROM lanes JOIN shots ON shots.lane = lanes.id "
            "JOIN plans ON plans.id = lanes.plan "
            "WHERE plans.digest = ? AND lanes.block = ? AND lanes.variation = ? AND shots.shot = ?",
            (self._plan.digest, ball.block, self._lane_name(ball), ball.shot),
        ).fetchone()
        return row

    def _add_lane(self, practice: int, ball: LoggedBall) -> tuple[int, int]:
        """The lane of a ball with all its possible shots, or all lanes of a ladder; nothing else is added to a plan
        later."""
        block, names = self._blocks[ball.block], [self._lane_name(ball)]
        if block.ladder:
            names = list(dict.fromkeys(self._variations[shot] for shot in block.shots))
        for name in names:
            self._insert_lane(practice, block, name)
        found = self._find(ball)
        assert found is not None
        return found

    def _insert_lane(self, practice: int, block: Block, name: str) -> None:
        plan = self._plan
        goals = {variation.id: variation.goal for variation in plan.variations}
        ladder = block.ladder
        goal = _counted(goals.get(name))
        rules: tuple[str | int | None, ...] = (None, None, None, None, None, 0, None, None, 0)
        if ladder:
            down = ladder.down_misses, ladder.down_in
            sets = int(ladder.in_sets), ladder.most_sets, ladder.down_sets
            rules = ladder.quantity, *_counted(ladder.up), *down, *sets, int(ladder.ends)
        cursor = self._database.execute(
            "INSERT INTO lanes (plan, block, variation, goal, goal_in, planned, ladder, up, up_in, down, within, "
            "in_sets, most_sets, down_sets, ends) "
            "SELECT plan, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ? FROM practices WHERE id = ?",
            (block.index, name, *goal, self.planned(block, name), *rules, practice),
        )
        lane = cursor.lastrowid
        for shot in plan.shots:
            if shot.id in block.shots and (shot.variation or "") == name:
                rung = ladder.at(shot.id) if ladder else None
                label = ladder.labels[rung] if ladder and rung is not None else None
                self._database.execute(
                    "INSERT INTO shots (lane, shot, feed, rung, label, player) VALUES (?, ?, ?, ?, ?, ?)",
                    (lane, shot.id, shot.feed, rung, label, shot.player),
                )

    def planned(self, block: Block, variation: str) -> int:
        """The number of a variation's balls in a block of the plan; on a ladder all of them may be."""
        if block.ladder:
            return block.balls
        fed = (ball.first for ball in self._plan.launches if ball.block == block.index)
        return max(1, sum(self._variations[shot] == variation for shot in fed))


def _counted(goal: GoalRecord | None) -> tuple[int | None, int | None]:
    """The hits of a goal, and among how many balls, None for a row."""
    return (goal.hits, goal.window) if goal else (None, None)


def last_label(database: sqlite3.Connection, program: str, feed: str, quantity: str) -> str | None:
    """The label of the rung of such a ladder at the end of its last practice."""
    last = database.execute(
        "SELECT practices.id, practices.in_order, lanes.block, lanes.up, lanes.down, lanes.within, lanes.up_in, "
        "lanes.in_sets, lanes.most_sets, lanes.down_sets, lanes.ends FROM lanes JOIN plans ON plans.id = lanes.plan "
        "JOIN practices ON practices.plan = plans.id "
        "WHERE plans.program = ? AND lanes.ladder = ? "
        f"AND {FIRST_FEED} = ? "
        "AND EXISTS (SELECT 1 FROM balls JOIN lanes AS played ON played.id = balls.lane "
        "WHERE practice = practices.id AND played.block = lanes.block) "
        "ORDER BY practices.started DESC, practices.id DESC, lanes.block DESC LIMIT 1",
        (program, quantity, feed),
    ).fetchone()
    if last is None:
        return None
    practice, in_order, block, *rules = last
    here = "lanes.block = ? AND lanes.plan = (SELECT plan FROM practices WHERE id = ?)"
    labels: dict[int, str] = dict(
        database.execute(
            f"SELECT rung, label FROM shots JOIN lanes ON lanes.id = shots.lane WHERE {here}", (block, practice)
        )
    )
    balls = [
        (rung, Verdict(verdict))
        for rung, verdict in database.execute(
            "SELECT rung, verdict FROM balls JOIN shots ON shots.id = balls.shot JOIN lanes ON lanes.id = balls.lane "
            "WHERE practice = ? AND lanes.block = ? ORDER BY ball",
            (practice, block),
        )
    ]
    if not in_order:  # of a sheet without the order of its balls, the last one is on the rung where it ended
        return labels[balls[-1][0]]
    return labels[climb(Rules(len(labels), *rules), balls).rung]
