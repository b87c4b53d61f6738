"""Scores typed in afterwards: what a block, or all rounds, ended with."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate, count

from ...compiler.model.plan import Block, Plan
from ...compiler.model.score import farthest
from ...compiler.model.takers import called, takers_of_score
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
    who: str = ""
    """Whose it is, where each has their own."""

    @property
    def asked(self) -> str:
        whose = f"{called(self.who)}, " if self.who else ""
        return f"{self.where}{whose}score at the end:"


def scores_of(plan: Plan, blocks: Sequence[Block]) -> list[TypedScore]:
    """The scores that begin in some blocks of the sheet."""
    held = {block.index: block for block in plan.blocks}
    begin = [block for block in blocks if block.score and not block.score.goes_on]
    found: list[TypedScore] = []
    for block in begin:
        assert block.score
        units: list[tuple[tuple[int, int], tuple[int, int]]] = []  # the place of each ball or point, and what it adds
        for one in counted_with(held, block.index):
            names = [point.name for point in one.points]
            fed = [launch.first for launch in plan.launches if launch.block == one.index]
            begins = accumulate((len(point.shots) for point in one.points), initial=0) if names else count()
            units += [
                ((one.index, at), one.score.range_of(name))
                for at, name in zip(begins, names or fed, strict=False) if one.score
            ]  # fmt: skip
        where = f"round {block.round[0]}, " if len(begin) > 1 and block.round else ""
        for who, theirs in takers_of_score(plan, block.index).items():
            adds = [both for place, both in units if theirs is None or place in theirs]
            more = len(adds) if any(one.ladder or one.begins_again for one in blocks) else 0  # marks decide how many
            *_, far = farthest(block.score, [*adds, *adds[:more]])
            found.append(TypedScore(block.index, where, *far, who))
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
    return ScoreCount(score.block, int(text), score.who)
