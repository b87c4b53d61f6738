"""Shots, Schedule and Judgement -> findings: a list of plain functions, each one question."""

from collections.abc import Callable
from dataclasses import replace

from ..model.judgement import Judgement
from ..model.program import Feed, Program
from ..model.schedule import Schedule
from ..model.shots import Miss, Shot, Shots
from ..remedy import remedies
from ..report.codes import CODES
from ..report.finding import Finding, Severity
from ..source import Span
from .answers import corridor, reaction, reply, running, spread
from .ball import check_ball, fixing_line, place
from .device import changes, hopper, line, rhythm
from .practice import alike, length, unused

__all__ = ["check"]

Question = Callable[[Program, Shots, Schedule | None, Judgement], list[Finding]]
EACH: tuple[Question, ...] = (rhythm, line, spread, reply, reaction, corridor)
# What counts the whole practice stays silent while a part of it could not be read.
WHOLE: tuple[Question, ...] = (changes, hopper, running, length, alike, unused)


def check(program: Program, shots: Shots, schedule: Schedule | None, judgement: Judgement) -> list[Finding]:
    """Everything that speaks against launching these balls, in no order."""
    found = _balls(program, shots)
    # A ball that does not pass is not judged on top of that.
    passing = {name for name in shots.shots if _passes(program, program.feeds[name], shots.shots[name])}
    judgement = Judgement(
        {name: one for name, one in judgement.scatterings.items() if name in passing},
        {name: one for name, one in judgement.windows.items() if name in passing},
    )
    for question in EACH + (WHOLE if program.whole else ()):
        found += question(program, shots, schedule, judgement)
    return _one_a_family(found)


def _balls(program: Program, shots: Shots) -> list[Finding]:
    """Feeds for which no launch was found or whose ball does not pass, each with the nearest that would."""
    found: dict[str, list[Finding]] = {
        name: check_ball(program, program.feeds[name], s) for name, s in shots.shots.items()
    }
    for name, miss in shots.misses.items():
        found[name] = [Finding(miss.code, _fault(program.feeds[name], miss), {"name": name, **miss.facts})]
    failed = [name for name, told in found.items() if any(CODES[f.code].severity is Severity.ERROR for f in told)]
    mended = remedies(program, failed, shots.misses, _passes)
    return [
        replace(f, remedies=mended.get(name, ())) if CODES[f.code].severity is Severity.ERROR else f
        for name, told in found.items()
        for f in told
    ]


def _fault(feed: Feed, miss: Miss) -> Span:
    """The line that asks for what cannot be."""
    if miss.code == "not-met":
        return place(feed, "stance")
    if miss.code == "behind-the-feeder":
        return place(feed, "depth", "into")
    lines = {"topspin": ("spin",), "backspin": ("spin",), "sidespin": ("spin",), "azimuth": ("side", "into")}
    asked = lines.get(miss.facts.get("what", ""))
    return place(feed, *asked) if asked else fixing_line(feed)


def _passes(program: Program, feed: Feed, shot: Shot) -> bool:
    return all(f.code == "over-the-head" for f in check_ball(program, feed, shot))


def _one_a_family(findings: list[Finding]) -> list[Finding]:
    """What several balls of one family have in common is told once, with how many more it holds for, and with the
    remedies that mend them all."""
    groups: dict[tuple[str, int], list[Finding]] = {}
    for finding in findings:
        groups.setdefault((finding.code, finding.span.start), []).append(finding)
    return [
        replace(
            first,
            facts={**first.facts, "more": str(len(more))},
            remedies=tuple(r for r in first.remedies if all(r in other.remedies for other in more)),
        )
        if more
        else first
        for first, *more in groups.values()
    ]
