"""Scores as the log keeps them: what practices ended with, and how often that was what it should be."""

import sqlite3
from collections.abc import Mapping
from dataclasses import dataclass, field

from ...compiler.model.takers import called
from ...compiler.printable import plural

LAST = 5
"""So many of the latest practices are named. Own choice."""


@dataclass(slots=True)
class ScoreFigures:
    """One score of one program, over the practices that counted it."""

    program: str
    sheet: int
    """The number of its block on the sheet."""
    ends: str
    goal: int | None
    who: str
    """Whose it is, where each has their own."""
    scores: list[int] = field(default_factory=list)
    """In order of time."""
    ended: int = 0
    reached: int = 0

    def __str__(self) -> str:
        """`Block 2, score 0, 3, 4 in 3 practices; until 0 reached in 1, goal 1 or more in 2`."""
        last, of = ", ".join(map(str, self.scores[-LAST:])), plural(len(self.scores), "practice")
        dots = "... " if len(self.scores) > LAST else ""
        told = [f"until {self.ends} reached in {self.ended}"] if self.ends else []
        goal = f"goal {self.goal} or more {'reached ' * (not told)}in {self.reached}"
        told += [goal] if self.goal is not None else []
        whose = f", {called(self.who)}" if self.who else ""
        return f"Block {self.sheet}{whose}, score {dots}{last} in {of}" + (f"; {', '.join(told)}" if told else "")


def score_figures(database: sqlite3.Connection, programs: Mapping[int, str]) -> list[ScoreFigures]:
    """`programs`: of each practice its program."""
    found: dict[tuple[str, int, str, int | None, str], ScoreFigures] = {}
    for practice, sheet, score, goal, ends, ended, who in database.execute(
        "SELECT practice, sheet, score, goal, ends, ended, who FROM scores JOIN practices ON practices.id = practice "
        "ORDER BY started, practice, block, who"
    ):
        if practice in programs:
            key = programs[practice], sheet, ends, goal, who
            one = found.setdefault(key, ScoreFigures(*key))
            one.scores.append(score)
            one.ended, one.reached = one.ended + ended, one.reached + (goal is not None and score >= goal)
    return sorted(found.values(), key=lambda one: (one.program, one.sheet, one.ends, one.who))
