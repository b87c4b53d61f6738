"""The table of contents: one line a stage, each frozen data in, frozen data and findings out."""

from collections.abc import Callable, Mapping
from functools import partial
from typing import TYPE_CHECKING

from ..grammar.finding import MESSAGES, Finding, Severity, placed
from ..grammar.frozen import Frozen, replace
from ..grammar.source import Rows, Source, Span
from .include import Library
from .kept import Kept
from .model.compiled import Compiled as Compiled
from .model.evaluation import Evaluation
from .model.feeder import Profiles
from .model.program import Program
from .model.schedule import Schedule, Sequence
from .model.shots import Shots
from .progress import ESTIMATING, REPLYING, SAMPLING, SEEKING, SILENT, SOLVING, Progress, Uncounted
from .report.render import ordered

if TYPE_CHECKING:
    from .model.plan import Plan

Settings = Mapping[str, tuple[str, str]]


class ReadSource(Frozen):
    """What the sentences of a script say, before any ball is worked out."""

    rows: Rows
    """Its places until its findings are told are those in its rows, which stay the same while others change."""
    said: Program | None
    """What its sentences come to, the same thing while none of them changes."""
    program: Program | None
    sequence: Sequence | None
    used: Mapping[str, Span]
    """The scripts that it uses, by name, with the place that uses each."""
    slips: tuple[Finding, ...]

    @property
    def findings(self) -> tuple[Finding, ...]:
        return _told([*self.slips], self, self.program.accepted if self.program else ())


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
    first = compile_read(read, sample, plan, progress, remedies, trials=trials)
    if not remedies or not first.findings:
        return first
    from .remedy_most import nearly
    from .trial import allowed, better, tried

    def again(changed: Source, used: Library | None) -> Compiled:
        return compile_read(read_source(changed, profiles, used, settings, trial=True), sample, False, trials, False)

    key, inputs = (source.name, sample), (allowed(source), placed(first.findings, read.rows.within))
    known = _TRIED.get(key)
    if known is None or known[0] is not read.said or known[1] != inputs:
        found = nearly(first, tried(first, library, again), trials, partial(better, first, library, again))
        known = read.said, inputs, placed(found, read.rows.within)
        if read.said:
            _TRIED.put(key, known)
    return replace(first, findings=tuple(placed(known[2], read.rows.place)))


_TRIED: Kept[tuple[Program | None, object, list[Finding]]] = Kept(20)
"""By the script: the findings, and what came of their remedies, while no sentence changes."""


def read_source(
    source: Source,
    profiles: Profiles,
    library: Library | None = None,
    settings: Settings | None = None,
    trial: bool = False,
) -> ReadSource:
    """The stages that need no flight: parse, include, resolve, expand. `trial`: the script has a remedy on trial."""
    from ..grammar.messages import HeadMissing
    from ..grammar.parse import parse
    from .expand import expand
    from .findings.feeds import FeedsMissing
    from .findings.session import SessionMissing
    from .include import include
    from .resolve import resolve

    starts: dict[Source, int] = {}
    tree, findings = parse(source, starts)
    rows = Rows(source, starts)
    used: Mapping[str, Span] = {}
    if library:
        tree, slips, used = include(tree, library)
        findings += slips
    said, slips = resolve(tree, profiles, settings or {}, trial)
    lost = any(isinstance(slip.message, HeadMissing) and "feed" in slip.message.homes for slip in findings)
    findings += [slip for slip in slips if not (lost and isinstance(slip.message, FeedsMissing))]
    if said is None:
        return ReadSource(rows, None, None, None, used, tuple(findings))
    program = replace(said, source=source, rows=rows)
    if program.session is None and program.whole:
        findings.append(Finding(SessionMissing(), program.span))
    sequence, slips = expand(program)
    return ReadSource(rows, None if trial else said, program, sequence, used, (*findings, *slips))


class _Judged(Frozen):
    """What the balls of a script come to, which is found again while no sentence changes."""

    said: Program | None
    """What the sentences came to."""
    program: Program
    """Without the balls that nothing plays, as are `shots`."""
    shots: Shots
    schedule: Schedule | None
    checked: list[Finding]
    found: list[Finding]
    """With those of other stages."""
    came: Compiled
    """Without findings and plan."""
    planned: tuple[Evaluation, "Plan"] | None = None


_JUDGED: Kept[_Judged] = Kept(20)
"""By the script, and by how its balls are looked at."""


def compile_read(
    read: ReadSource,
    sample: bool = False,
    plan: bool = True,
    progress: Progress = SILENT,
    propose: bool = False,
    judged: Callable[[tuple[Finding, ...]], None] = lambda findings: None,
    trials: Progress = SILENT,
) -> Compiled:
    """The stages after that. What this process knows of balls of before is found again. With `propose` the findings
    have remedies that are not tried yet; without, only those that cost nothing. `judged` hears the findings before the
    plan is made, and `trials` that remedies are looked for."""
    from .check.practice import needless

    source, program = read.rows.source, read.program
    if program is None:
        return Compiled(source, None, None, None, None, None, read.findings)
    work = ((SAMPLING if sample else ESTIMATING) + REPLYING) * len(program.feeds)
    work += sum(SEEKING if feed.open else SOLVING for feed in program.feeds.values())
    progress.begin(len(program.feeds), work)
    key = source.name, sample, propose
    known = _JUDGED.get(key)
    if known is None or known.said is not read.said:
        same = known if known and known.said and read.said and known.said.decides == read.said.decides else None
        known = _judged(program, read, sample, propose, progress, trials, same)
        if read.said:
            _JUDGED.put(key, known)
    else:
        progress.done(work)
    found = [*read.slips, *known.found]
    found += needless(program, found)
    told = _told(found, read, program.accepted)
    # Of a person some warnings are notes; the script accepts them all the same.
    warned = (f for f in found if MESSAGES[f.code].severity is Severity.WARNING)
    accepted = tuple(placed((f for f in warned if f.code in program.accepted), read.rows.place))
    judged(told)
    came = known.came
    if plan and known.schedule and not any(finding.severity is Severity.ERROR for finding in told):
        made = _plan(replace(known.program, source=source), known, accepted)
        if read.said:
            _JUDGED.put(key, replace(known, planned=made))
        came = replace(came, evaluation=made[0], plan=made[1])
    assert came.program
    return replace(
        came,
        source=source,
        program=replace(came.program, source=source, rows=read.rows),
        findings=told,
        accepted=accepted,
    )


def _judged(
    program: Program,
    read: ReadSource,
    sample: bool,
    propose: bool,
    progress: Progress,
    trials: Progress,
    before: _Judged | None,
) -> _Judged:
    """What the balls come to, with what came of them `before`, when only notes had other words."""
    from .broad_goals import broad_goals, goals_ahead
    from .check import bases, check
    from .check.practice import unplayed
    from .early import early_ends, records_ahead
    from .evaluate import evaluate
    from .schedule import schedule
    from .scores import counted_scores, scores_ahead
    from .solve import solve

    sequence = read.sequence
    shots = before.came.shots if before else None
    if shots is None or shots.feeds:  # what came of a feed has its notes
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
    evaluation = (before and before.came.evaluation) or evaluate(program, shots, sample, progress)
    checked = before.checked if before else check(program, shots, scheduled, evaluation, propose, Uncounted(trials))
    found = [*slips, *checked]
    found += unplayed(every, [name for name in every.families if name not in program.families])
    # Of a script that could be read in part only, the total would be of another practice.
    summed = scheduled.totals() if scheduled and program.whole else None
    early = early_ends(program, scheduled, evaluation) if scheduled else ()
    goals = goals_ahead(broad_goals(program, scheduled, evaluation), scheduled) if scheduled else ()
    goals += scores_ahead(counted_scores(program, scheduled, evaluation), program, scheduled) if scheduled else ()
    goals += records_ahead(program, scheduled, evaluation) if scheduled else ()
    counts = scheduled.each() if summed and scheduled else {}
    came = Compiled(every.source, every, flown, evaluation, summed, None, (), early, goals, (), counts)
    return _Judged(read.said, program, shots, scheduled, checked, found, came)


def _plan(program: Program, known: _Judged, accepted: tuple[Finding, ...]) -> tuple[Evaluation, "Plan"]:
    """The plan, and the evaluation that it tells of. Of sentences that had one before only the script has changed."""
    from .assemble import assemble, of_script
    from .evaluate import with_windows

    if known.planned:
        evaluation, plan = known.planned
        return evaluation, of_script(plan, program)
    assert known.schedule and known.came.evaluation
    evaluation = with_windows(program, known.shots, known.came.evaluation)
    return evaluation, assemble(program, known.shots, known.schedule, evaluation, accepted)


def _told(findings: list[Finding], read: ReadSource, accepted: tuple[str, ...]) -> tuple[Finding, ...]:
    """With their places in the script, in order of place, the script's own first; without what the script accepts; what
    a used file has at fault also names the place that uses it."""
    linked = [
        replace(f, also=(*f.also, ("used here", read.used[f.span.source.name])))
        if f.span.source.name in read.used
        else f
        for f in findings
        if f.code not in accepted
    ]
    return tuple(ordered(placed(linked, read.rows.place), read.rows.source))
