"""The order of balls as a strip of letters in groups of five, broken into lines of a given width."""

from collections.abc import Iterator, Sequence
from typing import Any

from ....compiler.printable import visible
from ..turns import Turn, within_points
from .fit import width

CELL, CELL_OF_TWO, GAP, MARK = 5.8, 11.0, 2.0, 8.0
"""Millimetres: a letter, a letter with a figure, between groups, a number before a group."""
SMALL = 14.0
REST = "rest"
"""What stands before a ball that comes after a rest in the middle of a turn, where no numbers count the balls."""
FRAME, APART = 5.0, 1.5
"""Round a player in a box, and between the wait and the box, mm."""


def strips(
    order: tuple[str, ...],
    wide: float,
    taken: Sequence[Turn] = (),
    points: Sequence[int] = (),
    rested: Sequence[int] = (),
) -> list[list[dict[str, Any]]]:
    """Lines of groups: `letters`, and `mark` before them: the number of the line's first ball, or where players take
    turns (`turn` true) the player whose turn begins, with the `wait` before it, which holds until another stands there.
    `points`: the balls of each point, which then stand together; the rule of one that two play says whose each is.
    `rested`: the balls that come after a rest, each of which begins a line."""
    taken = () if within_points(taken, points) else taken
    cell = CELL if max((len(letter) for letter in order), default=1) == 1 else CELL_OF_TWO
    lines: list[list[dict[str, Any]]] = []
    used = wide
    turns = bool(taken)
    once = len({turn.wait for turn in taken[1:]}) == 1  # one wait for all changes stands at the first of them
    groups = list(_grouped(order, points, taken) if points else _groups(order, taken, rested))
    for at, (first, turn, letters) in enumerate(groups):
        begins = turns and (at == 0 or groups[at - 1][1] != turn)
        mark, wait = (visible(taken[turn].who), "" if once and turn > 1 else taken[turn].wait) if begins else ("", "")
        group = {"mark": mark, "wait": wait, "turn": begins, "letters": list(letters), "cell": cell}
        takes = whole = _breadth(group)
        if begins:  # a turn that fits a line stays whole
            whole += sum(cell * len(more) + GAP for _, of, more in groups[at + 1 :] if of == turn)
        if first in rested or used + takes > wide or (whole <= wide and used + whole > wide):
            lines.append([])
            used = 0.0 if turns else MARK
            group["mark"] = mark if turns else str(first + 1)
            if turns and first in rested and not begins:
                group["mark"] = REST
        lines[-1].append(group)
        used += takes
    if len(lines) == 1 and not turns:  # nobody counts from one line to the next
        lines[0][0]["mark"] = ""
    return lines


def breadth(strip: list[dict[str, Any]]) -> float:
    """Width of a line of groups, mm."""
    return sum(map(_breadth, strip))


def _breadth(group: dict[str, Any]) -> float:
    letters: float = group["cell"] * len(group["letters"]) + GAP
    if not group["turn"]:
        return letters + (max(MARK, width(group["mark"], SMALL) + APART) if group["mark"] else 0.0)
    wait = width(group["wait"], SMALL) + APART if group["wait"] else 0.0
    return letters + wait + width(group["mark"], SMALL, True) + FRAME


def _grouped(
    order: tuple[str, ...], points: Sequence[int], taken: Sequence[Turn]
) -> Iterator[tuple[int, int, tuple[str, ...]]]:
    """Index of the first ball, the turn in which it is, and the letters of a point."""
    start = 0
    for balls in points:
        turn = sum(one.first <= start for one in taken) - 1
        yield start, max(turn, 0), order[start : start + balls]
        start += balls


def _groups(
    order: tuple[str, ...], taken: Sequence[Turn], rested: Sequence[int]
) -> Iterator[tuple[int, int, tuple[str, ...]]]:
    """Index of the first ball, its turn, and up to five letters of that turn with no rest between them."""
    turns = {turn.first for turn in taken} or {0}
    starts = sorted(turns.union(rested))
    for start, end in zip(starts, [*starts[1:], len(order)], strict=True):
        for at in range(start, end, 5):
            yield at, sum(first <= start for first in turns) - 1, order[at : min(at + 5, end)]
