"""The figures of the included programs and feeder profiles, kept in shelf.json so that `list` is fast, and the page
made from them. A test writes both again from the programs and compares."""

import json
import re
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, TypedDict

if TYPE_CHECKING:
    from ..compiler.model.feeder import Feeder
    from ..compiler.model.plan import Plan

DATA = Path(__file__).parent / "shelf.json"
LEVELS = ("beginner", "improver", "club player", "tournament player")

Program = TypedDict(
    "Program",
    {
        "name": str, "about": str, "for": str, "level": str | None, "feeder": str, "balls": int, "minutes": float,
        "distinct_balls": int, "variety": float, "variations": list[str], "feeds": list[str],
    },
)  # fmt: skip
"""`level` is one of LEVELS, None for what is no practice; `variety` the share of consecutive balls that differ."""


class Profile(TypedDict):
    name: str
    kind: str
    title: str
    ranges: list[str]


class Shelf(TypedDict):
    programs: list[Program]
    profiles: list[Profile]


def shelf() -> Shelf:
    """What shelf.json says; programs and profiles each in order of their names."""
    found: Shelf = json.loads(DATA.read_text("utf-8"))
    return found


def named(word: str, names: Iterable[str]) -> list[str]:
    """The names that a word may mean: the one it is, the one of that number, or all that hold it."""
    word, known = word.removesuffix(".feed"), list(names)
    if word in known:
        return [word]
    if word.isdecimal():
        return [name for name in known if name.partition("-")[0].lstrip("0") == word.lstrip("0")]
    return [name for name in known if word and word.lower() in name]


def opening(text: str) -> list[str]:
    """The sentences of the comment that a script begins with."""
    head = re.match(r"(?:#[^\n]*\n)*", text)
    words = " ".join(line.lstrip("#").strip() for line in head[0].splitlines()) if head else ""
    return re.split(r"(?<=\.)\s+", words)


def program(name: str, text: str, plan: "Plan") -> Program:
    """A program's entry, from its text and its plan."""
    said, totals = opening(text), plan.totals
    aimed = {shot.variation for shot in plan.shots}
    level = re.search(r"^# Level: (.+)\.$", text, re.M)
    return {
        "name": name.removesuffix(".feed"),
        "about": said[0],
        "for": next((sentence for sentence in said if sentence.startswith("For ")), ""),
        "level": level[1] if level else None,
        "feeder": f"{plan.feeder.kind} {plan.feeder.name}",
        "balls": totals.balls,
        "minutes": round(totals.duration_s / 60, 1),
        "distinct_balls": totals.distinct_shots,
        "variety": totals.variety,
        "variations": [f"{variation.id}, {variation.title}" for variation in plan.variations if variation.id in aimed],
        "feeds": list(dict.fromkeys(shot.feed for shot in plan.shots)),
    }


def profile(feeder: "Feeder", axes: Iterable[str]) -> Profile:
    """A profile's entry: what it is, and what it can be set to."""
    ranges = []
    for axis in axes:
        found = getattr(feeder, axis)
        if found:
            changes = "" if found.changes == "between balls" else f", changed {found.changes}"
            said = f"{axis} {found.low:g} to {found.high:g} {found.unit}"
            if axis == "topspin" and found.low < 0:
                said = f"topspin up to {found.high:g}, backspin up to {-found.low:g} {found.unit}"
            if axis == "sidespin" and found.low == -found.high:
                said = f"sidespin up to {found.high:g} {found.unit} to either side"
            ranges.append(said + changes)
        elif axis == "sidespin":
            ranges.append("no sidespin")
    ranges.append(f"a ball every {feeder.least_interval_s:g} s")
    ranges.append(f"balls leave {feeder.release_height_m:g} m above the ground")
    if feeder.hopper:
        ranges.append(f"{feeder.hopper} balls in the hopper")
    return {"name": feeder.name, "kind": feeder.kind, "title": feeder.title, "ranges": ranges}


def as_text(found: Shelf) -> str:
    """The text of shelf.json."""
    return json.dumps(found, ensure_ascii=False, indent=2) + "\n"


_INTRODUCTION = """# Programs

This page lists the included programs: scripts to play as they are, or to copy and change. Look for your level and for
what you feed with; that takes two minutes. `pytest tests/test_library.py --update` writes the page from the scripts.

```sh
feedwright list                                   # one line each; with a name, more about that one
feedwright list --for "high ball"                 # those about a subject, the best match first
feedwright list --level improver                  # those for this level
feedwright new mine.feed --from {example}   # a copy to change; its number or part of its name is enough
feedwright check mine.feed                        # how long it takes, and what is wrong with it
```

A script of your own, in any folder, takes variations and balls from an included program with
`use "{example}.feed"`.

Each program is for one feeder, one surface and one player. Change these to yours, and check again. The profiles are
invented. Before the first ball read [what keeps people safe](../README.md#before-the-first-ball). The levels are our
own choice: {levels}.
*Distinct* is the number of different balls, and *differs* is how often the next ball differs from the last.

| program | what it is | for | level | feeder | balls | min | distinct | differs |
| --- | --- | --- | --- | --- | --: | --: | --: | --: |
"""


def page(programs: Iterable[Program]) -> str:
    """The text of programs/README.md: a table of what is practised, then what is only looked at."""
    rows, apart = [], []
    for entry in programs:
        link = f"[{entry['name']}]({entry['name']}.feed)"
        if entry["level"] is None:
            apart.append(f"\n{link} is not a practice and has no level. {entry['about']} {entry['for']}\n")
            continue
        whom = entry["for"].removeprefix("For ").removesuffix(".")
        cells = (
            link, entry["about"], whom, entry["level"], entry["feeder"], f"{entry['balls']}",
            f"{entry['minutes']:.0f}", f"{entry['distinct_balls']}", f"{entry['variety']:.0%}",
        )  # fmt: skip
        rows.append(f"| {' | '.join(cell.replace('|', chr(92) + '|') for cell in cells)} |\n")
    levels = f"{', '.join(LEVELS[:-1])} and {LEVELS[-1]}"
    return _INTRODUCTION.format(example="02-first-script", levels=levels) + "".join(rows + apart)
