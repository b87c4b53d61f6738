"""`new`: a first script, from a few questions or from flags."""

import argparse
import re
import sys
from collections.abc import Callable
from typing import TypeVar

from ...compiler.printable import say
from ...compiler.scripts import Refusal, write_new
from . import CLEAN, Commands, command, meant

DEFAULT = "first.feed"
T = TypeVar("T")


def add(commands: Commands) -> None:
    parser = command(
        commands,
        "new",
        "write a first script",
        (
            ("feedwright new", f"asks a few questions and writes {DEFAULT}"),
            ("feedwright new tuesday.feed --hand left --feeder basket", "asks only for what is left, on a terminal"),
            ("feedwright new serve.feed --from 01-after-the-serve", "copies an included program; --from 01 does too"),
        ),
    )
    parser.add_argument("file", metavar="FILE", nargs="?", default=DEFAULT,
                        help=f"file to write, never an existing one (default: {DEFAULT}); - prints it")  # fmt: skip
    parser.add_argument("--hand", metavar="HAND", help="right or left")
    parser.add_argument("--stature", metavar="LENGTH", help="such as 1.72 or 172 cm")
    parser.add_argument("--feeder", metavar="PROFILE", help="who or what feeds; feedwright list shows the profiles")
    parser.add_argument("--variation", metavar="NAME", help="what the player does: past, over or between")
    parser.add_argument("--from", dest="origin", metavar="NAME",
                        help="instead, copy an included program, by its name, number or part of it")  # fmt: skip
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    given = [name for name in ("hand", "stature", "feeder", "variation") if getattr(options, name) is not None]
    origin = ""
    if options.origin is not None:
        if given:
            raise Refusal(f"--from copies a program unchanged, so --{given[0]} cannot be used with it")
        from ...programs import shipped
        from .listing import one_program

        origin = one_program(options.origin)
        text = shipped()[f"{origin}.feed"]
    else:
        text = _answered(options)
    if options.file == "-":
        sys.stdout.write(text)
    else:
        write_new(options.file, text)
        say(f"wrote {options.file}{origin and f', a copy of {origin}'}")
        say(f"next: feedwright check {options.file}")
    return CLEAN


def _answered(options: argparse.Namespace) -> str:
    from ...compiler.starter import HANDS, MACHINES, PERSONS, Answers, first_script, variations_for

    def choice(what: str, choices: tuple[str, ...]) -> Callable[[str], str]:
        def read(answer: str) -> str:
            if answer not in choices:
                raise Refusal(f"{what} {answer} is none of {', '.join(choices)}{meant(answer, choices)}")
            return answer

        return read

    feeders = (*MACHINES, *PERSONS)
    hand = _asked(options.hand, "Which hand, right or left?", "right", choice("hand", HANDS))
    stature = _asked(options.stature, "How tall is the player, in metres? (empty: not known)", "", _stature)
    feeder = _asked(options.feeder, f"Who or what feeds, {', '.join(feeders)}?", "club", choice("feeder", feeders))
    known = variations_for(feeder)
    variation = _asked(options.variation, f"What does the player do, {', '.join(known)}?", known[0],
                       choice(f"what {feeder} can feed for: the variation", known))  # fmt: skip
    return first_script(Answers(hand, stature, feeder, variation))


def _asked(given: str | None, question: str, default: str, read: Callable[[str], T]) -> T:
    """The flag's answer; without a flag, the answer typed on a terminal, asked until it is valid; or the default."""
    if given is not None:
        return read(given.strip())
    if not sys.stdin.isatty():
        return read(default)
    while True:
        print(f"{question}{f' [{default}]' if default else ''} ", end="", file=sys.stderr, flush=True)
        line = sys.stdin.readline()
        if not line:
            raise Refusal("no answer, nothing was written")
        try:
            return read(line.strip() or default)
        except Refusal as refusal:
            say(str(refusal), sys.stderr)


def _stature(answer: str) -> float | None:
    from ...compiler.starter import STATURES

    if not answer:
        return None
    match = re.fullmatch(r"([0-9]+(?:\.[0-9]+)?) ?(m|cm)?", answer, re.ASCII)
    value = float(match[1]) if match else 0.0
    if match and (match[2] == "cm" or (match[2] is None and value > 3)):
        value /= 100
    low, high = STATURES
    if not low <= value <= high:
        raise Refusal(f"stature {answer} is not a length from {low} to {high} m, such as 1.72 or 172 cm")
    return value
