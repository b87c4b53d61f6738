"""What a feed sheet says: blocks, balls and variations in words. It knows nothing about paper, HTML or drawing."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from ....compiler.model.plan import Block, GoalRecord, Plan, Shot, VariationRecord
from ....compiler.printable import plural
from ....grammar.units import clock, number
from ..blocks import grouped
from ..places import goes, moved, stays, then_moved
from ..turns import Turn, rule, turns
from . import rules, words
from .front import Front, front
from .letters import Letters, letters, listed
from .manner import alike, fed, in_turn, manner, players_of, waits, written
from .points import PointRow, points
from .rows import Row, next_settings, row, without_computer
from .rungs import RungsRow, rungs

ORDERED = "in this order"
LATE_S = 5.0
"""A first ball that comes later than this after its block begins is worth a word in the heading (our own choice)."""
MOST_TOLD = 14  # characters: the strip shows its letters anyway


@dataclass(frozen=True, slots=True)
class VariationRow:
    """What the player does, and with which letters."""

    id: str
    letters: tuple[str, ...]
    names: str
    """Each letter with the name of its ball."""
    title: str
    when: str
    reply: str
    place: str  # of the reply
    goal: GoalRecord | None
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SheetStep:
    """Something to do from a given time of the session; a step of every round has several times."""

    clocks: tuple[str, ...]
    kind: str
    text: str
    order: tuple[str, ...]
    """A letter for each ball; empty if the player's hits decide the ball."""
    notes: tuple[str, ...] = ()
    dials: str = ""
    """At a pause what to set on a machine set by hand before the next balls; empty if it stays as it is. At balls what
    to do without the computer that sets a machine."""
    groups: tuple[int, ...] = ()
    """The number of balls of each point, in a block with points."""
    serves: str = ""
    """How long after a point the player serves again."""
    turns: tuple[Turn, ...] = ()
    """Whose turn it is, where players change or have names."""
    rest: str = ""
    """The rest inside a block of balls or points; of a ladder its rule says it."""
    rest_s: float = 0.0
    rest_notes: tuple[str, ...] = ()
    rested: tuple[int, ...] = ()
    """Which of its balls, from zero, come after one."""
    at_s: float = 0.0
    """When it begins, for the first time."""
    late: str = ""
    """When its first ball comes, if that is long after the block's start, because players change."""
    waits: str = ""
    """Where the player waits, in a mix of deep and near balls."""
    manner: str = ""
    """The text of balls without their number, and without the letters that stand in the order anyway."""

    @property
    def remarks(self) -> tuple[str, ...]:
        """Its notes, the last one with where the player waits for it."""
        last = " ".join(filter(None, (*self.notes[-1:], self.waits)))
        return (*self.notes[:-1], *([last] if last else []))

    @property
    def said(self) -> str:
        """Its text, with the time to the next serve and the rest."""
        return "; ".join(filter(None, (self.text, self.serves, self.rest)))

    @property
    def told(self) -> bool:
        """Whether the order says more than the text: the letters differ, or players change."""
        return len(set(self.order)) > 1 or (len(self.turns) > 1 and bool(self.order))


@dataclass(frozen=True, slots=True)
class RoundRow:
    label: str
    steps: tuple[SheetStep, ...]

    @property
    def alike(self) -> bool:
        """Whether several rounds of several steps are one: each step with a time of each round would be read across."""
        return len(self.steps) > 1 and len(self.steps[0].clocks) > 1

    @property
    def heading(self) -> str:
        """The label, with the times at which rounds that are alike begin."""
        return f"{self.label} from {', '.join(self.steps[0].clocks)}" if self.alike else self.label

    def when(self, step: SheetStep) -> str:
        """The times of a step; in rounds that are alike the time since the round began."""
        return f"+{clock(step.at_s - self.steps[0].at_s)}" if self.alike else ", ".join(step.clocks)


@dataclass(frozen=True, slots=True)
class SheetPart:
    """One page: a block with the rests and collects after it, or all rounds of some blocks."""

    number: int
    starts: str
    half: str
    """The time after half of its balls."""
    until: str
    """The time after its last ball; rests and collects may follow until `ends`."""
    ends: str
    balls: int
    early: bool
    """Whether marks may end a block of it, so that the balls are the most."""
    script: str
    variations: tuple[VariationRow, ...]
    rows: tuple[Row, ...]
    rungs: tuple[RungsRow, ...]
    points: tuple[PointRow, ...]
    rounds: tuple[RoundRow, ...]
    line: str
    """Who changes and when; empty where nobody does."""
    fed: Mapping[str, tuple[int, ...]]
    """How many balls of each letter come in each of its blocks; of a ladder none is known."""


@dataclass(frozen=True, slots=True)
class Sheet:
    program: str
    session: str
    digest: str
    front: Front
    rows: tuple[Row, ...]
    """Each letter once, in order."""
    dials: str
    """What a machine that is set by hand alone is set to before the first ball; empty otherwise."""
    parts: tuple[SheetPart, ...]


def sheet(plan: Plan, hitter: bool = False) -> Sheet:
    """What it says to a feeder, or to the `hitter`, whose left and right are those of the script."""
    named = letters(plan)
    groups = grouped(plan.blocks)
    rows = _rows(plan, named)
    parts = tuple(_part(plan, named, rows, i, blocks, hitter) for i, blocks in enumerate(groups, start=1))
    lines = front(plan, _clock(plan, named, groups))
    return Sheet(
        plan.program, plan.session, plan.digest, lines, tuple(rows.values()), next_settings(plan, named, -1), parts
    )


def _rows(plan: Plan, named: Letters) -> dict[str, Row]:
    """By letter. The same ball has the same words on the whole sheet."""
    rungs = {
        shots[0]: label
        for block in plan.blocks
        if block.ladder and block.ladder.quantity
        for shots, label in zip(block.ladder.rungs, block.ladder.labels, strict=True)
    }
    ids = [shot for block in plan.blocks for shot in block.shots]
    kinds = {letter: named.shots(letter, ids) for letter in named.used(ids)}
    rows = {letter: row(plan, letter, shots, rungs.get(shots[0].id, "")) for letter, shots in kinds.items()}
    first: dict[tuple[str, ...], str] = {}
    for letter, one in rows.items():
        same = first.setdefault(one.dials, letter) if one.dials else letter
        rows[letter] = replace(one, like=same if same != letter else "")
    return rows


def _clock(plan: Plan, named: Letters, groups: list[list[Block]]) -> tuple[tuple[str, str, str], ...]:
    """A line for each block, or for all rounds of several blocks, with the rests and collects after it."""
    lines: list[tuple[str, str, str]] = []
    for part, blocks in enumerate(groups, start=1):
        within = [block for block in blocks if block.round] or blocks[:1]
        balls = sum(block.balls for block in within)
        rounds = f"{plural(within[0].round[1], 'round')} of " if within[0].round else ""
        lines_of, count = alike(within), within[0].round[1] if within[0].round else 1
        fed_lines = sum(found[0].kind == "balls" for found in lines_of)
        # A rest of the same length after each line of a round is told once, behind the lines.
        every = [b for b in lines_of if b[0].kind != "balls" and fed_lines > 1 and len(b) >= fed_lines * count - 1]
        each = [
            manner(plan, named, *blocks_)
            + (" between rounds" if all(b.kind != "balls" and "between" in b.words for b in blocks_) else "")
            for blocks_ in lines_of
            if blocks_ not in every
        ]
        each += [f"{manner(plan, named, *blocks_)} after each" for blocks_ in every]
        told = [rounds + "; ".join(each)]
        told += [manner(plan, named, block) for block in blocks[len(within) :]]
        text = f"Block {part}: {', then '.join(told)}" if balls else ", then ".join(told).capitalize()
        most = words.at_most(any(block.ends_early for block in within), plural(balls, "ball"))
        lines.append((clock(blocks[0].start_s), text, most if balls else ""))
    return tuple(lines)


def _part(
    plan: Plan, named: Letters, rows: dict[str, Row], number: int, blocks: list[Block], hitter: bool
) -> SheetPart:
    ids = [shot for block in blocks for shot in block.shots]
    orders = [fed(plan, named, block) for block in blocks if block.kind == "balls" and not block.ladder]
    start, until = blocks[0].start_s, max((b.end_s for b in blocks if b.kind == "balls"), default=blocks[-1].end_s)
    # Of rounds the lines of one, each as often as it is fed: fewer would read as another order.
    script = [written(block) for block in blocks if block.kind == "balls" and (not block.round or block.round[0] == 1)]
    return SheetPart(
        number,
        clock(start),
        clock((start + until) / 2),
        clock(until),
        clock(blocks[-1].end_s),
        sum(block.balls for block in blocks),
        any(block.ends_early for block in blocks),
        " · ".join(map(words.quoted, script or [blocks[0].words])),
        _variations(plan, named, ids, hitter),
        tuple(rows[letter] for letter in named.used(ids)),
        tuple({b.words: rungs(plan, named, b) for b in blocks if b.ladder}.values()),
        points(plan, named, blocks),
        _rounds(plan, named, blocks, hitter),
        rule(plan, blocks),
        {letter: tuple(order.count(letter) for order in orders) for letter in named.used(ids)},
    )


def _variations(plan: Plan, named: Letters, ids: list[str], hitter: bool) -> tuple[VariationRow, ...]:
    variations = {variation.id: variation for variation in plan.variations}
    users: dict[str, dict[str, str]] = {}
    for letter in named.used(ids):
        first = named.shots(letter, ids)[0]
        if first.variation in variations:
            users.setdefault(first.variation, {})[letter] = first.feed
    # The words of a variation stand once on a sheet: for all its balls, whoever plays them in whichever block.
    return tuple(
        _variation(plan, variations[name], used, [shot for shot in plan.shots if shot.variation == name], hitter)
        for name, used in users.items()
    )


def _variation(
    plan: Plan, variation: VariationRecord, used: dict[str, str], shots: Sequence[Shot], hitter: bool
) -> VariationRow:
    say = str if hitter else words.quoted
    asked = words.also_in_rackets(variation.reply.words, variation.reply.over_net_m)
    asked = asked if hitter else words.for_feeder(asked)
    good, also = words.good_replies(shots), rules.hit_if(variation.hit_if, hitter)
    good += " by their place" * bool(good and also)
    names: dict[str, list[str]] = {}
    for letter, name in used.items():
        names.setdefault(name, []).append(letter)
    return VariationRow(
        variation.id,
        tuple(used),
        "; ".join(f"{listed(letters_)} {name}" for name, letters_ in names.items()),
        say(variation.title or variation.id),
        say(variation.when) if variation.when else "",
        "; ".join(filter(None, [f"reply {asked}" if asked else "", f"expect {good}" if good else ""])),
        words.place(asked),
        variation.goal,
        (*filter(None, [also]), *map(say, variation.notes), *words.over_all(plan.goals, variation.id)),
    )


def _rounds(plan: Plan, named: Letters, blocks: list[Block], hitter: bool) -> tuple[RoundRow, ...]:
    """The steps by round; rounds that differ only in their times become one."""
    rounds: list[tuple[tuple[int, int] | None, list[SheetStep]]] = []
    for block in blocks:
        if not rounds or rounds[-1][0] != block.round:
            rounds.append((block.round, []))
        before = sum(len(step.turns) for step in rounds[-1][1])
        rounds[-1][1].append(_step(plan, named, block, hitter, before))
    result: list[RoundRow] = []
    firsts: list[int] = []
    for place, steps in rounds:
        label = f"Round {place[0]} of {place[1]}" if place else ""
        if place and result and firsts and _same(result[-1].steps, steps):
            both = zip(result[-1].steps, steps, strict=True)
            merged = tuple(replace(a, clocks=a.clocks + b.clocks) for a, b in both)
            joined = "and" if place[0] == firsts[-1] + 1 else "to"
            result[-1] = RoundRow(f"Rounds {firsts[-1]} {joined} {place[0]}, each", merged)
        else:
            result.append(RoundRow(label, tuple(steps)))
            firsts.append(place[0] if place else 0)
    return tuple(result)


def _same(one: Sequence[SheetStep], other: Sequence[SheetStep]) -> bool:
    left, right = ([replace(step, clocks=(), at_s=0.0, late="") for step in steps] for steps in (one, other))
    return left == right


def _step(plan: Plan, named: Letters, block: Block, hitter: bool, before: int) -> SheetStep:
    at_s = _begins_s(plan, block)
    start = (clock(at_s),)
    notes = block.notes if hitter else (*_stands(plan, block), *map(words.quoted, block.notes))
    notes = (*filter(None, [rules.hit_if(block.hit_if, hitter)]), *notes)
    if block.kind != "balls":
        dials = next_settings(plan, named, block.index)
        told = manner(plan, named, block).capitalize()
        return SheetStep(start, block.kind, told, (), notes, dials, at_s=at_s)
    step = replace(_fed_step(plan, named, block, start), notes=notes, dials=without_computer(plan, named, block))
    if block.rest and not block.ladder:
        rest = words.rest_inside(block.rest, bool(block.points))
        step = replace(step, rest=rest, rest_s=block.rest.rest_s, rested=block.rested, rest_notes=block.rest.notes)
    late = clock(at_s) if at_s - block.start_s >= LATE_S else ""
    waiting = waits(plan, block)
    return replace(step, turns=turns(plan, block, before), at_s=at_s, late=late, waits=waiting)


def _stands(plan: Plan, block: Block) -> Iterator[str]:
    """Where the feeder goes in a pause; where it stands for balls, if not always in one place."""
    place = then_moved(plan, block)
    if place is not None:
        yield goes(plan, place)
    elif plan.feeder.elsewhere and block.kind == "balls":
        last, there = plan.blocks[block.index - 1], plan.place_of(block.index)
        still = block.index not in moved(plan) or last.kind != "balls"
        yield stays(plan, there) if still else goes(plan, there)


def _begins_s(plan: Plan, block: Block) -> float:
    """When the feeder or a server has something to do: the first ball of a block may come after its start."""
    if any(point.serve_s is not None for point in block.points):
        return block.start_s
    return next((ball.at_s for ball in plan.launches if ball.block == block.index), block.start_s)


def _fed_step(plan: Plan, named: Letters, block: Block, start: tuple[str, ...]) -> SheetStep:
    """How many balls, and in which order."""
    order = fed(plan, named, block)
    used = named.used([ball.first for ball in plan.launches if ball.block == block.index])
    players = players_of(plan, block.shots)
    alone = len({shot.player for shot in plan.shots if shot.id in block.shots}) == 1  # the order names each of several
    whom = f"for {players}, " if players and alone else ""
    text = f"{words.at_most(block.ends_early, plural(len(order), 'ball'))}{f' for {players}' if players else ''}, "
    ordered = f"{whom}{ORDERED}"
    if block.points:
        more = "up to " if block.begins_again or block.leaves_out else ""
        how = ORDERED if len(used) > 1 else f"{listed(used)} each time"
        waits = {named.interval_s(one.shots[0]) for one in block.points[1:] if one.serve_s is not None}
        serves = f"next serve {number(waits.pop())} s after a point's last ball" if len(waits) == 1 else ""
        text = f"{plural(len(block.points), 'point')}, {more}{plural(len(order), 'ball')}, {how}"
        groups = tuple(len(one.shots) for one in block.points)
        return SheetStep(start, "balls", text, order, groups=groups, serves=serves)
    if block.ladder:
        return SheetStep(start, "balls", text + words.CLIMBS, (), manner=whom + words.CLIMBS)
    if len(used) < 2:
        each = f"{listed(used)}{' each time' * (len(order) > 1)}"
        return SheetStep(start, "balls", text + each, order, manner=whom + each)
    if block.order == "cycle":
        if not (used := in_turn(order)):
            return SheetStep(start, "balls", text + "in this order", order, manner=ordered)
        how = "in turn"
    else:
        how = "mixed, in this order" if block.order == "mix" else "in this order"
    told = f"{names} {how}" if len(names := listed(used)) <= MOST_TOLD else how
    return SheetStep(start, "balls", text + told, order, manner=ordered)
