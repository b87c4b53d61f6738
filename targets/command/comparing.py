"""`compare`: two scripts, two airs or two feeders side by side; and which feeder can give a practice."""

import argparse
import sys
from pathlib import Path
from textwrap import wrap
from typing import TYPE_CHECKING

from ...compiler.printable import json_shown, plural, say, visible
from ...compiler.scripts import Refusal, read_script
from . import CLEAN, ERRORS, Commands, command
from .compiling import amounts_set, takes_settings
from .waiting import Waiting

if TYPE_CHECKING:
    from collections.abc import Iterable

    from ...compiler.compare import Comparison, Trial
    from ...compiler.pipeline import Compiled
    from ...grammar.finding import Finding
    from ...grammar.source import Source

WIDE = 80


def add(commands: Commands) -> None:
    parser = command(
        commands,
        "compare",
        "show what another script, air or feeder changes",
        (
            ("feedwright compare mine.feed other.feed", "what differs between two scripts"),
            ('feedwright compare mine.feed --with "altitude 1900 m"', "the same script in another air"),
            ('feedwright compare mine.feed --with "feeder machine academy"', "with another feeder"),
            ("feedwright compare mine.feed --for-profile", "which feeder, standing where, can give it"),
        ),
    )
    parser.add_argument("file", metavar="FILE", help="a feed script")
    parser.add_argument("other", metavar="OTHER", nargs="?", help="another one (default: the same)")
    parser.add_argument("--with", dest="lines", metavar="LINE", action="append", default=[],
                        help="a line of the program, or a part of its air, for the second of the two")  # fmt: skip
    parser.add_argument("--for-profile", action="store_true", help="try every feeder profile with the script instead")
    parser.add_argument("--json", action="store_true", help="as JSON on standard output")
    takes_settings(parser)
    parser.set_defaults(run=_compare)


def _compare(options: argparse.Namespace) -> int:
    if options.for_profile:
        if options.other or options.lines:
            raise Refusal("--for-profile takes one script, and no --with")
        return _profiles(options)
    if not options.other and not options.lines:
        raise Refusal('compare needs a second script, --with LINE or --for-profile; such as --with "air 10 C"')
    from ...compiler.compare import comparison

    source = read_script(options.file)
    changed = _changed(read_script(options.other) if options.other else source, options.lines)
    with Waiting() as waiting:
        first, second = (
            _compiled(options, one, name, waiting)
            for one, name in ((source, options.file), (changed, options.other or options.file))
        )
    for one, name in ((first, options.file), (second, options.other or f"{options.file} as changed")):
        if one.program is None:
            headline = next((f.headline for f in one.findings), "there is no program in it")
            raise Refusal(f"{name} cannot be compared: {headline}")
    found = comparison(first, second)
    names = ["1", "2"] if options.other else ["as it is", "changed"]
    if options.json:
        sys.stdout.write(json_shown(_document(found, first, second)))
    else:
        _show(found, names, options, second)
    return ERRORS if _failed(first) or _failed(second) else CLEAN


def _changed(source: "Source", lines: list[str]) -> "Source":
    from ...compiler.compare import WORLD, with_lines

    for line in lines:
        changed, findings = with_lines(source, [line])
        if findings:
            told = " ".join([f"{findings[0].headline}.", *findings[0].advice])
            raise Refusal(f"--with cannot read {line}: {told}")
        if changed is None:
            raise Refusal(f"--with takes one line of a program ({', '.join(WORLD)}), not {line}")
        source = changed
    return source


def _compiled(options: argparse.Namespace, source: "Source", name: str, waiting: Waiting) -> "Compiled":
    from ...compiler.pipeline import compile_source
    from ...programs import ScriptShelf
    from ..machine.feeders import ProfileShelf

    folder = Path(name).parent if name != "-" else None
    profiles, scripts = ProfileShelf(folder), ScriptShelf(folder)
    return compile_source(
        source, profiles, scripts, amounts_set(options.set), plan=False, progress=waiting, remedies=False
    )


def _failed(compiled: "Compiled") -> bool:
    from ...grammar.finding import Severity

    return any(finding.severity is Severity.ERROR for finding in compiled.findings)


def _show(found: "Comparison", names: list[str], options: argparse.Namespace, second: "Compiled") -> None:
    if options.other:
        _tell(f"1 is {options.file}, 2 is {options.other}", "")
    for line in options.lines:
        _tell(f"{names[1]}: {line}", "")
    say("")
    say(f"{'ball':16} {'':15} {names[0]:>16} {names[1]:>16}  {'unit':5}")
    for ball in found.balls:
        name = visible(ball.name)
        if len(name) > 16:
            say(name)
            name = ""
        if ball.first is None or ball.second is None:
            say(f"{name:16} is only in {names[0] if ball.second is None else names[1]}")
            continue
        if not ball.first or not ball.second:
            told = [" " if had else "cannot be had" for had in (ball.first, ball.second)]
            say(f"{name:16} {'':15} {told[0]:>16} {told[1]:>16}")
            name = ""
        elif not ball.changes:
            say(f"{name:16} is the same")
        for change in ball.changes:
            before, after = (span.figures(change.figure) if span else "-" for span in (change.first, change.second))
            say(f"{name:16} {change.figure.name:15} {before:>16} {after:>16}  {change.figure.unit}")
            name = ""
    for words, findings in ((f"only in {names[0]}", found.gone), (f"only in {names[1]}", found.come)):
        _findings(words, findings)
    if advice := _ball_for_altitude(second):
        say("")
        _tell(advice, "")


def _findings(words: str, findings: "Iterable[Finding]") -> None:
    told = list(findings)
    if told:
        say("")
        say(f"{words}:")
    for finding in told:
        _tell(f"{finding.severity.value}: {finding.headline}", "  ")


def _ball_for_altitude(compiled: "Compiled") -> str:
    """What to try where the rules of tennis have another ball, if the script does not use it or a pressureless one."""
    from ...compiler.compare import HIGH_M

    program = compiled.program
    if program is None or program.air.altitude_m < HIGH_M:
        return ""
    if "altitude" in program.ball.name or "pressureless" in program.ball.name or "stage" in program.ball.name:
        return ""
    return (
        f"At {program.air.altitude_m:.0f} m an ordinary ball flies far and bounces high. Above {HIGH_M:.0f} m the ITF "
        'Rules of Tennis (Appendix I) allow a ball for it: try --with "ball high altitude" too.'
    )


def _profiles(options: argparse.Namespace) -> int:
    from ...compiler.compare import places, trial
    from ..machine.feeders import ProfileProblem, ProfileShelf

    source = read_script(options.file)
    shelf = ProfileShelf(Path(options.file).parent if options.file != "-" else None)
    best: list[Trial] = []
    with Waiting() as waiting:
        own = _compiled(options, source, options.file, waiting)
        if own.program is None:
            raise Refusal(f"{options.file} has errors that hide what it asks for; see feedwright check {options.file}")
        screen = ", behind a screen" if own.program.place.screen else ""
        words = own.program.place.spot
        for name in shelf.names():
            try:
                feeder = shelf.load(name)
            except ProfileProblem:
                continue  # `list` says what is wrong with it
            tried: list[Trial] = []
            for place in places(feeder.kind, feeder.how, words) if feeder else ():
                line = f"feeder {feeder.kind} {name}, {place}{screen}" if feeder else ""
                changed = _changed(source, [line])
                tried.append(trial(name, line, _compiled(options, changed, options.file, waiting)))
                if not tried[-1].errors:
                    break
            best += sorted(tried, key=lambda one: one.rank)[:1]
    best.sort(key=lambda one: one.rank)
    if options.json:
        sys.stdout.write(json_shown({"profiles": [
            {"profile": one.profile, "line": one.line, "balls_given": one.given, "balls_asked": one.asked,
             "errors": one.errors, "why": one.why} for one in best
        ]}))  # fmt: skip
    else:
        say(f"{'profile':12} {'balls':>8}  {'practice':9} the line to write, and what is in the way")
        for one in best:
            say(f"{visible(one.profile):12} {f'{one.given} of {one.asked}':>8}  {'no' if one.errors else 'yes'}")
            _tell(one.line, "    ")
            if one.why:
                more = f" (and {plural(one.errors - 1, 'more error')})" if one.errors > 1 else ""
                _tell(f"{one.why}{more}", "    ")
    return CLEAN if any(not one.errors for one in best) else ERRORS


def _document(found: "Comparison", first: "Compiled", second: "Compiled") -> dict[str, object]:
    from ...compiler.report.render import as_json
    from .summary import totals_json

    def edges(span: object) -> object:
        return None if span is None else [getattr(span, "low"), getattr(span, "high")]  # noqa: B009

    return {
        "balls": [
            {
                "ball": ball.name,
                "had": [ball.first, ball.second],
                "changes": [
                    {"what": one.figure.name, "unit": one.figure.si, "first": edges(one.first),
                     "second": edges(one.second)} for one in ball.changes
                ],
            }
            for ball in found.balls
        ],
        "only_in_first": as_json(found.gone),
        "only_in_second": as_json(found.come),
        "totals": [totals_json(one.totals) if one.totals else None for one in (first, second)],
        "proposal": _ball_for_altitude(second) or None,
    }  # fmt: skip


def _tell(text: str, indent: str) -> None:
    for line in wrap(visible(text), WIDE, initial_indent=indent, subsequent_indent=indent + "  "):
        say(line)
