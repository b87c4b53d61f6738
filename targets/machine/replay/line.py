"""One direction of a serial line that loses, doubles, delays, flips and merges lines. The caller supplies the clock."""

import heapq
from collections import Counter
from dataclasses import dataclass, fields
from random import Random


@dataclass(frozen=True, slots=True)
class LineFaults:
    """The chance of each fault for a line that is written, and two times in s."""

    lost: float = 0.0
    doubled: float = 0.0
    """The copy may come late, like one from a buffer after its session has ended."""
    delayed: float = 0.0
    flipped: float = 0.0
    """One bit of one byte."""
    merged: float = 0.0
    """Its line end is lost, so it runs into the next line."""
    noise: float = 0.0
    """Some bytes that nobody sent."""
    takes_s: float = 0.002
    late_s: float = 0.4
    """Longest delay of a delayed or doubled line."""


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
        """Send the bytes of one write, line by line."""
        for line in data.splitlines(keepends=True):
            self._one(now, line)

    def _one(self, now: float, line: bytes) -> None:
        chance, faults = self._random.random, self.faults
        happens = {kind for kind in KINDS if (share := getattr(faults, kind)) and chance() < share}
        self.seen.update(happens)
        if self.cut:
            return
        arrives = now + faults.takes_s + (chance() * faults.late_s if "delayed" in happens else 0.0)
        # Later bytes wait behind it: bytes on a line do not overtake each other.
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
        """The bytes that have arrived by now."""
        out = b""
        while self._under_way and self._under_way[0][0] <= now:
            out += heapq.heappop(self._under_way)[2]
        return out
