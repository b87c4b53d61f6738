"""Every shot of the shipped programs flown a second time, from the plan document alone, by the reference of flown.py:
of those of a kind with every run, of all with WHOLE.

Tolerances: 5 mm and 2 ms, what a coach could never see; the plan is rounded to 0.1 mm.
"""

from math import hypot
from pathlib import Path
from typing import Any

import pytest

from .flown import Reference, launched
from .forged import judged
from .shipped import OF_A_KIND, PROGRAMS, plan
from .whole import WHOLE

NEAR_M, NEAR_S = 5e-3, 2e-3


def plan_of(path: Path) -> dict[str, Any]:
    document: dict[str, Any] = plan(path).data()
    return document


@pytest.mark.parametrize("path", PROGRAMS if WHOLE else OF_A_KIND, ids=lambda p: p.stem)
def test_the_plan_states_what_its_launches_do(path: Path) -> None:
    plan = plan_of(path)
    assert judged(plan)[1] == [], "nor does what a replay checks speak against it"
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
    """Heights and paces as the words of two programs say them, read here without the compiler's units."""
    shots = {shot["id"]: shot for shot in plan_of(Path(__file__).parent / "programs" / "three-replies.feed")["shots"]}
    stature = 1.74
    # Shares of stature: Winter, Biomechanics and Motor Control of Human Movement, 4th ed., fig. 4.1; the waist from
    # memory. 0.15 m: the machine's steps move the contact by up to that; more is told as a warning, and there is none.
    for name, share in (("steady 1", 0.62), ("steady 2", 0.62), ("kicker 1", 0.818), ("kicker 2", 0.818)):
        assert shots[name]["predicted"]["contact_m"][2] == pytest.approx(share * stature, abs=0.15), name
    assert shots["rocket 1"]["launch"]["speed_mps"] * 3.6 == pytest.approx(100, abs=0.5)
    (low,) = (shot for shot in plan_of(PROGRAMS[1])["shots"] if shot["id"] == "low")
    assert low["predicted"]["net_clearance_m"] == pytest.approx(0.6, abs=0.25)
