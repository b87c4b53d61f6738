"""Goals beyond one variation in one block, as the log keeps them: in which practices each was reached."""

import sqlite3
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import accumulate
from typing import NamedTuple

from ...compiler.model.plan import BroadGoalRecord, Plan
from ...compiler.model.takers import Places, called, takers_of
from ...compiler.printable import plural
from ...grammar.units import hits_of
from ..outputs.blocks import grouped, numbered
from .progress import Tally, Verdict


class LoggedGoal(NamedTuple):
    """A row of the log for each block that it counts."""

    number: int
    """Which goal of its plan it is."""
    block: int
    hits: int
    among: int | None
    in_all: int
    variation: str | None
    points: int
    """Whether it counts points."""
    planned: int
    """How many balls or points there are in all its blocks."""
    known: int
    """Whether the counts of a sheet tell if it is reached; else only the order of the balls does."""
    sheet: int
    """The number of its first block on the sheet."""
    who: str = ""
    """Whose count it is, where each has their own: a name, or the place in the line."""
    places: str = ""
    """Of a player in line which balls of the block count, from zero, such as `0-5 24-29`."""
    whole: int = 0
    """Whether it stands under the session."""


def rows(plan: Plan) -> list[LoggedGoal]:
    found: list[LoggedGoal] = []
    on_sheet, blocks = numbered(plan.blocks), {block.index: block for block in plan.blocks}
    counts = [(goal, who, theirs) for goal in plan.goals for who, theirs in takers_of(plan, goal).items()]
    for number, (goal, who, theirs) in enumerate(counts):
        mine = [blocks[index] for index in goal.blocks]
        points = goal.variation is None and any(block.points for block in mine)
        planned = _planned(plan, goal, theirs)
        among = goal.among or planned
        whole = goal.in_all or (goal.hits < among and among >= planned)
        # The counts of a sheet are those of all who play.
        known = whole and not who and _together(plan, goal)
        said = goal.hits, goal.among, goal.in_all, goal.variation, points, planned, known, on_sheet[goal.blocks[0]]
        for block in goal.blocks:
            places = [place for index, place in theirs or () if index == block] if who.isdecimal() else []
            found.append(LoggedGoal(number, block, *said, who, _runs(places), goal.whole))
    return found


def _planned(plan: Plan, goal: BroadGoalRecord, theirs: Places | None) -> int:
    """How many balls or points there are, of one player if `theirs` says which balls these are."""
    aims, found = {shot.id: shot.variation for shot in plan.shots}, 0
    fed = {index: [ball.first for ball in plan.launches if ball.block == index] for index in goal.blocks}
    for index, names in fed.items():
        units = {at for at, name in enumerate(names) if goal.variation in (None, aims[name])}
        if goal.variation is None and (points := plan.blocks[index].points):
            units = set(accumulate((len(point.shots) for point in points[:-1]), initial=0))
        found += sum(theirs is None or (index, at) in theirs for at in units)
    return found


def _runs(places: Iterable[int]) -> str:
    """Each run of numbers by its first and its last."""
    runs: list[list[int]] = []
    for place in sorted(places):
        if runs and runs[-1][1] == place - 1:
            runs[-1][1] = place
        else:
            runs.append([place, place])
    return " ".join(f"{first}-{last}" for first, last in runs)


def _together(plan: Plan, goal: BroadGoalRecord) -> bool:
    """Whether a sheet counts just what the goal counts: it counts rounds together, and of points only those with a
    rule, no single balls beside them."""
    mine, singles = set(goal.blocks), {shot.feed for shot in plan.shots}
    if goal.variation is not None:
        return True
    groups = [{block.index for block in group if block.kind == "balls"} for group in grouped(plan.blocks)]
    kinds = {bool(plan.blocks[index].points) for index in mine}
    named = {point.name for index in mine for point in plan.blocks[index].points}
    return len(kinds) == 1 and not named & singles and all(not group & mine or group <= mine for group in groups)


@dataclass(slots=True)
class GoalFigures:
    """One goal of one program, over the practices of which it is known whether it was reached."""

    program: str
    name: str
    reached: int = 0
    practices: int = 0
    best: int = 0

    def __str__(self) -> str:
        """`go, goal 35 of 50 in all: reached in 1 of 3 practices, 36 at best`."""
        return f"{self.name}: {self.course}"

    @property
    def course(self) -> str:
        return f"reached in {self.reached} of {plural(self.practices, 'practice')}, {self.best} at best"


def goal_figures(database: sqlite3.Connection, programs: Mapping[int, tuple[str, bool]]) -> list[GoalFigures]:
    """`programs`: of each practice its program, and whether the order of its balls is known."""
    goals: dict[int, dict[int, list[LoggedGoal]]] = defaultdict(lambda: defaultdict(list))
    for practice, *row in database.execute(_GOALS):
        if practice in programs:
            logged = LoggedGoal(*row)
            goals[practice][logged.number].append(logged)
    if not goals:
        return []
    marks, won = _marks(database, goals), _won(database, goals)
    found: dict[tuple[str, str], GoalFigures] = {}
    for practice, mine in goals.items():
        program, in_order = programs[practice]
        for rows_ in mine.values():
            first, blocks = rows_[0], {row.block for row in rows_}
            if first.points:
                best, judged = _sum([won[practice, block] for block in blocks]) if first.known else (0, 0)
            elif in_order or first.known:
                best, judged = _best(rows_, marks[practice])
            else:
                best, judged = 0, 0
            if judged:
                where = first.variation or ("The whole session" if first.whole else f"Block {first.sheet}")
                asked = hits_of(first.hits, first.among, in_all=bool(first.in_all), each=bool(first.who))
                name = f"{where}, goal {asked}{f', {called(first.who)}' if first.who else ''}"
                one = found.setdefault((program, name), GoalFigures(program, name))
                one.reached, one.practices = one.reached + (best >= first.hits), one.practices + 1
                one.best = max(one.best, best)
    return sorted(found.values(), key=lambda one: (one.program, one.name))


_GOALS = (
    "SELECT practices.id, number, block, hits, among, in_all, variation, points, planned, known, sheet, who, places, "
    "whole FROM goals JOIN practices USING (plan) ORDER BY started, practices.id, number, block"
)


class _Mark(NamedTuple):
    block: int
    place: int | None
    """How many balls of the block come before it, where that is known."""
    variation: str
    player: str | None
    verdict: Verdict


def _marks(database: sqlite3.Connection, goals: Mapping[int, Mapping[int, list[LoggedGoal]]]) -> dict[int, list[_Mark]]:
    """Of each practice with goals its balls in their order. Where places were not kept, they are those of a block of
    which every ball is there."""
    found: dict[int, list[_Mark]] = {practice: [] for practice in goals}
    came: dict[tuple[int, int], list[int]] = defaultdict(list)
    for practice, *said, verdict in database.execute(
        "SELECT practice, block, place, variation, player, verdict FROM balls JOIN lanes ON lanes.id = balls.lane "
        "JOIN shots ON shots.id = balls.shot WHERE lanes.plan IN (SELECT plan FROM goals) ORDER BY practice, ball"
    ):
        if practice in found:
            block, place, variation, player = said
            if place is None:
                came[practice, block].append(len(found[practice]))
            found[practice].append(_Mark(block, place, variation, player, Verdict(verdict)))
    for (practice, block), marks in came.items():
        rows_ = [row for mine in goals[practice].values() for row in mine if row.block == block]
        if len(marks) == 1 + max((place for row in rows_ for place in _places(row.places)), default=-1):
            for place, at in enumerate(marks):
                found[practice][at] = found[practice][at]._replace(place=place)
    return found


def _won(database: sqlite3.Connection, practices: Iterable[int]) -> dict[tuple[int, int], tuple[int, int]]:
    """Of each practice and block the points won, and those won or lost."""
    found: dict[tuple[int, int], tuple[int, int]] = defaultdict(lambda: (0, 0))
    wanted = set(practices)
    for practice, block, won, over in database.execute(
        "SELECT practice, block, sum(won), sum(won) + sum(lost) FROM points GROUP BY practice, block"
    ):
        if practice in wanted:
            found[practice, block] = won, over
    return found


def _sum(counts: Iterable[tuple[int, int]]) -> tuple[int, int]:
    won, over = zip(*counts, strict=True)
    return sum(won), sum(over)


def _best(goals: Iterable[LoggedGoal], marks: Iterable[_Mark]) -> tuple[int, int]:
    """The hits of all, in a row or among so many balls, and how many balls were judged; `goals`: the rows of one."""
    rows_ = {row.block: row for row in goals}
    goal = next(iter(rows_.values()))
    whole = goal.in_all or goal.known
    found = Tally(None if whole or goal.hits == goal.among else goal.among)
    theirs = {(block, place) for block, row in rows_.items() for place in _places(row.places)}
    for mark in marks:
        mine = not goal.who or mark.player == goal.who or (mark.block, mark.place) in theirs
        if mark.block in rows_ and goal.variation in (None, mark.variation) and mine:
            found = found.after(mark.verdict)
    return (found.hits if whole else found.best), found.hits + found.misses


def _places(runs: str) -> Iterator[int]:
    for first, last in (map(int, run.split("-")) for run in runs.split()):
        yield from range(first, last + 1)
