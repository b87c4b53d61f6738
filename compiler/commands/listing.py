"""`list`: the programs and the feeder profiles that come along."""

import argparse
import json
import re
import sys
from collections.abc import Iterator
from typing import TYPE_CHECKING

from . import CLEAN, ERRORS, Commands, command

if TYPE_CHECKING:
    from ..model.feeder import Feeder


def add(commands: Commands) -> None:
    parser = command(
        commands,
        "list",
        "show the programs and feeder profiles that come along",
        (
            ("feedwright list", "programs with balls, time and variety; profiles with their ranges"),
            ('feedwright list --for "high ball"', "programs whose titles, jobs or comments say so"),
        ),
    )
    parser.add_argument("--for", dest="words", metavar="WORDS", help="only programs that speak of all these words")
    parser.add_argument("--json", action="store_true", help="as JSON on standard output")
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    programs = list(_programs(options.words))
    profiles = [] if options.words is not None else list(_profiles())
    if options.json:
        json.dump({"programs": programs, "profiles": profiles}, sys.stdout, ensure_ascii=False, indent=2)
        print()
        return CLEAN
    for entry in programs:
        print(f"{entry['name']}\n    {entry['about']}\n    {entry['for']}")
        print(
            f"    {entry['balls']} balls in {entry['minutes']:g} min, {entry['distinct_balls']} distinct balls; "
            f"the next ball differs from the last {entry['variety']:.0%} of the time"
        )
        for line in entry["found"][:3]:
            print(f"    > {line}")
    if options.words is not None and not programs:
        print(f"no program that comes along speaks of {options.words}", file=sys.stderr)
        return ERRORS
    if profiles:
        print("\nfeeder profiles")
    for entry in profiles:
        print(f"{entry['name']}\n    {entry['kind']}: {entry['title']}\n    {'; '.join(entry['ranges'])}")
    return CLEAN


def introduction(text: str) -> tuple[str, str]:
    """From the comment a program begins with: what it is, and the sentence that begins with For."""
    head = re.match(r"(?:#[^\n]*\n)*", text)
    words = " ".join(line.lstrip("#").strip() for line in head[0].splitlines()) if head else ""
    sentences = re.split(r"(?<=\.)\s+", words)
    return sentences[0], next((s for s in sentences if s.startswith("For ")), "")


def _programs(words: str | None) -> Iterator[dict]:
    from ...programs import ScriptShelf, shipped
    from ...targets.feeders import ProfileShelf
    from ..pipeline import sum_up
    from ..source import Source

    for name, text in shipped().items():
        found = list(_lines_with(text, words.lower().split())) if words is not None else []
        if words is not None and not found:
            continue
        totals = sum_up(Source(name, text), ProfileShelf(), ScriptShelf(None))
        assert totals, f"{name} comes along and does not compile"
        about, whom = introduction(text)
        yield {
            "name": name.removesuffix(".feed"), "about": about, "for": whom, "balls": totals.balls,
            "minutes": round(totals.duration_s / 60, 1), "distinct_balls": totals.distinct_shots,
            "variety": totals.variety, "found": found,
        }  # fmt: skip


def _lines_with(text: str, words: list[str]) -> Iterator[str]:
    """The titles, situations and comments that hold one of the words, if between them they hold all; first those that
    hold most."""
    said = [line.strip() for line in text.splitlines() if re.search(r'#|"|^\s*when\b|^variation\b', line)]
    if all(any(word in line.lower() for line in said) for word in words):
        held = {line.lstrip("# -"): sum(word in line.lower() for word in words) for line in said}
        yield from sorted((line for line in held if held[line]), key=lambda line: -held[line])


def _profiles() -> Iterator[dict]:
    from ...targets.feeders import ProfileShelf

    shelf = ProfileShelf()
    for name in shelf.names():
        feeder = shelf.load(name)
        assert feeder
        yield {"name": name, "kind": feeder.kind, "title": feeder.title, "ranges": list(_ranges(feeder))}


def _ranges(feeder: "Feeder") -> Iterator[str]:
    from ..model.feeder import AXES

    for axis in AXES:
        found = getattr(feeder, axis)
        if found:
            changes = "" if found.changes == "between balls" else f", changed {found.changes}"
            yield f"{axis} {found.low:g} to {found.high:g} {found.unit}{changes}"
    yield f"a ball every {feeder.shortest_interval_s:g} s"
    if feeder.hopper:
        yield f"{feeder.hopper} balls in the hopper"
