"""The order of balls as a strip of letters in groups of five, broken into lines of a given width."""

from collections.abc import Iterator, Sequence
from typing import Any

from ....compiler.model.plan import PlayerRecord

CELL, CELL_OF_TWO, GAP, MARK = 5.8, 11.0, 2.0, 8.0
"""Millimetres: a letter, a letter with a figure, between groups, a number before a group."""


def strips(
    order: tuple[str, ...], wide: float, player: PlayerRecord, points: Sequence[int] = ()
) -> list[list[dict[str, Any]]]:
    """Lines of groups: `letters`, and `mark` before them: the number of the line's first ball, or with players in
    line (`turn` true) the number of the turn that begins: the next player steps up. `points`: the balls of each
    point, which then stand together."""
    cell = CELL if max((len(letter) for letter in order), default=1) == 1 else CELL_OF_TWO
    lines: list[list[dict[str, Any]]] = []
    used = wide
    turns = player.in_line > 1 and bool(player.rotate_every)
    turns = turns and not points
    groups = list(_grouped(order, points) if points else _groups(order, player.rotate_every if turns else None))
    for at, (first, turn, letters) in enumerate(groups):
        begins = turns and (at == 0 or groups[at - 1][1] != turn)
        mark = str(turn + 1) if begins else ""
        takes = cell * len(letters) + GAP + (MARK if mark else 0.0)
        whole = takes
        if mark and turns:  # a turn that fits a line stays whole
            whole = MARK + sum(cell * len(more) + GAP for _, of, more in groups if of == turn)
        if used + takes > wide or (whole <= wide and used + whole > wide):
            lines.append([])
            used = 0.0 if turns else MARK
            mark = mark if turns else str(first + 1)
        lines[-1].append({"mark": mark, "turn": begins, "letters": list(letters), "cell": cell})
        used += takes
    return lines


def breadth(strip: list[dict[str, Any]]) -> float:
    """Width of a line of groups, mm."""
    return sum(group["cell"] * len(group["letters"]) + GAP + (MARK if group["mark"] else 0.0) for group in strip)


def _grouped(order: tuple[str, ...], points: Sequence[int]) -> Iterator[tuple[int, int, tuple[str, ...]]]:
    """Index of the first ball, 0, and the letters of a point."""
    start = 0
    for balls in points:
        yield start, 0, order[start : start + balls]
        start += balls


def _groups(order: tuple[str, ...], every: int | None) -> Iterator[tuple[int, int, tuple[str, ...]]]:
    """Index of the first ball, its turn, and up to five letters of that turn."""
    length = every or len(order) or 1
    for start in range(0, len(order), length):
        part = order[start : start + length]
        for at in range(0, len(part), 5):
            yield start + at, start // length, part[at : at + 5]
