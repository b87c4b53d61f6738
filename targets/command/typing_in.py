"""`measure type`: asks where each test ball landed, and writes the table."""

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from ...compiler.printable import plural, say
from ...compiler.scripts import Refusal, write_new
from . import CLEAN

if TYPE_CHECKING:
    from ...compiler.model.plan import Plan


def run(options: argparse.Namespace, plan: "Plan") -> int:
    from ...compiler.calibration.readings import table

    name = options.output or options.plan.removesuffix(".plan.json") + ".csv"
    place = Path(name)
    if place.exists() and any(row.split(",")[1:3] != ["", ""] for row in place.read_text("utf-8").splitlines()[1:]):
        raise Refusal(f"{name} holds landings already and stays unchanged; name another with -o")
    say("Left and right are seen from behind the machine. Enter alone: not seen. undo: one back. end: that is all.")
    rows, shots, i = dict[str, list[str]](), list(plan.shots), 0
    while i < len(shots):
        answer = _asked(shots[i].id, shots[i].predicted.landing_m)
        if answer == ["undo"]:
            i = max(i - 1, 0)
            rows.pop(shots[i].id, None)
            continue
        if answer == ["end"]:
            break
        if answer:
            rows[shots[i].id] = [shots[i].id, *answer, "", "tape", ""]
        i += 1
    if not rows:
        raise Refusal("no ball was read, so nothing was written")
    text = table([], [rows[shot.id] for shot in shots if shot.id in rows])
    if place.exists():
        from ...compiler.scripts import write_whole

        write_whole(name, text.encode())
    else:
        write_new(name, text)
    say(f"wrote {name}, {plural(len(rows), 'ball')}")
    return CLEAN


def _asked(ball: str, expected: "tuple[float, float] | None") -> list[str]:
    """Both distances of a ball as text; nothing if it was not seen; `undo` or `end`."""
    from ...compiler.calibration.law import DEPTH, SIDE
    from ...compiler.calibration.readings import impossible

    found: list[str] = []
    questions = ((DEPTH, "past the net, m"), (SIDE, "to the right, m (to the left: -)"))
    while len(found) < 2:
        kind, words = questions[len(found)]
        try:
            text = input(f"{ball}: {words}: ").strip().lower()
        except EOFError:
            return ["end"]
        if text in ("end", "") and not found:
            return ["end"] if text else []
        if text == "undo":
            if not found:
                return ["undo"]
            found.pop()
            continue
        try:
            figure = float(text.replace(",", "."))
        except ValueError:
            say(f'"{text[:20]}" is not a number of metres, such as 6.35')
            continue
        if lacks := impossible(kind, figure) or ("" if figure == figure else "that is no number"):
            say(lacks)
            continue
        far = 0.0 if expected is None else abs(figure - expected[1 if kind == DEPTH else 0])
        if far > 5.0:
            say(f"that is {far:.1f} m from where the profile expects it; undo if it is a slip")
        found.append(f"{figure:g}")
    return found
