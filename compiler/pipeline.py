"""The table of contents: one line a stage, each frozen data in, frozen data and findings out."""

from dataclasses import dataclass

from .model.feeder import Profiles
from .model.plan import Plan, Totals
from .model.program import Program
from .model.shots import Shots
from .report.codes import CODES
from .report.finding import Finding, Severity
from .report.render import ordered
from .source import Source, Span


@dataclass(frozen=True, slots=True)
class Compiled:
    """What a script came to. `plan` is None while an error stands."""

    source: Source
    program: Program | None
    shots: Shots | None
    totals: Totals | None
    plan: Plan | None
    findings: tuple[Finding, ...]


def compile_source(source: Source, profiles: Profiles) -> Compiled:
    """A script's text through every stage, with all findings of one run in order of place."""
    from .aim import aim
    from .assemble import assemble, totals
    from .check import check
    from .expand import expand
    from .pace import pace
    from .parse import parse
    from .resolve import resolve

    tree, findings = parse(source)
    program, slips = resolve(tree, profiles)
    findings += slips
    if program is None:
        return Compiled(source, None, None, None, None, tuple(ordered(findings)))
    if program.session is None and program.whole:
        findings.append(Finding("session-missing", Span(source, program.span.start, program.span.end)))
    sequence, slips = expand(program)
    findings += slips
    shots = aim(program, program.feeds)
    schedule = pace(sequence) if sequence else None
    findings = ordered(findings + check(program, shots, schedule))
    failed = any(CODES[finding.code].severity is Severity.ERROR for finding in findings)
    summed = totals(schedule) if schedule else None
    plan = assemble(program, shots, schedule) if schedule and not failed else None
    return Compiled(source, program, shots, summed, plan, tuple(findings))
