"""A line that loses, doubles, delays, flips and merges what goes over it, one direction, with a clock handed in."""

import heapq
from collections import Counter
from dataclasses import dataclass, fields
from random import Random


@dataclass(frozen=True, slots=True)
class LineFaults:
    """Chances for each line that is written, and two times in s."""

    lost: float = 0.0
    doubled: float = 0.0
    """The copy may come late, as from a buffer of a session that has ended."""
    delayed: float = 0.0
    flipped: float = 0.0
    """One bit of one byte."""
    merged: float = 0.0
    """Its line end is lost, so that it runs into the next."""
    noise: float = 0.0
    """Some bytes that nobody sent."""
    takes_s: float = 0.002
    late_s: float = 0.4
    """The longest that a delayed or doubled line is kept."""


KINDS = tuple(f.name for f in fields(LineFaults) if not f.name.endswith("_s"))


class SerialLine:
    def __init__(self, faults: LineFaults, random: Random) -> None:
        self.faults, self.cut = faults, False
        self.seen: Counter[str] = Counter()
        self._random = random
        self._under_way: list[tuple[float, int, bytes]] = []
        self._written = 0
        self._last = 0.0

    def write(self, now: float, data: bytes) -> None:
        """What one end writes at once, line by line."""
        for line in data.splitlines(keepends=True):
            self._one(now, line)

    def _one(self, now: float, line: bytes) -> None:
        chance, faults = self._random.random, self.faults
        happens = {kind for kind in KINDS if (share := getattr(faults, kind)) and chance() < share}
        self.seen.update(happens)
        if self.cut:
            return
        arrives = now + faults.takes_s + (chance() * faults.late_s if "delayed" in happens else 0.0)
        # What follows waits behind it: bytes on a line do not overtake.
        self._last = arrives = max(arrives, self._last)
        if "noise" in happens:
            self._put(arrives, self._random.randbytes(self._random.randint(1, 12)))
        if "flipped" in happens:
            place = self._random.randrange(len(line))
            line = line[:place] + bytes([line[place] ^ 1 << self._random.randrange(8)]) + line[place + 1 :]
        if "merged" in happens:
            line = line.rstrip(b"\n")
        if "lost" not in happens:
            self._put(arrives, line)
        if "doubled" in happens:
            self._put(arrives + chance() * faults.late_s, line)

    def _put(self, at: float, data: bytes) -> None:
        self._written += 1
        heapq.heappush(self._under_way, (at, self._written, data))

    def due(self) -> float | None:
        return self._under_way[0][0] if self._under_way else None

    def read(self, now: float) -> bytes:
        """What has arrived by now."""
        out = b""
        while self._under_way and self._under_way[0][0] <= now:
            out += heapq.heappop(self._under_way)[2]
        return out
