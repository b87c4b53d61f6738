"""`explain`: what a message means and what to write instead."""

import argparse
import sys

from ...compiler.scripts import Refusal
from . import CLEAN, Commands, colored, command, meant, takes_color


def add(commands: Commands) -> None:
    parser = command(
        commands,
        "explain",
        "explain a message by its code",
        (
            ("feedwright explain net-hit", "why it matters, an example, what to write instead"),
            ("feedwright explain", "all codes, a line each"),
        ),
    )
    parser.add_argument("code", metavar="CODE", nargs="?", help="such as net-hit; without one, all codes are listed")
    takes_color(parser)
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    from ...compiler.report.codes import CODES
    from ...compiler.report.finding import Severity
    from ...compiler.report.render import painted

    colour = colored(options, sys.stdout)
    if options.code is None:
        for name, code in CODES.items():
            print(f"{painted(f'{name:18} {code.severity.value:8}', code.severity, colour)} {code.title}")
        return CLEAN
    name = options.code.removeprefix("[").removesuffix("]")
    if name not in CODES:
        raise Refusal(f"there is no code {name}{meant(name, CODES) or '; feedwright explain lists them'}")
    code = CODES[name]
    example, instead = (text.replace("\n", "\n    ") for text in (code.example, code.instead))
    print(f"{painted(f'{name} ({code.severity.value})', code.severity, colour)}: {code.title}\n\n{code.why}\n")
    print(f"For example:\n    {example}\n\nInstead:\n    {instead}")
    if code.severity is not Severity.ERROR:
        print(f"\nIf this is on purpose, write:\n    allow {name}")
    return CLEAN
