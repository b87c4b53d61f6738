"""`check` and `build`, and the steps shared by every command that compiles a script."""

import argparse
import gc
import re
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from ...compiler.printable import say
from ...compiler.scripts import Refusal, read_bytes, read_script
from . import CLEAN, ERRORS, Commands, Parser, colored, command, takes_color
from .waiting import Trying, Waiting

if TYPE_CHECKING:
    from ...compiler.model.plan import Plan
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
    check.add_argument("--legend", action="store_true", help="with what each column of the table says")
    check.add_argument(
        "--spread", action="store_true", help="fly a sample of balls for the shares, to compare with the estimate"
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
    compiled = compiled_of(options, plan=False, sample=options.spread)
    if options.json:
        from ...compiler.report.render import json_text
        from .summary import as_json

        sys.stdout.write(json_text(compiled.findings, **as_json(compiled)))
    elif options.sarif:
        from ...compiler.report.sarif import sarif_text

        sys.stdout.write(sarif_text(compiled.findings))
    else:
        from .summary import sum_up

        tell(compiled, options)
        sum_up(compiled, colored(options, sys.stdout), options.legend)
    return _verdict(compiled)


def _build(options: argparse.Namespace) -> int:
    compiled = compiled_of(options, plan=True)
    tell(compiled, options)
    if compiled.plan is None:
        say("feedwright: nothing was written, because the script has errors", sys.stderr)
        return ERRORS
    from ..files import write
    from .summary import sum_up

    plan = compiled.plan
    sum_up(compiled, colored(options, sys.stdout))
    return wrote(options, lambda folder, name: write(plan, folder, name))


def plan_of(options: argparse.Namespace) -> "Plan | None":
    """The plan of a script or of a plan document; None after its errors were printed."""
    if not options.file.endswith(".json"):
        compiled = compiled_of(options, plan=True)
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


def compiled_of(options: argparse.Namespace, plan: bool, sample: bool = False) -> "Compiled":
    """The script through every stage. Shares of balls are the same estimate in every command, unless a sample is asked
    for."""
    name = options.file
    source, settings = read_script(name), amounts_set(options.set)
    folder = Path(name).parent if name != "-" else None
    collects = gc.isenabled()
    gc.disable()  # a compilation makes almost no garbage, and collection costs a tenth of the time
    try:
        from ...compiler.pipeline import compile_source
        from ...programs import ScriptShelf
        from ..machine.feeders import ProfileShelf

        with Waiting() as waiting:
            shelves = ProfileShelf(folder), ScriptShelf(folder)
            return compile_source(source, *shelves, settings, sample, plan, waiting, trials=Trying(waiting))
    finally:
        if collects:
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


def _verdict(compiled: "Compiled") -> int:
    from ...grammar.finding import Severity

    return ERRORS if any(f.severity is Severity.ERROR for f in compiled.findings) else CLEAN
