"""Searches side by side: what they want flown next is flown as one batch.

A search is a generator. It yields lanes and what is to be done with them, and is sent what came of them. No lane hangs
on those beside it, so each search finds what it would find alone.
"""

from collections.abc import Callable, Generator, Iterable, Sequence
from typing import Any, TypeAlias, TypeVar

import numpy as np

from ..grammar.frozen import Frozen, replace
from . import roots
from .fit import Index
from .physics import launches
from .physics.flight import Array
from .physics.launches import Roots, Wanted
from .physics.outcome import Conditions

T = TypeVar("T")
L = TypeVar("L")
MOST = 4000  # lanes flown as one batch: overhead is small, and so is the memory


class Unflown(Frozen):
    """What a search wants to know: `work` takes `lanes`, arrays (..., n) and records of them, and the conditions; it
    returns arrays and records of as many lanes, or the launches to each lane."""

    work: Callable[..., Any]
    lanes: tuple[Any, ...]

    @property
    def count(self) -> int:
        last = self.lanes[-1]
        while isinstance(last, Frozen):
            last = last.values()[-1]
        return int(last.shape[-1])


def every_launch(wanted: Wanted, conditions: Conditions) -> Roots:
    """Work: every launch that meets each request."""
    return roots.solve(wanted, conditions)[0]


def near_launch(wanted: Wanted, starts: Array, conditions: Conditions) -> Roots:
    """Work: the launch that meets each request, from one close to it, (3, n) speed, elevation and azimuth."""
    return launches.refined(wanted, np.arange(starts.shape[1]), starts, conditions)


Search: TypeAlias = Generator[Unflown, Any, T]


def together(searches: Iterable[Search[T]], conditions: Conditions, solved: Callable[[int], None]) -> list[T]:
    """What searches find, in their order; `solved` hears after each round how many more have ended, maybe none."""
    every, found, wants = list(searches), dict[int, T](), dict[int, Unflown]()
    answers: dict[int, Any] = dict.fromkeys(range(len(every)))
    while answers:
        before = len(found)
        for i, answer in answers.items():
            try:
                wants[i] = every[i].send(answer)
            except StopIteration as end:
                found[i] = end.value
        solved(len(found) - before)
        # First the work that fewest wait for: they catch up, and then wait for the same as the others.
        works = [request.work for request in wants.values()]
        some = [i for i, request in wants.items() if request.work is min(works, key=works.count)]
        answers = _done([(i, wants.pop(i)) for i in some], conditions)
    return [found[i] for i in range(len(every))]


def _done(requests: Sequence[tuple[int, Unflown]], conditions: Conditions) -> dict[int, Any]:
    """The answers to requests of one kind of work, by their numbers."""
    answers, batch, lanes = dict[int, Any](), list[tuple[int, Unflown]](), 0
    for k, (i, request) in enumerate(requests):
        batch.append((i, request))
        lanes += request.count
        if k + 1 < len(requests) and lanes + requests[k + 1][1].count <= MOST:
            continue
        came = request.work(*(joined(same) for same in zip(*(one.lanes for _, one in batch), strict=True)), conditions)
        end = 0
        for number, one in batch:
            begin, end = end, end + one.count
            answers[number] = came if len(batch) == 1 else _share(came, begin, end)
        batch, lanes = [], 0
    return answers


def _share(came: Any, begin: int, end: int) -> Any:
    """What came of the lanes from `begin` to before `end`."""
    if isinstance(came, Roots):
        mine = np.arange(*np.searchsorted(came.request, [begin, end]))
        return replace(taken(came, mine), request=came.request[mine] - begin)
    return taken(came, np.arange(begin, end))


def joined(parts: Sequence[L]) -> L:
    """Records of lanes, or arrays (..., n), side by side."""
    first: Any = parts[0]
    if len(parts) == 1:
        return first
    if isinstance(first, Frozen):
        columns = zip(*(one.values() for one in parts), strict=True)  # type: ignore[attr-defined]
        return type(first)(*(joined(same) for same in columns))  # type: ignore[return-value]
    return np.concatenate(parts, axis=-1)  # type: ignore


def taken(lanes: L, index: Index) -> L:
    """Some lanes of a record, of an array (..., n) or of a tuple of those."""
    every: Any = lanes
    if isinstance(every, Frozen):
        return type(every)(*(taken(one, index) for one in every.values()))  # type: ignore[return-value]
    if isinstance(every, tuple):
        return tuple(taken(one, index) for one in every)  # type: ignore[return-value]
    return every[..., index]
