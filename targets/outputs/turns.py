"""Whose turn it is within a block: players in line, or several with names who change."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import accumulate, groupby, pairwise

from ...compiler.model.plan import Block, Plan
from ...grammar.units import number

LONGER_S = 0.5
"""A change that takes this much more than the ball's own interval is worth a word (our own choice)."""


@dataclass(frozen=True, slots=True)
class Turn:
    """The balls of one player, until the next one comes."""

    first: int
    """Its first ball, counted from zero in the block."""
    balls: int
    who: str
    """The player's name; of players in line the place in the order in which they step up in this block or round, from
    1."""
    named: bool
    wait: str
    """The time from the ball before, such as "12 s", where the change makes it longer; empty otherwise."""


def turns(plan: Plan, block: Block, before: int = 0) -> tuple[Turn, ...]:
    """The turns of a block of balls; none where one player without a name plays it, or where nobody changes in it.
    `before` it players in line had so many turns."""
    if block.kind != "balls":
        return ()
    shots = {shot.id: shot for shot in plan.shots}
    fed = [ball for ball in plan.launches if ball.block == block.index]
    found = []
    for first, balls, who in _runs(plan, block, [shots[ball.first].player or "" for ball in fed], before):
        gap = fed[first].at_s - fed[first - 1].at_s if first else 0.0
        long = first and gap > shots[fed[first].first].interval_s + LONGER_S and not block.begins_again
        found.append(Turn(first, balls, who, bool(plan.others), f"{number(gap)} s" if long else ""))
    return tuple(found)


def _runs(plan: Plan, block: Block, players: list[str], before: int) -> Iterator[tuple[int, int, str]]:
    """First ball, number of balls and player of each turn."""
    if plan.others:
        first = 0
        for who, run in groupby(players):
            balls = len(list(run))
            yield first, balls, who
            first += balls
        return
    every, line = plan.player.rotate_every or 0, plan.player.in_line
    if line < 2 or not every or block.begins_again:
        return
    begin = [*accumulate([len(point.shots) for point in block.points] or [1] * len(players), initial=0)]
    for n, (first, end) in enumerate(pairwise([*begin[:-1:every], len(players)])):
        yield first, end - first, str((before + n) % line + 1)


def changes(plan: Plan, blocks: Sequence[Block]) -> list[Turn]:
    """All turns that begin within one of some blocks, without those of blocks in which they begin within a point."""
    found = [(turns(plan, block), [len(point.shots) for point in block.points]) for block in blocks]
    return [turn for taken, points in found if not within_points(taken, points) for turn in taken[1:]]


def within_points(taken: Sequence[Turn], points: Sequence[int]) -> bool:
    """Whether turns begin within points of so many balls; the rule of such a point says whose each of its balls is."""
    begin = set(accumulate(points, initial=0))
    return bool(points) and any(turn.first not in begin for turn in taken)


def rule(plan: Plan, blocks: Sequence[Block]) -> str:
    """Who changes in some blocks, after how many balls, and how long the next one takes; empty where nobody does."""
    found = changes(plan, blocks)
    if plan.player.in_line > 1:
        told = f"{plan.player.in_line} players in line: the next steps up as a block starts"
        if plan.player.rotate_every:
            told += f" and after every {what_turns_count(plan)}"
        found = changes(plan, plan.blocks)  # one rule, for each change of the practice
    elif found:
        names = dict.fromkeys(turn.who for block in blocks for turn in turns(plan, block))
        whole = {turn.balls for block in blocks for turn in turns(plan, block)[:-1]}
        after = f" after every {_balls(whole.pop())}" if len(whole) == 1 else ""
        told = f"The players change{after}: {', '.join(names)}"
    else:
        return ""
    waits = {turn.wait for turn in found}
    wait = waits.pop() if len(waits) == 1 else ""
    return told + (f". At each change leave {wait} between two balls" if wait else "")


def what_turns_count(plan: Plan) -> str:
    """After what the next of players in line steps up: `4 balls`, or of a practice with points `point`."""
    every, whole = plan.player.rotate_every or 0, [bool(block.points) for block in plan.blocks if block.kind == "balls"]
    what = "point" if all(whole) else "ball or point" if any(whole) else "ball"
    return what if every == 1 else f"{every} {what.replace('ball', 'balls').replace('point', 'points')}"


def _balls(count: int) -> str:
    return "ball" if count == 1 else f"{count} balls"
