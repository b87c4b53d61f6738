"""The shelf of programs where nothing but an installed package is there: laid out as pyproject.toml says, away from the
repository."""

import os
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path

from feedwright.programs import shipped

ROOT = Path(__file__).parent.parent
STEPS = """
import sys
from feedwright import programs
from feedwright.compiler.cli import main

assert programs.__file__.startswith(sys.argv[1]), programs.__file__
for words in (
    ["list"], ["list", "01"], ["list", "--for", "backhand"], ["new", "mine.feed", "--from", "backhand-wing"],
    ["new", "all.feed", "--from", "99"], ["check", "mine.feed"], ["check", "all.feed"], ["check", "own.feed"],
):
    assert main(words) == 0, words
"""
OWN = """\
program "My own"
    surface   clay
    player    right-handed, 1.70 m tall
    feeder    machine club, on centre, on baseline, behind a screen

use "02-first-script.feed"

session "Four minutes"
    4 min     mix high, low, at most 2 alike
"""


def test_an_installed_shelf_lists_copies_and_is_used(tmp_path: Path) -> None:
    settings = tomllib.loads((ROOT / "pyproject.toml").read_text())["tool"]["setuptools"]
    site, away = tmp_path / "site", tmp_path / "away"
    for package in settings["packages"]:
        parts = package.split(".")
        (site / Path(*parts)).mkdir(parents=True)
        for pattern in ("*.py", *settings["package-data"].get(package, ())):
            for path in ROOT.joinpath(*parts[1:]).glob(pattern):
                shutil.copy(path, site / Path(*parts))
    away.mkdir()
    (away / "own.feed").write_text(OWN, "utf-8")
    done = subprocess.run(
        [sys.executable, "-c", STEPS, site], env={**os.environ, "PYTHONPATH": str(site)},
        cwd=away, capture_output=True, text=True, timeout=60, check=False,
    )  # fmt: skip
    assert done.returncode == 0 and done.stderr == "", done.stderr
    assert "all.feed: no problems" in done.stdout and "own.feed: no problems" in done.stdout
    assert (away / "mine.feed").read_text("utf-8") == shipped()["01-backhand-wing.feed"]
