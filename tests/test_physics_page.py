"""PHYSICS.md names tests that exist, no difference beyond its tolerance, and doubts as large as it says."""

import ast
import json
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from .test_programs_flown import PROGRAMS, Reference, launched, plan_of
from .whole import WHOLE

TESTS = Path(__file__).parent
PAGE = (TESTS.parent / "compiler" / "physics" / "PHYSICS.md").read_text("utf-8")
ROWS = [line.strip("| \n").split(" | ") for line in PAGE.splitlines() if line[:1] == "|" and "::test_" in line]


def test_every_test_of_the_page_is_one() -> None:
    folders = (TESTS, TESTS / "calibration", TESTS / "physics")
    files = {path.name: path for folder in folders for path in folder.glob("test_*.py")}
    named = set(re.findall(r"`(test_\w+\.py)::(test_\w+)`", PAGE))
    assert len(ROWS) > 40 and all(re.search(r"`test_\w+\.py::test_\w+`", row[-1]) for row in ROWS)
    (alone,) = re.findall(r"`python -m pytest (tests/physics/(\w+\.py)::(\w+))`", PAGE)
    assert alone[1:] in named
    for file, name in named:
        defined = {node.name for node in ast.parse(files[file].read_text("utf-8")).body if hasattr(node, "name")}
        assert name in defined, f"{file} has no {name}"
    assert {path.name for path in (TESTS / "physics").glob("test_*.py")} <= {file for file, _ in named}


@pytest.mark.parametrize("row", ROWS, ids=[row[0][:40] for row in ROWS])
def test_no_difference_is_beyond_its_tolerance(row: list[str]) -> None:
    """And both are in the same unit."""
    assert len(row) == 5
    tolerance, largest = (re.fullmatch(r"(?:at most )?(\d[\d.e-]*) ?([^\d].*)?", cell) for cell in row[2:4])
    if largest is None:
        assert row[3] in {"holds", "inside", "equal", "none beyond"}
        return
    assert tolerance and float(largest[1]) <= float(tolerance[1])
    assert largest[2] is None or largest[2] == tolerance[2]


COLLECTING = "python -m pytest -p tests.differences tests/physics tests/test_answers.py tests/test_programs_flown.py"
CHEAP, MORE = ("air", "ball", "wheels"), ("bounce", "flight_moments")


def collected(*more: str) -> subprocess.CompletedProcess[str]:
    """In a process of its own: what collects puts itself in the place of pytest.approx."""
    options = ["-q", "--assert=plain", "-p", "no:cacheprovider", "-p", "tests.differences"]
    command = [sys.executable, "-m", "pytest", *options, *more]
    return subprocess.run(command, cwd=TESTS.parent, capture_output=True, text=True, check=False, timeout=120)


def test_the_page_is_not_behind_what_is_cheap_to_compute_again() -> None:
    """The rest is seen by the command that the page gives; it takes too long for every run."""
    done = collected(*(f"tests/physics/test_{name}.py" for name in (CHEAP + MORE if WHOLE else CHEAP)))
    assert done.returncode == 0, done.stdout
    (count,) = re.findall(r"^(\d+) of them stand in PHYSICS.md$", done.stdout, re.M)
    assert int(count) >= (15 if WHOLE else 10), "rows and comparisons find each other"


def test_both_pages_give_the_command_that_collects() -> None:
    developers = (TESTS.parent / "DEVELOPERS.md").read_text("utf-8")
    assert all(f"`{COLLECTING}`" in page for page in (PAGE, developers))


DOUBTS = {
    "drag without spin": ("ball", "drag_offset"),
    "growth of drag with spin": ("ball", "spin_drag"),
    "restitution at 16°": ("surface", "restitution"),
    "restitution straight down": ("surface", "drop_restitution"),
    "power of the speed in the loss": ("surface", "loss_growth"),
    "friction μ": ("surface", "friction"),
    "tangential restitution e_x": ("surface", "grip"),
}


def flown(plan: dict[str, Any], shot: dict[str, Any], part: str, entry: str, value: float) -> tuple[float, float]:
    """Landing along the court and height at the stance, with one constant changed, by scipy."""
    changed = json.loads(json.dumps(plan))
    changed[part][entry] = value
    reference = Reference(changed)
    start, spin = launched(shot["launch"])
    flight = reference.fly(start, spin, reference.radius)
    landed = flight.y[:, -1].tolist()
    onward = reference.fly(*reference.bounce(landed, spin), reference.radius)
    return landed[1], float(reference.plane(onward, shot["stance_y_m"])[1][2])


def test_the_doubts_are_as_large_as_the_page_says() -> None:
    plan = plan_of(PROGRAMS[1])
    high, low = plan["shots"]
    rows = re.findall(r"^\| ([^|]+) \| ([01]\.\d+) ([01]\.\d+) \|(.*)\|$", PAGE, re.M)
    assert {name for name, *_ in rows} == set(DOUBTS)
    for name, first, last, cells in rows:
        ends = [[flown(plan, shot, *DOUBTS[name], float(v)) for v in (first, last)] for shot in (high, low)]
        apart = [abs(one[k] - two[k]) for k in (0, 1) for one, two in ends]
        for cell, found in zip(cells.split("|"), apart, strict=True):
            if cell.strip():
                # Half of the last written digit.
                assert float(cell.split()[0]) == pytest.approx(found, abs=0.0051), name
