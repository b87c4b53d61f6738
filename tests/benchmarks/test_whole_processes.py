"""A whole `check` and `format --check` of a long script, as so many bare imports of numpy, most of what they load.

Byte code has to be cached for this to mean anything: PYTHONDONTWRITEBYTECODE is taken out of the environment.
"""

import os
import subprocess
import sys
from functools import partial
from pathlib import Path

import pytest

from .timing import best

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


@pytest.mark.benchmark
def test_a_long_script_is_checked_in_a_few_times_the_import_of_numpy(tmp_path: Path) -> None:
    script = tmp_path / "long.feed"
    script.write_text(long_script())
    environment = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}

    def run(*words: str) -> None:
        subprocess.run([sys.executable, *words], env=environment, check=True, capture_output=True)

    entry = "import sys; from feedwright.targets.command.cli import program; program()"
    bare = best(partial(run, "-c", "import numpy"), 9)
    print()
    ratios = {}
    for words in (("check", str(script)), ("format", "--check", str(script))):
        taken = best(partial(run, "-c", entry, *words), 9)
        ratios[words[0]] = taken / bare
        print(f"{words[0]}: {taken:.3f} s, {taken / bare:.1f} imports of numpy ({bare:.3f} s)")
    # 0.5 s and 0.25 s where numpy is loaded in 0.1 s
    assert ratios["check"] < 5.5 and ratios["format"] < 2.75
