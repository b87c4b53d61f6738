"""A machine that stands on a scaffold, and a hopper with fewer balls than it holds: what a script says of its feeder
beside the profile, in the plan and before a replay."""

import json
from pathlib import Path

import pytest

from feedwright.compiler.pipeline import compile_source
from feedwright.grammar.source import Source
from feedwright.targets.command.cli import main
from feedwright.targets.document import render
from feedwright.targets.machine.feeders import ProfileShelf
from feedwright.targets.outputs.sheet.page import sheet

from .flown import Reference, launched
from .forged import Document, judged, put

SCRIPT = """program "From above"
    surface   hard
    player    right-handed, 1.75 m tall
    feeder    machine academy, on centre, on baseline, behind a screen{more}
feed serve-like
    side      backhand wing
    depth     1 to 4 m inside baseline
    stance    2 m behind baseline
    height    1 m over net
    spin      flat
    interval  5 s
session "From above"
    8 balls   serve-like
"""


def plan_of(more: str) -> Document:
    made = compile_source(Source("t.feed", SCRIPT.format(more=more)), ProfileShelf(), remedies=False)
    assert made.plan, made.findings
    document: Document = json.loads(render(made.plan))
    return document


def test_the_ball_leaves_as_high_as_the_script_says_and_flies_so() -> None:
    """Flown again by the reference of flown.py, an integrator and a force law of others: within 5 mm, as elsewhere."""
    plan = plan_of(", raised to 2.4 m")
    (shot,) = plan["shots"]
    assert shot["launch"]["origin_m"][2] == plan["feeder"]["release_height_m"] == 2.4
    reference = Reference(plan)
    start, spin = launched(shot["launch"])
    landed = reference.fly(start, spin, reference.radius).y[:2, -1].tolist()
    assert landed == pytest.approx(shot["predicted"]["landing_m"], abs=5e-3)
    # The same ball over the net falls more steeply from there: the line from the feeder over the cord leads lower.
    on_the_ground = plan_of("")["shots"][0]["launch"]
    assert shot["launch"]["elevation_deg"] < on_the_ground["elevation_deg"]
    assert on_the_ground["origin_m"][2] == 0.9  # the machine's own, in its profile


def test_what_the_script_says_of_the_feeder_holds_before_a_replay() -> None:
    plan = plan_of(", raised to 2.4 m, hopper 20 balls")
    assert judged(plan)[1] == [] and plan["feeder"]["hopper"] == 20
    for entry, values in (("release_height_m", (0.5, 3.6)), ("hopper", (151, None))):
        for value in values:
            forged = json.loads(json.dumps(plan))
            put(forged, ("feeder", entry), value)
            if entry == "release_height_m":
                put(forged, ("shots", 0, "launch", "origin_m", 2), value)
            assert f"disagree about the feeder's {entry.removesuffix('_m').replace('_', ' ')}" in judged(forged)[1][0]
    put(plan, ("feeder", "release_height_m"), 2.0)
    assert "does not start where the feeder releases it" in judged(plan)[1][0]


@pytest.mark.parametrize("more", [", raised to 2.4 m", ""])
def test_who_arms_a_replay_reads_how_high_the_machine_stands(
    more: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "t.plan.json"
    file.write_bytes(json.dumps(plan_of(more)).encode())
    assert main(["replay", str(file), "--dry-run"]) == 0
    assert ("balls leave 2.4 m above the ground" in capsys.readouterr().out) is bool(more)


def test_the_sheet_says_to_raise_the_machine_and_warns() -> None:
    for more, told in ((", raised to 2.4 m", True), ("", False)):
        made = compile_source(Source("t.feed", SCRIPT.format(more=more)), ProfileShelf(), remedies=False)
        assert made.plan
        front = sheet(made.plan).front
        facts, cautions = dict(front.facts), " ".join(front.cautions)
        assert (facts["Machine"].endswith("raised so that balls leave 2.4 m above ground")) is told
        assert ("tied fast" in cautions) is told
