"""Shots and Schedule -> findings: a list of plain functions, each one question."""

from collections.abc import Callable

from ..model.program import Program
from ..model.schedule import Schedule
from ..model.shots import Shots
from ..remedy import remedies
from ..report.finding import Finding
from .ball import check_ball, fixing_line, place
from .device import changes, hopper, line, rhythm
from .practice import length, unused

__all__ = ["check"]

Question = Callable[[Program, Shots, Schedule | None], list[Finding]]
EACH: tuple[Question, ...] = (rhythm, line)
# What counts the whole practice stays silent while a part of it could not be read.
WHOLE: tuple[Question, ...] = (changes, hopper, length, unused)


def check(program: Program, shots: Shots, schedule: Schedule | None) -> list[Finding]:
    """Everything that speaks against launching these balls, in no order."""
    found = _misses(program, shots)
    for name, shot in shots.shots.items():
        found += check_ball(program, program.feeds[name], shot)
    for question in EACH + (WHOLE if program.whole else ()):
        found += question(program, shots, schedule)
    return found


def _misses(program: Program, shots: Shots) -> list[Finding]:
    """Feeds for which no launch was found, each with the nearest one that was."""
    if not shots.misses:
        return []
    mended = remedies(program, shots.misses, check_ball)
    found = []
    for name, miss in shots.misses.items():
        feed = program.feeds[name]
        spin = miss.facts.get("what") in ("topspin", "sidespin")
        span = place(feed, "spin") if spin else fixing_line(feed)
        facts = {"name": name, **miss.facts}
        found.append(Finding(miss.code, span, facts, remedies=mended.get(name, ())))
    return found
