"""`format`: put scripts into canonical form."""

import argparse
import re
import sys

from ...compiler.printable import say, visible
from ...compiler.scripts import decoded, read_bytes, sourced, write_whole
from ...grammar.source import Source
from . import CLEAN, ERRORS, Commands, colored, command, takes_color


def add(commands: Commands) -> None:
    parser = command(
        commands,
        "format",
        "put scripts into standard form and keep their comments",
        (
            ("feedwright format mine.feed", "in place"),
            ("feedwright format --check *.feed", "list the files that would change; exit 1 if any"),
            ("feedwright format --diff mine.feed", "show what would change"),
            ("feedwright format - < mine.feed", "from standard input to standard output"),
        ),
    )
    parser.add_argument("files", metavar="FILE", nargs="+", help="feed scripts; - reads standard input")
    parser.add_argument("--check", action="store_true", help="write nothing; exit 1 if a file would change")
    parser.add_argument("--diff", action="store_true", help="write nothing; show what would change")
    takes_color(parser)
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    from ...grammar.format import formatted

    read = [(name, data, decoded(name, data)) for name in options.files for data in (read_bytes(name),)]
    code = CLEAN
    for name, data, text in read:
        line_end = "\r\n" if "\r\n" in text else "\n"
        source = sourced(name, text)
        canonical, faults = formatted(source)
        if faults:
            from ...compiler.report.render import human

            print(human(faults, colored(options, sys.stderr)), file=sys.stderr)
            say(f"feedwright: {name} stays as it is: not every line can be read", sys.stderr)
            code = ERRORS
            continue
        fresh = canonical.replace("\n", line_end).encode()
        changed = fresh != data
        if options.check and changed:
            say(f"{name} would change", sys.stderr if options.diff or name == "-" else sys.stdout)
            code = ERRORS
        if options.diff and changed:
            lines = _difference(source, canonical)
            for line in lines or [f"{name}: line ends or a byte order mark would change"]:
                # Keep tabs: they may be the difference.
                sys.stdout.write("\t".join(map(visible, line.split("\t"))) + "\n")
        if options.check or options.diff:
            continue
        if name == "-":
            sys.stdout.buffer.write(fresh)
        elif changed:
            write_whole(name, fresh)
            say(f"formatted {name}")
    return code


def _difference(source: Source, canonical: str) -> list[str]:
    from difflib import unified_diff

    lines = unified_diff(
        re.findall(r".*\n|.+", source.text),
        re.findall(r".*\n|.+", canonical),
        source.name,
        f"{source.name}, formatted",
    )
    return [line.removesuffix("\n") for line in lines]
