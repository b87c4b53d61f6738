"""The promises over random courses of faults, in virtual time, and that the courses reach everything.

A hundred or so in the ordinary suite; FEEDWRIGHT_RUNS=2000 plays so many, and tells whether the few still reach
everything.
"""

import os
from collections import Counter

import pytest

from feedwright.targets.machine.replay.line import KINDS
from feedwright.targets.machine.wire import rules

from ..whole import WHOLE
from .invariants import broken
from .scenes import SHOCKS, scene
from .world import World

FEW = (
    0, 1, 3, 7, 9, 11, 12, 20, 22, 23, 24, 25, 26, 31, 32, 35, 38, 39, 41, 42, 43, 47, 48, 52, 53, 54, 56, 57,
    58, 60, 61, 62, 71, 72, 73, 75, 77, 81, 83, 84, 85, 87, 88, 93, 95, 98, 100, 105, 110, 112, 116, 119, 122,
    126, 127, 130, 131, 132, 135, 137, 145, 147, 148, 152, 155, 157, 159, 162, 165, 168, 174, 192, 206, 254,
    261, 265, 270, 279, 290, 301, 310, 327, 346, 363, 366, 407, 436, 462, 478, 492, 500, 549, 551, 571, 587,
    593, 626, 628, 645, 648, 649, 651, 663, 746, 767, 773, 779, 882, 887, 924, 967, 969, 1010, 1048, 1082, 1167,
    1272, 1335, 1350, 1375, 1446, 1476, 1854, 1941, 1958, 1971,
)  # fmt: skip
"""Found among 2,000, these reach everything; what is rare is met five times, if so often."""
SEEDS = range(int(os.environ.get("FEEDWRIGHT_RUNS", "0"))) or FEW
RUNS = len(SEEDS)

TRANSITIONS = {
    ("asleep", "connected"), ("asleep", "stopped"), ("connected", "stopped"), ("connected", "live"),
    ("connected", "asleep"), ("live", "connected"), ("live", "held"), ("live", "stopped"), ("live", "asleep"),
    ("live", "faulted"), ("held", "live"),
    ("held", "stopped"), ("held", "connected"), ("held", "asleep"), ("stopped", "connected"), ("faulted", "connected"),
    ("connected", "faulted"), ("asleep", "faulted"), ("held", "faulted"), ("stopped", "faulted"),
}  # fmt: skip
"""All that the state table has; nothing leads from stopped or faulted to live, and only connected and held do."""


def test_the_promises_hold_and_everything_is_reached() -> None:
    seen: Counter[str] = Counter()
    moves: Counter[tuple[object, ...]] = Counter()
    balls = 0
    for seed in SEEDS:
        world = scene(seed, counts=seen).play()
        assert not (wrong := broken(world)), f"seed {seed}: {wrong}"
        balls += len(world.thrown)
        seen.update(f"line: {kind}" for line in (world.up, world.down) for kind in line.seen.elements())
        seen.update({f"host: {phase}": n for phase, n in world.phases.items()})
        for fact in world.device.log:
            if fact.what == "no":
                seen[f"refusal: {fact.about[0]}"] += 1
            elif fact.what == "state":
                moves[fact.about] += 1
                seen[f"state: {fact.about[1]}"] += 1
    assert set(moves) <= TRANSITIONS, set(moves) - TRANSITIONS
    least = max(2, RUNS // 4000)
    rare = {move: moves[move] for move in TRANSITIONS if moves[move] < least}
    wanted = [
        *(f"refusal: {word}" for word in rules.REFUSALS), *(f"state: {state}" for state in rules.STATES),
        *(f"line: {kind}" for kind in KINDS), *(f"shock: {shock}" for shock in SHOCKS),
    ]  # fmt: skip
    rare_words = {word: seen[word] for word in wanted if seen[word] < least}
    print(f"{RUNS} runs, {balls} balls thrown")
    for name, count in sorted(seen.items()) + sorted((f"move: {a} -> {b}", n) for (a, b), n in moves.items()):
        print(f"{count:9,} {name}")
    assert not rare and not rare_words, (rare, rare_words)
    # The courses of FEW are chosen for what goes wrong in them; of all courses one has more than a ball.
    assert balls > (RUNS / 2 if SEEDS is FEW else RUNS)


@pytest.mark.parametrize("drift", [-200.0, 0.0, 200.0])
def test_on_a_clean_line_every_ball_is_thrown(drift: float) -> None:
    for seed in range(8 if WHOLE else 4):
        world = World(seed, balls=5, drift_ppm=drift).play()
        assert not broken(world)
        assert world.thrown == [1, 2, 3, 4, 5], seed
        assert world.host is not None and world.host.ending is not None
        assert (world.host.ending.code, world.host.ending.stopped) == (0, True)
