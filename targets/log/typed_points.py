"""Points typed in afterwards: how many were won of how many, block by block as the sheet counts them, or from a CSV."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from ...compiler.model.plan import Block, Plan
from ...compiler.printable import plural
from . import LogRefused
from .points import PointTally, of_points
from .record import PointCount

_ANSWER = re.compile(r"([0-9]{1,5}) ?/ ?([0-9]{1,5})", re.ASCII)


@dataclass(frozen=True, slots=True)
class TypedPoint:
    """The points of one name in a block, or in all rounds of one; `planned` is their number."""

    block: int
    name: str
    planned: int

    @property
    def asked(self) -> str:
        return f"point {self.name}, won of {plural(self.planned, 'point')}:"


def points_of(plan: Plan, blocks: list[Block]) -> list[TypedPoint]:
    """The points that some blocks play, without single balls beside them, in the order of the plan."""
    found: dict[str, PointTally] = {}
    for point in (point for block in blocks for point in block.points):
        found[point.name] = found.get(point.name, PointTally()) + PointTally(open=1)
    return [TypedPoint(blocks[0].index, name, one.open) for name, one in of_points(plan, found).items()]


def point_answer(text: str, point: TypedPoint) -> PointCount | None:
    """Read `5/8`, won of played; None for empty text. LogRefused says what is wrong."""
    text = " ".join(text.split())
    if not text:
        return None
    match = _ANSWER.fullmatch(text)
    if not match:
        raise LogRefused(f'"{text}" is not a count: 5/8 means 5 points won of 8')
    won, played = int(match[1]), int(match[2])
    if won > played:
        raise LogRefused(f"{plural(won, 'point')} won of {played} are impossible")
    return counted_points(point, won, played - won)


def counted_points(point: TypedPoint, won: int, lost: int) -> PointCount | None:
    """A possible count; None if no point was played."""
    if won + lost > 2 * point.planned:
        raise LogRefused(f"{plural(won + lost, 'point')} are more than twice the {point.planned} of the plan")
    return PointCount(point.block, point.name, PointTally(won, lost)) if won + lost else None


def point_row(row: Mapping[str, str], where: str, points: Sequence[TypedPoint]) -> TypedPoint:
    """The point, of those of a block, that a row of a CSV counts."""
    known = {one.name: one for one in points}
    if row["point"] not in known:
        holds = f"; it has {', '.join(known)}" if known else ""
        raise LogRefused(f'{where} has no point "{row["point"]}"{holds}')
    return known[row["point"]]
