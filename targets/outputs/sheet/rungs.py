"""The ladders of the feed sheet: the rule, the rungs, and the boxes that each of them needs."""

from collections.abc import Sequence
from dataclasses import dataclass

from ....compiler.model.plan import Block, Ladder, Plan
from ....grammar.units import number
from . import words
from .letters import Letters


@dataclass(frozen=True, slots=True)
class RungsRow:
    """The rule of a ladder; its rungs are rows of the block."""

    rule: str
    rungs: tuple[tuple[str, str], ...]
    """Letter and label, the easiest first."""
    letters: frozenset[str]
    """Those of all its balls."""
    feeds: bool
    """Whether each rung is a feed."""
    boxes: int
    """The balls among whose last the hits are counted that take the player one rung up."""
    start: int
    """The rung of the first ball, from zero."""
    best: str
    """What to write down of its hits in a row, or of the best among so many balls."""
    keeper: str
    """Who keeps the last balls on paper, where a feeder without a computer would have to count them."""
    sets: int
    """How many sets of so many balls there are for a rung; 0 where the last balls are counted."""


def _label(ladder: Ladder, rung: int, order: Sequence[str]) -> str:
    """What is fed on a rung: a feed with the letters of its family, in the order in which they come, and its interval
    where the rungs have intervals of their own."""
    label = ladder.labels[rung]
    if ladder.quantity:
        return label
    turn = ", ".join(dict.fromkeys(order))
    every = f", every {number(ladder.intervals_s[rung])} s" if ladder.intervals_s else ""
    return words.quoted(label) + (f": {turn} in turn" if "," in turn else "") + every


def keeper(plan: Plan, block: Block) -> str:
    """A streak can be counted, but not the misses among the last balls with a racket in the hand (common practice, no
    source)."""
    ladder = block.ladder
    if ladder is None or ladder.sets or plan.feeder.kind == "machine" or not (ladder.down_in or ladder.up.window):
        return ""
    return "who waits" if plan.others or plan.player.in_line > 1 else "a helper"


def rungs(plan: Plan, named: Letters, block: Block) -> RungsRow:
    """Of a ladder."""
    ladder = block.ladder
    assert ladder is not None
    letters_ = [named.rung(shots) for shots in ladder.rungs]
    aims = {shot.variation for shot in plan.shots if shot.id in ladder.shots}
    order = [ball.any_of for ball in plan.launches if ball.block == block.index]
    labels = tuple(_label(ladder, rung, [named.of[ball[rung]] for ball in order]) for rung in range(len(letters_)))
    most = ladder.most_sets if ladder.down_in is None else None  # without a way down nobody comes to a rung again
    return RungsRow(
        words.ladder_rule(ladder, letters_, plan.feeder.kind == "machine", block.rest),
        tuple(zip(letters_, labels, strict=True)),
        frozenset(named.used(ladder.shots)),
        not ladder.quantity,
        ladder.up.among,
        ladder.start,
        "best" if any(one.goal and one.goal.window for one in plan.variations if one.id in aims) else "streak",
        keeper(plan, block),
        min(block.balls // ladder.sets, most or block.balls) if ladder.sets else 0,
    )
