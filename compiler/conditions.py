"""In which world the balls of a script fly: the one place where physics learns of court, surface, ball and air."""

from math import inf

from .model.program import Program
from .physics.outcome import Conditions


def conditions_of(program: Program) -> Conditions:
    """The same thing for one program, because it is a part of many keys."""
    held, court = vars(program), program.court
    if "_conditions" not in held:
        held["_conditions"] = Conditions(
            program.ball, program.air, program.surface, court.net_centre, court.net_post, court.post_x,
            program.bounces, inf if court.ceiling is None else court.ceiling,
        )  # fmt: skip
    found: Conditions = held["_conditions"]
    return found
