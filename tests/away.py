"""What an installed copy has to do: `python away.py [FOLDER]`, run outside the repository by any Python that has it.

With FOLDER the package has to come from there. Nothing of pytest is needed. Prints nothing but what the commands print.
"""

import contextlib
import io
import sys
from importlib.metadata import files, version
from pathlib import Path

import feedwright
from feedwright.targets.command.cli import main

OWN = """\
program "My own"
    surface   clay
    player    right-handed, 1.70 m tall
    feeder    machine club, on centre, on baseline, behind a screen

use "02-first-script.feed"

session "Four minutes"
    4 min     mix high, low, at most 2 alike
"""

place = Path(feedwright.__file__).parent
if len(sys.argv) > 1:
    assert place.is_relative_to(sys.argv[1]), place
assert (place / "py.typed").is_file() and (place / "LICENSE.txt").is_file() and (place / "API.md").is_file()
assert version("feedwright") == feedwright.__version__
assert any(str(file).endswith("licenses/targets/api/LICENSE.txt") for file in files("feedwright") or ())

Path("own.feed").write_text(OWN, "utf-8")
for words in (
    ["list"], ["list", "01"], ["list", "--for", "backhand"], ["why", "net-hit"],
    ["new", "mine.feed", "--from", "after-the-serve"], ["new", "all.feed", "--from", "99"],
    ["check", "mine.feed"], ["check", "all.feed"], ["check", "own.feed"], ["format", "--check", "mine.feed"],
    ["build", "own.feed", "-o", "out"], ["replay", "out/own.plan.json", "--dry-run", "--to", "2"],
    ["show", "own.feed", "--html", "-o", "out"], ["cues", "own.feed", "-o", "out"],
):  # fmt: skip
    told = io.StringIO()
    with contextlib.redirect_stderr(told):
        assert main(words) == 0, (words, told.getvalue())
    assert not told.getvalue(), (words, told.getvalue())

result = feedwright.compile(OWN)
assert result.plan and not result.findings and feedwright.verify(result.plan) == ()
assert feedwright.fly((0, -11.885, 1.0), 25.0, 0.2).met.all()
