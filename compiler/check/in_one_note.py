"""One note in place of warnings that no change mends: what a person who feeds scatters, and how lobs come down."""

from collections.abc import Iterable
from typing import TypeVar

from ...grammar.finding import Finding, Severity
from ...grammar.frozen import replace
from ..findings.nearest import STAYS, Nearest
from ..findings.scatter import HeightVaries, OrdinaryDepth, OrdinaryHeight, ZoneSmall
from ..model.player import YOUNGEST_ADULT_STATURE
from ..model.program import Program

N = TypeVar("N", OrdinaryHeight, OrdinaryDepth)


def in_one_note(program: Program, findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """The findings, with a note in place of warnings of balls that scatter, if no change mends them and a person feeds
    or it is a lob. It stays a warning that balls come as high as the eyes of a child."""
    return told_once(_milder(program, finding) for finding in findings)


def _milder(program: Program, finding: Finding) -> Finding:
    message, person = finding.message, program.feeder.kind == "person"
    mends = any(not any(one.after == STAYS for one in edit.cost) for edit in finding.remedies)
    if mends or finding.severity is not Severity.WARNING:
        return finding
    resort = finding.resort if isinstance(finding.resort, Nearest) and finding.resort.found else None
    if isinstance(message, ZoneSmall) and person:
        return replace(finding, message=_note(OrdinaryDepth, message), more=0, remedies=(), resort=resort)
    if isinstance(message, HeightVaries) and (person or message.high):
        players = [program.seen_by(program.feeds[ball].player).player for ball in finding.about]
        child = min(player.stature_on(program.court.name) for player in players) < YOUNGEST_ADULT_STATURE
        if not (child and any(one.at_eyes for one in (message, *message.others))):
            return replace(finding, message=_note(OrdinaryHeight, message), more=0, remedies=(), resort=resort)
        return replace(finding, remedies=())
    return finding


def _note(kind: type[N], message: HeightVaries | ZoneSmall) -> N:
    """The same as a note, of each of its balls."""
    return replace(kind(*message.values()), others=tuple(kind(*one.values()) for one in message.others))


def told_once(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """The findings, with one such note of each kind about all its balls."""
    found = list[Finding]()
    for finding in findings:
        message, same = finding.message, -1
        for i, one in enumerate(found):
            same = i if type(one.message) is type(message) else same
        if same < 0 or not isinstance(message, OrdinaryHeight | OrdinaryDepth):
            found.append(finding)
        else:
            found[same] = _with(found[same], finding, message)
    return tuple(found)


def _with(one: Finding, other: Finding, message: HeightVaries | ZoneSmall) -> Finding:
    """A note that is also about the balls of another."""
    assert isinstance(one.message, HeightVaries | ZoneSmall)
    others = (*one.message.others, replace(message, others=()), *message.others)
    told = replace(one.message, others=others)
    return replace(one, message=told, balls=(*one.balls, *other.about), labels={**one.labels, **other.labels})
