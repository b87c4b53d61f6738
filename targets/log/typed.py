"""A practice typed in afterwards: asked block by block, or read from a CSV.

The order of counted balls is not known. They count for shares, and a streak is only what a person reports.
"""

import csv
import hashlib
import io
import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import TYPE_CHECKING, TypeVar

from ...compiler.model.plan import Block, Plan
from ...compiler.printable import plural
from . import PLANNED, LogRefused
from .progress import Verdict
from .record import LoggedBall, LongestStreak, PointCount
from .store import moment
from .typed_points import TypedPoint, counted_points, point_answer, point_row, points_of

if TYPE_CHECKING:
    from ..outputs.sheet.letters import Letters

T = TypeVar("T")
LARGEST = 1024 * 1024
MOST = 20_000
"""Most rows of a CSV: as many as a script may have launches."""
_ANSWER = re.compile(r"(?:([0-9]{1,5}) ?/ ?([0-9]{1,5}))? ?(?:streak ([0-9]{1,5}))?", re.ASCII)
_VERDICTS = {"hit": Verdict.HIT, "miss": Verdict.MISS, "not judged": Verdict.NOT_JUDGED, "": Verdict.NOT_JUDGED}


@dataclass(frozen=True, slots=True)
class TypedUnit:
    """The balls counted together: those of one variation, or of one rung of a ladder, in a block or in all rounds of
    one."""

    block: Block
    """The first of its rounds."""
    variation: str
    rung: int | None
    balls: tuple[tuple[int, str], ...]
    """Block and shot of each ball, in the order of the plan."""
    sheet: str
    """Its name on the sheet: the number of the block, the letters and the variation."""
    points: tuple[TypedPoint, ...] = ()
    """With the last unit of a block on the sheet, the points of this block."""

    @property
    def number(self) -> str:
        """`Block 2`, as the sheet counts."""
        return self.sheet.partition(", ")[0]

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
    points: list[PointCount] = field(default_factory=list)


def units(plan: Plan) -> list[TypedUnit]:
    """The units that a person can fill in on the sheet of this plan, in its order: rounds share their boxes there."""
    from ..outputs.blocks import grouped
    from ..outputs.sheet.letters import letters

    named = letters(plan)
    place = {letter: i for i, letter in enumerate(dict.fromkeys(named.of.values()))}
    found: list[TypedUnit] = []
    for number, blocks in enumerate(grouped(plan.blocks), start=1):
        joined: dict[tuple[str, str], TypedUnit] = {}
        for unit in (unit for block in blocks for unit in _in_a_block(plan, block, number)):
            # A rung belongs to its own ladder; a variation, to all blocks of a round.
            key = unit.name, unit.block.words if unit.block.ladder else ""
            first = joined.get(key)
            joined[key] = unit if first is None else replace(first, balls=first.balls + unit.balls)
        rungs = [unit for unit in joined.values() if unit.rung is not None]
        rest = [unit for unit in joined.values() if unit.rung is None]
        # The sheet has the rungs first, then the variations in the order of their letters.
        rest.sort(key=lambda unit: min(place[named.of[shot]] for _, shot in unit.balls))
        found += [replace(unit, sheet=_told(plan, named, unit)) for unit in rungs + rest]
        if joined:  # a session may begin with a rest
            found[-1] = replace(found[-1], points=tuple(points_of(plan, blocks)))
    return found


def _in_a_block(plan: Plan, block: Block, number: int) -> list[TypedUnit]:
    """The units of one block, which is `number` on the sheet."""
    variations = {shot.id: shot.variation or "" for shot in plan.shots}
    sheet = f"Block {number}, "
    if block.ladder:
        return [
            TypedUnit(block, variations[shot], rung, ((block.index, shot),) * block.balls, sheet)
            for rung, shot in enumerate(block.ladder.rungs)
        ]
    fed = [launch.first for launch in plan.launches if launch.block == block.index] if block.kind == "balls" else []
    return [
        TypedUnit(block, name, None, tuple((block.index, shot) for shot in fed if variations[shot] == name), sheet)
        for name in dict.fromkeys(variations[shot] for shot in fed)
    ]


def _told(plan: Plan, named: "Letters", unit: TypedUnit) -> str:
    """With its letters, and the title of its variation or the label of its rung."""
    among = {index for index, _ in unit.balls}
    mine = {shot.id for shot in plan.shots if (shot.variation or "") == unit.variation}
    shots = (shot for block in plan.blocks if block.index in among for shot in block.shots if shot in mine)
    # The paper names all balls of a block, also one that the draw left out.
    signs = named.short(named.used(shots if unit.rung is None else (unit.balls[0][1],))).replace(", ", " ")
    titles = {variation.id: variation.title or variation.id for variation in plan.variations}
    one = unit.name if unit.rung is not None else titles.get(unit.variation, unit.variation)
    return f"{unit.sheet}{signs} " + (f'"{one}"' if one else "all balls")


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
        planned = len(unit.balls)
        return counted(unit, 0, 0, max(planned, best or 0), best)
    hits, balls = int(match[1]), int(match[2])
    if hits > balls:
        raise LogRefused(f"{plural(hits, 'hit')} of {plural(balls, 'ball')} are impossible")
    return counted(unit, hits, balls - hits, 0, best)


def counted(
    unit: TypedUnit, hits: int, misses: int, not_judged: int, best: int | None, where: str = ""
) -> Answer | None:
    """A possible answer; None if nothing was played. `where` begins the sentence of an error."""
    balls, planned = hits + misses + not_judged, len(unit.balls)
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
    points: list[PointCount] = []
    last: Block | None = None
    for unit in units(plan):
        if last is not None and last.ladder and unit.block is not last:
            answers = _ended(answers, last, ask, again)
        last = unit.block
        question = f"{unit.sheet}, {plural(len(unit.balls), 'ball')}:"
        given = _until(lambda q=question: ask(q), lambda text, u=unit: answer(text, u), again)  # type: ignore[misc]
        if given is not None:
            answers.append(given)
        for point in unit.points:
            question = f"{unit.number}, {point.asked}"
            count = _until(lambda q=question: ask(q), lambda text, p=point: point_answer(text, p), again)  # type: ignore[misc]
            points += [count] if count else []
    if last is not None and last.ladder:
        answers = _ended(answers, last, ask, again)
    return replace(_as_balls(answers, when), points=points)


def _ended(
    answers: list[Answer], block: Block, ask: Callable[[str], str], again: Callable[[str], None] | None
) -> list[Answer]:
    """Ask for the rung on which a ladder ended and put it last: the next practice begins there."""
    mine = [a for a in answers if a.unit.block is block]  # of all rounds, if it has rounds
    if len(mine) < 2:
        return answers
    names, number = [a.unit.name for a in mine], mine[0].unit.number
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
            block, shot = a.unit.balls[i % len(a.unit.balls)]
            balls.append(LoggedBall(block, shot, a.unit.rung, when, verdict))
        if a.best is not None:
            key = a.unit.block.index, a.unit.variation
            best[key] = max(a.best, best.get(key, 0))
    return Typed(balls, [LongestStreak(*key, row) for key, row in best.items()], in_order=False)


def read_csv(data: bytes, plan: Plan, when: datetime) -> Typed:
    """One row for each ball (`block,verdict`, and `shot`, `rung` if they matter), or for each count
    (`block,hits,misses`, and `variation`, `rung`, `not judged`, `streak`; or `block,point,won,lost`). Blocks count as
    on the sheet; what a program writes has `plan block` instead, of all blocks of the plan. Both and rungs count from
    one."""
    rows = _rows(data)
    columns = set(rows[0][1]) if rows else set()
    columns |= {"block"} if PLANNED in columns else set()
    if {"block", "verdict"} <= columns:
        return Typed(list(_each_ball(rows, plan, when)), [], in_order=True)
    if {"block", "hits", "misses"} <= columns or {"block", "point", "won", "lost"} <= columns:
        known = units(plan)
        counts = [a for number, row in rows if (a := _at(number, lambda r=row: _count(r, plan, known)))]  # type: ignore[misc]
        typed = _as_balls([one for one in counts if isinstance(one, Answer)], when)
        return replace(typed, points=[one for one in counts if isinstance(one, PointCount)])
    raise LogRefused(
        "the CSV needs a first row with block,verdict or block,hits,misses or block,point,won,lost, and rows below it"
    )


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
    blocks = _blocks(row, plan)
    verdict = _VERDICTS.get(row["verdict"].lower())
    if verdict is None:
        raise LogRefused(f'"{row["verdict"]}" is none of hit, miss, not judged')
    at = played.get(blocks[0].index, 0)
    played[blocks[0].index] = at + 1
    shot = row.get("shot", "")
    block = blocks[0]
    if len(blocks) > 1:  # the rounds after each other
        turns = [one for one in blocks for _ in range(one.balls)]
        block = turns[at % len(turns)]
        if shot and shot not in block.shots:
            block = next((one for one in blocks if shot in one.shots), block)
        at -= turns.index(block)
    rung: int | None = None
    if block.ladder:
        rung = block.ladder.rungs.index(shot) if shot in block.ladder.rungs else _rung(row, block)
        shot = block.ladder.rungs[rung]
    elif not shot:
        fed = [launch.first for launch in plan.launches if launch.block == block.index]
        shot = fed[at % len(fed)]
    if shot not in block.shots:
        raise LogRefused(f'{_block_told(row)} has no ball "{shot}"')
    return LoggedBall(block.index, shot, rung, _moment(row.get("at", ""), when), verdict)


def _count(row: dict[str, str], plan: Plan, known: list[TypedUnit]) -> Answer | PointCount | None:
    blocks = _blocks(row, plan)
    if row.get("point"):
        point = point_row(row, _block_told(row), points_of(plan, blocks))
        return counted_points(point, _number(row.get("won", ""), "won"), _number(row.get("lost", ""), "lost"))
    mine = _in_a_block(plan, blocks[0], 0) if PLANNED in row else [unit for unit in known if unit.block in blocks]
    ladders = [block for block in blocks if block.ladder]
    if ladders and (row.get("rung") or ladders == blocks):
        rung = _rung(row, ladders[0])
        mine = [unit for unit in mine if unit.rung == rung and unit.block is ladders[0]]
    else:
        mine = [unit for unit in mine if unit.rung is None and row.get("variation") in (None, "", unit.variation)]
    if len(mine) != 1:
        raise LogRefused(f"{_block_told(row)} mixes variations; a column variation says which one is counted")
    best = _number(row["streak"], "streak") if row.get("streak") else None
    hits, misses = _number(row.get("hits", ""), "hits"), _number(row.get("misses", ""), "misses")
    where = f"{_block_told(row)}, {mine[0].name}: "
    return counted(mine[0], hits, misses, _number(row.get("not judged") or "0", "not judged"), best, where)


def _blocks(row: dict[str, str], plan: Plan) -> list[Block]:
    """The blocks of balls that a row means: one of the plan, or all rounds of one on the sheet."""
    from ..outputs.blocks import numbered

    planned = PLANNED in row
    number = _number(row[PLANNED if planned else "block"], "block")
    numbers = {} if planned else numbered(plan.blocks)
    found = [b for b in plan.blocks if b.kind == "balls" and numbers.get(b.index, b.index + 1) == number]
    if not found:
        raise LogRefused(f"{'the plan' if planned else 'the sheet'} has no block {number} with balls")
    return found


def _block_told(row: Mapping[str, str]) -> str:
    return f"{PLANNED} {row[PLANNED]}" if PLANNED in row else f"block {row['block']}"


def _rung(row: dict[str, str], block: Block) -> int:
    assert block.ladder is not None
    rung = _number(row.get("rung") or "", "rung")
    if not 1 <= rung <= len(block.ladder.rungs):
        raise LogRefused(f"{_block_told(row)} has rungs 1 to {len(block.ladder.rungs)}, not {rung}")
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
    points = (f"{one.block} {one.name} {one.tally.won} of {one.tally.played} points" for one in typed.points)
    return "\n".join([*balls, *(f"{row.block} {row.variation} {row.best}" for row in typed.best), *points]).encode()


def identity(plan: Plan, data: bytes, when: str) -> str:
    """The practice's identity: on any machine the same for the same file or counts, plan and moment."""
    return hashlib.sha256(b"\0".join((plan.digest.encode(), when.encode(), data))).hexdigest()[:32]
