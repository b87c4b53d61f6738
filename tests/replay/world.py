"""Host, faulty line and device in one virtual time, with a person who presses keys; judged by the device's own log."""

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from random import Random

from feedwright.compiler.model.device import Limits, Settings
from feedwright.compiler.model.plan import Block, Ladder
from feedwright.targets.machine.replay.device import SimulatedDevice
from feedwright.targets.machine.replay.flow import LinkLost, RunPhase
from feedwright.targets.machine.replay.host import Host
from feedwright.targets.machine.replay.line import LineFaults, SerialLine
from feedwright.targets.machine.replay.mechanism import Faults
from feedwright.targets.machine.replay.places import Place, RunShelf
from feedwright.targets.machine.replay.protocol import ProtocolMachine
from feedwright.targets.machine.replay.run import AtOnce, Identity, Run, RunJournal

LIMITS = Limits(
    "bench-1", cap=30000, gap=300,
    ranges={"s": (8000, 30000), "e": (0, 45000), "a": (-12000, 12000), "t": (-12000, 18000), "k": (0, 0)},
)  # fmt: skip
FP = "00112233445566aa"
SETTINGS: dict[str, Settings] = {
    "steady": (20000, 12000, 1500, 9000, 0),
    "kicker": (22000, 19000, -2500, 15000, 0),
    "slow": (18000, 14000, 0, 6000, 0),
    "fast": (26000, 9000, 0, 6000, 0),
}
LADDER = Ladder(
    quantity="pace", rungs=(("slow",), ("steady",), ("fast",)), labels=("65 km/h", "72 km/h", "94 km/h"),
    up={"hits": 1, "among": 1}, down_misses=1, down_in=2,
)  # fmt: skip


def block(index: int, part: int, ladder: Ladder | None = None) -> Block:
    return Block(
        index=index, kind="balls", words=f"block {index}", part=part, start_s=0.0, end_s=1.0, balls=1,
        order="ladder" if ladder else "same", shots=ladder.shots if ladder else ("steady",), round=None, notes=(),
        ladder=ladder,
    )  # fmt: skip


BLOCKS = {0: block(0, 0), 1: block(1, 0, LADDER), 2: block(2, 1)}


def program(random: Random, balls: int) -> tuple[Place, ...]:
    """Three blocks, the second a ladder, the third a part of its own."""
    cuts = sorted(random.choices(range(balls + 1), k=2))
    made, at = [], 0.0
    for number in range(1, balls + 1):
        index = sum(number > cut for cut in cuts)
        if made and BLOCKS[index].part != made[-1].part:
            at = 0.0
        shots = ("slow", "steady", "fast") if index == 1 else (random.choice(("steady", "kicker")),)
        made.append(Place(number, at, shots, index, BLOCKS[index].part))
        at += round(random.uniform(0.45, 1.2), 3)
    return tuple(made)


@dataclass
class Disk:
    """A record that outlives the host; entries with the second at which they were on the disk."""

    entries: list[tuple[float, str, int, object]] = field(default_factory=list)
    full_after: int | None = None
    now: Callable[[], float] = lambda: 0.0
    trouble: str = ""

    def written(self) -> bool:
        return not self.trouble

    def _add(self, what: str, ball: int, value: object) -> None:
        if self.full_after is not None and len(self.entries) >= self.full_after:
            raise OSError(28, "No space left on device")
        self.entries.append((self.now(), what, ball, value))

    def begin(self, facts: dict[str, object]) -> None:
        self._add("run", 0, facts)

    def sent(self, ball: int, shot: str) -> None:
        self._add("sent", ball, shot)

    def fate(self, ball: int, fate: str) -> None:
        self._add("fate", ball, fate)

    def mark(self, ball: int, hit: bool | None) -> None:
        self._add("mark", ball, hit)

    def close(self) -> None:
        pass

    @property
    def next(self) -> int:
        return max((ball for _, what, ball, _ in self.entries if what == "sent"), default=0) + 1

    def fates(self) -> dict[int, object]:
        known: dict[int, object] = {ball: None for _, what, ball, _ in self.entries if what == "sent"}
        return known | {ball: value for _, what, ball, value in self.entries if what == "fate"}


class Slow(AtOnce):
    """A record that is handed over at once and on the disk later; what a killed host had handed over is lost."""

    def __init__(self, disk: Disk, takes_s: float, stalled_after: int | None = None) -> None:
        super().__init__(disk)
        self._disk, self._takes_s, self._stalled_after, self._handed_over = disk, takes_s, stalled_after, 0
        self._queue: list[tuple[float, Callable[[], None]]] = []

    def _write(self, write: Callable[[], None]) -> None:
        self._queue.append((self._disk.now() + self._takes_s, write))

    def written(self) -> bool:
        stalled = self._stalled_after is not None and self._handed_over >= self._stalled_after
        while self._queue and self._queue[0][0] <= self._disk.now() and not stalled:
            self._handed_over += 1
            super()._write(self._queue.pop(0)[1])
            stalled = self._stalled_after is not None and self._handed_over >= self._stalled_after
        return not self._queue and super().written()


@dataclass
class Person:
    """Arms whenever it can, after a moment, and answers what is shown; now and then wrongly or too late."""

    random: Random
    careful: bool = True
    armings: int = 12
    moment: float | None = None

    def acts(self, now: float, host: Host) -> float | None:
        if host.phase not in (RunPhase.READY, RunPhase.ANSWERING) or host.busy(now):
            self.moment = None
            return None
        if self.moment is None:
            slow = not self.careful and self.random.random() < 0.1
            self.moment = now + (
                11.0 if slow else self.random.uniform(0.35, 0.7) if self.careful or self.random.random() > 0.05 else 0.1
            )
        elif now >= self.moment:
            self.moment = None
            if host.phase is RunPhase.READY and self.armings > 0:
                self.armings -= 1
                host.arm(now)
            elif host.phase is RunPhase.READY:
                host.stop(now, "no more patience", 0)
            else:
                wrong = not self.careful and self.random.random() < 0.08
                host.answer(now, "aaaa" if wrong else host.question)
        return self.moment


class Watched(SimulatedDevice):
    """A device that notes whether lines it must ignore changed anything."""

    def _take(self, now: float, line: bytes) -> None:
        before, seen = self._standing(), len(self.log)
        super()._take(now, line)
        whys = [f.about[0] for f in self.log[seen:] if f.what == "no"]
        if whys and whys[0] in ("garbled", "old-session", "number", "asleep"):
            assert before == self._standing(), f"I11: {line!r} changed something"

    def _standing(self) -> tuple[object, ...]:
        s = self._session
        mine = (s.word, s.next, s.fresh, s.proven, s.question) if s else None
        return self.state, self._pending, self._expected, self._arm, self._ready, self._not_before, mine


class World:
    def __init__(
        self, seed: int, *, balls: int = 4, faults: LineFaults | None = None, device: type[SimulatedDevice] = Watched,
        machine: Faults | None = None, drift_ppm: float = 0.0, boots_s: float = 0.0, careful: bool = True,
        host: type[Host] = Host, places: tuple[Place, ...] | None = None, walk_ms: int = 3000,
        limits: Limits = LIMITS, identity: Identity | None = None,
        adapter: type[ProtocolMachine] = ProtocolMachine, disk_takes_s: float = 0.0, stalled_after: int | None = None,
        feed_delay_s: float = 0.0,
        shelf: RunShelf | None = None,
    ) -> None:  # fmt: skip
        self.random = Random(seed)
        self.now, self.hosts, self.host_type, self.adapter = 0.0, 0, host, adapter
        self.feed_delay_s, self.shelf = feed_delay_s, shelf or RunShelf({}, SETTINGS, BLOCKS)
        self.places = places or program(self.random, balls)
        self.device = device(limits, Random(seed + 1), machine, drift_ppm=drift_ppm, boots_s=boots_s)
        self.up = SerialLine(faults or LineFaults(), Random(seed + 2))
        self.down = SerialLine(faults or LineFaults(), Random(seed + 3))
        self.person = Person(Random(seed + 4), careful)
        self.disk = Disk(now=lambda: self.now)
        self.disk_takes_s, self.stalled_after = disk_takes_s, stalled_after
        self.ended: float | None = None
        """When the last host came to its end."""
        self.identity = identity or Identity(limits.id, limits.cap, limits.gap, limits.checksum)
        self.walk_ms = walk_ms
        self.presses: list[float] = []
        self.plan: list[tuple[float, Callable[[], None]]] = []
        self.frozen = 0.0
        self.host: Host | None = None
        self.reports: list[Host] = []
        self.phases: Counter[str] = Counter()
        self.unchanged = True
        self.open()

    def open(self) -> None:
        """A host starts, on what the record says."""
        self.hosts += 1
        left = tuple(place for place in self.places if place.number >= self.disk.next)
        if not left:
            return
        run = Run("0f0e0d0c0b0a0908", "bench", left, self.record())
        machine = self.adapter(
            self._write, self.identity, FP, nonce=f"{self.random.getrandbits(32):08x}", feed_delay_s=self.feed_delay_s
        )
        self.host = self.host_type(
            machine, self.shelf, iter((run,)), walk_s=self.walk_ms / 1000, unchanged=lambda: self.unchanged
        )
        self.machine = machine
        self.reports.append(self.host)
        self.host.start(self.now)

    def record(self) -> RunJournal:
        if self.disk_takes_s or self.stalled_after is not None:
            return Slow(self.disk, self.disk_takes_s, self.stalled_after)
        return AtOnce(self.disk)

    def _write(self, data: bytes) -> None:
        if self.up.cut:
            raise LinkLost("The port is gone")
        self.up.write(self.now, data)

    # ---- what may happen

    def at(self, when: float, what: Callable[[], None]) -> None:
        self.plan.append((when, what))
        self.plan.sort(key=lambda item: item[0])

    def press_stop(self) -> None:
        if self.host and self.host.phase is not RunPhase.ENDED:
            self.presses.append(self.now)
            self.host.stop(self.now, "Stopped by the player", 0)

    def kill(self, again_after: float | None = None) -> None:
        """The host's process is gone between two instructions."""
        self.host = None
        if again_after is not None:
            self.at(self.now + again_after, self.open)

    def freeze(self, seconds: float) -> None:
        self.frozen = self.now + seconds

    def unplug(self, again_after: float | None = None) -> None:
        self.up.cut = self.down.cut = True
        if again_after is not None:
            self.at(self.now + again_after, self.replug)

    def replug(self) -> None:
        self.up.cut = self.down.cut = False
        if self.host is None or self.host.phase is RunPhase.ENDED:
            self.open()

    # ---- time

    def play(self, limit: float = 120.0) -> "World":
        steps = 0
        while self.now < limit and not (self.resting() and not self.plan):
            self.step(limit)
            steps += 1
            assert steps < 200 * limit, f"time stands still at {self.now}: {self.host and self.host.phase}"
        return self

    def resting(self) -> bool:
        return (self.host is None or self.host.phase is RunPhase.ENDED) and self.device.state != "live"

    def step(self, limit: float) -> None:
        moments = [self.up.due(), self.device.due(), self.plan[0][0] if self.plan else None, limit]
        host, awake = self.host, self.now >= self.frozen
        if host and host.phase is not RunPhase.ENDED:
            heard = self.down.due()  # what nobody reads stays in the buffer, for the next host too
            moments += [host.due(self.now), heard, self.person.acts(self.now, host)] if awake else [self.frozen]
        self.now = max(self.now, min(m for m in moments if m is not None))
        while self.plan and self.plan[0][0] <= self.now:
            self.plan.pop(0)[1]()
        self.device.advance(self.now)
        if data := self.up.read(self.now):
            self.device.receive(self.now, data)
        if data := self.device.send():
            self.down.write(self.now, data)
        host = self.host
        if host and self.now >= self.frozen and host.phase is not RunPhase.ENDED:
            heard = self.down.read(self.now)
            if heard:
                host.received(self.now, heard)
            if self.down.cut:
                host.lost(self.now, "The port is gone")
            host.step(self.now)
            self.person.acts(self.now, host)
            host.step(self.now)
            self.phases[host.phase.value] += 1
            if host.phase is RunPhase.ENDED:
                self.ended = self.now
                host.run.record.written()  # a process that ends waits for its record

    # ---- truth

    @property
    def thrown(self) -> list[int]:
        return [fact.about[2].number for fact in self.device.log if fact.what == "throw"]  # type: ignore[attr-defined]

    def forward(self, phase: RunPhase, limit: float = 60.0) -> Host:
        """Until the host is in a phase."""
        while self.now < limit and not (self.host and self.host.phase is phase):
            self.step(limit)
        assert self.host is not None and self.host.phase is phase, (
            self.host and self.host.phase,
            self.host and self.host.why,
        )
        return self.host
