"""What a script came to, with all that the stages made of it."""

from collections.abc import Mapping
from typing import TYPE_CHECKING

from ...grammar.finding import Finding
from ...grammar.frozen import Frozen
from ...grammar.source import Source
from .evaluation import Evaluation
from .program import Program
from .schedule import ScheduleTotals
from .shots import Shots

if TYPE_CHECKING:
    from .plan import Plan


class EarlyEnd(Frozen):
    """A block that marks may end before its last ball."""

    words: str
    """The line of the script."""
    balls: int
    """The most balls."""
    chance: float | None
    """That it ends before its last ball or with it; None of a game, and where no reply is asked for."""
    ends: tuple[tuple[int, float], ...] = ()
    """Of a score each of its ends, with how likely it is."""


class GoalAhead(Frozen):
    """A goal beyond one variation in one block."""

    words: str
    """What it is of, and its line of the script."""
    balls: int
    """How many balls, or points, there are to count."""
    chance: float | None
    """That it is reached; None where that depends on marks, or where no reply is asked for."""


class Compiled(Frozen):
    """What a script came to. `plan` is None while an error stands, or where none was wanted."""

    source: Source
    program: Program | None
    shots: Shots | None
    evaluation: Evaluation | None
    totals: ScheduleTotals | None
    plan: "Plan | None"
    findings: tuple[Finding, ...]
    early: tuple[EarlyEnd, ...] = ()
    goals: tuple[GoalAhead, ...] = ()
    accepted: tuple[Finding, ...] = ()
    """The warnings that the script accepts, where they would stand."""
    each: Mapping[str, int] = {}
    """How many of each ball come, but for those of ladders."""
