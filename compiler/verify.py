"""A plan flown once more before it is played: who can write a digest can write a plan, so none of it is believed."""

from collections.abc import Iterator

import numpy as np

from ..grammar.units import DEG, RPM
from .model.feeder import Feeder
from .model.plan import Plan, Shot
from .physics.air import Air
from .physics.ball import Ball
from .physics.bounce import Surface
from .physics.outcome import Conditions, Outcome, Release, outcome
from .physics.wheels import rim_speeds

NEAR_M, NEAR_S, NEAR_MPS = 0.005, 0.005, 0.05
"""A plan's launch is rounded to 1e-6 and its predictions to 1e-4; both together move a flight by less than a tenth of
this, and a flight that differs by less is no other ball."""
SAME = 1e-3
"""Between a setting's value and the launch it stands for: m/s, degrees, rpm; far below any step of a setting."""


def verify(plan: Plan, feeder: Feeder) -> list[str]:
    """What speaks against launching this plan with this feeder, in sentences; empty where nothing does."""
    if plan.digest != plan.fresh_digest():
        return ["The plan's digest does not fit its content: it was changed after it was checked."]
    if plan.feeder.name != feeder.name or plan.feeder.fingerprint != feeder.fingerprint:
        return [
            f"The plan was made for the feeder {plan.feeder.name} as its profile was then; the profile is another now."
        ]
    wrong = [sentence for shot in plan.shots for sentence in _settings(shot, plan, feeder)]
    if wrong or not plan.shots:
        return wrong or ["The plan holds no ball."]
    flown = _fly(plan)
    for i, shot in enumerate(plan.shots):
        wrong += [f"Ball {shot.id}: {words}." for words in (*_differs(shot, flown, i), *_unsafe(shot, plan, flown, i))]
    return wrong + list(_rhythm(plan, feeder))


def _settings(shot: Shot, plan: Plan, feeder: Feeder) -> Iterator[str]:
    """Does the profile have these settings, and do they give this launch?"""
    launch = shot.launch
    given = {
        "speed": launch.speed_mps, "elevation": launch.elevation_deg * DEG, "azimuth": launch.azimuth_deg * DEG,
        "topspin": launch.topspin_rpm * RPM, "sidespin": launch.sidespin_rpm * RPM,
    }  # fmt: skip
    units = {"speed": 1.0, "elevation": DEG, "azimuth": DEG, "topspin": RPM, "sidespin": RPM}
    axes = feeder.axes()
    if feeder.kind == "machine" and set(shot.settings) != set(axes):
        yield f"Ball {shot.id} does not set what the feeder has: {', '.join(axes)}."
        return
    for name, value in given.items():
        axis, slack = axes.get(name), SAME * units[name]
        if axis is None and not abs(value) <= slack:
            yield f"Ball {shot.id} has a {name}, and the feeder none."
        elif axis is not None and not axis.low_si - slack <= value <= axis.high_si + slack:
            yield f"Ball {shot.id}: its {name} is outside the profile."
        elif axis is not None and feeder.kind == "machine":
            setting = shot.settings[name]
            if axis.dial is not None and not (setting == int(setting) and 1 <= setting <= len(axis.dial)):
                yield f"Ball {shot.id}: {name} has no position {setting:g}."
            elif not abs(axis.value(setting) - value) <= slack:
                yield f"Ball {shot.id}: the setting of {name} gives another launch than the plan says."
    if feeder.wheels:
        rims = rim_speeds(given["speed"], float(np.hypot(given["topspin"], given["sidespin"])), plan.ball.diameter_m)
        if not all(feeder.wheels.low_mps - SAME <= rim <= feeder.wheels.high_mps + SAME for rim in rims):
            yield f"Ball {shot.id}: its wheels would run outside the profile."
    if feeder.device and not launch.speed_mps <= feeder.device.cap_mps:
        yield f"Ball {shot.id}: its speed is over the machine's cap of {feeder.device.cap_mps:g} m/s."


def _fly(plan: Plan) -> Outcome:
    launches = [shot.launch for shot in plan.shots]
    release = Release(
        np.array([launch.origin_m for launch in launches]).T,
        np.array([launch.speed_mps for launch in launches]),
        np.array([launch.elevation_deg for launch in launches]) * DEG,
        np.array([launch.azimuth_deg for launch in launches]) * DEG,
        np.array([launch.topspin_rpm for launch in launches]) * RPM,
        np.array([launch.sidespin_rpm for launch in launches]) * RPM,
    )
    ball, air, surface, court = plan.ball, plan.air, plan.surface, plan.court
    conditions = Conditions(
        Ball(ball.name, ball.mass_kg, ball.diameter_m, ball.drag_offset, inertia_factor=ball.inertia_factor),
        Air(air.density_kg_m3, air.wind_mps, air.temperature_c),
        Surface(surface.name, surface.friction, surface.restitution, surface.grip),
        court.net_centre_m, court.net_post_m, court.post_x_m, 2 if plan.player.two_bounces else 1,
    )  # fmt: skip
    stance = np.array([shot.stance_y_m for shot in plan.shots])
    full = np.array([shot.predicted.landing_m is None for shot in plan.shots])
    return outcome(release, stance, full, conditions)


def _differs(shot: Shot, flown: Outcome, i: int) -> Iterator[str]:
    told = shot.predicted
    pairs = [
        ("net clearance", told.net_clearance_m, flown.clearance[i], NEAR_M),
        ("place at the net", told.net_x_m, flown.net_x[i], NEAR_M),
        ("landing across", told.landing_m and told.landing_m[0], flown.landing.position[0, i], NEAR_M),
        ("landing along", told.landing_m and told.landing_m[1], flown.landing.position[1, i], NEAR_M),
        ("landing time", told.landing_s, flown.landing.time[i], NEAR_S),
        ("contact across", told.contact_m[0], flown.contact.position[0, i], NEAR_M),
        ("contact height", told.contact_m[2], flown.contact.position[2, i], NEAR_M),
        ("contact time", told.contact_s, flown.contact.time[i], NEAR_S),
        ("contact speed", told.contact_speed_mps, float(np.linalg.norm(flown.contact.velocity[:, i])), NEAR_MPS),
        ("number of bounces", told.bounces, flown.bounces[i], 0),
    ]  # fmt: skip
    for what, said, found, near in pairs:
        if said is None and np.isnan(found):
            continue
        if said is None or not abs(said - float(found)) <= near:
            yield f"its {what} is told as {said}, and flown it is {float(found):.3f}"


def _unsafe(shot: Shot, plan: Plan, flown: Outcome, i: int) -> Iterator[str]:
    court, radius = plan.court, plan.ball.diameter_m / 2
    clearance, x = float(flown.clearance[i]), float(flown.net_x[i])
    if not np.isnan(clearance) and not (clearance >= 0 and abs(x) <= court.post_x_m):
        yield "it does not clear the net between the posts"
    if court.ceiling_m is not None and not float(flown.peak[i]) + radius <= court.ceiling_m + NEAR_M:
        yield "it strikes the ceiling"
    if shot.predicted.landing_m is not None:
        across, along = (float(flown.landing.position[k, i]) for k in (0, 1))
        if not (abs(across) <= court.half_width_m + radius and 0 < along <= court.half_length_m + radius):
            yield "it lands outside the lines"
    if not flown.met[i]:
        yield "it does not come to the stance"


def _rhythm(plan: Plan, feeder: Feeder) -> Iterator[str]:
    stretch = {block.index: block.stretch for block in plan.blocks}
    for number, (one, two) in enumerate(zip(plan.launches, plan.launches[1:], strict=False), start=2):
        apart = two.at_s - one.at_s
        if stretch[one.block] == stretch[two.block] and not apart >= feeder.least_interval_s - 1e-3:
            needed = f"{feeder.least_interval_s:g} s"
            yield f"Ball {number} comes {apart:.2f} s after the one before; the feeder needs {needed}."
            return
