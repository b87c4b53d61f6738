"""How a practice starts on the sheet, with its test balls, and how it goes on after a pause."""

from collections.abc import Iterator, Sequence
from itertools import groupby, pairwise

from ....compiler.model.plan import Plan
from ....compiler.model.session import LONGEST_PAUSE_S, TEST_BALLS
from ....compiler.printable import plural, visible
from . import words
from .letters import Letters
from .rows import set_between_balls

TO_START, GO_ON = "To start", "To go on"
KEYS = (
    "{waits} press a, type the new code, ENTER; if it has ended (SPACE, power off) type the line it prints. It names "
    "the next ball. h, m mark a ball until the next one leaves, u undoes; balls so marked need no counts"
)
"""Of the computer that sets a machine, as the page of the replay has them."""
PORTS = " (feedwright replay --list shows it)"
BY_HAND = ", or by hand: "
ASTRAY = "One goes plainly elsewhere than in its picture{full}: feed nobody, tell the coach"
"""Of the test balls. Any machine scatters, and only what is plain can be seen (common practice, no source)."""
FULL = " (on the full: not over its diamond, as high as it is met)"


def between(blocks: Sequence[tuple[str, int]]) -> list[int]:
    """What is needed from collect to collect, of what each block takes after its kind."""
    runs = groupby(blocks, key=lambda block: block[0] == "collect")
    return [sum(count for _, count in run) for collect, run in runs if not collect] or [0]


def test_balls(plan: Plan) -> int:
    """How many a machine throws with nobody in front: the first of the practice."""
    return min(TEST_BALLS, len(plan.launches)) if plan.feeder.kind == "machine" else 0


def test_balls_collected(plan: Plan) -> bool:
    """Whether they have to be back in the hopper before the practice begins."""
    first, *_ = between([(block.kind, block.balls) for block in plan.blocks])
    return plan.feeder.hopper is not None and first + test_balls(plan) > plan.feeder.hopper


def begin(plan: Plan, named: Letters) -> Iterator[tuple[str, str]]:
    """How it starts, and how it goes on after a pause; a computer feeds on by itself after a rest that is short."""
    balls = [ball.first for ball in plan.launches[: test_balls(plan)]]
    tests = [named.of[ball] for ball in balls]
    full = {shot.id for shot in plan.shots if shot.predicted.landing_m is None}
    astray = ASTRAY.format(full=FULL if full.intersection(balls) else "")
    if not set_between_balls(plan):
        if tests:
            yield TO_START, f"set to {tests[0]}, nobody in front: {plural(len(tests), 'test ball')}. {astray}"
        off = "switch off at each rest and collect, on again at its end; " if plan.feeder.kind == "machine" else ""
        yield GO_ON, f"{off}after a STOP by balls, not by the clock"
        return
    script = visible(plan.source.name.removesuffix(".feed"))
    told = f"in a command window: feedwright replay {script}.plan.json --test-balls --port PORT{PORTS}; "
    told += f"press a, type the code shown, ENTER{BY_HAND}"
    alike = len(set(tests)) == 1
    first = f"{plural(len(tests), 'test ball')} {tests[0]}" if alike else f"test balls {', '.join(tests)}"
    told += f"{first}, nobody in front. {astray}. "
    collected = "power off, collect them, type the line without --test-balls"
    then = collected if test_balls_collected(plan) else "press a again"
    yield TO_START, f"{told}Else {then}: Block 1"
    yield GO_ON, KEYS.format(waits=_rests(plan))


def _rests(plan: Plan) -> str:
    """After which rests a computer feeds on by itself, and after what it waits for a person."""
    alone = [block.rest.rest_s for block in plan.blocks if block.rest]
    waits: list[float] = []
    for one, two in pairwise(plan.launches):
        between = plan.blocks[one.block + 1 : two.block]
        if between and all(block.kind == "rest" for block in between):
            armed = plan.blocks[one.block].part == plan.blocks[two.block].part
            live = armed and two.at_s - one.at_s <= LONGEST_PAUSE_S
            (alone if live else waits).append(sum(block.duration_s for block in between))
    some = alone and waits
    then = [f"{'one' if some else 'a rest'} of {words.lasting(min(waits))}"] if waits else []
    then += ["a collect"] * any(block.kind == "collect" for block in plan.blocks)
    after = f"after {', '.join(then)}{' or ' * bool(then)}p (pause)"
    rest = f"after a rest{f' of {words.lasting(max(alone))}' if some else ''} it feeds on by itself; "
    return rest * bool(alone) + after
