"""A practice typed in afterwards: asked block by block, or read from a CSV.

The order of counted balls is not known. They count for shares, and a streak is only what a person reports, as is the
best of a goal that counts among some of the balls.
"""

import csv
import hashlib
import io
import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from functools import partial
from typing import TypeVar

from ...compiler.model.plan import Block, Plan
from ...compiler.printable import plural
from . import PLANNED, LogRefused
from .progress import Verdict
from .record import LoggedBall, LongestStreak, PointCount, ScoreCount
from .store import moment
from .typed_points import counted_points, point_answer, point_row, points_of
from .typed_scores import score_answer, scores_of
from .typed_units import TypedUnit, in_a_block, units

T = TypeVar("T")
LARGEST = 1024 * 1024
MOST = 20_000
"""Most rows of a CSV: as many as a script may have launches."""
_ANSWER = re.compile(r"(?:([0-9]{1,5}) ?/ ?([0-9]{1,5}))? ?(?:(streak|best) ([0-9]{1,5}))?", re.ASCII)
_COUNTED = ({"block", "hits", "misses"}, {"block", "point", "won", "lost"}, {"block", "score"})
_VERDICTS = {"hit": Verdict.HIT, "miss": Verdict.MISS, "not judged": Verdict.NOT_JUDGED, "": Verdict.NOT_JUDGED}


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
    scores: list[ScoreCount] = field(default_factory=list)


def answer(text: str, unit: TypedUnit) -> Answer | None:
    """Read `12/20`, hits of balls, `streak 7`, or both; None for empty text. LogRefused says what is wrong."""
    text = " ".join(text.lower().split())
    if not text:
        return None
    match = _ANSWER.fullmatch(text)
    if not match:
        means = f"the most among {unit.among}" if unit.among else "the most in a row"
        raise LogRefused(f'"{text}" is not a count: 12/20 means 12 hits of 20 balls, {unit.best} 7 {means}')
    best = _best(unit, match[3], match[4])
    if match[1] is None:
        # Only the longest streak is known: take the planned balls as played and not judged.
        planned = len(unit.balls)
        return counted(unit, 0, 0, max(planned, best or 0), best)
    hits, balls = int(match[1]), int(match[2])
    if hits > balls:
        raise LogRefused(f"{plural(hits, 'hit')} of {plural(balls, 'ball')} are impossible")
    return counted(unit, hits, balls - hits, 0, best)


def _best(unit: TypedUnit, word: str | None, number: str | None) -> int | None:
    """What is told besides the counts, if it is what the goal counts."""
    if word not in (None, unit.best):
        goal = f"counts the hits among {unit.among} balls" if unit.among else "is a streak"
        raise LogRefused(f"the goal {goal}: write {unit.best} and a number, not {word}")
    return _number(number, unit.best) if number else None


def counted(
    unit: TypedUnit, hits: int, misses: int, not_judged: int, best: int | None, where: str = ""
) -> Answer | None:
    """A possible answer; None if nothing was played. `where` begins the sentence of an error."""
    balls, planned = hits + misses + not_judged, len(unit.balls)
    if balls > 2 * planned:
        raise LogRefused(f"{where}{plural(balls, 'ball')} are more than twice the {planned} of the plan")
    if best is not None and hits + misses:
        # The misses divide the hits into at most misses + 1 groups, or the balls are so many times those that the goal
        # counts among: the largest group has at least this many.
        among = unit.among or hits
        least, most = -(-hits // (-(-(hits + misses) // among) if unit.among else misses + 1)), min(hits, among)
        if not least <= best <= most:
            what = f"best among {among}" if unit.among else "longest streak"
            raise LogRefused(
                f"{where}with {plural(hits, 'hit')} and {plural(misses, 'miss', 'misses')} the {what} is "
                f"{least} to {most}, not {best}"
            )
    if best is None and unit.among and hits + misses <= unit.among and len({block for block, _ in unit.balls}) == 1:
        best = hits  # all of them together, in one block
    return Answer(unit, hits, misses, not_judged, best) if balls else None


def asked(plan: Plan, ask: Callable[[str], str], again: Callable[[str], None] | None, when: datetime) -> Typed:
    """Ask block by block, as the sheet numbers them; `again` shows an error before the next try, None gives up."""
    answers: list[Answer] = []
    points: list[PointCount] = []
    scores: list[ScoreCount] = []
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
        for score in unit.scores:
            question = f"{unit.number}, {score.asked}"
            read = partial(score_answer, score=score)
            came = _until(lambda q=question: ask(q), read, again)  # type: ignore[misc]
            scores += [came] if came else []
    if last is not None and last.ladder:
        answers = _ended(answers, last, ask, again)
    return replace(_as_balls(answers, when), points=points, scores=scores)


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
    (`block,hits,misses`, and `variation`, `rung`, `not judged`, `streak` or `best`; or `block,point,won,lost`, or
    `block,score`). Blocks count as on the sheet; what a program writes has `plan block` instead, of all blocks of the
    plan. Both and rungs count from one."""
    rows = _rows(data)
    columns = set(rows[0][1]) if rows else set()
    columns |= {"block"} if PLANNED in columns else set()
    if {"block", "verdict"} <= columns:
        return Typed(list(_each_ball(rows, plan, when)), [], in_order=True)
    if any(form <= columns for form in _COUNTED):
        known = units(plan)
        counts = [a for number, row in rows if (a := _at(number, lambda r=row: _count(r, plan, known)))]  # type: ignore[misc]
        typed = _as_balls([one for one in counts if isinstance(one, Answer)], when)
        points = [one for one in counts if isinstance(one, PointCount)]
        return replace(typed, points=points, scores=[one for one in counts if isinstance(one, ScoreCount)])
    raise LogRefused(
        "the CSV needs a first row with block,verdict or block,hits,misses or block,point,won,lost or block,score, "
        "and rows below it"
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
        at_rung, here = block.ladder.at(shot), [one.any_of for one in plan.launches if one.block == block.index]
        rung = at_rung if at_rung is not None else _rung(row, block)
        shot = shot if at_rung is not None else here[at % len(here)][rung]
    elif not shot:
        fed = [launch.first for launch in plan.launches if launch.block == block.index]
        shot = fed[at % len(fed)]
    if shot not in block.shots:
        raise LogRefused(f'{_block_told(row)} has no ball "{shot}"')
    return LoggedBall(block.index, shot, rung, _moment(row.get("at", ""), when), verdict)


def _count(row: dict[str, str], plan: Plan, known: list[TypedUnit]) -> Answer | PointCount | ScoreCount | None:
    blocks = _blocks(row, plan)
    if row.get("score"):
        scores = scores_of(plan, blocks)
        if len(scores) != 1:
            raise LogRefused(f"{_block_told(row)} has {plural(len(scores), 'score')}, and a row counts one")
        return score_answer(row["score"], scores[0])
    if row.get("point"):
        point = point_row(row, _block_told(row), points_of(plan, blocks))
        return counted_points(point, _number(row.get("won", ""), "won"), _number(row.get("lost", ""), "lost"))
    mine = in_a_block(plan, blocks[0], 0) if PLANNED in row else [unit for unit in known if unit.block in blocks]
    ladders = [block for block in blocks if block.ladder]
    if ladders and (row.get("rung") or ladders == blocks):
        rung = _rung(row, ladders[0])
        mine = [unit for unit in mine if unit.rung == rung and unit.block is ladders[0]]
    else:
        mine = [unit for unit in mine if unit.rung is None and row.get("variation") in (None, "", unit.variation)]
    if len(mine) != 1:
        raise LogRefused(f"{_block_told(row)} mixes variations; a column variation says which one is counted")
    (best,) = [_best(mine[0], word, row[word]) for word in ("streak", "best") if row.get(word)] or [None]
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
    scores = (f"{one.block} score {one.score}{f' {one.who}' if one.who else ''}" for one in typed.scores)
    best = (f"{row.block} {row.variation} {row.best}" for row in typed.best)
    return "\n".join([*balls, *best, *points, *scores]).encode()


def identity(plan: Plan, data: bytes, when: str) -> str:
    """The practice's identity: on any machine the same for the same file or counts, plan and moment."""
    return hashlib.sha256(b"\0".join((plan.digest.encode(), when.encode(), data))).hexdigest()[:32]
