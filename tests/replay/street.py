"""The host and a device that shares no line with it (stranger.py), in virtual time, with a person who arms."""

from collections.abc import Callable

from feedwright.targets.machine.replay.flow import LinkLost, RunPhase
from feedwright.targets.machine.replay.host import Host
from feedwright.targets.machine.replay.picture import farewell
from feedwright.targets.machine.replay.places import Place, RunShelf
from feedwright.targets.machine.replay.protocol import ProtocolMachine
from feedwright.targets.machine.replay.run import AtOnce, Identity, Run, RunJournal
from feedwright.targets.machine.replay.words import NOT_CONFIRMED

from .stranger import Stranger
from .world import BLOCKS, FP, LIMITS, SETTINGS, Disk, Slow

STEP = 0.005
RUN = tuple(Place(n, (n - 1) * 1.0, ("steady",), 0, 0) for n in range(1, 5))


def device(feed_ms: int = 0) -> Stranger:
    return Stranger(dict(LIMITS.ranges), LIMITS.cap, LIMITS.gap, LIMITS.id, feed_ms)


class Street:
    """Turns of 5 ms; what one end writes the other reads in its next turn. `speed`: device seconds to ours."""

    def __init__(
        self, stranger: Stranger | None = None, *, speed: float = 1.0, disk_takes_s: float = 0.0,
        stalled_after: int | None = None, shelf: RunShelf | None = None, places: tuple[Place, ...] = RUN,
        identity: Identity | None = None,
    ) -> None:  # fmt: skip
        self.now, self.ms, self.speed = 0.0, 0.0, speed
        self.device = stranger or device()
        self.disk = Disk(now=lambda: self.now)
        slow = disk_takes_s or stalled_after is not None
        record: RunJournal = Slow(self.disk, disk_takes_s, stalled_after) if slow else AtOnce(self.disk)
        self.up, self.cut, self.deaf, self.arms = b"", False, False, 3
        self.wrote: list[tuple[float, bytes]] = []
        identity = identity or Identity(LIMITS.id, LIMITS.cap, LIMITS.gap, LIMITS.checksum)
        self.unchanged = True
        machine = ProtocolMachine(self._write, identity, FP, nonce="0badf00d", feed_delay_s=self.device.feed_ms / 1000)
        runs = iter((Run("0f0e0d0c0b0a0908", "street", places, record),))
        held = shelf or RunShelf({}, SETTINGS, BLOCKS)
        self.host = Host(machine, held, runs, walk_s=3.0, unchanged=lambda: self.unchanged)
        self._asked: float | None = None
        self.host.start(0.0)

    def _write(self, data: bytes) -> None:
        if self.cut:
            raise LinkLost("The port is gone")
        self.wrote.append((self.now, data))
        self.up += data

    def turn(self) -> None:
        self.now = round(self.now + STEP, 3)
        self.ms += STEP * 1000 * self.speed
        up, self.up = self.up, b""
        self.device.take(self.ms, up)
        self.device.pass_time(self.ms)
        down, self.device.out = self.device.out, b""
        if down and not self.deaf and not self.cut:
            self.host.received(self.now, down)
        if self.cut:
            self.host.lost(self.now, "The port is gone")
        self.host.step(self.now)
        self._person()

    def _person(self) -> None:
        host = self.host
        if host.phase is RunPhase.READY and self.arms and not host.busy(self.now):
            self.arms -= 1
            host.arm(self.now)
            self._asked = None
        elif host.phase is RunPhase.ANSWERING and not host.busy(self.now):
            self._asked = self.now if self._asked is None else self._asked
            if self.now - self._asked > 0.5:
                host.answer(self.now, host.question)

    def until(self, done: Callable[[], bool], limit: float = 60.0) -> "Street":
        while not done():
            self.turn()
            assert self.now < limit, f"{self.host.phase}: {self.host.why}"
        return self

    def to(self, phase: RunPhase) -> "Street":
        return self.until(lambda: self.host.phase is phase)

    def sent(self, ball: int) -> "Street":
        """Until a ball is agreed."""
        return self.until(lambda: self.device.pending is not None and self.device.pending[0] == ball)

    def thrown(self, ball: int) -> "Street":
        return self.until(lambda: ball in [number for number, _ in self.device.thrown] and self.told(ball))

    def told(self, ball: int) -> bool:
        return self.host.last_gone is not None and self.host.last_gone.number == ball

    def stop(self) -> "Street":
        self.host.stop(self.now, "Stopped by the player", 0)
        return self

    def end(self) -> "Street":
        return self.until(lambda: self.host.phase is RunPhase.ENDED)

    @property
    def said(self) -> str:
        """Everything that a player was told."""
        end = self.host.ending
        return "\n".join([*self.host.messages, self.host.why, *(farewell(end, NOT_CONFIRMED) if end else [])])

    @property
    def code(self) -> int | None:
        return self.host.ending.code if self.host.ending else None
