"""The options of `feedwright log`; loads nothing but argparse."""

import argparse
from typing import Any

COMMANDS = ("list", "add", "show", "advice", "plan", "export", "forget", "merge")


def add_to(commands: Any) -> argparse.ArgumentParser:
    """Add the group of commands; `options.log` is the name of the chosen one, "list" by default."""
    log: argparse.ArgumentParser = commands.add_parser(
        "log", help="your hits and misses, kept on this computer", allow_abbrev=False
    )
    _db(log)
    log.set_defaults(log="list", all=False)
    group = log.add_subparsers(title="commands", metavar="COMMAND", parser_class=type(log))

    def command(name: str, help_: str) -> argparse.ArgumentParser:
        parser: argparse.ArgumentParser = group.add_parser(name, help=help_, allow_abbrev=False)
        _db(parser)
        parser.set_defaults(log=name)
        return parser

    listing = command("list", "the latest practices")
    listing.add_argument("--all", action="store_true", help="every practice")
    add = command("add", "type in a practice from its sheet, or read it from a CSV")
    add.add_argument("plan", metavar="PLAN", help="NAME.plan.json, or the script it was built from")
    add.add_argument("--csv", metavar="FILE", help="read counts or balls from a file instead of asking")
    add.add_argument("--when", metavar="DATE", help="2026-05-01 or 2026-05-01T18:00 (default: now)")
    add.add_argument("--again", action="store_true", help="add it even if the log already has one like it")
    show = command("show", "shares of hits, longest streaks, rungs")
    _scope(show)
    show.add_argument("--html", metavar="FILE", help="write a page with plots to a file")
    _scope(command("advice", "which variation needs more time, which rung is hit half the time"))
    plan = command("plan", "write the next session of a script, with more time for weak variations")
    plan.add_argument("script", metavar="FILE", help="the script whose minutes to divide again")
    plan.add_argument("-o", "--output", metavar="FILE", required=True, help="the new script")
    export = command("export", "every ball as CSV")
    _scope(export)
    export.add_argument("-o", "--output", metavar="FILE", help="a file (default: standard output)")
    forget = command("forget", "delete for good")
    what = forget.add_mutually_exclusive_group(required=True)
    what.add_argument("--program", metavar="PROGRAM", help="the practices of one program")
    what.add_argument("--before", metavar="DATE", help="practices that began before this day")
    what.add_argument("--all", action="store_true", help="everything")
    forget.add_argument("--yes", action="store_true", help="do not ask first")
    merge = command("merge", "add the log of another computer")
    merge.add_argument("other", metavar="FILE", nargs="+", help="a copy of the other log's file")
    return log


def _db(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--db",
        metavar="FILE",
        default=argparse.SUPPRESS,
        help="the log's file (default: FEEDWRIGHT_DB, or a file in your data folder)",
    )


def _scope(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("program", metavar="PROGRAM", nargs="?", help="one program by its title (default: all)")
    parser.add_argument("--since", metavar="DATE", help="practices from this day on")
