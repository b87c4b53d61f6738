"""What a process has worked out, found again by all that it depends on.

A ball depends on nothing but its feed and the conditions, and its flight not on the balls beside it, so that what is
found again is, bit for bit, what would be worked out. A preview, a remedy on trial and a second script of one process
pay only for what is new. The same holds of the times of a session and of the shots of a plan, of which the latest of
each script are kept.
"""

import struct
from collections.abc import Callable, Hashable, Iterable
from operator import is_
from threading import Lock
from typing import Generic, TypeVar

import numpy as np
from numpy.typing import NDArray

V = TypeVar("V")
MOST = 10_000
"""Results of one kind that are kept, some megabytes; the one that was not asked for longest makes room."""
_EVERY: "list[Kept[object]]" = []


class Kept(Generic[V]):
    """Results of one kind by their keys."""

    def __init__(self, most: int = MOST) -> None:
        self._most, self._found, self._lock = most, dict[Hashable, V](), Lock()
        _EVERY.append(self)  # type: ignore[arg-type]

    def __len__(self) -> int:
        return len(self._found)

    def get(self, key: Hashable) -> V | None:
        """The result, now the youngest; None if it is not known."""
        with self._lock:
            if key not in self._found:
                return None
            value = self._found[key] = self._found.pop(key)
            return value

    def put(self, key: Hashable, value: V) -> None:
        with self._lock:
            self._found.pop(key, None)
            self._found[key] = value
            if len(self._found) > self._most:
                del self._found[next(iter(self._found))]

    def clear(self) -> None:
        with self._lock:
            self._found.clear()


def forget() -> None:
    """Everything, so that a compilation begins as in a new process."""
    for kept in _EVERY:
        kept.clear()


def exactly(*numbers: float | None) -> bytes:
    """Numbers as a part of a key, bit for bit; None is not a number."""
    return struct.pack(f"{len(numbers)}d", *(float("nan") if number is None else number for number in numbers))


def latest(kept: Kept[tuple[object, V]], key: Hashable, inputs: object, work: Callable[[], V]) -> V:
    """What `work` gave for a key the last time, if all that it depends on is equal to what it was then."""
    known = kept.get(key)
    if known is None or known[0] != inputs:
        known = inputs, work()
        kept.put(key, known)
    return known[1]


def unchanged(
    kept: Kept[tuple[tuple[object, ...], V]], key: Hashable, things: tuple[object, ...], work: Callable[[], V]
) -> V:
    """The same where all that it depends on are the very same things: equal ones may stand elsewhere in a script."""
    known = kept.get(key)
    if known is None or len(known[0]) != len(things) or not all(map(is_, known[0], things)):
        known = things, work()
        kept.put(key, known)
    return known[1]


def each(
    kept: Kept[V], conditions: str, columns: NDArray[np.float64], work: Callable[[NDArray[np.intp]], Iterable[V]]
) -> tuple[list[V], int]:
    """For each of the columns (k, n) the result from it and the conditions alone, and how many were new: these
    are worked out by `work`, which takes their places, equal ones once."""
    keys = [(conditions, column.tobytes()) for column in np.ascontiguousarray(columns.T)]
    known = {key: kept.get(key) for key in keys}
    fresh = {key: i for i, key in reversed(list(enumerate(keys))) if known[key] is None}
    some = np.array(sorted(fresh.values()), np.intp)
    found = {key: value for key, value in known.items() if value is not None}
    for i, value in zip(some, work(some) if len(some) else (), strict=True):
        found[keys[i]] = value
        kept.put(keys[i], value)
    return [found[key] for key in keys], len(some)
