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
    told = _told(program, shots)
    failed = [name for name, findings in told.items() if any(_speaks_against(f) for f in findings)]
    mended = remedies(program, failed, shots.misses, _passes)
    found = [
        replace(f, remedies=mended.get(name, ())) if _speaks_against(f) else f
        for name, findings in told.items()
        for f in findings
    ]
    # A ball that fails is not judged on top of that.
    judgement = Judgement(
        {name: one for name, one in judgement.scatterings.items() if name not in failed},
        {name: one for name, one in judgement.windows.items() if name not in failed},
    )
    for question in EACH + (WHOLE if program.whole else ()):
        found += question(program, shots, schedule, judgement)
    return _one_a_family(found)


def _told(program: Program, shots: Shots) -> dict[str, list[Finding]]:
    """What there is to say of each ball by itself: why there is no launch, or what its launch does."""
    told = {name: check_ball(program, program.feeds[name], shot) for name, shot in shots.shots.items()}
    for name, miss in shots.misses.items():
        told[name] = [Finding(miss.code, _fault(program.feeds[name], miss), {"name": name, **miss.facts})]
    return told


def _speaks_against(finding: Finding) -> bool:
    return CODES[finding.code].severity is Severity.ERROR


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
    """Whether a ball may be proposed: nothing speaks against launching it."""
    return not any(_speaks_against(finding) for finding in check_ball(program, feed, shot))


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
