"""Where the screen before the feeder stands: in one place as long as the feeder does.

Where a screen stands is common practice, no source; so are these measures.
"""

from dataclasses import dataclass
from math import ceil, floor

from ....compiler.model.plan import Plan, Shot
from ....grammar.units import number
from .pictures import spot

AHEAD_M, GAP_M, WIDE_M = 1.5, 0.3, 1.5
"""How far in front of the feeder it stands, how far its edge is from the line of the nearest ball, and its width."""
BODY_M = 0.25
"""Half the width of whoever stands behind it."""
FARTHEST_M = 1.0
"""An edge farther to the side than this leaves the feeder in the open."""

ALIKE_M = 0.2
"""Steps of which neither is longer by more than this are alike."""


@dataclass(frozen=True, slots=True)
class Screen:
    edge_m: float
    """The edge past which all balls come, from the feeder to the right, to a tenth as the words give it."""
    side: int
    """Where the rest of it is: 1 to the right of that edge, -1 to the left."""


def screen(plan: Plan, place: int = 0) -> Screen | None:
    """Beside the lines of all balls, on the side on which the shorter step takes the feeder out of the way of every
    reply, which is that from which they come; where the steps are alike on that on which it keeps fewer replies from
    their zones. None if its edge would be too far on either."""
    aside, (here_x, here_y) = [0.0], plan.feeder.at(place).place_m
    for shot in _fed(plan, place):
        (x, y, _), (to_x, to_y) = shot.launch.origin_m, spot(shot)
        there = here_y + AHEAD_M
        if y < there < to_y:
            aside.append(x + (to_x - x) * (there - y) / (to_y - y) - here_x)
    sides = [
        Screen(floor(10 * (min(aside) - GAP_M) + 1e-6) / 10, -1),
        Screen(ceil(10 * (max(aside) + GAP_M) - 1e-6) / 10, 1),
    ]
    near = [one for one in sides if abs(one.edge_m) <= FARTHEST_M]
    steps = {one: _step(plan, one, place) for one in near}
    alike = [one for one in near if steps[one] <= min(steps.values()) + ALIKE_M]
    return min(alike, key=lambda one: (round(kept_out(plan, one, place), 1), round(steps[one], 3)), default=None)


def _fed(plan: Plan, place: int) -> list[Shot]:
    """The balls that come from that place of the feeder."""
    return [shot for shot in plan.shots if shot.fed_from == place]


def kept_out(plan: Plan, one: Screen, place: int = 0) -> float:
    """The share of balls whose reply it may keep from a place in its zone: it stands there, or on the way there."""
    here_x, here_y = plan.feeder.at(place).place_m
    x, there = here_x + one.edge_m, here_y + AHEAD_M
    left, right = sorted((x, x + one.side * WIDE_M))
    half = (-plan.court.half_width_m, plan.court.half_width_m, -plan.court.half_length_m, 0.0)
    behind = set()
    for shot in _fed(plan, place):
        from_x, from_y, _ = shot.predicted.contact_m
        for low, high, far, near in plan.targets(shot) or (half,):
            if far < there < from_y:  # else all of the zone is before it
                ends = [(low, far), (high, far), (low, min(near, there)), (high, min(near, there))]
                passes = [from_x + (to - from_x) * (there - from_y) / (y - from_y) for to, y in ends]
                if min(passes) < right and max(passes) > left:
                    behind.add(shot.id)
    return sum(ball.first in behind for ball in plan.launches) / max(len(plan.launches), 1)


def _step(plan: Plan, one: Screen, place: int) -> float:
    """How far to the side the feeder is behind it for replies from every contact."""
    found, stands = 0.0, plan.feeder.at(place).place_m
    for shot in _fed(plan, place):
        x, y = (at - here for at, here in zip(shot.predicted.contact_m[:2], stands, strict=True))
        if y > AHEAD_M:
            share = AHEAD_M / y  # of the way from the feeder to the contact, where the screen stands
            found = max(found, (abs(one.edge_m) + BODY_M - one.side * x * share) / (1 - share))
    return found


def where(plan: Plan, place: int = 0) -> str:
    """That place in words for whoever sets it up."""
    ahead, gap = f"{number(AHEAD_M)} m in front of", f"{number(GAP_M)} m"
    feeder = "the machine" if plan.feeder.kind == "machine" else "you"
    found = screen(plan, place)
    if found is None:
        return f"{ahead} {feeder}; move it before each block: its edge {gap} beside the line of the balls"
    side, edge = ("left", "right") if found.side < 0 else ("right", "left")
    to_it = "the machine's" if feeder == "the machine" else "your"
    then = "" if feeder == "the machine" else f"; feed, step {side}"
    return f"{ahead.removesuffix(' of')}, {edge} edge {number(abs(found.edge_m))} m to {to_it} {side}{then}"
