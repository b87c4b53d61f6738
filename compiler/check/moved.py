"""Is there time for the feeder to go from one place to the next?"""

import re
from math import ceil, hypot

from ...grammar.edits import Edit, Remedy, above, amount
from ...grammar.facts import Metres, Seconds
from ...grammar.finding import Finding
from ...grammar.print import text
from ...grammar.source import Span
from ...grammar.syntax import Rest
from ..findings.stands import NoTimeToMove
from ..model.evaluation import Evaluation
from ..model.program import FeederPlace, Program
from ..model.schedule import BlockTimes, Schedule
from ..model.shots import Shots

WALK_MPS, READY_S = 1.2, 5.0
"""A person who carries a basket, a little slower than adults walk alone (1.3 to 1.5 m/s: Bohannon, Age and Ageing 26,
15 (1997), from memory), and then gets ready. Own choice."""
STEP_M = 1.0
"""So far a person steps between two balls. Own choice."""
MACHINE_S = 180.0
"""To switch a machine off, push it, line it up again and try it with nobody in front. Own choice."""
BESIDE_POST_M = 0.5
EVEN_S, LONG_S = 5, 60
"""In which steps pauses are proposed; from a minute on in whole ones."""


def moved(program: Program, shots: Shots, schedule: Schedule | None, evaluation: Evaluation) -> list[Finding]:
    """Is a block that is fed from another place than the one before it too soon? One finding for each line."""
    found: dict[Span, tuple[float, Finding]] = {}
    before: tuple[int, FeederPlace, float] | None = None
    for i, block in enumerate(schedule.blocks if schedule else ()):
        at = [float(second) for second in schedule.at[schedule.block == i]] if schedule else []
        if not at:
            continue
        place = program.place_of(program.feeds[block.feeds[0]])
        if before and before[1].there != place.there:
            far, left = _way(program, before[1], place), at[0] - before[2]
            machine = program.feeder.kind == "machine"
            needed = MACHINE_S if machine else ceil((far / WALK_MPS + READY_S) / EVEN_S) * EVEN_S
            lacking = needed - left
            near = not machine and far < STEP_M
            if far and not near and lacking > 1e-6 and lacking > found.get(block.span, (0.0,))[0]:
                message = NoTimeToMove(Metres(far), Seconds(left), Seconds(needed), place.spot, machine)
                between = schedule.blocks[before[0] + 1 : i] if schedule else ()
                remedy = _longer(block, between, lacking)
                found[block.span] = lacking, Finding(message, block.span, remedies=(remedy,))
        before = i, place, at[-1]
    return [finding for _, finding in found.values()]


def _way(program: Program, one: FeederPlace, two: FeederPlace) -> float:
    """How far it is on foot, round a post from one side of the net to the other, m."""
    if one.players_side == two.players_side:
        return hypot(one.x - two.x, one.y - two.y)
    beside = program.court.post_x + BESIDE_POST_M
    return min(hypot(one.x - x, one.y) + hypot(two.x - x, two.y) for x in (beside, -beside))


def _longer(block: BlockTimes, between: tuple[BlockTimes, ...], lacking: float) -> Remedy:
    """The pause before the block so much longer, or one of that length."""
    pause = next((one for one in between if not one.added), None)
    needed = lacking + (pause.end - pause.start if pause else 0.0)
    even = EVEN_S if needed < LONG_S else LONG_S
    seconds = ceil(needed / even) * even
    length = amount(seconds / 60, 0, "min") if seconds % 60 == 0 else amount(seconds, 0, "s")
    if pause is None:
        return above(block.span, Rest(length))
    said = re.sub(r"^(\w+)( *)([\d.]+ *\w+)?", lambda word: f"{word[1]}{word[2] or ' '}{text(length)}", pause.span.text)
    return Edit(pause.span, said)
