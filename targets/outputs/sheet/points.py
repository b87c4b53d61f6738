"""Points and games on the feed sheet, blocks that hits end, and goals of whole blocks: the rule of each, with boxes to
tick."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import accumulate, takewhile

from ....compiler.model.plan import Block, BroadGoalRecord, OwnServesRecord, Plan, PointRecord
from ....compiler.model.takers import Places, called, takers_of, takers_of_score
from ....compiler.printable import plural, visible
from ....grammar.units import number
from . import rules, words
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
    each: int = 0
    """The boxes of a set, which begins on a line of its own; 0 where there are none."""


def has_rule(point: PointRecord) -> bool:
    """Whether it is more than a single ball beside points."""
    return len(point.shots) > 1 or point.serve_s is not None or point.after_miss != "goes on"


def own_serves(serves: OwnServesRecord) -> str:
    """The player's own serves in a few words."""
    return f"{plural(serves.number, 'serve')} of the player, one every {number(serves.every_s)} s, nothing is fed"


def _of_serves(serves: OwnServesRecord) -> PointRow:
    goal = f" Goal: {serves.goal.words}." if serves.goal else ""
    rule = f"{plural(serves.number, 'serve')}, one every {number(serves.every_s)} s.{goal}"
    ticks = "A box for each serve: tick one that is good, cross a fault."
    return PointRow("serves", rule, serves.number, f"good of {serves.number}", ticks)


MOST_COUNTS = 12
"""Lines of boxes for those who have a count of their own, in a block and its rounds."""


def points(plan: Plan, named: Letters, blocks: Sequence[Block]) -> tuple[PointRow, ...]:
    """Each point of some blocks with its balls by their letters, what ends a block early, and the goals of whole
    blocks; single balls between points need no rule. A block that ends early is counted by itself, so each of its
    rounds has boxes of its own."""
    found: dict[str, list[PointRecord]] = {}
    for point in (point for block in blocks for point in block.points):
        found.setdefault(point.name, []).append(point)
    told = {}
    for name, drawn in found.items():
        players = [named.player(shot) for shot in drawn[0].shots]
        several = len(set(players)) > 1  # else the strip says who comes
        balls = (named.either(shots) for shots in zip(*(point.shots for point in drawn), strict=True))
        steps = [f"{ball} for {who}" if several else ball for ball, who in zip(balls, players, strict=True)]
        if has_rule(drawn[0]):
            told[name] = words.point_rule(name, steps, drawn[0], plan.feeder.kind == "machine")
    rows: list[PointRow] = []
    for within in ([one for one in blocks if not one.ends_early], *([one] for one in blocks if one.ends_early)):
        for name, rule_ in told.items():
            if count := sum(point.name == name for block in within for point in block.points):
                ticks = words.POINT_WON_TICKS if found[name][0].won_with else words.POINT_TICKS
                row = PointRow(name, rule_, count, f"won of {count}", ticks)
                rows.append(_once(rows, within[0], row, ""))
        for block in within:
            if block.serves:
                rows.append(_once(rows, block, _of_serves(block.serves), ""))
            if to := block.first_to:
                row = PointRow("game", words.game_rule(to), to, "lost", words.GAME_TICKS)
                rows.append(_once(rows, block, row, _line(named, blocks, block)))
            if most := block.until and (len(block.points) or block.balls):
                of, ticks = ("won", words.WON_TICKS) if block.points else ("good", words.UNTIL_TICKS)
                row = PointRow("until", words.until_rule(block), most, f"{of} of {most}", ticks, each=block.sets or 0)
                rows.append(_once(rows, block, row, _line(named, blocks, block)))
            if block.record and block is next(one for one in blocks if one.words == block.words):
                times = sum(one.words == block.words for one in blocks)
                rows.append(PointRow("record", rules.record_rule(block, times), 0, ""))
            if block.score and (not block.score.goes_on or block is next(one for one in blocks if one.score)):
                rows += _scores(plan, rows, block, _score(named, block, blocks), _line(named, blocks, block))
    for goal in plan.goals:
        mine = [block for block in blocks if block.index in goal.blocks]
        if mine and goal.each:
            rows += _of_each(plan, named, goal, mine, rows)
        elif mine and goal.variation is None:
            line = _line(named, blocks, mine[0]) if len(mine) == 1 else ""
            rows.append(_once(rows, mine[0], _goal(plan, goal, mine), line))
    rows = [row for row in rows if row.boxes or not row.again]
    lines = [row for row in rows if row.name == "each" and row.boxes]
    if len(lines) > MOST_COUNTS:
        return tuple([replace(row, ticks=words.OWN_COUNT) if row.name == "each" else row for row in rows
                      if row not in lines])  # fmt: skip
    return tuple(rows)


def _of_each(
    plan: Plan, named: Letters, goal: BroadGoalRecord, blocks: Sequence[Block], told: Sequence[PointRow]
) -> Iterator[PointRow]:
    """The rule of a goal that each has for themselves, where it does not stand above already, and a line of boxes for
    each of them."""
    points = goal.variation is None and any(block.points for block in blocks)
    of = named.short(named.of[shot.id] for shot in plan.shots if shot.variation == goal.variation)
    rule = words.broad_rule(goal, plan.blocks, blocks[0], of if goal.variation else "")
    if rule not in [row.rule for row in told]:
        yield PointRow("each", rule, 0, "", words.WON_TICKS if points else words.UNTIL_TICKS)
    turn = blocks[0].round if len(goal.blocks) == 1 else None
    for who, theirs in takers_of(plan, goal).items():
        count = sum(_counted(plan, goal, block, theirs or frozenset()) for block in blocks)
        later = who.isdecimal() and blocks[0].index > goal.blocks[0]  # where the numbers on the strip begin anew
        label = f"Round {turn[0]}, {called(who)}" if turn else f"{called(who)}{' of the first block' * later}"
        if count:
            counted = f"{'won' if points else 'good'} of {count}"
            yield PointRow("each", f"{visible(label)}:", count, counted, again=True)


def _counted(plan: Plan, goal: BroadGoalRecord, block: Block, theirs: Places) -> int:
    """How many balls or points of a block count for one player."""
    if block.points and goal.variation is None:
        begins = accumulate((len(point.shots) for point in block.points), initial=0)
        return sum((block.index, at) in theirs for at in list(begins)[:-1])
    aims = {shot.id: shot.variation for shot in plan.shots}
    fed = [ball.first for ball in plan.launches if ball.block == block.index]
    return sum((block.index, at) in theirs and goal.variation in (None, aims[name]) for at, name in enumerate(fed))


MOST_SCORES = 24
"""Boxes for a score: two lines of them. Own choice."""


def _score(named: Letters, block: Block, blocks: Sequence[Block]) -> PointRow:
    """With boxes to write it into, for all the blocks that it counts from this one on."""
    score = block.score
    assert score
    on = takewhile(lambda one: not one.score or one.score.goes_on, (one for one in blocks if one.index > block.index))
    counted = [block, *(one for one in on if one.score)]
    worth, misses = dict[int, list[str]](), dict[int, list[str]]()
    for one in counted:
        for name, adds in one.score.worth.items() if one.score else ():
            worth.setdefault(adds, []).append(name)
        for name, adds in one.score.misses.items() if one.score else ():
            misses.setdefault(adds, []).append(name)
    points, rounds = any(one.points for one in counted), len({one.round for one in counted}) > 1
    singles = [name for names in worth.values() for name in names if name in named.of]
    good = [(_good(named, names, len(worth) > 1, singles), number) for number, names in worth.items()]
    missed = [(_of_some(named, names, singles, "a missed", "lost"), number) for number, names in misses.items()]
    rule = rules.score_rule(score, good, missed, points, rounds) + " Count on from before." * score.goes_on
    units = sum(len(one.points) or one.balls for one in counted)
    if score.results:
        return PointRow("score", rule, units, "at the end", words.RESULT_BOXES)
    return PointRow("score", rule, min(units, MOST_SCORES), "at the end", words.SCORE_BOXES)


def _scores(
    plan: Plan, told: Sequence[PointRow], block: Block, row: PointRow, line: str
) -> Iterator[PointRow]:  # fmt: skip
    """A score with its boxes, or where each has their own, a line of boxes for each of them."""
    if block.score is None or not block.score.each:
        yield _once(told, block, row, line)
        return
    if block.round is None or not any(one.rule == row.rule for one in told):
        yield replace(row, name="each", boxes=0, counted="")
    for who, theirs in takers_of_score(plan, block.index).items():
        units = _own(plan, theirs or frozenset())
        label = f"Round {block.round[0]}, {called(who)}" if block.round and block.score.ends else called(who)
        boxes = units if block.score.results else min(units, MOST_SCORES)
        yield PointRow("each", f"{visible(label)}:", boxes, row.counted, again=True)


def _own(plan: Plan, theirs: Places) -> int:
    """How many of the balls of one player count, or points by their first ball."""
    firsts = {
        (block.index, at)
        for block in plan.blocks
        for at in accumulate((len(point.shots) for point in block.points), initial=0)
    }
    points = {block.index for block in plan.blocks if block.points}
    return sum(place in firsts if place[0] in points else True for place in theirs)


def _good(named: Letters, names: Sequence[str], several: bool, singles: Sequence[str]) -> str:
    """What adds so much: good balls by their letters, or points by their names, where not all add the same."""
    if not several:
        return "a point won" if any(name not in singles for name in names) else "a good ball"
    return _of_some(named, names, singles, "a good", "won")


def _of_some(named: Letters, names: Sequence[str], singles: Sequence[str], ball: str, point: str) -> str:
    """`a good A, B and both won`: some balls by their letters, and points by their names."""
    letters = named.short(named.of[name] for name in names if name in singles)
    points = list(dict.fromkeys(name for name in names if name not in singles))
    told = [*([f"{ball} {letters}"] if letters else []), *([f"{' or '.join(points)} {point}"] if points else [])]
    return " and ".join(told)


def _goal(plan: Plan, goal: BroadGoalRecord, blocks: Sequence[Block]) -> PointRow:
    """With a box for each ball or point, where nothing else of the blocks has them."""
    points = any(block.points for block in blocks)
    rule, balls = (
        words.broad_rule(goal, plan.blocks, blocks[0]),
        sum(len(block.points) or block.balls for block in blocks),
    )
    of, ticks = ("won", words.WON_TICKS) if points else ("good", words.UNTIL_TICKS)
    whole, names = goal.in_all or goal.among == balls, {point.name for block in blocks for point in block.points}
    won = whole and len(names) == 1 and all(has_rule(point) for block in blocks for point in block.points)
    if all(block.until for block in blocks) or (points and won):
        return PointRow("goal", rule, 0, "")
    return PointRow("goal", rule, balls, f"{of} of {balls}", ticks)


def _once(told: Sequence[PointRow], block: Block, row: PointRow, line: str) -> PointRow:
    """A row of boxes with its rule, or where the rule stands above already, with the round that it counts. If that has
    several lines, `line` says which of them."""
    own = block.round and (block.ends_early or row.name in ("goal", "score", "serves"))
    if not (own and block.round):
        return row
    units = "points" if block.points else "balls"
    named = {"game": "points lost", "until": units, "goal": units, "score": "score", "serves": "serves"}
    counts = named.get(row.name, f"point {row.name}")
    which = f"Round {block.round[0]}, {line or counts}:"
    if any(one.rule.startswith(row.rule) for one in told):
        return replace(row, rule=which, ticks="", again=True)
    return replace(row, ticks=f"{row.ticks} {which}") if line and row.boxes else row


def _line(named: Letters, blocks: Sequence[Block], block: Block) -> str:
    """What tells a line of a round from the others: its point or its balls; "" if there are no others."""
    if block.round is None or sum(one.kind == "balls" and one.round == block.round for one in blocks) < 2:
        return ""
    names = {point.name for point in block.points}
    return names.pop() if len(names) == 1 else named.told(block.shots)
