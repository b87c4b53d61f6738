"""In which world the balls of a script fly: the one place where physics learns of court, surface, ball and air."""

from math import inf

from .model.program import Program
from .physics.outcome import Conditions


def conditions_of(program: Program) -> Conditions:
    court = program.court
    return Conditions(
        program.ball, program.air, program.surface, court.net_centre, court.net_post, court.post_x, program.bounces,
        inf if court.ceiling is None else court.ceiling,
    )  # fmt: skip
