"""Phones beside the real host and the simulated machine, in virtual time: the promises of PROTOCOL.md hold, and a ball
is thrown or an arming begun only by the keyboard."""

import os
from collections import Counter
from random import Random

import pytest

from feedwright.targets.machine.court.asks import MARKS, Ask, PhoneAsk
from feedwright.targets.machine.court.board import Board
from feedwright.targets.machine.court.door import Phone
from feedwright.targets.machine.replay.flow import Halt, RunPhase

from ..replay.invariants import broken
from ..replay.scenes import scene
from ..replay.street import Street
from ..replay.world import World
from ..whole import WHOLE
from .model import Fence

COURSES = int(os.environ.get("FEEDWRIGHT_RUNS", "25"))
STARTED = (RunPhase.ASKING, RunPhase.ANSWERING, RunPhase.LIVE)


class Beside:
    """A phone beside a world: it asks at random, repeats, and is silent for a while now and then."""

    def __init__(self, world: World, seed: int, counts: Counter[str]) -> None:
        self.world, self.random, self.counts = world, Random(seed), counts
        self.phone, self.asks, self.board, self.host = Phone(1, "Ana", False), list[PhoneAsk](), None, None  # type: ignore[var-annotated]
        for n in range(70):  # most of what is worth disturbing happens within 15 s
            world.at(n * 0.25, self.act)

    def act(self) -> None:
        world, random = self.world, self.random
        if world.host is None or world.now < world.frozen:
            return
        if self.host is not world.host:  # a new host knows no phone; the phone joins again
            self.host, self.asks = world.host, []
            self.board = Board(Fence(world.host), guard=random.random() < 0.3)  # type: ignore[arg-type]
            self.board.joined(world.now, self.phone)
        assert self.board is not None
        phase, place = world.host.phase, world.host.state.next
        draw = random.random()
        if draw < 0.008:
            if phase is not RunPhase.ENDED:
                world.presses.append(world.now)
            self.board.stop(world.now, self.phone)
            assert world.host.phase in (RunPhase.STOPPING, RunPhase.ENDED)
            self.counts["stop"] += 1
        elif draw < 0.5:
            thrown = len(world.host.state.thrown)
            kind = random.choice((Ask.HIT, Ask.MISS, Ask.UNDO, *[Ask.PAUSE] * (random.random() < 0.15)))
            ball = random.randint(1, thrown) if kind in (Ask.HIT, Ask.MISS) and thrown else 0
            if ball or kind in (Ask.UNDO, Ask.PAUSE):
                self.asks.append(PhoneAsk(len(self.asks) + 1, kind, ball))
                self.counts[kind.value] += 1
        if draw < 0.8:
            self.board.heard(world.now, self.phone, tuple(self.asks[-random.randint(1, 3) :]))
            self.board.heard(world.now, self.phone, tuple(self.asks))
        self.board.watch(world.now)
        after = world.host.phase
        assert after is phase or after is RunPhase.STOPPING, f"{phase} became {after} by a phone"
        assert after is phase or after not in STARTED
        assert world.host.state.next == place, "a phone skipped a ball"


def test_the_promises_hold_with_phones_beside() -> None:
    counts: Counter[str] = Counter()
    balls = 0
    for seed in range(COURSES):
        world = scene(seed)
        Beside(world, seed, counts)
        world.play()
        assert not (wrong := broken(world)), f"seed {seed}: {wrong}"
        balls += len(world.thrown)
    print(f"{COURSES} courses, {balls} balls, asks {dict(counts)}")
    assert balls > COURSES / 3 and all(counts[name] for name in ("stop", "pause", "hit", "miss", "undo"))


def test_a_phones_stop_is_on_the_line_in_the_same_turn() -> None:
    world = World(3)
    host = world.forward(RunPhase.LIVE)
    board = Board(host)
    board.joined(world.now, Phone(1, "Ana", False))
    before = len([fact for fact in world.device.log if fact.what == "stop"])
    board.stop(world.now, Phone(1, "Ana", False))
    world.presses.append(world.now)
    world.play()
    assert len([fact for fact in world.device.log if fact.what == "stop"]) > before
    assert host.ending is not None and (host.ending.why, host.ending.code) == ("Stopped by Ana", 0)
    assert not broken(world)


BUTTONS = [(ask, phase) for ask in ("stop", *Ask) for phase in RunPhase if phase is not RunPhase.ENDED]
FEW = [one for n, one in enumerate(BUTTONS) if n % 3 == 0 or one[0] == "stop" or one[1] is RunPhase.LIVE]


@pytest.mark.parametrize(("ask", "phase"), BUTTONS if WHOLE else FEW)
def test_every_button_in_every_state(ask: Ask | str, phase: RunPhase) -> None:
    """Where the run goes from there by itself, nobody arming: only a live one throws, and after STOP none does."""
    street = Street()
    street.arms = int(phase is not RunPhase.READY)
    if phase is RunPhase.STOPPING:
        street.to(RunPhase.LIVE).stop()
    elif phase is not RunPhase.GREETING:
        street.to(phase)
    street.arms = 0
    host, board, ana = street.host, Board(Fence(street.host)), Phone(1, "Ana", False)  # type: ignore[arg-type]
    board.joined(street.now, ana)
    thrown, marked = len(host.state.thrown), host.state.hits + host.state.misses
    if isinstance(ask, str):
        board.stop(street.now, ana)
        assert host.phase is RunPhase.STOPPING
    else:
        ball = max(thrown, 1) if ask in MARKS else 0
        board.heard(street.now, ana, (PhoneAsk(1, ask, ball),))
        assert host.phase is phase and board.desks[1].done == 1
        assert host.state.hits + host.state.misses == marked + (ask in MARKS and thrown > 0)
    answering = phase in (RunPhase.ASKING, RunPhase.ANSWERING) and not isinstance(ask, str)
    for _ in range(800):  # 4 s
        if host.phase in (RunPhase.ENDED, RunPhase.READY):
            break
        street.turn()
    if isinstance(ask, str):
        assert host.phase is RunPhase.ENDED and len(host.state.thrown) == thrown
    elif ask is Ask.PAUSE and phase is RunPhase.LIVE:
        assert (host.phase, host.halt, len(host.state.thrown)) == (RunPhase.READY, Halt.PAUSED, thrown)
    elif not answering and phase is not RunPhase.LIVE:
        assert len(host.state.thrown) == thrown
