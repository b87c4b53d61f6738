"""The launches to what is asked, found again where the process has looked for them: why a ball cannot be had is worked
out of the same launches as the ball, and remedies ask for some balls twice."""

from collections.abc import Callable, Iterator

import numpy as np

from .kept import Kept, each
from .physics import launches
from .physics.flight import Array
from .physics.launches import Index, Roots, Scan, Wanted
from .physics.outcome import Conditions

_FOUND: Kept[tuple[Array, Array]] = Kept(4_000)
"""By the conditions and the request: speed, elevation and azimuth of its launches (3, r), and its row of a scan."""


def solve(wanted: Wanted, conditions: Conditions, solved: Callable[[int], None] = lambda n: None) -> tuple[Roots, Scan]:
    """As `launches.solve`."""

    def work(new: Index) -> Iterator[tuple[Array, Array]]:
        roots, scan = launches.solve(wanted.at(new), conditions, solved)
        ends = np.searchsorted(roots.request, np.arange(len(new) + 1))
        _, *found = roots.values()
        rows = np.stack(scan.values())
        for i in range(len(new)):
            yield np.stack([of[ends[i] : ends[i + 1]] for of in found]), rows[:, i]

    asked = np.vstack([np.atleast_2d(np.asarray(column, float)) for column in wanted.values()])
    known, fresh = each(_FOUND, repr(conditions), asked, work)
    solved(len(known) - fresh)
    request = np.repeat(np.arange(len(known)), [roots.shape[1] for roots, _ in known])
    found = np.concatenate([np.empty((3, 0)), *(roots for roots, _ in known)], axis=1)
    rows = np.stack([scan for _, scan in known], axis=1) if known else np.empty((5, 0, launches.SCANNED))
    return Roots(request, *found), Scan(*rows)
