"""Whose a ball is among those who take turns, for a goal of each of them: of players with names the script says it, of
players in line the number of balls, or points, since the round or the block began."""

from collections.abc import Iterable, Mapping, Set
from itertools import accumulate
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from .broad_goal import BroadGoalRecord
    from .plan import Plan

Places = frozenset[tuple[int, int]]
"""Balls: the block of each, and how many of its balls come before it."""


def called(who: str) -> str:
    """`anna`, or `player 2` of a line."""
    return f"player {who}" if who.isdecimal() else who


class FedBlock(NamedTuple):
    """A block of balls."""

    block: int
    round: tuple[int, int] | None
    names: tuple[str, ...]
    """Who plays each ball; "" of players without names."""
    counted: tuple[bool, ...]
    """Whether each ball counts for the goal."""
    points: tuple[int, ...]
    """How many balls each of its points has."""


def takers(blocks: Iterable[FedBlock], mine: Set[int], line: int, every: int | None, whole: bool) -> dict[str, Places]:
    """Of the blocks `mine` the balls of each player who has some that count, in the order in which they come. All balls
    of a point are of the player in line who has its first; of players with names, where points count as a `whole`, of
    each who plays one of them."""
    found: dict[str, set[tuple[int, int]]] = {}
    counting = dict[str, None]()
    turn, last, begun = 0, None, False
    for one in blocks:
        if not begun and (one.round is None or one.round != last):
            turn = 0  # the first of the line is the one who begins the round, as a sheet numbers them
        last, begun = one.round, begun or one.block in mine
        of = [(nth, at, at + size) for nth, (at, size) in enumerate(_starts(one)) for _ in range(size)]
        for place, (nth, at, end) in enumerate(of):
            if line > 1:
                whose = [str((turn + (nth // every if every else 0)) % line + 1)]
            else:
                whose = list(one.names[at:end]) if whole else [one.names[place]]
            for who in whose if one.block in mine else ():
                found.setdefault(who, set()).add((one.block, place))
                if one.counted[place]:
                    counting.setdefault(who)
        turn += of[-1][0] // every + 1 if every and of else 1
    return {who: frozenset(found[who]) for who in counting}


def _starts(one: FedBlock) -> list[tuple[int, int]]:
    """The first ball of each point, or each ball, and how many belong to it."""
    sizes = one.points or (1,) * len(one.names)
    return list(zip(accumulate(sizes, initial=0), sizes, strict=False))


def takers_of(plan: "Plan", goal: "BroadGoalRecord") -> Mapping[str, Places | None]:
    """The balls that count for each player of a goal with `each`; of another "" and None for all of them."""
    return takers_in(plan, goal.blocks, goal.variation) if goal.each else {"": None}


def takers_of_score(plan: "Plan", index: int) -> Mapping[str, Places | None]:
    """The balls that count for each who has a score of their own in a block and those that go on with it; under "" None
    for all of them."""
    score = plan.blocks[index].score
    if score is None or not score.each:
        return {"": None}
    chains = list[list[int]]()
    for block in plan.blocks:
        if block.score and block.score.goes_on:
            chains[-1].append(block.index)
        elif block.score:
            chains.append([block.index])
    return takers_in(plan, next(chain for chain in chains if index in chain))


def takers_in(plan: "Plan", blocks: "Iterable[int]", variation: str | None = None) -> Mapping[str, Places]:
    """The balls of some blocks that count for each player; of one variation, if one is named."""
    shots = {shot.id: shot for shot in plan.shots}
    fed: dict[int, list[str]] = {block.index: [] for block in plan.blocks if block.kind == "balls"}
    for ball in plan.launches:
        fed[ball.block].append(ball.first)
    held = (
        FedBlock(
            index,
            plan.blocks[index].round,
            tuple([shots[name].player or "" for name in names]),
            tuple([variation in (None, shots[name].variation) for name in names]),
            tuple([len(point.shots) for point in plan.blocks[index].points]),
        )
        for index, names in fed.items()
    )
    player = plan.player
    return takers(held, set(blocks), player.in_line, player.rotate_every, variation is None)
