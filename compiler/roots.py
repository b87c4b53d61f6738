"""The launches to what is asked, found again where the process has looked for them: why a ball cannot be had is worked
out of the same launches as the ball, and remedies ask for some balls twice."""

from collections.abc import Callable, Iterator

import numpy as np

from .kept import Kept, each
from .physics import launches
from .physics.flight import Array
from .physics.launches import FLAT, Index, Roots, Scan, Wanted
from .physics.outcome import Conditions

_SCANS: Kept[Array] = Kept(8_000)
"""By the conditions, the way of a request and the elevations tried: its row of a scan (5, e)."""
_FOUND: Kept[Array] = Kept(4_000)
"""By the conditions and the request: speed, elevation and azimuth of its launches (3, r)."""
_FLATTEST: Kept[Array] = Kept(4_000)
"""The same of its flattest launch, r at most 1."""

Found = Callable[[Wanted, Scan, Conditions, launches.Look], Roots]
Solved = Callable[[int], None]


def solve(wanted: Wanted, conditions: Conditions, solved: Solved = lambda n: None) -> tuple[Roots, Scan]:
    """As `launches.solve`; `solved` hears after how many more requests."""
    grid = launches.elevations(wanted, conditions)
    parts = (_through(wanted, grid[:, columns], conditions).values() for columns in (slice(FLAT), slice(FLAT, None)))
    scan = Scan(*(np.concatenate(pair, axis=1) for pair in zip(*parts, strict=True)))
    return _roots(_FOUND, launches.found, wanted, scan, conditions, solved), scan


def flattest(wanted: Wanted, conditions: Conditions, solved: Solved = lambda n: None) -> Roots:
    """As `launches.flattest`: the first launch of `solve` where that is found in a part of the time."""
    scan = _through(wanted, launches.elevations(wanted, conditions)[:, :FLAT], conditions)
    return _roots(_FLATTEST, launches.flattest, wanted, scan, conditions, solved)


def _through(wanted: Wanted, grid: Array, conditions: Conditions) -> Scan:
    """As `launches.through`."""

    def work(new: Index) -> Iterator[Array]:
        for some in launches.batches(len(new)):
            mine = new[some]
            yield from np.stack(launches.through(wanted.at(mine), grid[mine], conditions).values(), axis=1)

    rows, _ = each(_SCANS, conditions.key, np.vstack([_columns(launches.ways(wanted)), grid.T]), work)
    return Scan(*(np.stack(rows, axis=1) if rows else np.empty((5, *grid.shape))))


def _roots(
    kept: Kept[Array], found: Found, wanted: Wanted, scan: Scan, conditions: Conditions, solved: Solved
) -> Roots:
    def work(new: Index) -> Iterator[Array]:
        for some in launches.batches(len(new)):
            mine = new[some]
            rows = Scan(*(row[mine] for row in scan.values()))
            request, *roots = found(wanted.at(mine), rows, conditions, _through).values()
            yield from np.split(np.stack(roots), np.searchsorted(request, np.arange(1, len(mine))), axis=1)
            solved(len(mine))

    known, fresh = each(kept, conditions.key, _columns(wanted), work)
    solved(len(known) - fresh)
    request = np.repeat(np.arange(len(known)), [roots.shape[1] for roots in known])
    return Roots(request, *np.concatenate([np.empty((3, 0)), *known], axis=1))


def _columns(wanted: Wanted) -> Array:
    return np.vstack([np.atleast_2d(np.asarray(column, float)) for column in wanted.values()])
