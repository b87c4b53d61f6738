"""A plan replayed by the host on the simulated machine of `device --differs`, in a time of its own."""

import io
import re

from feedwright.compiler.calibration.invented import ThrownReports
from feedwright.compiler.calibration.law import usual_stand
from feedwright.compiler.model.feeder import Feeder
from feedwright.compiler.model.plan import Plan
from feedwright.targets.machine.feeders import ProfileShelf
from feedwright.targets.machine.replay.device import SimulatedDevice
from feedwright.targets.machine.replay.flow import RunPhase
from feedwright.targets.machine.replay.places import places, shelf
from feedwright.targets.machine.replay.stand_in import _report

from ..replay.world import World

LANDED = re.compile(r"ball (\d+) landed ([\d.]+) m past the net, ([\d.]+) m to the (left|right), after ([\d.]+) s")


def club() -> Feeder:
    found = ProfileShelf().load("club")
    assert found
    return found


def played(
    plan: Plan, feeder: Feeder, number: int, *laws: str, last: int | None = None
) -> list[tuple[str, float, float]]:
    """Shot, metres past the net and to the right of each ball, as `device club --differs NUMBER,LAWS` prints them
    while a person arms the balls of a plan, the first to the `last`."""
    limits = club().limits
    assert limits
    world = World(
        3, places=places(plan, 1, last, feeder), shelf=shelf(plan, feeder=feeder), limits=limits,
        device=SimulatedDevice, feed_delay_s=feeder.feed_delay_s,
    ).play(600.0)  # fmt: skip
    assert world.host and world.host.phase is RunPhase.ENDED and world.host.why == "All balls are played"
    out, lands = io.StringIO(), ThrownReports(club(), usual_stand(club()), number, laws)
    for fact in world.device.log:
        _report(fact, out, None, lands)
    told = LANDED.findall(out.getvalue())
    assert len(told) == (last or len(plan.launches))
    return [
        (plan.launches[int(ball) - 1].first, float(past), float(aside) * (1 if side == "right" else -1))
        for ball, past, aside, side, _ in told
    ]
