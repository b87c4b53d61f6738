"""`sheet`, `cues` and `show`: paper, sound and pictures."""

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from ...compiler.printable import say
from ...compiler.scripts import Refusal, read_script
from . import CLEAN, ERRORS, Commands, Parser, colored, command, takes_color
from .compiling import compiled_of, plan_of, takes_settings, wrote

if TYPE_CHECKING:
    from ...compiler.model.plan import Plan
    from ..outputs.show import watch


def add(commands: Commands) -> None:
    sheet = command(
        commands,
        "sheet",
        "write pages for the feeder, as PDF and HTML",
        (
            ("feedwright sheet mine.feed", "NAME.sheet.pdf and NAME.sheet.html"),
            ("feedwright sheet mine.feed --paper letter --large", "another paper, larger print"),
            ("feedwright sheet mine.feed --phone", "NAME.phone.html, one ball at a time, for a phone or tablet"),
            (
                "feedwright sheet mine.feed --court 192.168.1.5",
                "the same page on a phone in your network, into the log",
            ),
            ("feedwright sheet mine.feed --partner", "NAME.partner.pdf, for two players without a feeder"),
        ),
    )
    sheet.add_argument("--paper", choices=("a4", "letter"), default="a4", help="size of the paper (a4)")
    sheet.add_argument("--large", action="store_true", help="larger print, on more pages")
    kind = sheet.add_mutually_exclusive_group()
    kind.add_argument("--partner", action="store_true", help="for two players without a feeder")
    kind.add_argument("--phone", action="store_true", help="one page for a phone or tablet, a ball at a time")
    kind.add_argument(
        "--court", nargs="?", const="", metavar="ADDRESS",
        help="serve that page at this address of this computer; marks on it go into the log",
    )  # fmt: skip
    sheet.add_argument("--certificate", metavar="FILE", help="with --court: PEM file for TLS, certificate and key")
    sheet.add_argument("--db", metavar="FILE", help="with --court: the log (default: FEEDWRIGHT_DB or your own)")
    sheet.add_argument("--date", metavar="YYYY-MM-DD", help="print this date (default: none)")
    cues = command(
        commands,
        "cues",
        "write a sound track: beeps and a tone at each ball",
        (
            ("feedwright cues mine.feed", "NAME.cues.wav, to play on court"),
            ("feedwright cues mine.feed --voice", "the letters spoken (needs espeak-ng)"),
        ),
    )
    cues.add_argument("--voice", action="store_true", help="speak letters, rest, collect and change (needs espeak-ng)")
    show = command(
        commands,
        "show",
        "draw what each ball does",
        (
            ("feedwright show mine.feed", "court, side view and a table, in the terminal"),
            ("feedwright show mine.feed --feed kicker", "that ball from the side"),
            ("feedwright show mine.feed --feed kicker --svg", "the same as a picture for a document"),
            ("feedwright show mine.feed --html", "a page for a browser; --feed kicker begins it with that ball"),
            ("feedwright show mine.feed --watch", "the page, updated after each save"),
        ),
    )
    show.add_argument(
        "--feed",
        metavar="BALL",
        default="",
        help="letter or name of the ball to see from the side; B is the first of B1 to B4",
    )
    form = show.add_mutually_exclusive_group()
    form.add_argument("--html", action="store_true", help="write a page for a browser instead")
    form.add_argument("--svg", action="store_true", help="write a picture instead, with that ball on it")
    show.add_argument("--watch", action="store_true", help="serve the page here and update it after each save")
    show.add_argument("--port", type=int, default=0, help="port to serve on (default: a free one)")
    for parser, run in ((sheet, _sheet), (cues, _cues), (show, _show)):
        _takes_plan(parser)
        parser.set_defaults(run=run)


def _takes_plan(parser: Parser) -> None:
    parser.add_argument("file", metavar="FILE", help="a feed script or a plan (NAME.plan.json)")
    parser.add_argument("-o", "--output", metavar="DIR", default=".", help="where to write (made if missing)")
    parser.add_argument("--short", action="store_true", help="one line for each finding")
    takes_settings(parser)
    takes_color(parser)


def _written(options: argparse.Namespace, plan: "Plan", *names: str, **chosen: object) -> int:
    from .. import TARGETS
    from ..files import write_outputs

    outputs = {TARGETS[name].suffix: TARGETS[name].render(plan, **chosen) for name in names}
    return wrote(options, lambda folder, name: write_outputs(folder, name, outputs))


def _sheet(options: argparse.Namespace) -> int:
    if (options.phone or options.court is not None) and options.large:
        raise Refusal("--phone and --court take no --large: the page fits the screen")
    if options.court is None and (options.certificate or options.db):
        raise Refusal("--certificate and --db belong to --court")
    plan = plan_of(options)
    if plan is None:
        return ERRORS
    from datetime import date

    from ..outputs.sheet import pdf

    try:
        day = date.fromisoformat(options.date).isoformat() if options.date else ""
    except ValueError as error:
        raise Refusal(f"--date takes a day such as 2026-05-31, not {options.date}") from error
    if options.phone:
        return _written(options, plan, "phone", date=day)
    if options.court is not None:
        return _fed(options, plan, day)
    form = "partner" if options.partner else "sheet"  # both forms of a script may be in one folder
    chosen = {"paper": options.paper, "large": options.large, "date": day}
    try:
        try:
            return _written(options, plan, f"{form}-pdf", form, **chosen)
        except pdf.NoTypesetter as missing:
            say(f"feedwright: {missing}", sys.stderr)
            return _written(options, plan, form, **chosen)
    except ValueError as error:
        raise Refusal(str(error)) from error


def _fed(options: argparse.Namespace, plan: "Plan", day: str) -> int:
    """The page on a phone of whoever feeds, and its marks in the log."""
    from ..log import LogRefused
    from ..log.record import Recorder
    from ..machine.court.address import AddressRefused
    from ..machine.court.feeding import feed

    try:
        with Recorder(plan, Path(options.db) if options.db else None) as log:
            log.ready()
            feed(plan, options.court, options.certificate, log, day)
    except (LogRefused, AddressRefused) as refused:
        raise Refusal(str(refused)) from refused
    return CLEAN


def _cues(options: argparse.Namespace) -> int:
    plan = plan_of(options)
    if plan is None:
        return ERRORS
    if any(block.ends_early for block in plan.blocks):
        say("hits may end a block early, and a sound track cannot know: it has every ball; stop it there", sys.stderr)
    try:
        return _written(options, plan, "cues", voice=options.voice)
    except ValueError as error:
        raise Refusal(str(error)) from error


def _show(options: argparse.Namespace) -> int:
    if options.watch:
        return _watch(options)
    plan = plan_of(options)
    if plan is None:
        return ERRORS
    from shutil import get_terminal_size

    from ...compiler.trace import trajectories
    from ..outputs.show import terminal

    width = get_terminal_size((100, 24)).columns
    try:
        if options.html or options.svg:
            return _written(options, plan, "picture" if options.html else "drawing", ball=options.feed)
        text = terminal.render(plan, trajectories(plan), options.feed, width, colored(options, sys.stdout))
    except terminal.NoBall as error:
        raise Refusal(str(error)) from error
    encoding = sys.stdout.encoding or "utf-8"  # a terminal may lack a letter of the script or a degree sign
    sys.stdout.write(text.encode(encoding, "backslashreplace").decode(encoding))
    return CLEAN


def _watch(options: argparse.Namespace) -> int:
    from ...compiler.report import render
    from ...compiler.trace import replies, trajectories
    from ..outputs.show import watch

    def build() -> "tuple[watch.State, str]":
        try:
            compiled = compiled_of(options, plan=True)
        except Refusal as refusal:  # half saved, or missing for a moment
            return None, str(refusal)
        text = render.human(compiled.findings, False) if compiled.findings else ""
        plan = compiled.plan
        return ((plan, trajectories(plan), replies(plan)) if plan else None), text

    if options.file == "-" or options.file.endswith(".json"):
        raise Refusal("--watch needs a feed script, not a plan or standard input")
    read_script(options.file)
    try:
        served = watch.server(seen := watch.Watch(Path(options.file), build), options.port)
    except (OSError, OverflowError) as error:
        raise Refusal(f"cannot serve on port {options.port}: {error}") from error
    say(f"http://{watch.HOST}:{served.server_address[1]}/ shows {options.file}; Ctrl-C ends")
    sys.stdout.flush()
    watch.run(seen, served)
    return CLEAN
