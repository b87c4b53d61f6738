"""Points and games on the feed sheet, and blocks that hits end: the rule of each, with boxes to tick."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from ....compiler.model.plan import Block, PointRecord
from . import words
from .letters import Letters


@dataclass(frozen=True, slots=True)
class PointRow:
    """The rule of a point or a game, with boxes to tick and what is counted."""

    name: str
    rule: str
    boxes: int
    counted: str
    ticks: str = ""
    """What to do with the boxes."""
    again: bool = False
    """Whether the rule stands above already, so that this one only says which round it counts."""


def has_rule(point: PointRecord) -> bool:
    """Whether it is more than a single ball beside points."""
    return len(point.shots) > 1 or point.serve_s is not None or point.after_miss != "goes on"


def points(named: Letters, blocks: Sequence[Block], machine: bool) -> tuple[PointRow, ...]:
    """Each point of some blocks with its balls by their letters, and what ends a block early; single balls between
    points need no rule. A block that ends early is counted by itself, so each of its rounds has boxes of its own."""
    found: dict[str, list[PointRecord]] = {}
    for point in (point for block in blocks for point in block.points):
        found.setdefault(point.name, []).append(point)
    rules = {}
    for name, drawn in found.items():
        players = [named.player(shot) for shot in drawn[0].shots]
        several = len(set(players)) > 1  # else the strip says who comes
        balls = (named.either(shots) for shots in zip(*(point.shots for point in drawn), strict=True))
        steps = [f"{ball} for {who}" if several else ball for ball, who in zip(balls, players, strict=True)]
        if has_rule(drawn[0]):
            rules[name] = words.point_rule(name, steps, drawn[0], machine)
    rows: list[PointRow] = []
    for within in ([one for one in blocks if not one.ends_early], *([one] for one in blocks if one.ends_early)):
        for name, rule_ in rules.items():
            if count := sum(point.name == name for block in within for point in block.points):
                rows.append(_once(rows, within[0], PointRow(name, rule_, count, f"won of {count}", words.POINT_TICKS)))
        for block in within:
            if to := block.first_to:
                rows.append(_once(rows, block, PointRow("game", words.game_rule(to), to, "lost", words.GAME_TICKS)))
            if most := block.until and (len(block.points) or block.balls):
                of, ticks = ("won", words.WON_TICKS) if block.points else ("good", words.UNTIL_TICKS)
                row = PointRow("until", words.until_rule(block), most, f"{of} of {most}", ticks)
                rows.append(_once(rows, block, row))
    return tuple(rows)


def _once(told: Sequence[PointRow], block: Block, row: PointRow) -> PointRow:
    """A row of boxes with its rule, or where the rule stands above already, with the round that it counts."""
    if not (block.ends_early and block.round and row.rule in [one.rule for one in told]):
        return row
    counts = {"game": "points lost", "until": "points" if block.points else "balls"}.get(row.name, f"point {row.name}")
    return replace(row, rule=f"Round {block.round[0]}, {counts}:", ticks="", again=True)
