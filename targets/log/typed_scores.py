"""Scores typed in afterwards: what a block, or all rounds, ended with."""

import re
from collections.abc import Sequence
from dataclasses import dataclass

from ...compiler.model.plan import Block, Plan
from ...compiler.model.score import farthest
from . import LogRefused
from .record import ScoreCount
from .scores import counted_with

_ANSWER = re.compile(r"[+-]?[0-9]{1,5}", re.ASCII)


@dataclass(frozen=True, slots=True)
class TypedScore:
    """A score that a block begins; `least` and `most` are as far as any marks of its balls bring it."""

    block: int
    where: str
    """Which round of the block on the sheet; "" where it is the only one."""
    least: int
    most: int

    @property
    def asked(self) -> str:
        return f"{self.where}score at the end:"


def scores_of(plan: Plan, blocks: Sequence[Block]) -> list[TypedScore]:
    """The scores that begin in some blocks of the sheet."""
    held = {block.index: block for block in plan.blocks}
    begin = [block for block in blocks if block.score and not block.score.goes_on]
    found: list[TypedScore] = []
    for block in begin:
        assert block.score
        adds: list[tuple[int, int]] = []
        for one in counted_with(held, block.index):
            names = [point.name for point in one.points]
            fed = [launch.first for launch in plan.launches if launch.block == one.index]
            adds += [one.score.range_of(name) for name in names or fed] if one.score else []
        more = len(adds) if any(one.ladder or one.begins_again for one in blocks) else 0  # marks decide how many
        where = f"round {block.round[0]}, " if len(begin) > 1 and block.round else ""
        *_, far = farthest(block.score, [*adds, *adds[:more]])
        found.append(TypedScore(block.index, where, *far))
    return found


def score_answer(text: str, score: TypedScore) -> ScoreCount | None:
    """Read `14`; None for empty text. LogRefused says what is wrong."""
    text = text.strip()
    if not text:
        return None
    if not _ANSWER.fullmatch(text):
        raise LogRefused(f'"{text}" is no score: a whole number, such as 14')
    if not score.least <= int(text) <= score.most:
        raise LogRefused(f"no marks bring the score to {int(text)}: it is {score.least} to {score.most}")
    return ScoreCount(score.block, int(text))
