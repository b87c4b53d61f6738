"""The options of `feedwright log`; loads nothing but argparse."""

import argparse
from typing import Any

COMMANDS = ("list", "add", "show", "advice", "plan", "export", "forget", "merge")


def add_to(commands: Any) -> argparse.ArgumentParser:
    """The group of commands, put among the others; `options.log` is which one, None for the list."""
    log: argparse.ArgumentParser = commands.add_parser(
        "log", help="what was hit and missed, kept on this machine", allow_abbrev=False
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
    add.add_argument("--csv", metavar="FILE", help="counts or balls in a file, instead of questions")
    add.add_argument("--when", metavar="DATE", help="2026-05-01 or 2026-05-01T18:00; now where nothing is said")
    add.add_argument("--again", action="store_true", help="another practice, though one like it is in the log already")
    show = command("show", "shares of hits, longest streaks, rungs")
    _scope(show)
    show.add_argument("--html", metavar="FILE", help="a page with plots, in a file of its own")
    _scope(command("advice", "which job to give more time, where a ladder breaks even"))
    plan = command("plan", "write the next session of a script, weak jobs longer")
    plan.add_argument("script", metavar="FILE", help="the script whose session is shared out anew")
    plan.add_argument("-o", "--output", metavar="FILE", required=True, help="the new script")
    export = command("export", "every ball as CSV")
    _scope(export)
    export.add_argument("-o", "--output", metavar="FILE", help="a file; standard output where nothing is said")
    forget = command("forget", "delete for good")
    what = forget.add_mutually_exclusive_group(required=True)
    what.add_argument("--program", metavar="PROGRAM", help="the practices of one program")
    what.add_argument("--before", metavar="DATE", help="practices that began before that day")
    what.add_argument("--all", action="store_true", help="everything")
    forget.add_argument("--yes", action="store_true", help="without asking")
    merge = command("merge", "take in the log of another machine")
    merge.add_argument("other", metavar="FILE", nargs="+", help="a copy of the other log's file")
    return log


def _db(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--db",
        metavar="FILE",
        default=argparse.SUPPRESS,
        help="the log's file; else FEEDWRIGHT_DB, else the user's own data folder",
    )


def _scope(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "program", metavar="PROGRAM", nargs="?", help="one program by its title; all where none is named"
    )
    parser.add_argument("--since", metavar="DATE", help="practices from that day on")
