"""Whole commands as so many times what their libraries take to load, and edits in a warm process as shares of a whole.

The floor is a process that loads argparse, lark, pydantic and numpy and does nothing. Commands and floor take turns, by
the processor's time that they and what they start have used; the shortest of several turns counts. Byte code has to be
cached for this to mean anything: PYTHONDONTWRITEBYTECODE is taken out of the environment.
"""

import os
import subprocess
import sys
from pathlib import Path
from time import process_time

import numpy as np
import pytest

from feedwright.compiler import kept
from feedwright.compiler.pipeline import compile_source
from feedwright.grammar.parse import parse
from feedwright.grammar.source import Source
from feedwright.programs import ScriptShelf
from feedwright.targets.machine.feeders import ProfileShelf

pytestmark = pytest.mark.benchmark

PROGRAM = Path(__file__).parents[2] / "programs" / "01-after-the-serve.feed"
ENTRY = "import sys; from feedwright.targets.command.cli import program; program()"
FLOOR = "import argparse, lark, pydantic, numpy"
TURNS, RUNS = 3, 5
FEEDS = 40


def long_script() -> str:
    """400 lines with 40 different feeds."""
    lines = [
        'program "Long"', "    surface   hard", "    player    right-handed, 1.74 m tall, reply up to 120 km/h",
        "    feeder    machine academy, on centre, 0.5 m behind baseline, behind a screen", "",
    ]  # fmt: skip
    for v in range(8):
        reply = f"    reply     deep, at least 1 m over net, topspin {900 + 50 * v} rpm"
        lines += [f'variation v{v} "deep"', f"    when      the ball comes {v}", reply, "    goal      8 in a row", ""]
    for i in range(FEEDS):
        lines += [
            f"feed f{i} aims v{i % 8}",
            f"    side      {'left' if i % 2 else 'right'} wing",
            f"    depth     {1 + 0.02 * i:.2f} to {3.5 + 0.02 * i:.2f} m inside baseline",
            f"    stance    {2 + 0.01 * i:.2f} m behind baseline",
            f"    height    {0.9 + 0.005 * i:.3f} m",
            f"    spin      topspin {800 + 10 * i} rpm",
            "    interval  5 s",
            "",
        ]
    lines.append('session "Long"')
    for k in range(20):
        names = ", ".join(f"f{(2 * k + j) % FEEDS}" for j in range(4))
        lines += [
            f"    20 balls  mix {names}, at most 2 alike",
            "    rest      30 s" if k % 4 else "    collect   2 min",
        ]
    return "\n".join(lines) + "\n"


def taken(*words: str) -> float:
    """Seconds of the processor that a process takes."""
    environment = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    before = os.times()
    subprocess.run([sys.executable, *words], env=environment, check=True, capture_output=True)
    after = os.times()
    return after.children_user + after.children_system - before.children_user - before.children_system


MOST = {"check": 1.5, "build": 2.0, "check of 400 lines": 2.4, "format": 0.4, "list": 0.4, "why": 0.4}


def test_a_command_takes_little_more_than_its_libraries_take_to_load(tmp_path: Path) -> None:
    script = tmp_path / "long.feed"
    script.write_text(long_script())
    commands = {
        "check": ("check", str(PROGRAM)), "build": ("build", str(PROGRAM), "-o", str(tmp_path / "out")),
        "check of 400 lines": ("check", str(script)), "format": ("format", "--check", str(PROGRAM)),
        "list": ("list",), "why": ("why", "net-hit"),
    }  # fmt: skip
    ratios: dict[str, list[float]] = {name: [] for name in commands}
    floors = []
    for _ in range(RUNS):
        best = dict.fromkeys(["", *commands], np.inf)
        for _ in range(TURNS):
            best[""] = min(best[""], taken("-c", FLOOR))
            for name, words in commands.items():
                best[name] = min(best[name], taken("-c", ENTRY, *words))
        floors.append(best[""])
        for name in commands:
            ratios[name].append(best[name] / best[""])
    print(f"\nfloor: {min(floors) * 1e3:.0f} ms")
    for name, found in ratios.items():
        least, middle, largest = np.quantile(found, [0, 0.5, 1])
        print(f"{name}: {middle:.2f} times the floor ({least:.2f} to {largest:.2f}), at most {MOST[name]}")
    assert {name: min(found) for name, found in ratios.items() if min(found) > MOST[name]} == {}


def test_an_edit_costs_what_it_changes() -> None:
    text = PROGRAM.read_text("utf-8")

    def spent(edited: str) -> float:
        start = process_time()
        compile_source(Source("edited.feed", edited), ProfileShelf(None), ScriptShelf(None))
        return process_time() - start

    def first(edited: str) -> float:
        kept.forget()
        return spent(edited)

    def read(edited: str) -> float:
        start = process_time()
        parse(Source("edited.feed", edited))
        return process_time() - start

    spent(text)
    whole, comment, note, feed, lines = [], [], [], [], []
    for turn in range(RUNS):
        whole.append(first(text))
        comment.append(spent(f"{text}# read {turn}\n"))
        note.append(spent(text.replace("Use half a swing", f"Use half a swing {turn}")))
        feed.append(spent(text.replace("1.1 m over net", f"{1.11 + turn / 100:.2f} m over net")))
        lines.append(read(text))
    print(f"\nwhole: {min(whole) * 1e3:.0f} ms; all rows are read anew in {min(lines) * 1e3:.1f} ms")
    edits = {"comment": min(comment), "note": min(note), "feed": min(feed)}
    print(*(f"a changed {of} {s * 1e3:.1f} ms, {s / min(whole):.3f} of the whole" for of, s in edits.items()), sep="\n")
    floor = min(taken("-c", FLOOR) for _ in range(TURNS))
    reading = min(lines) * 150 / len(text.splitlines())
    print(f"150 lines are read in {reading / floor:.2f} times the floor, {reading * 1e3:.0f} ms")
    assert reading < floor / 8  # 25 ms where the floor takes 200
    assert min(comment) < min(lines)  # only rows that differ are read, and nothing is judged
    assert min(note) < min(whole) / 12  # its line is resolved, and the plan made anew
    assert min(feed) < min(whole) * 0.3
