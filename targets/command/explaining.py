"""`why`: what a message means and what to write instead."""

import argparse
import sys

from ...compiler.scripts import Refusal
from . import CLEAN, Commands, colored, command, meant, takes_color


def add(commands: Commands) -> None:
    parser = command(
        commands,
        "why",
        "what a message means, by its code",
        (
            ("feedwright why net-hit", "why it matters, an example, what to write instead"),
            ("feedwright why", "all codes, one line each"),
        ),
    )
    parser.add_argument("code", metavar="CODE", nargs="?", help="such as net-hit; without one, all codes are listed")
    takes_color(parser)
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    from ...compiler.findings import MESSAGES
    from ...compiler.report.render import painted
    from ...grammar.finding import Severity

    colour = colored(options, sys.stdout)
    if options.code is None:
        for name, message in MESSAGES.items():
            print(f"{painted(f'{name:18} {message.severity.value:8}', message.severity, colour)} {message.title}")
        return CLEAN
    name = options.code
    if name not in MESSAGES:
        raise Refusal(f"there is no code {name}{meant(name, MESSAGES) or '; feedwright why lists them'}")
    message = MESSAGES[name]
    example, instead = (text.replace("\n", "\n    ") for text in (message.example, message.instead))
    head = painted(f"{name} ({message.severity.value})", message.severity, colour)
    print(f"{head}: {message.title}\n\n{message.why}\n")
    print(f"For example:\n    {example}\n\nInstead:\n    {instead}")
    if message.severity is not Severity.ERROR:
        print(f"\nTo switch it off in a script, write:\n    accept {name}")
    return CLEAN
