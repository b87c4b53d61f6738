"""Can the feeder keep up: its rhythm, the changes of its settings, the balls in its hopper, its commands?"""

import math
import re
from itertools import groupby, permutations, takewhile
from typing import NamedTuple

import numpy as np

from ...grammar.edits import Edit, Remedy, above, amount, changed, counted, instead
from ...grammar.facts import BallName, Names, Seconds, Setting, Speed
from ...grammar.finding import Finding
from ...grammar.parse import parse
from ...grammar.print import text
from ...grammar.source import Source, Span
from ...grammar.syntax import (
    Collect,
    Counted,
    Flat,
    Interval,
    Ladder,
    Refill,
    Rest,
    Sentence,
    Spin,
    Spins,
    Timed,
    keyword,
)
from ..findings.feeder import (
    ChangeTooFast,
    CollectAdded,
    HopperEmpty,
    IntervalShort,
    NoCommand,
    NoHopper,
    NoTimeToMark,
    NoTimeToSet,
    OverTheCap,
    RestCollects,
    SetBetweenBlocks,
    SetOnce,
    WheelsShared,
)
from ..kept import Kept, unchanged
from ..model.evaluation import Evaluation
from ..model.feeder import Axis
from ..model.program import COLLECT_S, Feed, Program
from ..model.schedule import BlockTimes, Schedule
from ..model.shots import Shots
from ..variants import placed
from .figures import fixing_line, place, rounded_up

ORDERS_S = 1.0
"""Before a launch, for the orders on the machine's line and the record on the disk."""
MARKED_S = 1.0
"""From the player's stroke until the mark is given: the reply flies, then somebody presses a key. Own choice."""
MORE_ROOM = (1.0, 1.25, 1.5, 2.0, 3.0)
"""Multiples of the shortest interval that is enough, in the order in which they are tried. Own choice."""


def rhythm(program: Program, shots: Shots, schedule: Schedule | None, evaluation: Evaluation) -> list[Finding]:
    """Is every interval long enough for the feeder? Where the script counts between contacts, the time between launches
    counts too: either may be the shorter, and the written one is what the sheet asks a person to keep."""
    shortest = program.feeder.least_interval_s
    gaps = {feed.name: feed.interval for feed in program.feeds.values()}
    if schedule is not None and not shots.misses:
        apart = np.diff(schedule.at)
        for index, name in enumerate(schedule.feeds):
            mine = apart[schedule.feed[1:] == index]
            if program.feeds[name].between_contacts and len(mine):
                gaps[name] = min(gaps[name], float(mine.min()))
    found = []
    for feed in program.feeds.values():
        short = shortest - gaps[feed.name]
        if short > 1e-9:
            message = IntervalShort(BallName(feed.name), Seconds(max(gaps[feed.name], 0.0)), Seconds(shortest))
            more = _longer(feed, feed.interval + short, feed.between_contacts)
            found.append(Finding(message, feed.said["interval"].span, remedies=more))
    return _once(found)


def marks(program: Program, shots: Shots, schedule: Schedule | None, evaluation: Evaluation) -> list[Finding]:
    """Where a mark changes what comes next: can it be given before the machine has to set the next ball?"""
    feeder, found = program.feeder, []
    if schedule is None or shots.misses or feeder.kind == "person":
        return []
    for i, block in enumerate(schedule.blocks):
        marked = _marked(program, shots, schedule, i)
        if not marked:
            continue
        names = block.climb.steps() if block.climb else permutations(block.feeds, 2)
        steps = [(shots.shots[a].settings, shots.shots[b].settings) for a, b in names]
        change = max((s for a, b in steps for s in feeder.change_s(a, b).values()), default=0.0)
        takes = change + feeder.settle_s + feeder.feed_jitter_s + feeder.feed_delay_s + ORDERS_S
        least = {feed.family: (room, last, feed) for room, last, feed in sorted(marked, key=lambda one: -one[0])}
        for room, last, feed in least.values():
            left = room - takes
            if left < MARKED_S - 1e-9:
                in_sets = block.ladder is not None
                message = NoTimeToMark(BallName(last), Seconds(max(left, 0.0)), Seconds(MARKED_S), in_sets)
                longer = _longer(feed, feed.interval + MARKED_S - left, feed.between_contacts)
                block_here = (("in this block", block.span),)
                found.append(Finding(message, place(feed, "interval"), block_here, longer))
    return _once(found)


def _marked(program: Program, shots: Shots, schedule: Schedule, index: int) -> list[tuple[float, str, Feed]]:
    """For each ball of a block whose mark changes what comes next, because a miss ends a point or it is the last of a
    set: the seconds from its contact to the next launch, its name, and the feed whose interval makes them longer."""
    block = schedule.blocks[index]
    if block.even is not None:
        last = max(block.feeds, key=lambda name: shots.shots[name].predicted.contact_time)
        longest = max((program.feeds[name] for name in block.feeds), key=lambda feed: feed.interval)
        return [(block.even - shots.shots[last].predicted.contact_time, last, longest)]
    found, names = [], schedule.feeds
    at = int(np.searchsorted(schedule.block, index))
    if block.ladder and block.climb and block.ladder.in_sets and block.balls > (among := block.ladder.up.among):
        room = float(schedule.at[at + among] - schedule.at[at + among - 1])
        for rung, balls in enumerate(block.climb.rungs):
            last = max(balls, key=lambda name: shots.shots[name].predicted.contact_time)
            left = room - block.climb.early(rung, rung) - shots.shots[last].predicted.contact_time
            found.append((left, last, program.feeds[last]))
        return found
    for point in block.points:
        for ball in range(at, at + len(point.feeds) - 1) if point.after_miss == "next point" else ():
            one, two = names[schedule.feed[ball]], names[schedule.feed[ball + 1]]
            met = float(schedule.at[ball]) + shots.shots[one].predicted.contact_time
            found.append((float(schedule.at[ball + 1]) - met, one, program.feeds[two]))
        at += len(point.feeds)
    return found


class AxisChange(NamedTuple):
    """From one ball to the next, in one block or across two; `room` is the shortest time for it in the session, s."""

    before: str
    after: str
    same_block: bool
    room: float
    block: int


def changes(program: Program, shots: Shots, schedule: Schedule | None, evaluation: Evaluation) -> list[Finding]:
    """Has each axis time to change from every ball to the next? Where a miss leaves out balls of a point, the change
    has the time of all those that it replaces."""
    if schedule is None or program.feeder.kind == "person":
        return []
    times = schedule.feed, schedule.at, schedule.block
    every = _steps, _ladder_steps, _point_steps
    steps = unchanged(_STEPS, program.source.name, times, lambda: [step for of in every for step in of(schedule)])
    changes = (
        _change(program, shots, step, schedule.blocks[step.block].span) for step in _tight(program, shots, steps)
    )
    return _once([change for change in changes if change])


def _tight(program: Program, shots: Shots, steps: list[AxisChange]) -> list[AxisChange]:
    """Those that have not time enough even if one axis moves after the other, or that change what a person sets."""
    feeder, after = program.feeder, dict[str, list[float]]()
    for name, shot in shots.shots.items():
        after[name] = [
            axis.stated(shot.settings[of]) / (axis.rate or math.inf) if axis.changes == "between balls"
            else 1e15 * shot.settings[of]  # no time is enough
            for of, axis in feeder.axes().items()
        ]  # fmt: skip
    spent = feeder.feed_delay_s + feeder.settle_s + feeder.feed_jitter_s
    both = ((step, after.get(step.before), after.get(step.after)) for step in steps)
    return [
        step for step, one, other in both
        if one and other and sum(abs(a - b) for a, b in zip(one, other, strict=True)) + spent > step.room
    ]  # fmt: skip


_STEPS: Kept[tuple[tuple[object, ...], list[AxisChange]]] = Kept(20)
"""By the script, while its times are the very same."""


def _steps(schedule: Schedule) -> list[AxisChange]:
    """Every pair of different balls of which one follows the other."""
    if schedule.balls < 2:
        return []
    names, blocks = schedule.feeds, schedule.blocks
    first, then = schedule.feed[:-1], schedule.feed[1:]
    same_block = schedule.block[:-1] == schedule.block[1:]
    room = np.diff(schedule.at)
    ladder = np.array([block.ladder is not None for block in blocks])
    open_ = ladder | np.array([block.even is not None for block in blocks])
    laddered, entered = open_[schedule.block[:-1]] & ~same_block, open_[schedule.block[1:]] & ~same_block
    differ = np.flatnonzero((first != then) | laddered | entered)
    key = (((first * len(names) + then) * 2 + same_block) * 2 + laddered) * 2 + entered
    order = differ[np.argsort(room[differ], kind="stable")]
    shortest = dict(zip(key[order][::-1].tolist(), order[::-1].tolist(), strict=True))  # keeps the shortest of each
    steps = []
    for i in sorted(shortest.values()):
        # A player may leave a ladder from any rung, and enter it on any: a practice begins where the last one ended.
        # Points that begin again end on any ball, and a run that goes on may begin with any.
        block = int(schedule.block[i + 1])
        starts = blocks[schedule.block[i]].feeds if laddered[i] else (names[first[i]],)
        ends = blocks[block].feeds if entered[i] else (names[then[i]],)
        steps += [AxisChange(a, b, bool(same_block[i]), float(room[i]), block) for a in starts for b in ends]
    return steps


def _ladder_steps(schedule: Schedule) -> list[AxisChange]:
    """Every step on a rung, or of one rung up or down, on each ladder."""
    return [
        AxisChange(a, b, True, room, i)
        for i, block in enumerate(schedule.blocks)
        if block.climb
        for (a, b), room in block.climb.steps().items()
    ]


def _point_steps(schedule: Schedule) -> list[AxisChange]:
    """Every pair of different balls of each block in which a point begins again: after a missed ball any may follow."""
    return [
        AxisChange(a, b, True, block.even, i)
        for i, block in enumerate(schedule.blocks)
        if block.even is not None and block.balls
        for a, b in permutations(block.feeds, 2)
    ]


def _change(program: Program, shots: Shots, step: AxisChange, block: Span) -> Finding | None:
    before, after, same_block, room, _ = step
    feeder, feed = program.feeder, program.feeds[after]
    was, becomes = shots.shots[before].settings, shots.shots[after].settings
    taken = feeder.change_s(was, becomes)
    slow: list[tuple[float, ChangeTooFast, WheelsShared | None]] = []
    spent = feeder.feed_delay_s + feeder.settle_s + feeder.feed_jitter_s
    for name, axis in feeder.axes().items():
        old, new = was[name], becomes[name]
        if abs(old - new) < 1e-9 or (
            axis.changes == "between balls" and (not axis.rate or taken[name] + spent <= room + 1e-9)
        ):
            continue
        change = name, BallName(before), BallName(after), _setting(axis, old), _setting(axis, new)
        if axis.changes == "never":
            return Finding(SetOnce(*change), place(feed, _cause(name)), (("in this block", block),))
        if axis.changes == "between blocks":
            if same_block:
                return Finding(SetBetweenBlocks(*change), block)
            if room < feeder.by_hand_s:
                message = NoTimeToSet(*change, Seconds(room), Seconds(feeder.by_hand_s))
                return Finding(
                    message, block, remedies=(above(block, Rest(amount(rounded_up(feeder.by_hand_s), 1, "s"))),)
                )
        elif axis.rate:
            needed = taken[name] + spent
            alone = axis.apart(new, old) / axis.rate
            hint = WheelsShared() if taken[name] > alone + 1e-9 else None
            slow.append((needed, ChangeTooFast(*change, Seconds(room), Seconds(needed)), hint))
    if not slow:
        return None
    # The axis that takes longest: with an interval for it the others have time enough too.
    needed, fast, hint = max(slow, key=lambda one: one[0])
    interval = feed.interval + needed - room if feed.between_contacts else needed
    more = _longer(feed, interval, feed.between_contacts)
    return Finding(fast, feed.said["interval"].span, (("in this block", block),), more, hint=hint)


def hopper(program: Program, shots: Shots, schedule: Schedule | None, evaluation: Evaluation) -> list[Finding]:
    """Do the balls last from one collect to the next? An error for each block that has to stay whole and needs more
    balls than the hopper holds, one note on all the collects that were added and one on the rests that collect."""
    held, refill = program.feeder.hopper, program.session.refill if program.session else None
    if schedule is None or program.session is None or held is None:
        return [Finding(NoHopper(program.feeder.name), refill.span)] if refill and held is None else []
    used, thrown = 0, 0
    short: dict[Span, Finding] = {}
    added: list[tuple[Span, int]] = []
    length = amount(COLLECT_S / 60, 0, "min")
    rested: dict[Span, Finding] = {}
    parts: tuple[Remedy, ...] = ()
    short_rests: list[Remedy] = []
    last: BlockTimes | None = None
    for (span, _), some in groupby(schedule.blocks, key=lambda block: (block.span, block.round)):
        blocks, begun = list(some), used > 0
        for block in blocks:
            if block.rested:
                line = Edit(span, re.sub(r"^rest {0,3}(?= )", "collect", span.text))
                message = RestCollects(held, Seconds(block.end - block.start))
                rested.setdefault(span, Finding(message, span, remedies=(line,)))
            if block.added and last and last.kind == "rest":  # two pauses at once
                said = re.sub(r"^rest {0,4}( *)[\d.]+ \w+", rf"collect\g<1> {text(length)}", last.span.text)
                short_rests.append(Edit(last.span, said))
            last = block
            used, thrown = 0 if block.kind == "collect" else used + block.balls, thrown + block.balls
            if used > held:
                parted = _in_parts(program, blocks, held, begun)
                short.setdefault(span, Finding(HopperEmpty(used, held), span, remedies=parted))
            elif block.added:
                parts = parts or _in_parts(program, blocks, held, begun)
                added.append((span, thrown))
    if not added:
        return [*short.values(), *rested.values()]
    more = CollectAdded(held, Seconds(COLLECT_S), Names(str(balls) for _, balls in added))
    first, *others = dict.fromkeys(span for span, _ in added)
    remedies = (*short_rests[:1], above(program.session.items[0].span, Refill(length)), *parts)
    also = tuple(("and here", other) for other in others)
    return [*short.values(), *rested.values(), Finding(more, first, also, remedies)]


def _in_parts(program: Program, blocks: list[BlockTimes], held: int, begun: bool) -> tuple[Remedy, ...]:
    """What a line of the session plays in as many parts as it fills the hopper, with a collect between them, and before
    them if balls have `begun` to leave the hopper. Each part has the lines under it. What marks decide stays whole,
    because its second part would begin again."""
    span, balls = blocks[0].span, sum(block.balls for block in blocks)
    count, collect = -(-balls // held), Collect(amount(COLLECT_S / 60, 0, "min"))
    if count == 1:
        return (above(span, collect),)
    said = parse(Source("", f'session "x"\n    {span.text}'))[0].lines[0].children[0].sentence
    if any(block.until or (block.score and block.score.ends) for block in blocks):  # in one part
        fewer = held * int(said.number.text) // balls if isinstance(said, Counted) else 0
        fewer -= fewer % next((hold.among for hold in blocks[0].until if hold.in_sets), 1)
        return (Edit(span, text(changed(said, number=counted(fewer)))),) if isinstance(said, Counted) and fewer else ()
    _, column, _ = span.source.line_of(span.start)
    match said:
        case Timed(_, order, whom, None):
            seconds = math.floor(sum(block.end - block.start for block in blocks if not block.added) / count)
            each = amount(seconds / 60, 0, "min") if seconds % 60 == 0 else amount(seconds, 0, "s")
            parts: list[Sentence] = [Timed(each, order, whom)] * count
        case Counted(_, word, order, whom, None):
            sizes = [balls // count + (i < balls % count) for i in range(count)]
            parts = [Counted(counted(size), word, order, whom) for size in sizes]
        case Ladder() as ladder:
            return (Edit(span, text(changed(ladder, most=counted(held)))),)
        case _:
            return ()
    told, under = [text(part) for part in parts], _lines_under(program, span)
    told[:-1] = [f"{part}{under}" for part in told[:-1]]  # those under the last stand there
    lines = [one for part in told for one in (text(collect), part)][0 if begun else 1 :]
    return (Edit(span, f"\n{' ' * (column - 1)}".join(lines)),)


def _lines_under(program: Program, span: Span) -> str:
    """The rows that stand indented under a line, as they are."""
    place = program.rows.place(span)
    _, column, _ = place.source.line_of(place.start)
    _, *rows = place.source.text[place.end :].split("\n")
    under = takewhile(lambda row: not row.strip() or len(row) - len(row.lstrip()) >= column, rows)
    return "".join(f"\n{row}" for row in under if row.strip())


def line(program: Program, shots: Shots, schedule: Schedule | None, evaluation: Evaluation) -> list[Finding]:
    """Can the machine's line say each ball, and does the machine's cap allow it?"""
    device, template = program.feeder.device, program.feeder.template
    found = []
    for name, shot in shots.shots.items():
        feed = program.feeds[name]
        fastest = max(shot.speed, program.feeder.speed.told_si(shot.speed))
        if device is not None and not round(fastest, 6) <= device.cap_mps:  # as a plan says it
            over = OverTheCap(BallName(name), Speed(fastest), Speed(device.cap_mps))
            found.append(Finding(over, fixing_line(feed)))
        if template is not None and (odd := template.inexpressible(shot.settings)):
            axis, value = odd
            setting = _setting(program.feeder.axes()[axis], value)
            unsaid = NoCommand(BallName(name), axis, setting, template.why_not(axis, value))
            flat = (
                placed(feed, "spin", Spin((Spins((Flat(),)),)))
                if _cause(axis) == "spin" and "spin" in feed.said
                else None
            )
            found.append(Finding(unsaid, place(feed, _cause(axis)), remedies=(flat,) if flat else ()))
    return found


def _longer(feed: Feed, seconds: float, between_contacts: bool = False) -> tuple[Remedy, ...]:
    """Remedies that write an interval of at least `seconds`, and some longer ones that leave more room."""
    kind = keyword("BETWEEN_CONTACTS") if between_contacts else None
    said = dict.fromkeys(rounded_up(seconds * more) for more in MORE_ROOM)
    return tuple(instead(feed.said["interval"], Interval(amount(time, 1, "s"), kind)) for time in said)


def _setting(axis: Axis, setting: float) -> Setting:
    return Setting(setting, axis.unit if axis.dial is None else "position")


def _cause(axis: str) -> str:
    return {"topspin": "spin", "sidespin": "spin", "azimuth": "side"}.get(axis, "depth")


def _once(findings: list[Finding]) -> list[Finding]:
    """One finding for each place and code: the first, or the one that needs the most time."""
    kept: dict[tuple[str, Span], Finding] = {}
    for finding in findings:
        key = (finding.code, finding.span)
        known = kept.get(key)
        if known is None or _need(finding) > _need(known):
            kept[key] = finding
    return list(kept.values())


def _need(finding: Finding) -> float:
    match finding.message:
        case NoTimeToMark(time=left):
            return -left
        case IntervalShort(possible=needed) | ChangeTooFast(needed=needed) | NoTimeToSet(needed=needed):
            return needed
    return 0.0
