"""Which values of what fixes a flight a coach can have: over the net, above the ground, by these settings, with this
player. Told only where every launch between its ends was flown and judged, and so was one as the device can be set."""

from collections.abc import Sequence

import numpy as np

from ..grammar.frozen import replace
from .fit import REFUSED, Demand, Index, judged
from .model.program import Feed, Program
from .physics import launches
from .physics.flight import Array
from .physics.launches import Scan, Wanted
from .physics.outcome import Conditions, outcome
from .rounding import Ideal, near, tried

CLOSER = 4  # times as close as the scan that looks for launches
MOST_EDGES, OF_EDGE = 6, 12
"""Places of a scan where what can be had begins or ends, and how many launches more are looked at in each."""
TOGETHER = 500  # launches whose settings are flown as one batch
Had = tuple[tuple[float, float], ...]
"""Ranges of values, SI, that do not touch."""


def possible(
    few: Index,
    scanned: Array,
    feeds: Sequence[Feed],
    asked: Demand,
    wanted: Wanted,
    program: Program,
    conditions: Conditions,
) -> list[Had]:
    """For each of `few` feeds, from the elevations (k, e) that its scan tried, what can be had through its aim."""
    grid = _closer(scanned)
    line, able = _able(few, grid, feeds, asked, wanted, program, conditions)
    edges = _edges(grid, able)
    more, more_able = _able(few, edges, feeds, asked, wanted, program, conditions)
    order = np.argsort(np.concatenate([grid, edges], axis=1), axis=1, kind="stable")
    values, bounces, kept = (
        np.take_along_axis(np.concatenate(pair, axis=1), order, axis=1)
        for pair in ((line.measure, more.measure), (line.bounces, more.bounces), (able, more_able))
    )
    return [
        _ranges(values[row], kept[row] & _of_arc(values[row], feeds[feed].arc), bounces[row])
        for row, feed in enumerate(few)
    ]


def _edges(grid: Array, able: np.ndarray) -> Array:
    """Elevations (k, e) between every two of which one can be had and one cannot."""
    found = np.empty((len(grid), MOST_EDGES * OF_EDGE))
    for row, (elevations, can) in enumerate(zip(grid, able, strict=True)):
        at = np.flatnonzero(can[1:] != can[:-1])[:MOST_EDGES]
        inside = [np.linspace(elevations[k], elevations[k + 1], OF_EDGE + 2)[1:-1] for k in at]
        # The rest is filled up with an elevation that is there already.
        found[row] = np.concatenate([*inside, np.full((MOST_EDGES - len(at)) * OF_EDGE, elevations[-1])])
    return found


def _able(
    few: Index,
    grid: Array,
    feeds: Sequence[Feed],
    asked: Demand,
    wanted: Wanted,
    program: Program,
    conditions: Conditions,
) -> tuple[Scan, np.ndarray]:
    """One launch an elevation (k, e) through the aim of each, and which of them can be had, as they are and as the
    device can be set."""
    line = launches.through(wanted.at(few), grid, conditions)
    able = np.isfinite(line.measure)
    row, column = np.nonzero(able)
    feed = few[row]
    lanes = wanted.at(feed)
    release = lanes.release(line.speed[row, column], line.elevation[row, column], line.azimuth[row, column])
    flown = outcome(release, lanes.stance, lanes.full, conditions)
    mine = replace(asked.at(feed), value=line.measure[row, column])
    found = judged(mine, release, flown, program)
    able[row, column] = found.faults & REFUSED == 0
    some = np.flatnonzero(able[row, column])
    numbered = np.arange(len(some))
    each = [feeds[feed[k]] for k in some]
    ideal = Ideal(
        numbered, numbered * 0, np.zeros((2, len(some))), release.speed[some], release.elevation[some],
        release.azimuth[some], numbered > 0, found.at(some),
    )  # fmt: skip
    values = replace(lanes.at(some), value=mine.value[some])
    for first in range(0, len(some), TOGETHER):
        trials = near(each, program.feeder, ideal, range(first, min(first + TOGETHER, len(some))))
        rounded = tried(trials, each, mine.at(some), values, program, conditions)
        for k, one in rounded.items():
            able[row[some[k]], column[some[k]]] = not one.refused
    return line, able


def _closer(grid: Array) -> Array:
    """Elevations (k, e) with more between every two."""
    at = np.arange(grid.shape[1])
    return np.stack([np.interp(np.linspace(0, at[-1], CLOSER * at[-1] + 1), at, row) for row in grid])


def _of_arc(values: Array, arc: str | None) -> np.ndarray:
    """Which launches (e,) are of the arc that is asked for: the low one is the first of all that give a value."""
    if arc is None:
        return np.ones(len(values), bool)
    some = values if arc == "low" else values[::-1]
    before = np.r_[np.nan, some[:-1]]
    new = ~(some <= np.fmax.accumulate(before)) | ~(some >= np.fmin.accumulate(before))
    return new if arc == "low" else new[::-1]


def _ranges(values: Array, able: np.ndarray, bounces: Array) -> Had:
    """The ranges that the launches cover which can be had: one for each run of neighbours with as many bounces, those
    that overlap as one."""
    runs, last = [], None
    for k in np.flatnonzero(able):
        if last is not None and k == last + 1 and bounces[k] == bounces[last]:
            runs[-1].append(float(values[k]))
        else:
            runs.append([float(values[k])])
        last = k
    joined: list[tuple[float, float]] = []
    for low, high in sorted((min(run), max(run)) for run in runs):
        if joined and low <= joined[-1][1]:
            joined[-1] = (joined[-1][0], max(high, joined[-1][1]))
        else:
            joined.append((low, high))
    return tuple(joined)
