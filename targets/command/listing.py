"""`list`: the included programs and feeder profiles."""

import argparse
import sys
from collections.abc import Iterator
from shutil import get_terminal_size

from ...compiler.printable import json_shown, say, visible
from ...compiler.scripts import Refusal
from ...programs import shipped
from ...programs.shelf import LEVELS, Profile, Program, named, shelf
from . import CLEAN, ERRORS, Commands, colored, command, meant, takes_color

LEAST_ABOUT = 24
"""Fewest columns in which a program's description is still of use."""
MOST_TOLD, MOST_LINES = 6, 2
"""How many of the programs found are shown in full, and how many matching lines of each."""
MOST_NAMES = 6
"""How many names are shown if a part of a name matches many."""


def add(commands: Commands) -> None:
    parser = command(
        commands,
        "list",
        "show the included programs and feeder profiles",
        (
            ("feedwright list", "one line each"),
            ("feedwright list 01", "everything about one: by name, number or part of a name"),
            ("feedwright list shed", "also shed.toml in this folder: is the profile valid?"),
            ('feedwright list --for "high ball"', "programs that mention it, best match first"),
            ("feedwright list --level improver", "programs for this level"),
        ),
    )
    parser.add_argument("names", metavar="NAME", nargs="*", help="a program or a profile, or a part of a name")
    parser.add_argument("--for", dest="words", metavar="WORDS", help="only programs that mention all these words")
    parser.add_argument("--level", metavar="LEVEL", help=f"only programs for this level: {', '.join(LEVELS)}")
    parser.add_argument("--json", action="store_true", help="as JSON on standard output")
    takes_color(parser)
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    kept = shelf()
    programs, profiles = kept["programs"], kept["profiles"]
    if options.names:
        own = [entry for name in options.names if (entry := _own(name))]
        profiles = own + [entry for entry in profiles if entry["name"] not in {mine["name"] for mine in own}]
        asked = set(_asked(options.names, [entry["name"] for entry in (*programs, *profiles)]))
        programs = [entry for entry in programs if entry["name"] in asked]
        profiles = [entry for entry in profiles if entry["name"] in asked]
    if options.level is not None:
        programs, profiles = _at_level(programs, options.level), []
    found: dict[str, list[str]] = {}
    if options.words is not None:
        found, profiles = _speaking_of(options.words), []
        by_name = {entry["name"]: entry for entry in programs}
        programs = [by_name[name] for name in found if name in by_name]
    if options.json:
        listed = [{**entry, "found": found.get(entry["name"], [])} for entry in programs]
        sys.stdout.write(json_shown({"programs": listed, "profiles": profiles}))
        return CLEAN
    if not programs and not profiles:
        speaks = f" mentions {options.words}" if options.words is not None else ""
        level = f" for the level {options.level}" if options.level is not None else ""
        say(f"no included program{level}{speaks or ' is there'}", sys.stderr)
        return ERRORS
    colour = colored(options, sys.stdout)
    if options.names or found:
        told = programs if options.names else programs[:MOST_TOLD]
        _details(told, profiles, found, colour)
        if len(told) < len(programs):
            say("also", style=_bold(colour))
            _tell(", ".join(entry["name"] for entry in programs[len(told) :]))
    else:
        _overview(programs, profiles, colour)
    return CLEAN


def one_program(word: str) -> str:
    """The name of the one program that a word names: by its name, its number or a part of its name."""
    names = [name.removesuffix(".feed") for name in shipped()]
    near = named(word, names)
    if not near:
        raise Refusal(f"there is no program {word}{meant(word, names) or '; feedwright list shows them'}")
    if len(near) > 1:
        told = near if len(near) <= MOST_NAMES else [*near[:MOST_NAMES], f"{len(near) - MOST_NAMES} more"]
        raise Refusal(f"{word} is in the names of {', '.join(told[:-1])} and {told[-1]}; which of them?")
    return near[0]


def _own(name: str) -> Profile | None:
    """The profile NAME.toml of the current folder, which a script here would also use; None if there is none."""
    from pathlib import Path

    if not Path(f"{name}.toml").is_file():
        return None
    from ...compiler.model.feeder import AXES, ProfileProblem
    from ...programs.shelf import profile
    from ..machine.feeders import ProfileShelf

    try:
        feeder = ProfileShelf(Path.cwd()).load(name)
    except ProfileProblem as problem:
        raise Refusal(f"the feeder profile {name} cannot be used: {problem}") from problem
    return profile(feeder, AXES) if feeder else None


def _asked(words: list[str], names: list[str]) -> Iterator[str]:
    for word in words:
        near = named(word, names)
        if not near:
            raise Refusal(f"neither a program nor a profile is called {word}{meant(word, names)}")
        yield from near


def _at_level(programs: list[Program], word: str) -> list[Program]:
    levels = [level for level in LEVELS if level.startswith(word.removesuffix("s").lower())]
    if len(levels) != 1:
        raise Refusal(f"there is no level {word}{meant(word, LEVELS)}; there are {', '.join(LEVELS)}")
    return [entry for entry in programs if entry["level"] == levels[0]]


def _speaking_of(words: str) -> dict[str, list[str]]:
    from ...programs.search import search

    return search(words, {name.removesuffix(".feed"): text for name, text in shipped().items()})


def _overview(programs: list[Program], profiles: list[Profile], colour: bool) -> None:
    """One line for each; on a terminal the description is cut to the width of the terminal."""
    rows = [("program", "level", "min", "feeder", "what it is")]
    rows += [(p["name"], p["level"] or "", f"{p['minutes']:.0f}", p["feeder"], p["about"]) for p in programs]
    name, level, minutes, feeder = (max(len(row[i]) for row in rows) for i in range(4))
    width = get_terminal_size().columns if sys.stdout.isatty() else 0
    fixed = name + level + minutes + feeder + 8
    for n, row in enumerate(rows):
        line = f"{row[0]:{name}}  {row[1]:{level}}  {row[2]:>{minutes}}  {row[3]:{feeder}}"
        if not width or width - fixed >= LEAST_ABOUT:
            line += f"  {row[4]}"
            if 0 < width < len(line):
                line = line[: width - 3].rpartition(" ")[0] + " ..."
        say(line.rstrip(), style=_bold(colour and n == 0))
    if profiles:
        say("")
        say(f"{'profile':{name}}  feeder", style=_bold(colour))
        for profile in profiles:
            say(f"{profile['name']:{name}}  {profile['kind']}, {profile['title']}")
    say("")
    say("feedwright list NAME says more about one,")
    say("feedwright list --for WORDS finds those that mention something")


def _details(programs: list[Program], profiles: list[Profile], found: dict[str, list[str]], colour: bool) -> None:
    for entry in programs:
        say(entry["name"], style=_bold(colour))
        _tell(entry["about"])
        _tell(entry["for"])
        level = f"Level: {entry['level']}. " if entry["level"] else ""
        _tell(
            f"{level}{entry['feeder'].capitalize()}. {entry['balls']} balls in {entry['minutes']:g} min, "
            f"{entry['distinct_balls']} distinct balls; "
            f"the next ball differs from the last {entry['variety']:.0%} of the time."
        )
        _tell(f"Variations: {'; '.join(entry['variations'])}.")
        _tell(f"Balls: {', '.join(entry['feeds'])}.")
        told = (line for line in found.get(entry["name"], ()) if line not in (entry["about"], entry["for"]))
        for line, _ in zip(told, range(MOST_LINES), strict=False):
            _tell(line, "> ")
    for profile in profiles:
        say(profile["name"], style=_bold(colour))
        _tell(f"{profile['kind']}: {profile['title']}")
        _tell("; ".join(profile["ranges"]))


def _tell(text: str, mark: str = "") -> None:
    """Print indented; on a terminal wrapped to its width, otherwise in one line for a file or another program."""
    if sys.stdout.isatty():
        from textwrap import wrap

        width = max(get_terminal_size().columns, 40)
        first, rest = f"    {mark}", "    " + " " * len(mark)
        for line in wrap(visible(text), width, initial_indent=first, subsequent_indent=rest):
            say(line)
    else:
        say(f"    {mark}{text}")


def _bold(colour: bool) -> str:
    return "\x1b[1m" if colour else ""
