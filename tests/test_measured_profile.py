"""A profile with measured corrections: what the machine is told changes, what the script asks does not."""

from functools import cache
from math import cos, radians, sin

import numpy as np
import pytest

from feedwright.compiler.model.feeder import Feeder
from feedwright.compiler.model.measured import MeasuredFeeder
from feedwright.compiler.model.plan import Plan
from feedwright.compiler.physics.air import Air, density
from feedwright.compiler.physics.ball import BALLS
from feedwright.compiler.physics.flight import fly, launch
from feedwright.compiler.physics.moments import at_height
from feedwright.compiler.pipeline import compile_source
from feedwright.compiler.verify import verify
from feedwright.grammar.source import Source
from feedwright.targets.machine.feeders import SHIPPED, read
from feedwright.targets.machine.wire.template import fill
from feedwright.targets.outputs import stream

from .shipped import PROGRAMS

MEASURED = "\n[measured]\nroll_deg = 3\ndrag = 0.03\nspin_drag = -0.3\nrestitution = 1.03\nfriction = 0.9\n"
AXES = {
    "speed": "true_scale = 1.06\ntrue_offset = 1.5",
    "elevation": "true_offset = -1.2",
    "azimuth": "true_offset = 0.6",
    "topspin": "true_scale = 0.85",
}


class OneProfile:
    def __init__(self, feeder: Feeder) -> None:
        self.feeder = feeder

    def names(self) -> list[str]:
        return [self.feeder.name]

    def load(self, name: str) -> Feeder | None:
        return self.feeder if name == self.feeder.name else None


def measured(name: str, axes: dict[str, str] = AXES) -> Feeder:
    text = (SHIPPED / f"{name}.toml").read_text("utf-8")
    for axis, lines in axes.items():
        text = text.replace(f"[{axis}]\n", f"[{axis}]\n{lines}\n", 1)
    return read((text + MEASURED).encode(), "ours")


@cache
def plan_of(name: str) -> tuple[Plan, Feeder]:
    feeder = measured(name)
    script = next(path for path in PROGRAMS if path.stem.startswith("02")).read_text("utf-8")
    script = script.replace("machine club", "machine ours")
    if name == "silent":  # its topspin is fixed, its hopper small
        script = script.replace("topspin 1200 rpm", "flat")
    script = script.replace(", lasts 10 min", "").replace("    4 min     cycle high, low\n    rest      1 min\n", "")
    script = script.replace("5 min     mix", "40 balls  mix")
    found = compile_source(Source("a.feed", script), OneProfile(feeder), remedies=False)
    assert found.plan, found.findings
    return found.plan, feeder


@pytest.mark.parametrize("name", ["club", "silent"])
def test_a_machine_is_told_what_makes_the_ball_that_is_asked(name: str) -> None:
    """By hand: what leaves is what is told × scale + offset, the spin turned by the roll of 3 degrees."""
    plan, feeder = plan_of(name)
    assert verify(plan, feeder) == []
    for shot in plan.shots:
        told, leaves = shot.settings, shot.launch
        assert leaves.speed_mps * 3.6 == pytest.approx(told["speed"] * 1.06 + 1.5, abs=1e-5)
        assert leaves.elevation_deg == pytest.approx(told["elevation"] - 1.2, abs=1e-5)
        assert leaves.azimuth_deg == pytest.approx(told["azimuth"] + 0.6, abs=1e-5)
        assert leaves.topspin_rpm == pytest.approx(0.85 * told["topspin"] * cos(radians(3)), abs=1e-4)
        assert leaves.sidespin_rpm == pytest.approx(0.85 * told["topspin"] * sin(radians(3)), abs=1e-4)
        assert shot.order is not None and shot.order.speed_mps * 3.6 == pytest.approx(told["speed"], abs=1e-5)
        assert shot.zone_m and shot.predicted.landing_m
        x, y = shot.predicted.landing_m
        assert shot.zone_m[0] - 0.01 <= x <= shot.zone_m[1] + 0.01
        assert shot.zone_m[2] - 0.01 <= y <= shot.zone_m[3] + 0.01
    assert plan.ball.drag_offset == pytest.approx(BALLS["type 2"].drag_offset + 0.03)
    assert plan.ball.spin_drag == pytest.approx(0.2)


def test_the_line_and_the_template_say_what_the_machine_is_set_to() -> None:
    plan, feeder = plan_of("club")
    first = plan.shots[0].settings
    said = next(line for line in stream.render(plan).decode().splitlines() if line.startswith("go "))
    assert f"s={round(first['speed'] / 3.6 * 1000)} e={round(first['elevation'] * 1000)} " in said
    assert f" a={round(first['azimuth'] * 1000)} t={round(first['topspin'] * 10)} k=0" in said
    assert feeder.limits and feeder.limits.checksum == measured("club", {}).limits.checksum  # type: ignore[union-attr]
    plan, feeder = plan_of("silent")
    told = plan.shots[0].settings
    assert feeder.template
    line = fill(feeder.template, feeder.template.throw, told)
    assert line == f"B{told['speed'] * 10:04.0f}/{told['elevation']:02.0f}/{told['azimuth']:+03.0f}\r".encode()


@pytest.mark.parametrize("name", ["speed_mps", "elevation_deg", "azimuth_deg", "topspin_rpm", "sidespin_rpm"])
def test_an_order_that_is_not_the_setting_is_refused(name: str) -> None:
    plan, feeder = plan_of("club")
    shot = plan.shots[0]
    assert shot.order
    forged = shot.order.model_copy(update={name: getattr(shot.order, name) + 1})
    shots = (shot.model_copy(update={"order": forged}), *plan.shots[1:])
    wrong = verify(plan.model_copy(update={"shots": shots}).sealed(), feeder)[0]
    assert wrong.partition(": ")[2].startswith("the machine is told a")


def test_without_the_order_the_plan_is_refused() -> None:
    plan, feeder = plan_of("club")
    shots = (plan.shots[0].model_copy(update={"order": None}), *plan.shots[1:])
    assert verify(plan.model_copy(update={"shots": shots}).sealed(), feeder)


def test_a_plan_of_the_profile_before_it_was_measured_is_refused() -> None:
    plan, _ = plan_of("club")
    (wrong,) = verify(plan, measured("club", {}))
    assert "the profile is not the same now" in wrong


def test_a_head_that_leans_to_the_right_sends_topspin_to_the_left() -> None:
    """Topspin bends a ball down; lean the head to the right and down becomes down and left, as seen from behind."""
    topspin, sidespin = MeasuredFeeder(roll_deg=10).rolled(200.0, 0.0)
    velocity, spin = launch(25.0, 0.15, 0.0, topspin, sidespin)
    start = np.array([[0.0], [-11.9], [0.6]])
    path = fly(start, velocity, spin, BALLS["type 2"], Air(density(20.0, 0.0)), floor=0.03)
    assert at_height(path, 0.033).position[0, 0] < -0.1
    assert np.hypot(topspin, sidespin) == pytest.approx(200.0)
    assert MeasuredFeeder(roll_deg=10).unrolled(topspin, sidespin) == pytest.approx((200.0, 0.0))


def test_a_machine_that_throws_faster_than_it_is_told_is_held_to_its_cap() -> None:
    """The cap is the machine's own: neither the told speed nor the true one may be over it."""
    text = (SHIPPED / "club.toml").read_text("utf-8").replace("[speed]\n", "[speed]\ntrue_scale = 1.3\n")
    script = next(path for path in PROGRAMS if path.stem.startswith("02")).read_text("utf-8")
    script = script.replace("machine club", "machine ours").replace("cap_mps = 31.0", "cap_mps = 20.0")
    feeder = read(text.replace("cap_mps = 31.0", "cap_mps = 20.0").encode(), "ours")
    found = compile_source(Source("a.feed", script), OneProfile(feeder), plan=False, remedies=False)
    assert {finding.code for finding in found.findings} >= {"over-the-cap"}
