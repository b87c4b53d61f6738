"""Sequence -> Schedule: at which second each launch happens."""

import numpy as np

from .model.program import Program
from .model.schedule import Indices, Schedule, Sequence, Times
from .model.shots import Shots

STRETCH_REST_S = 120.0
"""A rest longer than this ends a stretch, as a collect does: nothing stays ready to launch for longer."""


def pace(program: Program, sequence: Sequence, shots: Shots) -> Schedule:
    """All launches in order. Times of a stretch count from its start. A ball never comes sooner than its interval after
    the launch before it, over the change of blocks and over rests too.

    A ball whose interval runs between contacts is launched so that it is met that long after the ball before was met:
    later than its interval when it flies for a shorter time, earlier when it flies longer.
    """
    feeds = [program.feeds[name] for name in sequence.feeds]
    interval = np.array([feed.interval for feed in feeds])
    # A ball that could not be aimed has no time of flight; nothing is launched then, so any will do.
    flight = np.array([shots.shots[f.name].predicted.contact_time if f.name in shots.shots else 0.0 for f in feeds])
    shifted = np.array([feed.between_contacts for feed in feeds], dtype=bool)
    clock, stretch, last, last_flight = 0.0, 0, -np.inf, 0.0
    begins, starts, durations, stretches, times = [0.0], [], [], [], []
    for block in sequence.blocks:
        starts.append(clock)
        stretches.append(stretch)
        draws = block.draws
        if len(draws):
            gaps = _gaps(draws, interval, flight, shifted, last_flight)
            launched = max(clock, last + gaps[0]) + np.concatenate([[0.0], np.cumsum(gaps[1:])])
            times.append(launched)
            last, last_flight = float(launched[-1]), float(flight[draws[-1]])
            end = clock + block.seconds if block.seconds is not None else last + float(interval[draws[-1]])
        else:
            end = clock + (block.seconds or 0.0)
            if block.kind == "collect" or (block.kind == "rest" and end - clock > STRETCH_REST_S):
                stretch += 1
                begins.append(end)
        durations.append(end - clock)
        clock = end
    return _schedule(sequence, times, np.array(begins), np.array(starts), np.array(durations), stretches)


def _gaps(draws: Indices, interval: Times, flight: Times, shifted: Indices, last_flight: float) -> Times:
    """Time since the launch before, for each ball."""
    before = np.concatenate([[last_flight], flight[draws[:-1]]])
    return np.asarray(interval[draws] + np.where(shifted[draws], before - flight[draws], 0.0))


def _schedule(
    sequence: Sequence, times: list[Times], begins: Times, starts: Times, durations: Times, stretches: list[int]
) -> Schedule:
    blocks = sequence.blocks
    block = np.repeat(np.arange(len(blocks)), [len(b.draws) for b in blocks])
    clock = np.concatenate(times) if times else np.empty(0)
    feed = np.concatenate([b.draws for b in blocks]) if blocks else np.empty(0, np.intp)
    of_block = np.array(stretches, dtype=np.intp)
    stretch = of_block[block]
    gap = np.diff(clock, prepend=np.nan)
    gap[1:][np.diff(stretch) > 0] = np.nan
    return Schedule(sequence, feed, clock, clock - begins[stretch], gap, block, stretch, starts, durations, of_block)
