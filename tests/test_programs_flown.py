"""Every shot of every shipped program flown a second time, from the plan document alone.

The reference shares no code with the compiler: scipy.integrate.solve_ivp (DOP853, rtol 1e-10) with the force law of
A. Štěpánek, Am. J. Phys. 56, 138 (1988) and the bounce of R. Cross, Am. J. Phys. 70, 1093 (2002), written here in plain
scalars from the papers' formulas. Tolerances: 5 mm and 2 ms, what a coach could never see; the plan is rounded to
0.1 mm.
"""

import json
from math import cos, hypot, pi, radians, sin, sqrt
from pathlib import Path
from typing import Any

import pytest
from scipy.integrate import solve_ivp

from feedwright.compiler.pipeline import compile_source
from feedwright.grammar.source import Source
from feedwright.programs import ScriptShelf
from feedwright.targets.feeders import ProfileShelf

PROGRAMS = sorted((Path(__file__).parent.parent / "programs").glob("*.feed"))
NEAR_M, NEAR_S = 5e-3, 2e-3


def plan_of(path: Path) -> dict[str, Any]:
    compiled = compile_source(Source(path.name, path.read_text("utf-8")), ProfileShelf(), ScriptShelf(None))
    assert compiled.plan, compiled.findings
    document: dict[str, Any] = json.loads(compiled.plan.model_dump_json())
    return document


class Reference:
    def __init__(self, plan: dict[str, Any]) -> None:
        self.ball, self.air, self.surface, self.court = plan["ball"], plan["air"], plan["surface"], plan["court"]
        self.radius = self.ball["diameter_m"] / 2

    def fly(self, start: list[float], spin: list[float], level: float) -> Any:
        """Until the centre falls through `level`, with a dense solution."""
        turning = sqrt(sum(s * s for s in spin))
        push = self.air["density_kg_m3"] * pi * self.radius**2 / (2 * self.ball["mass_kg"])
        wx, wy, wz = self.air["wind_mps"]

        def motion(_: float, s: Any) -> list[float]:
            vx, vy, vz = s[3] - wx, s[4] - wy, s[5] - wz
            v = sqrt(vx * vx + vy * vy + vz * vz)
            drag, lift = self.ball["drag_offset"], 0.0
            if turning:
                q = v / (self.radius * turning)
                drag += 1 / (22.503 + 4.196 * q**2.5) ** 0.4
                lift = 1 / (2.022 + 0.981 * q) / turning
            sx, sy, sz = spin
            return [
                s[3], s[4], s[5],
                push * v * (lift * (sy * vz - sz * vy) - drag * vx),
                push * v * (lift * (sz * vx - sx * vz) - drag * vy),
                push * v * (lift * (sx * vy - sy * vx) - drag * vz) - 9.81,
            ]  # fmt: skip

        def ground(_: float, s: Any) -> float:
            return float(s[2] - level)

        ground.terminal, ground.direction = True, -1  # type: ignore[attr-defined]
        return solve_ivp(motion, (0, 12), start, "DOP853", rtol=1e-10, atol=1e-10, dense_output=True, events=ground)

    def bounce(self, s: list[float], spin: list[float]) -> tuple[list[float], list[float]]:
        """In the plane of the slip velocity; slip u = v_h + spin x (-R up)."""
        alpha, e, mu, e_x = (
            self.ball["inertia_factor"], self.surface["restitution"], self.surface["friction"], self.surface["grip"],
        )  # fmt: skip
        ux, uy = s[3] - self.radius * spin[1], s[4] + self.radius * spin[0]
        slip, fall = hypot(ux, uy), -s[5]
        slides = mu < alpha * (1 + e_x) * slip / ((1 + alpha) * (1 + e) * fall)
        lost = mu * (1 + e) * fall if slides else alpha * (1 + e_x) * slip / (1 + alpha)
        jx, jy = -lost * ux / slip, -lost * uy / slip
        turned = [spin[0] + jy / (alpha * self.radius), spin[1] - jx / (alpha * self.radius), spin[2]]
        return [s[0], s[1], s[2], s[3] + jx, s[4] + jy, e * fall], turned

    @staticmethod
    def plane(flight: Any, y: float) -> tuple[float, Any]:
        """Time and state where the centre crosses y, by bisection of the dense solution."""
        low, high = 0.0, float(flight.t[-1])
        for _ in range(60):
            middle = (low + high) / 2
            low, high = (middle, high) if flight.sol(middle)[1] < y else (low, middle)
        return low, flight.sol(low)


def launched(launch: dict[str, Any]) -> tuple[list[float], list[float]]:
    up, around, speed = radians(launch["elevation_deg"]), radians(launch["azimuth_deg"]), launch["speed_mps"]
    top, side = (launch[name] * 2 * pi / 60 for name in ("topspin_rpm", "sidespin_rpm"))
    velocity = [speed * cos(up) * sin(around), speed * cos(up) * cos(around), speed * sin(up)]
    # Topspin about the horizontal to the left of the flight, sidespin about the upward normal to it.
    left, normal = [-cos(around), sin(around), 0.0], [-sin(up) * sin(around), -sin(up) * cos(around), cos(up)]
    return [*launch["origin_m"], *velocity], [top * a + side * b for a, b in zip(left, normal, strict=True)]


@pytest.mark.parametrize("path", PROGRAMS, ids=lambda p: p.stem)
def test_the_plan_states_what_its_launches_do(path: Path) -> None:
    plan = plan_of(path)
    reference = Reference(plan)
    court = plan["court"]
    assert plan["shots"]
    for shot in plan["shots"]:
        start, spin = launched(shot["launch"])
        said = shot["predicted"]
        flight = reference.fly(start, spin, reference.radius)
        if said["net_clearance_m"] is not None:
            _, over = reference.plane(flight, 0.0)
            cord = (
                court["net_centre_m"] + (court["net_post_m"] - court["net_centre_m"]) * abs(over[0]) / court["post_x_m"]
            )
            assert over[2] - reference.radius - cord == pytest.approx(said["net_clearance_m"], abs=NEAR_M)
            assert said["net_clearance_m"] > 0
        since = 0.0
        if said["landing_m"] is not None:
            landed = flight.y[:, -1].tolist()
            assert landed[:2] == pytest.approx(said["landing_m"], abs=NEAR_M)
            assert flight.t[-1] == pytest.approx(said["landing_s"], abs=NEAR_S)
            assert hypot(*landed[3:]) == pytest.approx(said["landing_speed_mps"], abs=0.01)
            x0, x1, y0, y1 = shot["zone_m"]
            assert x0 - 0.011 <= landed[0] <= x1 + 0.011 and y0 - 0.011 <= landed[1] <= y1 + 0.011
            since = flight.t[-1]
            after, turned = reference.bounce(landed, spin)
            flight = reference.fly(after, turned, reference.radius)
            # ITF Rules of Tennis, rules of wheelchair tennis: the ball may bounce twice.
            if plan["player"]["two_bounces"] and flight.y[1, -1] < shot["stance_y_m"]:
                since += flight.t[-1]
                after, turned = reference.bounce(flight.y[:, -1].tolist(), turned)
                flight = reference.fly(after, turned, reference.radius)
        when, contact = reference.plane(flight, shot["stance_y_m"])
        assert contact[1] == pytest.approx(shot["stance_y_m"], abs=1e-6), "it gets there before it bounces again"
        assert contact[:3].tolist() == pytest.approx(said["contact_m"], abs=NEAR_M)
        assert since + when == pytest.approx(said["contact_s"], abs=NEAR_S)
        assert hypot(*contact[3:]) == pytest.approx(said["contact_speed_mps"], abs=0.01)
        asked = shot["words"].get("height", "").rpartition(", ")[2]
        if asked in ("rising", "falling"):
            way = "rising" if contact[5] > 0 else "falling"
            # Else the settings as they can be take it past the top, by half a centimetre at most (v^2 / 2g).
            assert said["contact_phase"] == (asked if way == asked else "top")
            assert way == asked or abs(contact[5]) < 0.3


def test_what_was_asked_is_met() -> None:
    """Heights, paces and times of the wing programme as its words say them, read here without the compiler's units."""
    plan = plan_of(PROGRAMS[0])
    shots = {shot["id"]: shot for shot in plan["shots"]}
    stature = 1.74
    # Shares of stature: Winter, Biomechanics and Motor Control of Human Movement, 4th ed., fig. 4.1; the waist from
    # memory. 0.15 m: the machine's steps move the contact by up to that; more is told as a warning, and there is none.
    for name, share in {
        "steady": 0.62,
        "steady-hip": 0.53,
        "kicker": 0.818,
        "sitter": 0.818,
        "sitter-eye": 0.936,
    }.items():
        assert shots[name]["predicted"]["contact_m"][2] == pytest.approx(share * stature, abs=0.15), name
    assert shots["rocket"]["launch"]["speed_mps"] * 3.6 == pytest.approx(100, abs=0.5)
    assert shots["floater"]["predicted"]["net_clearance_m"] == pytest.approx(1.1, abs=0.25)
