"""The table and the stream: a line a launch.

The files in golden/ were compared by eye with the plans in plans.py. UPDATE_GOLDEN=1 writes them anew: read the
difference before it is kept. The numbers of the stream are computed once more below, from the plan, by another way.
"""

import os
import re
from fractions import Fraction
from pathlib import Path

import pytest

from feedwright.compiler.model.device import scaled
from feedwright.compiler.model.plan import LaunchTime, Plan
from feedwright.compiler.printable import plural
from feedwright.targets import TARGETS
from feedwright.targets.outputs import stream, table

from .plans import make_plan

GOLDEN = Path(__file__).parent / "golden"
GO = re.compile(r"go b=([0-9]{1,9}) at=([0-9]{1,9})" + "".join(rf" {key}=(-?[0-9]{{1,6}})" for key in "seatk"))


@pytest.mark.parametrize(
    ("name", "target", "machine"),
    [("machine.stream", "stream", True), ("machine.table.txt", "table", True), ("person.table.txt", "table", False)],
)
def test_golden_bytes(name: str, target: str, machine: bool) -> None:
    made = TARGETS[target].render(make_plan(machine))
    if os.environ.get("UPDATE_GOLDEN"):
        (GOLDEN / name).write_bytes(made)
    assert made == (GOLDEN / name).read_bytes(), f"{name} differs; UPDATE_GOLDEN=1 accepts it"


def half_even(value: float, steps: int) -> int:
    """The nearest integer, ties to the even one, of the shortest decimal that stands for the value."""
    return round(Fraction(str(value)) * steps)


def test_every_launch_has_its_integers_in_order(machine_plan: Plan) -> None:
    gone = [GO.fullmatch(line) for line in stream.render(machine_plan).decode("ascii").splitlines() if line[:2] == "go"]
    shots = {shot.id: shot.launch for shot in machine_plan.shots}
    assert len(gone) == len(machine_plan.launches)
    for number, (found, ball) in enumerate(zip(gone, machine_plan.launches, strict=True), start=1):
        launch = shots[ball.shot]
        assert found is not None
        assert [int(group) for group in found.groups()] == [
            number,
            half_even(ball.at_s, 1000),
            half_even(launch.speed_mps, 1000),
            half_even(launch.elevation_deg, 1000),
            half_even(launch.azimuth_deg, 1000),
            half_even(launch.topspin_rpm, 10),
            half_even(launch.sidespin_rpm, 10),
        ]


@pytest.mark.parametrize(
    ("value", "steps", "wanted"), [(19.4445, 1000, 19444), (19.4455, 1000, 19446), (-0.0001, 10, 0)]
)
def test_ties_go_to_the_even_integer(value: float, steps: int, wanted: int) -> None:
    assert scaled(value, steps) == wanted


def test_each_part_has_its_two_markers_and_its_balls_between(machine_plan: Plan) -> None:
    body = [line for line in stream.render(machine_plan).decode().splitlines() if not line.startswith("#")]
    assert [(i, line) for i, line in enumerate(body) if not line.startswith("go ")] == [
        (0, "part n=0 balls=10"),
        (11, "end n=0"),
        (12, "part n=1 balls=10"),
        (23, "end n=1"),
    ]


def test_the_header_says_what_the_file_is_not(machine_plan: Plan) -> None:
    head = "\n".join(line for line in stream.render(machine_plan).decode().splitlines() if line.startswith("# "))
    for said in (
        "program: Baseline pairs",
        f"plan: {machine_plan.digest}",
        f"fingerprint {machine_plan.feeder.fingerprint}",
        "Checked for this feeder only.",
        "Never play it on a machine with a person in front: it has no arm and no stop.",
        "balls: 20",
    ):
        assert said in head


def test_a_title_cannot_become_a_command() -> None:
    made = stream.render(make_plan(True, program="x\ngo b=1 at=0 s=60000\r\u2028é\u202e\x07"))
    lines = made.decode("ascii").splitlines()
    assert r"# program: x go b=1 at=0 s=60000\u000d\u2028\u00e9\u202e\u0007" in lines
    assert sum(line.startswith("go ") for line in lines) == 20


def test_a_person_gets_no_stream(person_plan: Plan) -> None:
    with pytest.raises(ValueError, match="for a person"):
        stream.render(person_plan)


def test_the_table_has_one_width_and_a_line_a_launch(person_plan: Plan, machine_plan: Plan) -> None:
    for plan in (person_plan, machine_plan):
        lines = table.render(plan).decode().split("\n\n", 1)[1].splitlines()
        assert len(lines) == 2 + len(plan.launches)
        assert {len(line) for line in lines[:1] + lines[2:]} == {len(lines[0])}


def test_the_clock_counts_rests_and_collects(machine_plan: Plan) -> None:
    # First ball of the second part: 122 s into the session (16 + 20 + 26 + 60).
    row = table.render(machine_plan).decode().split("\n\n", 1)[1].splitlines()[2 + 10].split()
    assert row[:5] == ["11", "2:02", "122.000", "2", "3"]


def test_a_ball_on_the_full_has_no_landing(person_plan: Plan) -> None:
    shot = person_plan.shots[0]
    full = shot.model_copy(
        update={"predicted": shot.predicted.model_copy(update={"landing_m": None, "net_clearance_m": None})}
    )
    plan = person_plan.model_copy(
        update={"shots": (full,), "launches": (LaunchTime(at_s=0.0, shot=full.id, block=0),)}
    ).sealed()
    assert table.render(plan).decode().splitlines()[-1].split()[-4:] == ["-", "-", "-", "1.03"]


def test_one_ball_and_two_balls() -> None:
    assert [plural(n, "ball") for n in (0, 1, 2)] == ["0 balls", "1 ball", "2 balls"]
    assert [plural(n, "miss", "misses") for n in (0, 1, 2)] == ["0 misses", "1 miss", "2 misses"]
