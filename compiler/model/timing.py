"""Do a plan's times agree with each other? Checks in the document what the schedule promises."""

from collections.abc import Iterator, Sequence
from itertools import pairwise

from .plan import Block, PartRecord, Plan


def clock_faults(plan: Plan) -> Iterator[str]:
    """What is wrong with the plan's clock, in sentences. Blocks follow each other from 0 to the session's end. So do
    parts, each from its first block to its last. Every ball leaves in its block, none before the one ahead of it.

    No tolerance for rounding: the same second is rounded once and is the same number throughout the plan.
    """
    blocks, parts = plan.blocks, plan.parts
    if [block.index for block in blocks] != list(range(len(blocks))):
        yield "The plan's blocks are not numbered in order."
        return
    if not [part.index for part in parts] == list(range(len(parts))) == list({block.part: 0 for block in blocks}):
        yield "The plan's parts are not those of its blocks."
        return
    yield from _gaps("Block", blocks, plan.totals.duration_s)
    yield from _gaps("Part", parts, plan.totals.duration_s)
    for part in parts:
        within = [block for block in blocks if block.part == part.index]
        if (part.start_s, part.end_s) != (within[0].start_s, within[-1].end_s):
            yield f"Part {part.index} does not start and end with its blocks."
    for number, ball in enumerate(plan.launches, start=1):
        if not 0 <= ball.block < len(blocks):
            yield f"Ball {number} belongs to block {ball.block}, which the plan does not hold."
            continue
        block = blocks[ball.block]
        if not block.start_s <= ball.at_s < block.end_s:
            yield (
                f"Ball {number} leaves at {ball.at_s:g} s, outside its block, which runs from {block.start_s:g} to "
                f"{block.end_s:g} s."
            )
    yield from _sets(plan)
    yield from _rests(plan)
    for number, (one, two) in enumerate(pairwise(plan.launches), start=2):
        if two.at_s < one.at_s:
            yield f"Ball {number} leaves at {two.at_s:g} s, before the ball in front of it."


def _sets(plan: Plan) -> Iterator[str]:
    """Is there a whole number of sets in each block that counts in sets?"""
    for block in plan.blocks:
        count, what = (len(block.points), "points") if block.points else (block.balls, "balls")
        if (among := block.sets) and count % among:
            yield f"Block {block.index + 1} has {count} {what}, which are no whole sets of {among}."


def _rests(plan: Plan) -> Iterator[str]:
    """Does each block rest where it says?"""
    for block in plan.blocks:
        if block.rest is None:
            continue
        at = [ball.at_s for ball in plan.launches if ball.block == block.index]
        for number in block.rested:
            if number < len(at) and at[number] - at[number - 1] < block.rest.rest_s:
                yield f"Block {block.index + 1} has no rest before its ball {number + 1}."


def _gaps(what: str, spans: Sequence[Block] | Sequence[PartRecord], end_s: float) -> Iterator[str]:
    """From 0 on, each from the end of the one before, the last to the session's end."""
    due = 0.0
    for span in spans:
        if span.start_s != due or not span.start_s < span.end_s:
            yield f"{what} {span.index} runs from {span.start_s:g} to {span.end_s:g} s and should start at {due:g} s."
        due = span.end_s
    if due != end_s:
        yield f"The session ends at {end_s:g} s, its last {what.lower()} at {due:g} s."
