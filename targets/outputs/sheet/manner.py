"""What a block is in a few words: its balls by their letters, and how they come."""

from collections.abc import Iterable, Sequence

from ....compiler.model.plan import Block, Plan, Shot
from ....compiler.model.player import BACKWARD
from . import words
from .letters import Letters, listed
from .points import has_rule, own_serves

FAR_M = 3.0
"""Balls of a mix that are met so far from each other along the court, a long run for one stroke (Fernandez,
Mendez-Villanueva & Pluim, Br. J. Sports Med. 40, 387 (2006)), ask where the player waits."""


def alike(blocks: Sequence[Block]) -> list[list[Block]]:
    """Blocks of the same line in all rounds; pauses of the same length, wherever they stand."""
    found: dict[object, list[Block]] = {}
    for block in blocks:
        pause = block.kind, block.duration_s, block.serves
        found.setdefault(written(block) if block.kind == "balls" else pause, []).append(block)
    return list(found.values())


def manner(plan: Plan, named: Letters, *blocks: Block) -> str:
    """What one block is in a few words, or the same block of all rounds, its balls by their letters."""
    block, shots = blocks[0], [shot for one in blocks for shot in one.shots]
    if block.serves:
        return own_serves(block.serves)
    if block.kind != "balls":
        return f"{block.kind} {words.lasting(block.duration_s)}"
    players = players_of(plan, shots)
    return _fed_manner(plan, named, blocks, shots) + (f" for {players}" if players else "")


def _fed_manner(plan: Plan, named: Letters, blocks: Sequence[Block], shots: Sequence[str]) -> str:
    block = blocks[0]
    if block.order == "cycle":
        turns = {in_turn(fed(plan, named, one)) for one in blocks}
        turn = turns.pop() if len(turns) == 1 else ()
        return f"{listed(turn)} in turn" if turn else f"{named.told(shots)} in the printed order"
    if block.points:
        told = dict.fromkeys(
            one.name if has_rule(one) else named.told(one.shots) for each in blocks for one in each.points
        )
        return f"points {', '.join(told)}" + (" mixed" if block.order == "mix" else "")
    return named.told(shots) + {"mix": " mixed", "ladder": " as a ladder"}.get(block.order or "", "")


def players_of(plan: Plan, shots: Iterable[str]) -> str:
    """For whom some balls are, if there are several players."""
    among = set(shots)
    *others, last = dict.fromkeys(shot.player or "" for shot in plan.shots if shot.id in among and plan.others) or [""]
    return f"{', '.join(others)} and {last}" if others else last


def waits(plan: Plan, block: Block) -> str:
    """Where the player waits for a ball of a mix that may be a deep one or a near one: where the script says it of all
    of them, else as deep as that ball from which the way to any other asks for the least speed."""
    shots = [shot for shot in plan.shots if shot.id in block.shots]
    depths = {shot.stance_y_m for shot in shots}
    known = any(map(has_rule, block.points)) or len({shot.player for shot in shots}) > 1
    if block.order != "mix" or known or round(max(depths) - min(depths), 3) < FAR_M:
        return ""
    said = {shot.waits_m for shot in shots}
    x, y = (len(said) == 1 and shots[0].waits_m) or (0.0, min(depths, key=lambda deep: _hurry(plan, shots, deep)))
    side = f", {words.across(x, x, plan.court)}" if x else ""
    return f"Player waits for each ball {words.along(y, y, plan.court)}{side}."


def _hurry(plan: Plan, shots: Sequence[Shot], deep: float) -> float:
    """The mean speed, m/s, at which a player who waits so deep gets to the hardest of the balls; a way back is run more
    slowly, but not in a chair, which turns."""
    back = 1.0 if plan.player.two_bounces else BACKWARD
    ways = ((shot.stance_y_m - deep, shot.predicted.contact_s) for shot in shots)
    return max((way / back if way > 0 else -way) / time for way, time in ways)


def fed(plan: Plan, named: Letters, block: Block) -> tuple[str, ...]:
    """A letter for each ball of a block, in its order."""
    return tuple(named.of[ball.first] for ball in plan.launches if ball.block == block.index)


def in_turn(order: Sequence[str]) -> tuple[str, ...]:
    """The letters that repeat in turn, each once; none if the balls come in another order, as those of a family do."""
    turn = tuple(dict.fromkeys(order))
    return turn if all(letter == turn[i % len(turn)] for i, letter in enumerate(order)) else ()


def written(block: Block) -> str:
    """The line of the script, without the spaces that align it."""
    return " ".join(block.words.split())
