"""Goals and ladders: the one state machine that counts hits and steps a ladder.

Pure: the same functions step a ladder during play and compute it again from the log.
A ball that was not judged changes nothing: it does not add to a streak or end it, and it is not one of the last judged
balls. A step restarts the count: hits and misses on another rung do not count. In sets such a ball is one of its set,
because whoever feeds counts balls.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from enum import Enum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from ...compiler.model.plan import GoalRecord, Ladder


class Verdict(Enum):
    """The verdict on a ball; the value is the letter stored in the log."""

    HIT = "h"
    MISS = "m"
    NOT_JUDGED = "n"


def climbed(feed: str, quantity: str) -> str:
    """What a ladder is of: `steady in pace`, or of rungs that are feeds the first and the rest."""
    return " in ".join((feed, quantity)) if quantity else f"{feed} and the feeds after it"


@dataclass(frozen=True, slots=True)
class Rules:
    """One rung up after `up` hits among the last `up_in` judged balls on the rung, or in a row if that is None; one
    down after `down` misses among the last `within`, None if the ladder only goes up. In sets of `up_in` balls, or of
    `up`, the last ball of each decides, and the count begins afresh. Rungs count from zero, the easiest first."""

    rungs: int
    up: int
    down: int | None = None
    within: int | None = None
    up_in: int | None = None
    in_sets: bool = False
    most_sets: int | None = None
    """After so many sets on a rung one rung up, whatever they were."""
    down_sets: int | None = None
    """After so many sets on a rung, of which none led up, one rung down."""
    ends: bool = False
    """Whether it is over once the last rung is won."""

    def __post_init__(self) -> None:
        falls = self.down is not None and self.within is not None
        if (
            self.rungs < 1
            or not 1 <= self.up <= (self.up_in or self.up)
            or (self.down is None) != (self.within is None)
        ):
            raise ValueError(f"no ladder has these rules: {self}")
        if falls and not 1 <= self.down <= self.within:  # type: ignore[operator]
            raise ValueError(f"{self.down} misses are never among {self.within} balls")

    @classmethod
    def of(cls, ladder: Ladder) -> Rules:
        rungs, up, down = len(ladder.rungs), ladder.up, (ladder.down_misses, ladder.down_in)
        sets = ladder.most_sets, ladder.down_sets
        return cls(rungs, up.hits, *down, up.among, ladder.in_sets, *sets, ends=ladder.ends)

    def begins_set(self, standing: Standing) -> bool:
        """Whether the next ball is the first of a set."""
        return self.in_sets and not standing.recent


@dataclass(frozen=True, slots=True)
class Standing:
    """A ladder's standing: the rung of the next ball, and the last judged balls on it."""

    rung: int = 0
    recent: tuple[Verdict, ...] = ()
    sets: int = 0
    """How many sets it has played on this rung since it came there, where that is counted."""
    won: bool = False
    """Whether the last rung is won, which ends the ladder: no later ball counts."""


def step(rules: Rules, standing: Standing, verdict: Verdict, rung: int | None = None) -> Standing:
    """The standing after one more verdict: the same rung, or a neighbour. `rung` is the rung that the ball was played
    on; if it is not `standing.rung`, the ball was on its way when the ladder stepped and does not count."""
    if not 0 <= standing.rung < rules.rungs:
        raise ValueError(f"rung {standing.rung} is not on a ladder of {rules.rungs}")
    elsewhere = rung is not None and rung != standing.rung
    if standing.won or elsewhere or (verdict is Verdict.NOT_JUDGED and not rules.in_sets):
        return standing
    if rules.in_sets:
        return _in_set(rules, standing, (*standing.recent, verdict))
    up_in, within = rules.up_in or rules.up, rules.within or 0
    recent = (*standing.recent, verdict)[-max(up_in, within) :]
    rises = verdict is Verdict.HIT and recent[-up_in:].count(Verdict.HIT) >= rules.up
    if rises and standing.rung + 1 < rules.rungs:
        return Standing(standing.rung + 1)
    if rises and rules.ends:
        return Standing(standing.rung, won=True)
    falls = rules.down is not None and recent[-within:].count(Verdict.MISS) >= rules.down
    # A hit never brings a ladder down; on the lowest rung the misses stay in sight without any effect.
    if falls and verdict is Verdict.MISS and standing.rung > 0:
        return Standing(standing.rung - 1)
    return Standing(standing.rung, recent)


def _in_set(rules: Rules, before: Standing, balls: tuple[Verdict, ...]) -> Standing:
    """The standing after these balls of a set. Enough hits go before enough misses, and these before so many sets.
    Only hits win the last rung."""
    rung, sets = before.rung, before.sets
    if len(balls) < (rules.up_in or rules.up):
        return Standing(rung, balls, sets)
    good, last = balls.count(Verdict.HIT) >= rules.up, rung + 1 == rules.rungs
    falls = rules.down is not None and balls.count(Verdict.MISS) >= rules.down
    falls = falls or (rules.down_sets is not None and sets + 1 >= rules.down_sets)
    enough = rules.most_sets is not None and sets + 1 >= rules.most_sets
    rises = good or (enough and not (falls and rung))
    if rises and not last:
        return Standing(rung + 1)
    if good and rules.ends:
        return Standing(rung, won=True)
    if falls and not rises and rung:
        return Standing(rung - 1)
    counted = (rules.most_sets, rules.down_sets) != (None, None) and not (good and rules.down_sets)
    return Standing(rung, (), sets + 1 if counted else 0)


def climb(rules: Rules, balls: Iterable[tuple[int, Verdict]]) -> Standing:
    """A ladder's standing after these balls, each with its own rung. It starts on the first ball's rung."""
    standing: Standing | None = None
    for rung, verdict in balls:
        standing = step(rules, standing or Standing(rung), verdict, rung)
    return standing or Standing()


@dataclass(frozen=True, slots=True)
class Tally:
    """The count of one goal within a block: hits in a row, or among the last `among` judged balls. Balls of other goals
    do not end a streak."""

    among: int | None = None
    hits: int = 0
    misses: int = 0
    not_judged: int = 0
    now: int = 0
    """The streak up to the last ball, or the hits among the last ones."""
    best: int = 0
    recent: tuple[Verdict, ...] = ()
    """The last `among` judged balls."""

    @classmethod
    def of(cls, goal: GoalRecord | None) -> Tally:
        return cls(goal.window if goal else None)

    def after(self, verdict: Verdict) -> Tally:
        if verdict is Verdict.NOT_JUDGED:
            return replace(self, not_judged=self.not_judged + 1)
        hit = verdict is Verdict.HIT
        recent = (*self.recent, verdict)[-self.among :] if self.among else ()
        now = recent.count(Verdict.HIT) if self.among else (self.now + 1) * hit
        return replace(
            self, hits=self.hits + hit, misses=self.misses + (not hit), now=now, best=max(self.best, now), recent=recent
        )

    def met(self, goal: int) -> bool:
        return self.best >= goal


def tally(verdicts: Iterable[Verdict], goal: GoalRecord | None = None) -> Tally:
    found = Tally.of(goal)
    for verdict in verdicts:
        found = found.after(verdict)
    return found
