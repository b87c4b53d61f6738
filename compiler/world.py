"""Compares what a plan says of court, ball, surface, air, feeder and player with what we know of them.

A court, a ball and a surface are what their names say, from our own tables; air follows from temperature, altitude and
humidity; the feeder is its profile. Only what a script may state as an amount is taken from the plan, within bounds.
"""

from collections.abc import Iterator
from itertools import product
from typing import Any

from ..grammar.frozen import replace
from .assemble import ball_record, court_record, surface_record
from .feeder_record import of_profile
from .model.conditions import SurfaceRecord
from .model.court import courts
from .model.feeder import BY_HAND_M, HIGHEST_M, Feeder
from .model.measured import MeasuredFeeder
from .model.plan import Plan
from .physics.air import Air, density
from .physics.ball import BALLS, Ball, prepared
from .physics.bounce import AS_GIVEN, PACES, SURFACES, in_play, surface_as_given, surface_of_pace
from .trace import world_of

GIVEN_RESTITUTION = (0.3, 0.98)
"""What a script may state of a surface, before the ball and the temperature change it."""
NEAR = 2e-6
"""A plan's figures are rounded to 1e-6: two computed from the same values differ by this at most."""


def strange(plan: Plan, feeder: Feeder) -> Iterator[str]:
    """What the plan gets wrong about the world, in sentences."""
    for entry, known in of_profile(feeder).items():
        for said in [getattr(plan.feeder, entry), *(getattr(one, entry, known) for one in plan.feeder.elsewhere)]:
            if said != known and not _stated(entry, said, feeder):
                yield f"The plan and the profile disagree about the feeder's {_words(entry)}."
    for place in (plan.feeder, *plan.feeder.elsewhere):
        if (place.place_m[1] > 0) != place.players_side:
            yield "The feeder does not stand on the side of the net that the plan says."
    known = {
        court_record(replace(court, ceiling=plan.court.ceiling_m))
        for on_sticks in (False, True)
        for court in courts(on_sticks).values()
    }
    if plan.court not in known:
        yield f"There is no {plan.court.name} court with these lines and this net."
    ball = _balls().get(plan.ball.name)
    if ball is None or plan.ball != ball_record(feeder.measured.ball(ball)):
        yield f"There is no {plan.ball.name} ball of this mass, size, drag and inertia."
        return
    air = plan.air
    if not abs(density(air.temperature_c, air.altitude_m, air.humidity) - air.density_kg_m3) <= NEAR:
        yield "The density of the air does not follow from its temperature, altitude and humidity."
    if air.wind_mps[2]:
        yield "The wind does not blow along the ground."
    if not _of_its_kind(plan.surface, ball, world_of(plan)[1], feeder.measured):
        yield f"The surface {plan.surface.name} does not bounce this ball as the plan says."


def _stated(entry: str, said: Any, feeder: Feeder) -> bool:
    """Whether a script may state this in place of what the profile has: fewer balls, a machine that is raised, or
    how high a person lets go."""
    if entry == "hopper" and said is not None:
        return feeder.hopper is None or bool(said <= feeder.hopper)
    low, high = BY_HAND_M if feeder.kind == "person" else (feeder.release_height_m, HIGHEST_M)
    return entry == "release_height_m" and bool(low <= said <= high)


def _words(entry: str) -> str:
    return entry.removesuffix("_m").replace("_", " ")


def _balls() -> dict[str, Ball]:
    """Every ball that a script can name, prepared in every way."""
    made = (
        prepared(ball, pressurised=pressurised, worn=worn)
        for ball, pressurised, worn in product(BALLS.values(), (True, False), (True, False))
    )
    return {ball.name: ball for ball in made}


def _of_its_kind(said: SurfaceRecord, ball: Ball, air: Air, measured: MeasuredFeeder) -> bool:
    if said.name == AS_GIVEN:
        stated = (surface_as_given(said.friction, stated) for stated in GIVEN_RESTITUTION)
        low, high = (measured.surface(in_play(surface, ball, air)) for surface in stated)
        return (
            low.restitution - NEAR <= said.restitution <= high.restitution + NEAR
            and low.drop - NEAR <= said.drop_restitution <= high.drop + NEAR
            and abs(said.loss_growth - low.loss_growth) <= NEAR
        )
    if said.name not in SURFACES and said.name not in PACES:
        return False
    surface = SURFACES.get(said.name) or surface_of_pace(said.name)
    known = surface_record(measured.surface(in_play(surface, ball, air)))
    return (said.friction, said.grip, said.loss_growth) == (known.friction, known.grip, known.loss_growth) and (
        max(abs(said.restitution - known.restitution), abs(said.drop_restitution - known.drop_restitution)) <= NEAR
    )
