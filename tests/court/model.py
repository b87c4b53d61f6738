"""Phones, links that lose, double, delay and swap messages, and a replay's state, all in virtual time.

The phone here is written from the rules on the page (REPLAY.md) and shares no line with court.js: it numbers what is
tapped, keeps it over a reload, and repeats it until it is told that it was done.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from random import Random

from feedwright.targets.log.progress import Verdict
from feedwright.targets.machine.court.asks import Ask, PhoneAsk
from feedwright.targets.machine.court.board import Board
from feedwright.targets.machine.court.door import Phone
from feedwright.targets.machine.replay.flow import RunPhase
from feedwright.targets.machine.replay.places import Place, RunShelf
from feedwright.targets.machine.replay.run import AtOnce, Run
from feedwright.targets.machine.replay.state import State

from ..replay.world import BLOCKS, SETTINGS, Disk

REACHED = {"phase", "state", "stop", "pause", "mark", "say"}
"""All of a replay that phones may reach."""


class Fence:
    """The replay as phones have it: whatever else is touched fails the test, and what changes is noted."""

    def __init__(self, host: object) -> None:
        self.__dict__.update(_host=host, used=set())

    def __getattr__(self, name: str) -> object:
        assert name in REACHED, f"a phone reached {name}"
        self.used.add(name)
        return getattr(self._host, name)

    def __setattr__(self, name: str, value: object) -> None:
        raise AssertionError(f"a phone set {name}")


class Played:
    """A replay without a machine: its phases follow keyboard and device; balls leave when the test says so."""

    def __init__(self, balls: int = 8) -> None:
        self.disk = Disk()
        places = tuple(Place(n, n * 1.0, ("steady",), 0, 0) for n in range(1, balls + 1))
        run = Run("ab" * 8, "model", places, AtOnce(self.disk))
        self.state = State(RunShelf({}, SETTINGS, BLOCKS), iter(()), run)
        self.phase, self.why = RunPhase.READY, ""
        self.marked: list[tuple[int, bool | None]] = []

    def stop(self, now: float, why: str, code: int) -> None:
        if self.phase not in (RunPhase.STOPPING, RunPhase.ENDED):
            self.phase, self.why = RunPhase.STOPPING, why

    def pause(self, now: float, why: str = "paused") -> None:
        if self.phase is RunPhase.LIVE:
            self.phase, self.why = RunPhase.READY, why

    def mark(self, now: float, hit: bool | None, nth: int | None = None) -> None:
        self.marked.append((nth or len(self.state.thrown), hit))
        self.state.mark(Verdict.NOT_JUDGED if hit is None else Verdict.HIT if hit else Verdict.MISS, now, nth)

    def say(self, text: str) -> None: ...

    # ---- keyboard and device

    def arm(self) -> None:
        if self.phase is RunPhase.READY and self.state.place is not None:
            self.phase = RunPhase.LIVE

    def throw(self, now: float) -> None:
        if self.phase is RunPhase.LIVE and (place := self.state.place):
            self.state.note(place)
            noted = self.state.noted
            assert noted
            self.state.announce(noted)
            self.state.gone(now, told=True)

    def end(self) -> None:
        if self.phase is RunPhase.STOPPING:
            self.phase = RunPhase.ENDED

    def verdicts(self) -> list[Verdict]:
        return [ball.verdict for ball in self.state.thrown]


@dataclass
class Pocket:
    """A phone. What is stored outlives a reload; what is under way does not."""

    phone: Phone
    stored: list[PhoneAsk] = field(default_factory=list)
    number: int = 0
    sees: int = 0
    """Balls thrown, as it shows them."""
    taps: list[PhoneAsk] = field(default_factory=list)
    stops: int = 0

    def tap(self, ask: Ask) -> None:
        if ask in (Ask.HIT, Ask.MISS) and not self.sees:
            return
        self.number += 1
        asked = PhoneAsk(self.number, ask, self.sees if ask in (Ask.HIT, Ask.MISS) else 0)
        self.taps.append(asked)
        self.stored.append(asked)

    def told(self, done: int, thrown: int) -> None:
        self.stored = [asked for asked in self.stored if asked.number > done]
        self.sees = max(self.sees, thrown)


@dataclass
class Course:
    """One course: phones over bad links, a keyboard and a device, one event at a time."""

    random: Random
    host: Played
    board: Board
    pockets: list[Pocket]
    now: float = 0.0
    air: list[tuple[float, Pocket, tuple[PhoneAsk, ...] | None]] = field(default_factory=list)
    """Messages under way: when each arrives; None is a stop."""
    log: list[tuple[int, int, bool | None]] = field(default_factory=list)
    """Which phone marked which ball how; the keyboard is 0."""
    reached: set[RunPhase] = field(default_factory=set)

    def send(self, pocket: Pocket, stop: bool = False) -> None:
        for _ in range(self.random.choice((0, 1, 1, 1, 2))):
            self.air.append((self.now + self.random.expovariate(4), pocket, None if stop else tuple(pocket.stored)))

    def arrive(self, pocket: Pocket, asks: tuple[PhoneAsk, ...] | None) -> None:
        before, seen, live = self.host.phase, len(self.host.marked), self.host.phase is RunPhase.LIVE
        if asks is None:
            pocket.stops += 1
            self.board.stop(self.now, pocket.phone)
            assert self.host.phase in (RunPhase.STOPPING, RunPhase.ENDED), f"a stop in {before} did not stop"
        else:
            self.board.heard(self.now, pocket.phone, asks)
        assert self.host.phase is before or self.host.phase in (RunPhase.READY, RunPhase.STOPPING)
        assert live or self.host.phase is not RunPhase.LIVE, "a phone started something"
        self.log += [(pocket.phone.number, *mark) for mark in self.host.marked[seen:]]
        if asks is not None and self.random.random() < 0.7 and pocket.phone.number in self.board.desks:
            pocket.told(self.board.desks[pocket.phone.number].done, len(self.host.state.thrown))

    def pass_time(self) -> None:
        self.now += self.random.expovariate(3)
        due = sorted((one for one in self.air if one[0] <= self.now), key=lambda one: one[0])
        self.air = [one for one in self.air if one[0] > self.now]
        for _, pocket, asks in due:
            self.arrive(pocket, asks)
        before = self.host.phase
        self.board.watch(self.now)
        assert self.host.phase in (before, RunPhase.READY)
        assert not (before is not RunPhase.LIVE and self.host.phase is RunPhase.LIVE)
        self.reached.add(self.host.phase)

    def flush(self) -> None:
        """The link is good again: whatever is left arrives."""
        for pocket in self.pockets:
            for _ in range(2):
                self.arrive(pocket, tuple(pocket.stored))
                pocket.told(self.board.desks[pocket.phone.number].done, 0)


def course(seed: int, phones: int, guard: bool) -> Course:
    random, host = Random(seed), Played()
    board = Board(Fence(host), guard)  # type: ignore[arg-type]
    pockets = [Pocket(Phone(n, f"phone {n}", False)) for n in range(1, phones + 1)]
    for pocket in pockets:
        board.joined(0.0, pocket.phone)
    return Course(random, host, board, pockets)


def taken(asks: list[PhoneAsk], balls: int) -> Iterator[Verdict]:
    """What one phone's taps come to if nobody else marks, reckoned from all of them at once."""
    kept: list[PhoneAsk] = []
    for asked in asks:
        if asked.ask is Ask.UNDO:
            kept = kept[:-1]
        elif asked.ask is not Ask.PAUSE:
            kept.append(asked)
    for ball in range(1, balls + 1):
        last = next((one for one in reversed(kept) if one.ball == ball), None)
        yield Verdict.NOT_JUDGED if last is None else Verdict.HIT if last.ask is Ask.HIT else Verdict.MISS
