"""A practice typed in afterwards: asked block by block, or read from a CSV.

The order of counted balls is not known. They count for shares, and a streak is only what a person reports.
"""

import csv
import hashlib
import io
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import TypeVar

from ...compiler.model.plan import Block, Plan
from ...compiler.printable import plural
from . import LogRefused
from .progress import Verdict
from .record import LoggedBall, LongestStreak
from .store import moment

T = TypeVar("T")
LARGEST = 1024 * 1024
MOST = 20_000
"""Most rows of a CSV: as many as a script may have launches."""
_ANSWER = re.compile(r"(?:([0-9]{1,5}) ?/ ?([0-9]{1,5}))? ?(?:streak ([0-9]{1,5}))?", re.ASCII)
_VERDICTS = {"hit": Verdict.HIT, "miss": Verdict.MISS, "not judged": Verdict.NOT_JUDGED, "": Verdict.NOT_JUDGED}


@dataclass(frozen=True, slots=True)
class TypedUnit:
    """The balls counted together: those of one variation in a block, or of one rung of a ladder."""

    block: Block
    variation: str
    rung: int | None
    shots: tuple[str, ...]
    """One shot for each ball, in the order of the plan."""
    sheet: str
    """Its name on the sheet: the number of the block, the round, the letters and the variation."""

    @property
    def name(self) -> str:
        if self.rung is not None and self.block.ladder:
            return self.block.ladder.labels[self.rung]
        return self.variation or "all balls"


@dataclass(frozen=True, slots=True)
class Answer:
    unit: TypedUnit
    hits: int = 0
    misses: int = 0
    not_judged: int = 0
    best: int | None = None


@dataclass(frozen=True, slots=True)
class Typed:
    balls: list[LoggedBall]
    best: list[LongestStreak]
    in_order: bool


def units(plan: Plan) -> list[TypedUnit]:
    """The units that a person can fill in on the sheet of this plan, in its order."""
    from ..outputs.sheet.letters import letters
    from ..outputs.sheet.page import grouped

    named = letters(plan)
    titles = {variation.id: variation.title or variation.id for variation in plan.variations}
    variations = {shot.id: shot.variation or "" for shot in plan.shots}
    numbers = {block.index: i for i, blocks in enumerate(grouped(plan.blocks), start=1) for block in blocks}

    def unit(block: Block, name: str, rung: int | None, shots: tuple[str, ...]) -> TypedUnit:
        where = f"Block {numbers[block.index]}" + (f", round {block.round[0]}" if block.round else "")
        one = block.ladder.labels[rung] if block.ladder and rung is not None else titles.get(name, name)
        signs = named.told(shots).replace(", ", " ")
        return TypedUnit(block, name, rung, shots, f"{where}, {signs} " + (f'"{one}"' if one else "all balls"))

    found = []
    for block in plan.blocks:
        if block.ladder:
            for rung, shot in enumerate(block.ladder.rungs):
                found.append(unit(block, variations[shot], rung, (shot,) * block.balls))
        elif block.kind == "balls":
            fed = [launch.first for launch in plan.launches if launch.block == block.index]
            place = {letter: i for i, letter in enumerate(named.used(fed))}
            # The sheet lists the variations of a block in the order of their letters.
            by_letter = sorted(dict.fromkeys(fed), key=lambda shot: place[named.of[shot]])
            for name in dict.fromkeys(variations[shot] for shot in by_letter):
                found.append(unit(block, name, None, tuple(shot for shot in fed if variations[shot] == name)))
    return found


def answer(text: str, unit: TypedUnit) -> Answer | None:
    """Read `12/20`, hits of balls, `streak 7`, or both; None for empty text. LogRefused says what is wrong."""
    text = " ".join(text.lower().split())
    if not text:
        return None
    match = _ANSWER.fullmatch(text)
    if not match:
        raise LogRefused(f'"{text}" is not a count: 12/20 means 12 hits of 20 balls, best 7 the most in a row')
    best = int(match[3]) if match[3] else None
    if match[1] is None:
        # Only the longest streak is known: take the planned balls as played and not judged.
        planned = len(unit.shots)
        return counted(unit, 0, 0, max(planned, best or 0), best)
    hits, balls = int(match[1]), int(match[2])
    if hits > balls:
        raise LogRefused(f"{plural(hits, 'hit')} of {plural(balls, 'ball')} are impossible")
    return counted(unit, hits, balls - hits, 0, best)


def counted(
    unit: TypedUnit, hits: int, misses: int, not_judged: int, best: int | None, where: str = ""
) -> Answer | None:
    """A possible answer; None if nothing was played. `where` begins the sentence of an error."""
    balls, planned = hits + misses + not_judged, len(unit.shots)
    if balls > 2 * planned:
        raise LogRefused(f"{where}{plural(balls, 'ball')} are more than twice the {planned} of the plan")
    if best is not None and hits + misses:
        # The misses divide the hits into at most misses + 1 groups: the largest has at least this many.
        least = -(-hits // (misses + 1))
        if not least <= best <= hits:
            raise LogRefused(
                f"{where}with {plural(hits, 'hit')} and {plural(misses, 'miss', 'misses')} the longest streak is "
                f"{least} to {hits}, not {best}"
            )
    return Answer(unit, hits, misses, not_judged, best) if balls else None


def asked(plan: Plan, ask: Callable[[str], str], again: Callable[[str], None] | None, when: datetime) -> Typed:
    """Ask block by block, as the sheet numbers them; `again` shows an error before the next try, None gives up."""
    answers: list[Answer] = []
    last: Block | None = None
    for unit in units(plan):
        if last is not None and last.ladder and unit.block is not last:
            answers = _ended(answers, last, ask, again)
        last = unit.block
        question = f"{unit.sheet}, {plural(len(unit.shots), 'ball')}:"
        given = _until(lambda q=question: ask(q), lambda text, u=unit: answer(text, u), again)  # type: ignore[misc]
        if given is not None:
            answers.append(given)
    if last is not None and last.ladder:
        answers = _ended(answers, last, ask, again)
    return _as_balls(answers, when)


def _ended(
    answers: list[Answer], block: Block, ask: Callable[[str], str], again: Callable[[str], None] | None
) -> list[Answer]:
    """Ask for the rung on which a ladder ended and put it last: the next practice begins there."""
    mine = [a for a in answers if a.unit.block is block]
    if len(mine) < 2:
        return answers
    names, number = [a.unit.name for a in mine], mine[0].unit.sheet.partition(", ")[0]
    numbers = ", ".join(f"{i} {name}" for i, name in enumerate(names, start=1))

    def read(text: str) -> int:
        if re.fullmatch(r"[0-9]{1,4}", text.strip(), re.ASCII) and 1 <= int(text) <= len(mine):
            return int(text) - 1
        raise LogRefused(f'"{text}" is none of {numbers}')

    chosen = _until(lambda: ask(f"{number} ended on ({numbers}):"), read, again)
    mine.append(mine.pop(chosen))
    return [a for a in answers if a.unit.block is not block] + mine


def _until(ask: Callable[[], str], read: Callable[[str], T], again: Callable[[str], None] | None) -> T:
    while True:
        try:
            return read(ask())
        except LogRefused as refused:
            if again is None:
                raise
            again(str(refused))


def _as_balls(answers: list[Answer], when: datetime) -> Typed:
    balls: list[LoggedBall] = []
    best: dict[tuple[int, str], int] = {}
    for a in answers:
        verdicts = [Verdict.HIT] * a.hits + [Verdict.MISS] * a.misses + [Verdict.NOT_JUDGED] * a.not_judged
        for i, verdict in enumerate(verdicts):
            shot = a.unit.shots[i % len(a.unit.shots)]
            balls.append(LoggedBall(a.unit.block.index, shot, a.unit.rung, when, verdict))
        if a.best is not None:
            key = a.unit.block.index, a.unit.variation
            best[key] = max(a.best, best.get(key, 0))
    return Typed(balls, [LongestStreak(*key, row) for key, row in best.items()], in_order=False)


def read_csv(data: bytes, plan: Plan, when: datetime) -> Typed:
    """One row for each ball (`block,verdict`, and `shot`, `rung` if they matter), or for each count
    (`block,hits,misses`, and `variation`, `rung`, `not judged`, `streak`). Blocks and rungs count from
    one, rests and collects too."""
    rows = _rows(data)
    columns = set(rows[0][1]) if rows else set()
    if {"block", "verdict"} <= columns:
        return Typed(list(_each_ball(rows, plan, when)), [], in_order=True)
    if {"block", "hits", "misses"} <= columns:
        answers = [a for number, row in rows if (a := _at(number, lambda r=row: _count(r, plan)))]  # type: ignore[misc]
        return _as_balls(answers, when)
    raise LogRefused("the CSV needs a first row with block,verdict or block,hits,misses, and rows below it")


def _rows(data: bytes) -> list[tuple[int, dict[str, str]]]:
    """Line number and cells by column."""
    if len(data) > LARGEST:
        raise LogRefused(f"the CSV is larger than {LARGEST // 1024} KB")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise LogRefused("the CSV is not UTF-8 text") from None
    if "\0" in text:
        raise LogRefused("the CSV holds a NUL character; it is not text")
    head = text.partition("\n")[0]
    reader = csv.reader(io.StringIO(text), delimiter=";" if ";" in head and "," not in head else ",", strict=True)
    try:
        lines = [
            (reader.line_num, [cell.strip() for cell in row]) for row in reader if any(cell.strip() for cell in row)
        ]
    except csv.Error as error:
        raise LogRefused(f"the CSV cannot be read: {error}") from None
    if len(lines) > MOST + 1:
        raise LogRefused(f"the CSV has more than {MOST} rows")
    names = [name.lower() for name in lines[0][1]] if lines else []
    if len(set(names)) < len(names):
        raise LogRefused("the CSV names a column twice")
    for number, cells in lines[1:]:
        if len(cells) != len(names):
            raise LogRefused(f"line {number} of the CSV has {len(cells)} cells, the first row {len(names)}")
    return [(number, dict(zip(names, cells, strict=True))) for number, cells in lines[1:]]


def _at(number: int, work: Callable[[], T]) -> T:
    try:
        return work()
    except LogRefused as refused:
        raise LogRefused(f"line {number} of the CSV: {refused}") from None


def _each_ball(rows: list[tuple[int, dict[str, str]]], plan: Plan, when: datetime) -> Iterator[LoggedBall]:
    """The balls of the rows. A row without a shot takes the next ball of its block in the plan's order."""
    played: dict[int, int] = {}
    for number, row in rows:
        yield _at(number, lambda r=row: _ball(r, plan, played, when))  # type: ignore[misc]


def _ball(row: dict[str, str], plan: Plan, played: dict[int, int], when: datetime) -> LoggedBall:
    block = _block(row, plan)
    verdict = _VERDICTS.get(row["verdict"].lower())
    if verdict is None:
        raise LogRefused(f'"{row["verdict"]}" is none of hit, miss, not judged')
    at = played.get(block.index, 0)
    played[block.index] = at + 1
    shot = row.get("shot", "")
    rung: int | None = None
    if block.ladder:
        rung = block.ladder.rungs.index(shot) if shot in block.ladder.rungs else _rung(row, block)
        shot = block.ladder.rungs[rung]
    elif not shot:
        fed = [launch.first for launch in plan.launches if launch.block == block.index]
        shot = fed[at % len(fed)]
    if shot not in block.shots:
        raise LogRefused(f'block {block.index + 1} has no ball "{shot}"')
    return LoggedBall(block.index, shot, rung, _moment(row.get("at", ""), when), verdict)


def _count(row: dict[str, str], plan: Plan) -> Answer | None:
    block = _block(row, plan)
    mine = [unit for unit in units(plan) if unit.block is block]
    if block.ladder:
        mine = [mine[_rung(row, block)]]
    elif row.get("variation"):
        mine = [unit for unit in mine if unit.variation == row["variation"]]
    if len(mine) != 1:
        raise LogRefused(f"block {block.index + 1} mixes variations; a column variation says which one is counted")
    best = _number(row["streak"], "streak") if row.get("streak") else None
    hits, misses = _number(row["hits"], "hits"), _number(row["misses"], "misses")
    where = f"block {block.index + 1}, {mine[0].name}: "
    return counted(mine[0], hits, misses, _number(row.get("not judged") or "0", "not judged"), best, where)


def _block(row: dict[str, str], plan: Plan) -> Block:
    number = _number(row["block"], "block")
    for block in plan.blocks:
        if block.index + 1 == number and block.kind == "balls":
            return block
    raise LogRefused(f"the plan has no block {number} with balls")


def _rung(row: dict[str, str], block: Block) -> int:
    assert block.ladder is not None
    rung = _number(row.get("rung") or "", "rung")
    if not 1 <= rung <= len(block.ladder.rungs):
        raise LogRefused(f"block {block.index + 1} has rungs 1 to {len(block.ladder.rungs)}, not {rung}")
    return rung - 1


def _number(text: str, what: str) -> int:
    if not re.fullmatch(r"[0-9]{1,6}", text, re.ASCII):
        raise LogRefused(f'"{text}" is not a whole number for {what}')
    return int(text)


def _moment(text: str, otherwise: datetime) -> datetime:
    return moment(text) if text else otherwise


def counts(typed: Typed) -> bytes:
    """What was typed from a sheet, without the moment: the same on any machine."""
    balls = (f"{ball.block} {ball.shot} {ball.verdict.value}" for ball in typed.balls)
    return "\n".join([*balls, *(f"{row.block} {row.variation} {row.best}" for row in typed.best)]).encode()


def identity(plan: Plan, data: bytes, when: str) -> str:
    """The practice's identity: on any machine the same for the same file or counts, plan and moment."""
    return hashlib.sha256(b"\0".join((plan.digest.encode(), when.encode(), data))).hexdigest()[:32]
