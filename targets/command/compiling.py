"""`check` and `build`, and the steps shared by every command that compiles a script."""

import argparse
import gc
import re
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from ...compiler.printable import plural, say
from ...compiler.scripts import Refusal, read_bytes, read_script
from . import CLEAN, ERRORS, Commands, Parser, colored, command, takes_color
from .waiting import Waiting

if TYPE_CHECKING:
    from ...compiler.model.evaluation import GoodReplies, Scattering
    from ...compiler.model.plan import Plan
    from ...compiler.model.shots import SolvedShot
    from ...compiler.pipeline import Compiled


def add(commands: Commands) -> None:
    check = command(
        commands,
        "check",
        "check a script and show a summary",
        (
            ("feedwright check mine.feed", "every problem, and what to write instead"),
            ("feedwright check mine.feed --set rhythm=5s", "with another amount in place of a named one"),
            ("feedwright check mine.feed --sarif", "for code scanning tools; --json for other programs"),
        ),
    )
    check.add_argument("file", metavar="FILE", help="a feed script; - reads standard input")
    shape = check.add_mutually_exclusive_group()
    shape.add_argument("--json", action="store_true", help="findings and summary as JSON on standard output")
    shape.add_argument("--sarif", action="store_true", help="findings as SARIF 2.1.0 on standard output")
    shape.add_argument("--short", action="store_true", help="one line for each finding")
    check.add_argument(
        "--spread", action="store_true", help="fly a sample of balls for the spread instead of estimating it"
    )
    takes_settings(check)
    takes_color(check)
    check.set_defaults(run=_check)
    build = command(
        commands,
        "build",
        "check a script and write its outputs",
        (
            ("feedwright build mine.feed", "plan, sheet, table and stream in the current folder"),
            ("feedwright build mine.feed -o tuesday", "the same in a folder, made if missing"),
        ),
    )
    build.add_argument("file", metavar="FILE", help="a feed script")
    build.add_argument("-o", "--output", metavar="DIR", default=".", help="where to write (made if missing)")
    build.add_argument("--short", action="store_true", help="one line for each finding")
    takes_settings(build)
    takes_color(build)
    build.set_defaults(run=_build)


def takes_settings(parser: Parser) -> None:
    parser.add_argument(
        "--set",
        metavar="NAME=AMOUNT",
        action="append",
        default=[],
        help="another amount in place of a named one",
    )


def _check(options: argparse.Namespace) -> int:
    compiled = compiled_of(options, options.spread, plan=False)
    if options.json:
        from ...compiler.report.render import json_text

        summary = vars(compiled.totals) if compiled.totals else None
        replies = [
            {
                "variation": name,
                "share_good": round(good.share, 3),
                "speed_mps": None if good.pace is None else round(good.pace, 2),
            }
            for name, good in _replies(compiled)
        ]
        sys.stdout.write(json_text(compiled.findings, summary=summary, replies=replies))
    elif options.sarif:
        from ...compiler.report.sarif import sarif_text

        sys.stdout.write(sarif_text(compiled.findings))
    else:
        tell(compiled, options)
        sum_up(compiled)
    return _verdict(compiled)


def _build(options: argparse.Namespace) -> int:
    compiled = compiled_of(options, sample=True, plan=True)
    tell(compiled, options)
    if compiled.plan is None:
        say("feedwright: nothing was written, because the script has errors", sys.stderr)
        return ERRORS
    from ..files import write

    plan = compiled.plan
    sum_up(compiled)
    return wrote(options, lambda folder, name: write(plan, folder, name))


def plan_of(options: argparse.Namespace) -> "Plan | None":
    """The plan of a script or of a plan document; None after its errors were printed."""
    if not options.file.endswith(".json"):
        compiled = compiled_of(options, sample=True, plan=True)
        tell(compiled, options)
        if compiled.plan is None:
            say("feedwright: nothing was written, because the script has errors", sys.stderr)
        return compiled.plan
    from ..document import LIMIT, PlanRefused, read

    try:
        return read(read_bytes(options.file, LIMIT))
    except PlanRefused as refused:
        raise Refusal(f"{options.file}: {refused}") from refused


def wrote(options: argparse.Namespace, writer: Callable[[Path, str], tuple[Path, ...]]) -> int:
    """Write the files, all or none, and print their paths."""
    folder = Path(options.output)
    name = Path(options.file).name.removesuffix(".json").removesuffix(".plan").removesuffix(".feed")
    try:
        folder.mkdir(parents=True, exist_ok=True)
        paths = writer(folder, name if options.file != "-" else "script")
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or error
        raise Refusal(f"cannot write to {folder}: {reason}; nothing was written") from error
    for path in paths:
        say(f"wrote {path}")
    return CLEAN


def compiled_of(options: argparse.Namespace, sample: bool, plan: bool) -> "Compiled":
    name = options.file
    source, settings = read_script(name), amounts_set(options.set)
    folder = Path(name).parent if name != "-" else None
    gc.disable()  # a compilation makes almost no garbage, and collection costs a tenth of the time
    try:
        from ...compiler.pipeline import compile_source
        from ...programs import ScriptShelf
        from ..machine.feeders import ProfileShelf

        with Waiting() as waiting:
            return compile_source(source, ProfileShelf(folder), ScriptShelf(folder), settings, sample, plan, waiting)
    finally:
        gc.enable()


def amounts_set(given: list[str]) -> dict[str, tuple[str, str]]:
    """Amounts by name from `NAME=3.5s`."""
    from ...grammar.units import UNITS

    found = {}
    for text in given:
        match = re.fullmatch(r"([A-Za-z][A-Za-z0-9_-]*)=([+-]?[0-9]+(?:\.[0-9]+)?) ?(\S+)", text, re.ASCII)
        if not match or match[3] not in UNITS:
            raise Refusal(f"--set takes NAME=AMOUNT with a unit, such as rhythm=3.5s; not {text}")
        found[match[1]] = (match[2], match[3])
    return found


def tell(compiled: "Compiled", options: argparse.Namespace) -> None:
    from ...compiler.report import render

    if compiled.findings:
        brief = options.short
        text = (
            render.short(compiled.findings) if brief else render.human(compiled.findings, colored(options, sys.stderr))
        )
        print(text, file=sys.stderr, end="" if brief else "\n")


def sum_up(compiled: "Compiled") -> None:
    from ...grammar.finding import Severity
    from ...grammar.units import KMH, clock, of_ten

    counts = {s: sum(f.severity is s for f in compiled.findings) for s in Severity}
    told = [plural(n, s.value) for s, n in counts.items() if n]
    say(f"{compiled.source.name}: {', '.join(told) or 'no problems'}")
    totals = compiled.totals
    if totals:
        say(
            f"{plural(totals.balls, 'ball')} in {clock(totals.duration_s)} min, "
            f"{plural(totals.distinct_shots, 'distinct ball')}; "
            f"the next ball differs from the last {totals.variety:.0%} of the time"
        )
    if balls := _balls(compiled):
        say("pace and contact of the balls: " + "; ".join(balls))
    if shares := _shares(compiled):
        say("share in the zone (in brackets as balls differ): " + "; ".join(shares))
    good = [
        f"{name} {of_ten(good.share)}" + (f" at {good.pace / KMH:.0f} km/h" if good.pace else "")
        for name, good in _replies(compiled)
    ]
    if good:
        say(f"good replies in ten{_whose(compiled)}: " + ", ".join(good))


def _whose(compiled: "Compiled") -> str:
    level = compiled.program.player.level if compiled.program else None
    return f" (scatter {level})" if level else ""


def _shares(compiled: "Compiled") -> list[str]:
    """Of each feed that is played the share in the zone, and what it may be with the drag of other balls."""
    if compiled.program is None or compiled.evaluation is None:
        return []
    families: dict[str, list[Scattering]] = {}
    for name, one in compiled.evaluation.scatterings.items():
        family = compiled.program.feeds[name].family
        if family in compiled.program.played:
            families.setdefault(family, []).append(one)
    told = []
    for family, ones in families.items():
        shares = [round(100 * one.in_zone) for one in ones]
        band = [round(100 * share) for one in ones for share in one.in_zone_band]
        ends = [f"{min(some)}-{max(some)}".removeprefix(f"{max(some)}-") for some in (shares, band)]
        told.append(f"{family} {ends[0]}%" + (f" ({ends[1]}%)" if ends[0] != ends[1] else ""))
    return told


def _balls(compiled: "Compiled") -> list[str]:
    """The pace of each feed that is played, the height of contact, and the part of the bounce."""
    from ...grammar.units import KMH

    if compiled.program is None or compiled.shots is None:
        return []
    families: dict[str, list[SolvedShot]] = {}
    for name, shot in compiled.shots.shots.items():
        family = compiled.program.feeds[name].family
        if family in compiled.program.played and shot.predicted.contact[2] > 0:
            families.setdefault(family, []).append(shot)
    told = []
    for family, shots in families.items():
        paces = [f"{edge(s.speed for s in shots) / KMH:.0f}" for edge in (min, max)]
        heights = [f"{edge(s.predicted.contact[2] for s in shots):.2f}" for edge in (min, max)]
        phases = (s.predicted.phase + " after two bounces" * (s.predicted.bounces == 2) for s in shots)
        pace, height = ("-".join(dict.fromkeys(pair)) for pair in (paces, heights))
        told.append(f"{family} {pace} km/h, {height} m {' or '.join(dict.fromkeys(phases))}")
    return told


def _replies(compiled: "Compiled") -> "list[tuple[str, GoodReplies]]":
    """The replies of each variation to the ball on which fewest are good, the easiest variation first."""
    fewest: dict[str, GoodReplies] = {}
    if compiled.program and compiled.evaluation:
        for name, good in compiled.evaluation.replies.items():
            feed = compiled.program.feeds[name]
            if feed.family not in compiled.program.played:
                continue
            variation = feed.variation or ""
            fewest[variation] = min(fewest.get(variation, good), good, key=lambda one: one.share)
    return sorted(fewest.items(), key=lambda item: -item[1].share)


def _verdict(compiled: "Compiled") -> int:
    from ...grammar.finding import Severity

    return ERRORS if any(f.severity is Severity.ERROR for f in compiled.findings) else CLEAN
