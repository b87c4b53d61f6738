"""The line that a failing case prints, pasted into a shell."""

import shlex
import subprocess
import sys
from pathlib import Path

from .cases import cases
from .test_cases import accepting

ROOT = Path(__file__).parent.parent


def test_the_line_to_accept_a_case_runs_that_case_alone() -> None:
    awkward = next(case for case in cases() if " " in case.title and "," in case.title)
    test = f"tests/test_cases.py::test_case_gives_what_it_says[{awkward.name}]"
    words = shlex.split(accepting(test).replace("--update", "--collect-only -q -p no:cacheprovider"))
    done = subprocess.run([sys.executable, *words[1:]], cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0 and done.stdout.splitlines()[0] == test, done.stdout + done.stderr
