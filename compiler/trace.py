"""Flies the launches of a plan again for pictures: the plan holds the launches and results, not the flights."""

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from ..grammar.units import DEG, RPM
from .kept import Kept
from .physics.air import Air
from .physics.ball import Ball
from .physics.bounce import Surface, rebound
from .physics.flight import fly, launch
from .physics.moments import Moment, at_height, at_plane, places

if TYPE_CHECKING:
    from .model.plan import Plan, Shot

STEP = 0.04
"""Seconds between points: a fast ball flies about a metre, which looks smooth in any picture."""
BOUNCES = 3
UNDER = -3.0
"""How far below the ground a flight continues, m, so it always reaches the plane of the contact."""

Trajectory = list[tuple[float, float, float, float]]
"""(t, x, y, z) of the centre, s and m in the plan's frame, from the launch over each bounce to the contact."""
_TRAJECTORIES: Kept[Trajectory] = Kept(500)
_REPLIES: Kept[tuple[Trajectory, ...]] = Kept(200)


def world_of(plan: "Plan") -> tuple[Ball, Air, Surface]:
    """The ball, the air and the surface that a plan states; the surface is for this ball in this air already."""
    ball, air, surface = plan.ball, plan.air, plan.surface
    return (
        Ball(
            ball.name, ball.mass_kg, ball.diameter_m, ball.drag_offset, ball.spin_drag,
            inertia_factor=ball.inertia_factor,
        ),
        Air(air.density_kg_m3, air.wind_mps, air.temperature_c, air.altitude_m, air.humidity),
        Surface(
            surface.name, surface.friction, surface.restitution, surface.grip, surface.drop_restitution,
            surface.loss_growth,
        ),
    )  # fmt: skip


def trajectories(plan: "Plan") -> dict[str, Trajectory]:
    """The flight of each shot of the plan by its id; t counts from the launch."""
    found = {}
    for shot in plan.shots:
        key = (
            plan.ball,
            plan.air,
            plan.surface,
            shot.launch,
            shot.predicted.contact_m[1],
            shot.predicted.landing_m is None,
        )
        if (known := _TRAJECTORIES.get(key)) is None:
            _TRAJECTORIES.put(key, known := _trajectory(plan, shot))
        found[shot.id] = known
    return found


REPLY_WAYS = ((0, 0), (-1, 0), (1, 0), (0, -1), (0, 1))
"""The best aim, then lower, higher, and to smaller and larger azimuths, by DEVIATIONS of the player's scatter."""
DEVIATIONS = 2.0
"""19 of 20 replies leave within so many standard deviations."""


def replies(plan: "Plan") -> dict[str, tuple[Trajectory, ...]]:
    """The player's best reply to each shot from the contact to the ground, then the four at the ends of the scatter, in
    the order of REPLY_WAYS; none of a shot to which no reply is good. t counts from the contact."""
    variations = {variation.id: variation.reply for variation in plan.variations}
    found = {}
    for shot in plan.shots:
        known, asked = shot.reply, variations.get(shot.variation or "")
        if known is not None and known.speed_mps is not None and known.elevation_deg is not None and asked is not None:
            player = plan.player_of(shot)
            up, aside = player.scatter_angle_deg, player.scatter_direction_deg
            speed, elevation = known.speed_mps, known.elevation_deg
            azimuth = 180.0 if known.azimuth_deg is None else known.azimuth_deg
            ways = [
                (elevation + DEVIATIONS * up * high, azimuth + DEVIATIONS * aside * side) for high, side in REPLY_WAYS
            ]
            spins = asked.topspin_rpm or 0.0, asked.sidespin_rpm or 0.0
            key = plan.ball, plan.air, shot.predicted.contact_m, speed, *ways, spins
            if (flown := _REPLIES.get(key)) is None:
                _REPLIES.put(key, flown := _replies(plan, shot, speed, np.array(ways).T * DEG, np.array(spins) * RPM))
            found[shot.id] = flown
    return found


def _replies(
    plan: "Plan", shot: "Shot", speed: float, ways: NDArray[np.float64], spins: NDArray[np.float64]
) -> tuple[Trajectory, ...]:
    """`ways` are elevation and azimuth, (2, n)."""
    ball, air, _ = world_of(plan)
    velocity, spin = launch(speed, *ways, *spins)
    start = np.array(shot.predicted.contact_m, float).reshape(3, 1).repeat(ways.shape[1], 1)
    path = fly(start, velocity, spin, ball, air, floor=UNDER)
    end = at_height(path, ball.radius_m)
    times = np.arange(0.0, end.time.max() - STEP / 8, STEP)
    points = places(path, times)
    return tuple(
        [
            *((time, *points[i, :, way].tolist()) for i, time in enumerate(times.tolist()) if time < last - STEP / 8),
            (last, *end.position[:, way].tolist()),
        ]
        for way, last in enumerate(end.time.tolist())
    )


def _trajectory(plan: "Plan", shot: "Shot") -> Trajectory:
    ball, air, surface = world_of(plan)
    start = shot.launch
    velocity, spin = launch(
        start.speed_mps, start.elevation_deg * DEG, start.azimuth_deg * DEG, start.topspin_rpm * RPM,
        start.sidespin_rpm * RPM,
    )  # fmt: skip
    position, begun = np.array(start.origin_m, float).reshape(3, 1), 0.0
    full = shot.predicted.landing_m is None
    points: Trajectory = [(0.0, *start.origin_m)]
    for flight in range(BOUNCES + 1):
        path = fly(position, velocity, spin, ball, air, floor=UNDER)
        landing, contact = at_height(path, ball.radius_m), at_plane(path, shot.predicted.contact_m[1])
        met = full if flight == 0 else bool(contact.position[2, 0] >= ball.radius_m)
        end = contact if met else landing
        if not np.isfinite(end.time[0]):
            break
        times = np.arange(STEP, end.time[0] - STEP / 8, STEP)
        for time, (x, y, z) in zip(times.tolist(), places(path, times)[:, :, 0].tolist(), strict=True):
            points.append((begun + time, x, y, z))
        begun += float(end.time[0])
        points.append((begun, *_place(end)))
        if met:
            break
        position = end.position
        velocity, spin = rebound(end.velocity, spin, ball, surface)
    return points


def _place(moment: Moment) -> tuple[float, float, float]:
    x, y, z = moment.position[:, 0].tolist()
    return x, y, z
