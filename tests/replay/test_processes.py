"""The processes that tests of a replay start."""

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]
LEAVES_ONE = """
from tests.replay.processes import Forked, end, opened
import os
ours, theirs = opened((80, 24))
left = Forked("import time; time.sleep(600)", (), dict(os.environ), os.ttyname(theirs))
end()
print(left.pid)
"""


def test_what_a_failed_scene_leaves_behind_ends_with_the_tests() -> None:
    done = subprocess.run(
        [sys.executable, "-c", LEAVES_ONE], cwd=ROOT, capture_output=True, text=True, timeout=60, check=True
    )
    assert not Path(f"/proc/{done.stdout.strip()}").exists()
