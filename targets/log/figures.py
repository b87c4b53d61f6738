"""The sums of the log: per variation, per ladder, per practice.

The balls of a lane come as one string of letters, `hhmhn`. SQLite reads the table once in the order of its key, and
splitting the string gives the longest streak, so a million balls take well under two seconds.
"""

import sqlite3
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime
from itertools import accumulate
from operator import sub
from typing import NamedTuple

from ...compiler.model.chance import Goal, chance_of_hits, needed_share
from ...compiler.printable import plural
from .goal_figures import GoalFigures, goal_figures
from .points import PointTally, told
from .progress import climbed
from .schema import FIRST_FEED
from .score_figures import ScoreFigures, score_figures


class Scope(NamedTuple):
    """Selects practices: of one program, since a moment (as stored); None selects all."""

    program: str | None = None
    since: str | None = None


@dataclass(slots=True)
class Count:
    """Counts of one variation or rung, in one practice or in all; `best` is None if the order is not known."""

    hits: int = 0
    misses: int = 0
    not_judged: int = 0
    best: int | None = None

    @property
    def judged(self) -> int:
        return self.hits + self.misses

    @property
    def share(self) -> float:
        return self.hits / self.judged if self.judged else 0.0

    def add(self, balls: str, best: int | None) -> None:
        self.hits += balls.count("h")
        self.misses += balls.count("m")
        self.not_judged += balls.count("n")
        if best is not None:
            self.best = max(self.best or 0, best)


@dataclass(slots=True)
class VariationFigures:
    """One variation of one program; `planned` is the largest number of its balls in one block."""

    program: str
    variation: str
    goal: Goal | None = None
    planned: int = 1
    total: Count = field(default_factory=Count)
    practices: dict[int, Count] = field(default_factory=dict)
    """By the practice's id, in order of time."""
    in_all: bool = False
    """Whether its goal counts all balls of a session; `planned` is then how many these are."""

    @property
    def name(self) -> str:
        return self.variation or "(no variation)"

    @property
    def needed(self) -> float | None:
        """The share of hits at which the goal is met in every second block; None without a goal or if too short."""
        return needed_share(self.goal, self.planned) if self.goal else None

    @property
    def chance(self) -> float | None:
        """The chance of the goal in one block at the share so far; None without a goal or a judged ball."""
        return chance_of_hits(*self.goal, self.planned, self.total.share) if self.goal and self.total.judged else None


@dataclass(slots=True)
class LadderFigures:
    """A ladder of one program: of one feed in one quantity, or of several feeds, the first of which it names."""

    program: str
    feed: str
    quantity: str
    up: Goal
    planned: int
    labels: tuple[str, ...]
    ends: dict[int, str] = field(default_factory=dict)
    """The label of the last rung played, by the practice's id, in order of time."""
    rungs: dict[str, Count] = field(default_factory=dict)
    """By label, of all practices."""
    in_sets: bool = False
    """Whether `up` counts each so many balls by themselves."""

    @property
    def name(self) -> str:
        return climbed(self.feed, self.quantity)


@dataclass(slots=True)
class PointFigures:
    """One point of one program."""

    program: str
    name: str
    total: PointTally = field(default_factory=PointTally)


@dataclass(slots=True)
class GameFigures:
    """The games of one program that ended at so many points."""

    program: str
    to: int
    won: int = 0
    played: int = 0


@dataclass(slots=True)
class PlayerFigures:
    """What one of several players got in one program."""

    program: str
    name: str
    total: Count = field(default_factory=Count)


class Practice(NamedTuple):
    id: int
    started: str
    program: str
    digest: str
    in_order: bool


@dataclass(frozen=True, slots=True)
class Figures:
    practices: dict[int, Practice]
    variations: list[VariationFigures]
    ladders: list[LadderFigures]
    points: list[PointFigures] = field(default_factory=list)
    players: list[PlayerFigures] = field(default_factory=list)
    games: list[GameFigures] = field(default_factory=list)
    goals: list[GoalFigures] = field(default_factory=list)
    scores: list[ScoreFigures] = field(default_factory=list)

    def told(self, program: str) -> list[str]:
        """A sentence for each goal of a block or a session, each score, each point, each kind of game and each player
        of a program."""
        said = [str(one) for one in self.goals if one.program == program]
        said += [str(one) for one in self.scores if one.program == program]
        said += [f"point {one.name}: {told(one.total)}" for one in self.points if one.program == program]
        said += [
            f"{plural(one.played, f'game to {one.to}', f'games to {one.to}')}: {one.won} won"
            for one in self.games
            if one.program == program
        ]
        for player in (one for one in self.players if one.program == program):
            count = player.total
            balls = plural(count.judged + count.not_judged, "ball")
            said.append(f"{player.name}: {balls}, {count.hits} of {count.judged} judged hit")
        return said


def figures(database: sqlite3.Connection, scope: Scope, latest: int | None = None) -> Figures:
    """Everything in the scope, or only its latest practices; `count_rungs` adds the counts of rungs."""
    practices = _practices(database, scope, latest)
    every = latest is None and scope == Scope()
    variations: dict[tuple[str, str], VariationFigures] = {}
    ladders: dict[tuple[str, str, str], LadderFigures] = {}
    lanes = {row[0]: row[1:] for row in database.execute(_LANES)}
    typed = {(p, lane): best for p, lane, best in database.execute("SELECT practice, lane, best FROM longest_streaks")}
    for practice, lane, balls in _in_time(database, practices, every):
        program, variation, hits, goal_in, planned, *ladder = lanes[lane]
        goal = Goal(hits, goal_in or hits) if hits else None
        one = variations.setdefault((program, variation), VariationFigures(program, variation))
        best = most(balls, goal_in) if practices[practice].in_order else typed.get((practice, lane))
        one.goal, one.planned = goal or one.goal, max(planned, one.planned)
        one.total.add(balls, best)
        one.practices.setdefault(practice, Count()).add(balls, best)
        if ladder[0] is not None:
            _climbed(database, ladders, program, ladder, planned, practice, lane)
    ordered = sorted(variations.values(), key=lambda one: (one.program, one.variation))
    for practice, name, hits, among, in_all, planned in database.execute(_BROAD):
        if practice in practices and (mine := variations.get((practices[practice].program, name))):
            mine.goal = Goal(hits, max(hits, planned) if in_all else among)
            mine.planned, mine.in_all = planned, bool(in_all)
    counted = _points(database, practices), _players(database, practices), _games(database, practices)
    goals = goal_figures(database, {one.id: (one.program, one.in_order) for one in practices.values()})
    scores = score_figures(database, {one.id: one.program for one in practices.values()})
    return Figures(practices, ordered, list(ladders.values()), *counted, goals, scores)


def _points(database: sqlite3.Connection, practices: dict[int, Practice]) -> list[PointFigures]:
    found: dict[tuple[str, str], PointFigures] = {}
    for practice, name, *counts in database.execute("SELECT practice, name, won, lost, open FROM points"):
        if practice in practices:
            program = practices[practice].program
            one = found.setdefault((program, name), PointFigures(program, name))
            one.total += PointTally(*counts)
    return sorted(found.values(), key=lambda one: (one.program, one.name))


def _games(database: sqlite3.Connection, practices: dict[int, Practice]) -> list[GameFigures]:
    """Of the blocks that play to a score those in which one side has it: no game that was broken off, and no rounds of
    games that a sheet counts together."""
    found: dict[tuple[str, int], GameFigures] = {}
    for practice, to, won, lost in database.execute(
        "SELECT practice, first_to, sum(won), sum(lost) FROM points WHERE first_to IS NOT NULL GROUP BY practice, block"
    ):
        if practice in practices and max(won, lost) == to and won != lost:
            program = practices[practice].program
            one = found.setdefault((program, to), GameFigures(program, to))
            one.won, one.played = one.won + (won > lost), one.played + 1
    return sorted(found.values(), key=lambda one: (one.program, one.to))


def _players(database: sqlite3.Connection, practices: dict[int, Practice]) -> list[PlayerFigures]:
    found: dict[tuple[str, str], PlayerFigures] = {}
    if not database.execute("SELECT 1 FROM shots WHERE player IS NOT NULL LIMIT 1").fetchone():
        return []  # without a look at every ball
    for practice, name, balls in database.execute(
        "SELECT practice, player, group_concat(verdict, '') FROM balls JOIN shots ON shots.id = balls.shot "
        "WHERE player IS NOT NULL GROUP BY practice, player"
    ):
        if practice in practices:
            program = practices[practice].program
            found.setdefault((program, name), PlayerFigures(program, name)).total.add(balls, None)
    return sorted(found.values(), key=lambda one: (one.program, one.name))


def most(balls: str, among: int | None = None) -> int:
    """The most hits in a row, or among so many judged balls; those that were not judged are skipped."""
    judged = balls.replace("n", "")
    if not among:
        return max(map(len, judged.split("m")))
    hits = list(accumulate(map("h".__eq__, judged), initial=0))
    return max(map(sub, hits[among:], hits), default=hits[-1])


_BROAD = """SELECT practices.id, variation, hits, among, in_all, max(planned) FROM goals JOIN practices USING (plan)
    WHERE variation IS NOT NULL GROUP BY practices.id, variation, hits, among, in_all ORDER BY started, practices.id"""
_LANES = f"""SELECT lanes.id, program, variation, goal, goal_in, planned, ladder, up, up_in, in_sets,
    CASE WHEN ladder IS NOT NULL THEN {FIRST_FEED} END FROM lanes JOIN plans ON plans.id = lanes.plan"""


def _practices(database: sqlite3.Connection, scope: Scope, latest: int | None) -> dict[int, Practice]:
    rows = database.execute(
        "SELECT practices.id, started, program, digest, in_order FROM practices JOIN plans ON plans.id = plan "
        "WHERE (?1 IS NULL OR program = ?1) AND (?2 IS NULL OR started >= ?2) "
        "ORDER BY started DESC, practices.id DESC LIMIT ?3",
        (scope.program, scope.since, -1 if latest is None else latest),
    )
    return {row[0]: Practice(*row) for row in reversed(rows.fetchall())}


def _in_time(
    database: sqlite3.Connection, practices: dict[int, Practice], every: bool
) -> Iterable[tuple[int, int, str]]:
    """Practice, lane and the balls of the lane as letters; practices in order of time."""
    columns = (
        "SELECT practice, lane, group_concat(verdict, '') FROM (SELECT * FROM balls {} ORDER BY practice, lane, ball)"
    )
    found: dict[int, list[tuple[int, int, str]]] = {}
    if every:
        for row in database.execute(columns.format("") + " GROUP BY practice, lane"):
            found.setdefault(row[0], []).append(row)
    for practice in practices:
        if every:
            yield from found.get(practice, ())
        else:
            yield from database.execute(columns.format("WHERE practice = ?") + " GROUP BY practice, lane", (practice,))


def _climbed(
    database: sqlite3.Connection, ladders: dict[tuple[str, str, str], LadderFigures], program: str,
    ladder: list[object], planned: int, practice: int, lane: int,
) -> None:  # fmt: skip
    quantity, hits, feed, in_sets = str(ladder[0]), int(str(ladder[1])), str(ladder[4]), bool(ladder[3])
    up = Goal(hits, int(str(ladder[2] or hits)))
    here = "SELECT other.id FROM lanes JOIN lanes AS other USING (plan, block) WHERE lanes.id = ?"
    rows = database.execute(f"SELECT DISTINCT rung, label FROM shots WHERE lane IN ({here}) ORDER BY rung", (lane,))
    labels = tuple(label for _, label in rows)
    known = ladders.setdefault((program, feed, quantity), LadderFigures(program, feed, quantity, up, planned, labels))
    known.up, known.planned, known.labels, known.in_sets = up, planned, labels, in_sets
    (known.ends[practice],) = database.execute(
        "SELECT label FROM balls JOIN shots ON shots.id = balls.shot WHERE practice = ? AND balls.lane IN "
        f"({here}) ORDER BY ball DESC LIMIT 1",
        (practice, lane),
    ).fetchone()


def count_rungs(database: sqlite3.Connection, found: Figures) -> None:
    """Fill in the counts of every ladder's rungs, over the practices of the figures."""
    for ladder in found.ladders:
        for practice in ladder.ends:
            for label, balls in database.execute(
                "SELECT label, group_concat(verdict, '') FROM balls JOIN shots ON shots.id = balls.shot "
                "WHERE practice = ? AND balls.lane IN "
                f"(SELECT lanes.id FROM lanes WHERE ladder = ? AND {FIRST_FEED} = ?) GROUP BY label",
                (practice, ladder.quantity, ladder.feed),
            ):
                ladder.rungs.setdefault(label, Count()).add(balls, None)


def local(moment: str) -> str:
    """A stored moment in this machine's time zone, to the minute."""
    return datetime.fromisoformat(moment).astimezone().strftime("%Y-%m-%d %H:%M")
