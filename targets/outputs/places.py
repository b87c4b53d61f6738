"""From where the balls of each block are fed, and before which of them the feeder goes elsewhere."""

from ...compiler.model.conditions import CourtRecord
from ...compiler.model.plan import Block, FeederRecord, Plan, Shot
from ...compiler.model.session import TEST_BALLS
from ...compiler.printable import plural
from .sheet import words


def stands(plan: Plan, shot: Shot) -> FeederRecord:
    """The feeder as it stands for a ball."""
    return plan.feeder.at(shot.fed_from)


def spot(feeder: FeederRecord, court: CourtRecord) -> str:
    """Where it stands, from the lines of the feeder's own half."""
    x, y = feeder.place_m
    return f"{words.along(abs(y), abs(y), court)}, {words.across(x, x, court)}"


def goes(plan: Plan, place: int) -> str:
    """What is done before balls that are fed from there."""
    there = spot(plan.feeder.at(place), plan.court)
    if plan.feeder.kind == "person":
        return f"Go to {there}."
    tests = plural(TEST_BALLS, "test ball")
    return f"Power off: move the machine to {there}, line it up. {tests.capitalize()}, nobody in front."


def stays(plan: Plan, place: int) -> str:
    """Where it stands for balls that are fed from there."""
    return f"{'Stand' if plan.feeder.kind == 'person' else 'Machine'} {spot(plan.feeder.at(place), plan.court)}."


def moved(plan: Plan) -> dict[int, int]:
    """Of each block of balls that is fed from another place than the one before it that place, by the block's index."""
    found, before = dict[int, int](), 0
    of = {shot.id: shot.fed_from for shot in plan.shots}
    for block in plan.blocks:
        if block.kind == "balls":
            place = of[block.shots[0]]
            if place != before:
                found[block.index] = before = place
    return found


def then_moved(plan: Plan, pause: Block) -> int | None:
    """The place to which the feeder goes in a pause: the last one before balls that are fed from another."""
    after = pause.index + 1
    last = pause.kind != "balls" and after < len(plan.blocks)
    return moved(plan).get(after) if last else None
