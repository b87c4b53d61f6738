"""Sequence -> Schedule: at which second each launch happens."""

import numpy as np

from .model.schedule import Schedule, Sequence

STRETCH_REST_S = 120.0
"""A rest longer than this ends a stretch, as a collect does: nothing stays ready to launch for longer."""


def pace(sequence: Sequence) -> Schedule:
    """All launches in order. Times of a stretch count from its start; the first ball after it starts fresh."""
    blocks = sequence.blocks
    stretch, starts, stretch_of_block = 0, [0.0], []
    for block in blocks:
        stretch_of_block.append(stretch)
        if block.kind == "collect" or (block.kind == "rest" and block.duration > STRETCH_REST_S):
            stretch += 1
            starts.append(block.start + block.duration)
    counts = [len(block.draws) for block in blocks]
    of_block = np.array(stretch_of_block, dtype=np.intp)
    block_index = np.repeat(np.arange(len(blocks)), counts)
    clock = np.concatenate([block.times for block in blocks]) if blocks else np.empty(0)
    feed = np.concatenate([block.draws for block in blocks]) if blocks else np.empty(0, np.intp)
    in_stretch = of_block[block_index] if len(clock) else np.empty(0, np.intp)
    gap = np.diff(clock, prepend=np.nan)
    gap[1:][np.diff(in_stretch) > 0] = np.nan
    at = clock - np.array(starts)[in_stretch]
    return Schedule(sequence, feed, clock, at, gap, block_index, in_stretch, of_block)
