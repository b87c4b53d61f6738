"""The table of contents: one line a stage, each frozen data in, frozen data and findings out."""

from collections.abc import Callable, Mapping

from ..grammar.finding import MESSAGES, Finding, Severity
from ..grammar.frozen import Frozen, replace
from ..grammar.source import Source, Span
from .include import Library
from .model.compiled import Compiled as Compiled
from .model.feeder import Profiles
from .model.program import Program
from .model.schedule import Sequence
from .progress import ESTIMATING, REPLYING, SAMPLING, SILENT, SOLVING, Progress
from .report.render import ordered

Settings = Mapping[str, tuple[str, str]]


class ReadSource(Frozen):
    """What the sentences of a script say, before any ball is worked out."""

    source: Source
    program: Program | None
    sequence: Sequence | None
    used: Mapping[str, Span]
    """The scripts that it uses, by name, with the place that uses each."""
    slips: tuple[Finding, ...]

    @property
    def findings(self) -> tuple[Finding, ...]:
        return _told([*self.slips], self.source, self.used, self.program.accepted if self.program else ())


def compile_source(
    source: Source,
    profiles: Profiles,
    library: Library | None = None,
    settings: Settings | None = None,
    sample: bool = False,
    plan: bool = True,
    progress: Progress = SILENT,
    remedies: bool = True,
    trials: Progress = SILENT,
) -> Compiled:
    """A script's text through every stage, with all findings of one run in order of place, and with remedies that were
    tried.

    `settings` are (number, unit) for amounts that the script gives a name, to be taken instead of its own. With
    `sample` the spread is flown, not estimated; without `plan` nothing is assembled after the checks. `progress` hears
    how far the balls have come, and `trials` the same of each remedy that is tried. Without `remedies` nothing is
    proposed.
    """
    read = read_source(source, profiles, library, settings)
    first = compile_read(read, sample, plan, progress, remedies)
    if not remedies or not first.findings:
        return first
    from .remedy_most import nearly
    from .trial import tried

    def again(changed: Source, used: Library | None) -> Compiled:
        return compile_read(read_source(changed, profiles, used, settings), sample, False, trials, False)

    return replace(first, findings=nearly(first, tried(first, library, again), trials))


def read_source(
    source: Source, profiles: Profiles, library: Library | None = None, settings: Settings | None = None
) -> ReadSource:
    """The stages that need no flight: parse, include, resolve, expand."""
    from ..grammar.messages import HeadMissing
    from ..grammar.parse import parse
    from .expand import expand
    from .findings.feeds import FeedsMissing
    from .findings.session import SessionMissing
    from .include import include
    from .resolve import resolve

    tree, findings = parse(source)
    used: Mapping[str, Span] = {}
    if library:
        tree, slips, used = include(tree, library)
        findings += slips
    program, slips = resolve(tree, profiles, settings or {})
    lost = any(isinstance(slip.message, HeadMissing) and "feed" in slip.message.homes for slip in findings)
    findings += [slip for slip in slips if not (lost and isinstance(slip.message, FeedsMissing))]
    if program is None:
        return ReadSource(source, None, None, used, tuple(findings))
    if program.session is None and program.whole:
        findings.append(Finding(SessionMissing(), Span(source, program.span.start, program.span.end)))
    sequence, slips = expand(program)
    return ReadSource(source, program, sequence, used, (*findings, *slips))


def compile_read(
    read: ReadSource,
    sample: bool = False,
    plan: bool = True,
    progress: Progress = SILENT,
    propose: bool = False,
    judged: Callable[[tuple[Finding, ...]], None] = lambda findings: None,
) -> Compiled:
    """The stages after that. What this process knows of balls of before is found again. With `propose` the findings
    have remedies that are not tried yet; without, only those that cost nothing. `judged` hears the findings before the
    plan is made."""
    from .broad_goals import broad_goals, goals_ahead
    from .check import bases, check
    from .check.practice import needless, unplayed
    from .early import early_ends
    from .evaluate import evaluate
    from .schedule import schedule
    from .solve import solve

    source, program, sequence, findings = read.source, read.program, read.sequence, list(read.slips)
    if program is None:
        return Compiled(source, None, None, None, None, None, read.findings)
    each = SOLVING + (SAMPLING if sample else ESTIMATING) + REPLYING
    progress.begin(len(program.feeds), each * len(program.feeds))
    shots = solve(program, program.feeds, progress=progress)
    if shots.feeds:
        program = replace(program, feeds={**program.feeds, **shots.feeds})
    scheduled, slips = schedule(program, sequence, shots) if sequence else (None, [])
    every, flown = program, shots
    if lost := bases(program, scheduled) & frozenset(shots.misses):
        # What others are like and no block plays stops nothing.
        program = program.without(lost)
        shots = replace(shots, misses={name: miss for name, miss in shots.misses.items() if name not in lost})
        scheduled, slips = schedule(program, sequence, shots) if sequence else (None, [])
    findings += slips
    evaluation = evaluate(program, shots, sample, progress)
    found = check(program, shots, scheduled, evaluation, propose)
    found += unplayed(every, [name for name in every.families if name not in program.families])
    found += needless(program, [*findings, *found])
    told = _told(findings + found, source, read.used, program.accepted)
    # Of a person some warnings are notes; the script accepts them all the same.
    warned = (f for f in findings + found if MESSAGES[f.code].severity is Severity.WARNING)
    accepted = tuple(f for f in warned if f.code in program.accepted)
    judged(told)
    failed = any(finding.severity is Severity.ERROR for finding in told)
    assembled = None
    if plan and scheduled and not failed:
        from .assemble import assemble
        from .evaluate import with_windows

        evaluation = with_windows(program, shots, evaluation)
        assembled = assemble(program, shots, scheduled, evaluation, accepted)
    # Of a script that could be read in part only, the total would be of another practice.
    summed = scheduled.totals() if scheduled and program.whole else None
    early = early_ends(program, scheduled, evaluation) if scheduled else ()
    goals = goals_ahead(broad_goals(program, scheduled, evaluation), scheduled) if scheduled else ()
    counts = scheduled.each() if summed and scheduled else {}
    return Compiled(source, every, flown, evaluation, summed, assembled, told, early, goals, accepted, counts)


def _told(
    findings: list[Finding], source: Source, used: Mapping[str, Span], accepted: tuple[str, ...]
) -> tuple[Finding, ...]:
    """In order of place, the script's own first; without what the script accepts; what a used file has at fault also
    names the place that uses it."""
    linked = [
        replace(f, also=(*f.also, ("used here", used[f.span.source.name]))) if f.span.source.name in used else f
        for f in findings
        if f.code not in accepted
    ]
    return tuple(ordered(linked, source))
