"""The session on the feed sheet: for each block what to feed and when, the rests, and boxes for the counts."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import product
from typing import Any

from ....compiler.model.plan import GoalRecord
from ....compiler.printable import plural
from .fit import Chunk, Item, tall, width
from .letters import of
from .page import ORDERED, RoundRow, SheetPart, SheetStep
from .panels import BARE, LEAST, SMALL, TERSE, VALUE, Form, shown, side_by_side
from .points import PointRow
from .rows import Row
from .rungs import RungsRow
from .strip import breadth, strips
from .words import CLIMBS, at_most

STRIP, COUNT, FIELD, TALLY = 8.7, 7.6, 12.0, 15.3
"""Heights of a line of letters and of a line of counts in columns, and widths of a box for a number, alone and in a
column, mm."""
RUNG, BOX = 82.0, 5.7
"""Width of a rung's line without its label and its boxes to tick, and of one of these, mm."""
HEAD = 20.0
"""Of a block's heading, points."""
MOST_BOXES, MOST_BALLS, BOX_LINES = 12, 20, 5
"""Boxes to tick on a line, with a box for each ball of a goal, and the most lines of them."""
MOST_LETTERS = 12
"""In a round that stands on one line."""
EVERY = "every "
GAP, TIGHT = 4.0, 1.5
"""Between the pieces of a line, and of a round's line, mm."""
MOST_SETS = 16
"""Lines of boxes of a ladder that counts in sets, unless it has more rungs."""
AGAIN = "Rub out a rung's old ticks."
"""Of the boxes on paper: there is a row of them for each rung, however often the player comes to it."""
MOST_LINES = 2
"""Variations of a block with a line of their own for the counts."""
COLUMNS = (2, 3)
"""Of the counts of more variations: two if three do not save a line."""


def block(form: Form, part: SheetPart, brief: int, whole_mm: float, before: Sequence[str] = ()) -> list[Chunk]:
    """Heading, what is told `before` the first ball, the order, and the boxes; on one page if it is not higher than
    `whole_mm`. `brief` leaves out the line of the script."""
    told = [Item("line", tall(text, form.wide, VALUE) + 1.5, {"text": text}) for text in map(shown, before)]
    told += [_point(form, point) for point in part.points]
    head, steps = _head(form, part, brief), _steps(form, part, brief)
    if brief >= TERSE:
        head, steps = _terse(form, part, brief, head, steps)
    rungs = [item for ladder in part.rungs for item in _ladder(form, ladder)]
    if len(rungs) == 1 and _leads(part, steps, brief):
        steps[1:1] = rungs
    else:
        told += rungs
    again = (Item("again", 11, {"text": f"Block {part.number}, continued"}),)
    climbing = {letter for ladder in part.rungs for letter in ladder.letters}
    most = MOST_LINES if brief < TERSE else 1
    scores = _scores(form, part, _counted(part, climbing), most)
    whole = Chunk((head, *told, *steps, *scores))
    if whole.height_mm <= whole_mm or len(steps) < (5 if brief < TERSE else 4):
        return [whole]
    two = [n for n, item in enumerate(steps) if item.kind != "text"][:2][-1] + 1
    chunks = [Chunk((head, *told, *steps[:two]))]
    last = max(two, len(steps) - 1)
    if last > two and _row(steps[last]) and _row(steps[last - 1]):
        last -= 1
    joined: list[Item] = []  # a round's label stays with its first step, and no line of letters stands alone
    for n, item in enumerate(steps[two:last], start=two + 1):
        joined.append(item)
        alone = _row(item) and n < last and _row(steps[n]) and not (n + 1 < len(steps) and _row(steps[n + 1]))
        if item.kind != "round" and not alone:
            chunks.append(Chunk(tuple(joined), again))
            joined = []
    return [*chunks, Chunk((*joined, *steps[last:], *scores), again)]


def _row(step: Item) -> bool:
    """Whether it is a line of letters that goes on from the one before."""
    return step.kind == "step" and bool(step.data["strips"]) and not step.data["text"] and not step.data["clock"]


def _head(form: Form, part: SheetPart, brief: int) -> Item:
    script, (pace, size) = "" if brief else shown(part.script), _paced(form, part)
    data = {"text": _title(part), "under": script, "aside": shown(f"· {pace}") if pace else "", "fine": size == SMALL}
    return Item("head", 11.0 + tall(script, form.wide, SMALL), data)


def _title(part: SheetPart) -> str:
    return f"Block {part.number} · {part.starts} to {part.ends} · {at_most(part.early, plural(part.balls, 'ball'))}"


def _paced(form: Form, part: SheetPart) -> tuple[str, float]:
    """The time between the balls of a block for the heading, and the size of its letters; no words where there is no
    room, or where a serve comes between. Then the lines below say it, of rounds the first one."""
    pace, title = _rhythm(form, part.rows), _title(part)
    several = len({row.every for row in part.rows}) > 1
    if several and any(step.serves for turn in part.rounds for step in turn.steps):
        return "", VALUE
    return next(((pace, size) for size in (VALUE, SMALL) if _beside(title, pace, size) <= form.wide), ("", VALUE))


def _beside(title: str, text: str, size: float) -> float:
    """Width of a heading with a text beside it, mm."""
    return width(title, HEAD, True) + GAP + width(f"· {text}", size)


def _rhythm(form: Form, rows: Sequence[Row]) -> str:
    found: dict[str, list[str]] = {}
    for row in rows:
        found.setdefault(row.every, []).append(row.letter)
    if len(found) == 1:
        return next(iter(found))
    first, *others = (f"{form.named.short(letters)} {every}" for every, letters in found.items()) if found else ("",)
    if all(every.startswith(EVERY) for every in found):
        others = [text.replace(f" {EVERY}", " ") for text in others]
    return "; ".join((first, *others))


def _terse(form: Form, part: SheetPart, brief: int, head: Item, steps: list[Item]) -> tuple[Item, list[Item]]:
    """The heading says the time and the number of balls, so the first step need not; for whom they are, when the first
    comes and in which rhythm stands beside it if there is room. From `BARE` on the time at which the block ends makes
    room for that, and a rest stands beside the last letters before it."""
    first, begins = part.rounds[0].steps[0], steps[0]
    if first.manner and not part.rounds[0].label:
        late = f"first ball {first.late}" if first.late else ""
        *whom, manner = first.manner.rpartition(", ")[::2] if first.manner.startswith("for ") else [first.manner]
        told, bare = (
            ", ".join(filter(None, [*whom, how, late, rhythm(form, part, first) or _paced(form, part)[0], first.rest]))
            for how in (manner, "" if manner in (ORDERED, CLIMBS) else manner)  # numbers and rungs show it
        )
        text_mm = 0.0 if begins.data["beside"] else tall(_told(begins), form.wide, VALUE, True) + 1.5
        lower = begins.height_mm - text_mm
        short = f"Block {part.number} · {part.starts} · {at_most(part.early, plural(part.balls, 'ball'))}"
        tries = product((head.data["text"], short)[: 1 + (brief >= BARE)], (told, bare), (VALUE, SMALL))
        fitting = [(title, text, size) for title, text, size in tries if _beside(title, text, size) <= form.wide]
        if fitting:
            title, text, size = fitting[0]
            head = replace(head, data={"text": title, "under": "", "aside": shown(f"· {text}"), "fine": size == SMALL})
            steps[0] = replace(begins, height_mm=lower, data={**begins.data, "clock": "", "text": "", "beside": False})
        elif not begins.data["beside"]:
            bare = bare.replace(f", {paced}", "") if (paced := _paced(form, part)[0]) else bare
            height = lower + tall(bare, form.wide, VALUE) + 1.5
            text = shown(f"{bare[:1].upper()}{bare[1:]}")
            steps[0] = replace(begins, height_mm=height, data={**begins.data, "clock": "", "text": text})
    joined: list[Item] = []
    for item in steps:
        before = joined[-1] if joined and joined[-1].kind == item.kind == "step" else None
        alone = before and not item.data["strips"] and not item.data["notes"]
        if brief >= BARE and before and alone and before.data["strips"]:
            used = breadth(before.data["strips"][-1]) + GAP + width(_told(item), VALUE, True)
            used += width(_told(before), VALUE, True) + GAP if before.data["beside"] else 0.0
            if used <= form.wide:
                after = {"clock": item.data["clock"], "text": item.data["text"]}
                joined[-1] = replace(before, data={**before.data, "after": after})
                continue
        joined.append(item)
    return head, [item for item in joined if item.height_mm]


def _leads(part: SheetPart, steps: Sequence[Item], brief: int) -> bool:
    """Whether the line that begins a ladder still stands before its rungs, and in no round."""
    first = part.rounds[0].steps[0]
    leads = first.kind == "balls" and not first.order and not part.rounds[0].label
    return bool(leads and steps and (brief < TERSE or not steps[0].data["clock"]))


def _told(step: Item) -> str:
    return f"{step.data['clock']}   {step.data['text']}"


def _ladder(form: Form, ladder: RungsRow) -> list[Item]:
    rungs = [[letter, shown(label if ladder.feeds else f"fed {label}")] for letter, label in ladder.rungs]
    boxes, rule = [min(ladder.boxes, MOST_BOXES)], f"{ladder.rule} {AGAIN}"
    if ladder.keeper:
        label = max(width(text, SMALL) for _, text in rungs)
        boxes = [max(*boxes, min(MOST_BOXES, int((form.wide - RUNG - label) / BOX)))]
        rule = f"{ladder.rule} {ladder.keeper.capitalize()} ticks hits, crosses misses on the rung; rub out old marks."
    if ladder.sets:
        boxes, held, whole = _set_boxes(ladder.boxes, ladder.sets, max(1, MOST_SETS // len(rungs)))
        balls = plural(ladder.boxes, "box", "boxes")
        count = f"{balls} for a set: tick" if whole else f"Count the {ladder.boxes} balls of a set, tick"
        rule = f"{ladder.rule} {count} a hit, cross a miss.{f' {AGAIN}' if held < ladder.sets else ''}"
    height = tall(rule, form.wide, VALUE) + STRIP * (len(rungs) * len(boxes) + 1) + 2
    return [Item("ladder", height, {"text": rule, "rungs": rungs, "boxes": boxes, "best": ladder.best})]


def _set_boxes(each: int, sets: int, room: int) -> tuple[list[int], int, bool]:
    """The boxes on each of at most `room` lines for so many sets, each from a line of its own on; how many sets have
    them, and whether a whole one has room."""
    one = [min(MOST_BOXES, each - at) for at in range(0, each, MOST_BOXES)]
    held = max(1, min(sets, room // len(one)))
    return (one * held)[:room], held, len(one) <= room


def _point(form: Form, point: PointRow) -> Item:
    """The rule of a point, with boxes to tick and one for their number."""
    rule = shown(f"{point.rule} {point.ticks}".strip())
    if not point.boxes:
        return Item("line", tall(rule, form.wide, VALUE) + 1.5, {"text": rule})
    boxes = min(point.boxes, MOST_BOXES * BOX_LINES)
    lines = [min(MOST_BOXES, boxes - at) for at in range(0, boxes, MOST_BOXES)]
    if point.each:
        sets = point.boxes // point.each
        lines, held, _ = _set_boxes(point.each, sets, MOST_SETS)
        begins = f" Each set begins a line{', and after the last one the first again' * (held < sets)}."
        rule = shown(f"{point.rule} {point.ticks}{begins}") if point.ticks else rule
    data = {"text": rule, "boxes": lines, "won": point.counted}
    return Item("point", tall(rule, form.wide, VALUE) + STRIP * len(lines) + 2, data)


def _counted(part: SheetPart, climbing: set[str]) -> list[tuple[tuple[str, ...], GoalRecord | None]]:
    """The letters that are counted together, with the goal: those of a variation, and those without one, of each
    player, or of players who take turns and share hits among so many balls. A ladder has boxes of its own."""
    entries = [(entry.letters, entry.goal) for entry in part.variations if not climbing.issuperset(entry.letters)]
    told = climbing.union(*(entry.letters for entry in part.variations))
    order = [row.letter for row in part.rows]
    who = {row.letter: row.who for row in part.rows}
    if others := tuple(letter for letter in order if letter not in told):
        entries.append((others, None))
    counted: list[tuple[tuple[str, ...], GoalRecord | None]] = []
    for letters, goal in entries:
        blocks = zip(*(part.fed[letter] for letter in letters), strict=True)
        together = any(len({who[one] for one, balls in zip(letters, fed, strict=True) if balls}) > 1 for fed in blocks)
        if goal and goal.window and together:
            counted.append((letters, goal))
            continue
        for name in dict.fromkeys(who[letter] for letter in letters):
            counted.append((tuple(letter for letter in letters if who[letter] == name), goal))
    return sorted(counted, key=lambda one: min(map(order.index, one[0])))  # as the log asks for them


def _scores(
    form: Form, part: SheetPart, entries: Sequence[tuple[tuple[str, ...], GoalRecord | None]], most: int
) -> list[Item]:
    """Boxes for the goal, and for what the log asks; of more than `most` variations of one player, or whose
    goals are streaks, two or three stand on a line, without the boxes of the goal."""
    who = {row.letter: row.who for row in part.rows}
    players = [list(dict.fromkeys(who[letter] for letter in letters)) for letters, _ in entries]
    told = [
        shown(of(form.named.short(letters), names[0] if len(names) == 1 else ""))
        for (letters, _), names in zip(entries, players, strict=True)
    ]
    tables = []
    # Of several players each ticks a goal of hits among so many balls: one count would not tell whose ball was which.
    ticked = len({tuple(names) for names in players}) > 1 and any(asked and asked.window for _, asked in entries)
    for count in COLUMNS if len(entries) > most and not ticked else ():
        broad = (form.wide - GAP * (count - 1)) / count - 3 * (TALLY + 0.5)
        if all(width(letters, SMALL, True) <= broad for letters in told):
            lines = [Item("tally", COUNT, {"cells": cells, "count": count}) for cells in side_by_side(told, count)]
            best = "best" if any(asked and asked.window for _, asked in entries) else "streak"
            tables.append([Item("tally-heads", 5.8, {"count": count, "best": best}), *lines])
    if tables:
        return min(tables, key=len)
    items = []
    for letters, names, (mine, asked) in zip(told, players, entries, strict=True):
        boxes, fields = _boxes(asked, mine, part.fed)
        goal = f"{asked.words}{' together' * (len(names) > 1)}" if asked else ""
        used = width(letters, VALUE, True) + width("".join((goal, *fields)), SMALL) + BOX * sum(boxes[:1])
        two = len(boxes) > 1 or used + 3 * (FIELD + 1.5) + 5 * GAP > form.wide
        data = {"letters": letters, "goal": goal, "boxes": boxes, "fields": fields, "two": two}
        items.append(Item("score", STRIP * (max(1, len(boxes)) + two) + 0.5, data))
    return items


def _boxes(
    asked: GoalRecord | None, letters: Sequence[str], fed: Mapping[str, tuple[int, ...]]
) -> tuple[list[int], list[str]]:
    """The boxes on each line, and the counts to write down: for a streak one, to tick if it was reached; for hits among
    so many balls a box for each ball, so many on a line, and each round on lines of its own."""
    if asked is None or not asked.window:
        return [1] if asked else [], ["hits", "misses", "streak"]
    row = min(asked.window, MOST_BALLS)
    each = [sum(balls) for balls in zip(*(fed[letter] for letter in letters), strict=True)]
    lines = [min(row, balls - at) for balls in each for at in range(0, balls, row)]
    # Where all come in one block, and are no more, the hits are the best there was.
    best = (
        []
        if sum(each) <= asked.window and len([balls for balls in each if balls]) == 1
        else [f"best of {asked.window}"]
    )
    return lines[:BOX_LINES], ["hits", "misses", *best]


def _steps(form: Form, part: SheetPart, brief: int) -> list[Item]:
    """The rounds side by side if each fits, then what comes after them; otherwise a piece for each step."""
    turns = [turn for turn in part.rounds if turn.label.startswith("Round ")]
    rests = [[step for step in turn.steps if step.kind != "balls"] for turn in turns]
    told = [[step.text for step in steps] for steps in rests]
    cells = [_on_a_line(form, turn) for turn in turns]
    same = (
        told[1:-1] == told[:-2]
        and told[-1:] in (told[:1], [[]])
        and not any(step.dials for turn in turns for step in turn.steps)
    )
    if len(turns) < 2 or not same or not all(cells):
        return [item for turn in part.rounds for item in _turn(form, part, turn, brief)]
    columns = max(used for _, used in filter(None, cells)) <= (form.wide - GAP) / 2
    lines = [line for line, _ in filter(None, cells)]
    rows = side_by_side(lines) if columns else [[line] for line in lines]
    steps = zip(*(turn.steps for turn in turns), strict=False)  # the last round may lack its rest
    longest = max(turns, key=lambda turn: len(turn.steps)).steps
    manner = ", then ".join(
        _manner(part, alike, brief, form) if alike[0].kind == "balls" else alike[0].text.lower() for alike in steps
    )
    between = [f"{step.text.lower()} between rounds" for step in longest[min(len(turn.steps) for turn in turns) :]]
    manner = "; ".join((manner, *between))
    texts = [shown(f"Each of the {len(turns)} rounds: {manner}.")]
    texts += dict.fromkeys(shown(note) for turn in turns for step in turn.steps for note in _notes(step, brief))
    items = [Item("text", tall(text, form.wide, SMALL) + 1, {"text": text}) for text in texts]
    items += [Item("turns", STRIP, {"turns": row}) for row in rows]
    for turn in part.rounds:
        if turn not in turns:
            items += _turn(form, part, turn, brief)
    return items


def _turn(form: Form, part: SheetPart, turn: RoundRow, brief: int) -> list[Item]:
    """The heading of a round stands on a line of its own, or on a terse sheet in front of its first step."""
    short = brief >= TERSE and not turn.alike
    height = max(tall(turn.heading, form.wide, VALUE, True), 7.5)
    items = [Item("round", height, {"text": turn.heading})] if turn.label and not short else []
    first = turn is part.rounds[0] or not turn.label  # the others come in the same rhythm
    for n, step in enumerate(turn.steps):
        text = f"{turn.label}: {step.text}" if turn.label and short and not n else step.text
        pace = rhythm(form, part, step) if step.kind == "balls" and first else ""
        items += _step(form, step, brief, turn.when(step), text, pace)
    return items


def _on_a_line(form: Form, turn: RoundRow) -> tuple[list[dict[str, Any]], float] | None:
    """A round as its number, its time and its letters, and how wide that is; None if it does not fit a line. A pause
    among the letters is named, because a gap is none; how long it is stands above the rounds."""
    number = turn.label.split()[1]
    cells: list[dict[str, Any]] = [
        {"kind": "number", "text": number},
        {"kind": "bold", "text": turn.steps[0].clocks[0]},
    ]
    used = 6.0 + TIGHT + width(turn.steps[0].clocks[0], VALUE, True)
    last = max(n for n, step in enumerate(turn.steps) if step.kind == "balls")
    for step in turn.steps[: last + 1]:
        if step.kind != "balls":
            cells.append({"kind": "pause", "text": step.kind})
            used += width(step.kind, SMALL) + TIGHT
            continue
        lines = (
            strips(step.order, form.wide, step.turns, step.groups, step.rested)
            if 0 < len(step.order) <= MOST_LETTERS
            else []
        )
        if len(lines) != 1:
            return None
        groups = [{**group, "mark": group["mark"] if group["turn"] else ""} for group in lines[0]]
        cells.append({"kind": "strip", "groups": groups})
        used += breadth(groups) + TIGHT
    return (cells, used) if used <= form.wide else None


def _manner(part: SheetPart, steps: Sequence[SheetStep], brief: int, form: Form) -> str:
    """How many balls of each round, and how they come in all of them: their letters stand on the line."""
    balls = plural(len(steps[0].order), "ball")
    whole = replace(steps[0], order=tuple(letter for step in steps for letter in step.order))
    return ", ".join(filter(None, (balls, rhythm(form, part, whole), whole.rest)))


def rhythm(form: Form, part: SheetPart, step: SheetStep) -> str:
    """The time between balls, but not that before the first ball of a point, which waits for a serve; empty where the
    heading of the block says it."""
    if _paced(form, part)[0]:
        return ""
    starts = {sum(step.groups[:n]) for n in range(len(step.groups))} if step.serves else set()
    used = {letter for n, letter in enumerate(step.order) if n not in starts}
    return _rhythm(form, [row for row in part.rows if row.letter in used or not step.order])


def _step(form: Form, step: SheetStep, brief: int, clock: str, text: str, pace: str) -> list[Item]:
    """When to do what, with the order of the balls: beside the text if it is one short line."""
    notes = [*([shown(step.dials)] if step.dials else []), *(shown(note) for note in _notes(step, brief))]
    worded = len(step.turns) == 1 and step.turns[0].named  # the words say whose it is
    turns = () if worded else step.turns
    order = strips(step.order, form.wide, turns, step.groups, step.rested) if step.told else []
    if brief >= TERSE and not form.machine and len(order) == 1 and step.manner.endswith(ORDERED):
        text = text.partition(", ")[0]  # the letters show their order
    text = shown("; ".join(filter(None, (", ".join(filter(None, (text, pace))), step.serves, step.rest))))
    beside = len(order) == 1 and width(f"{clock}   {text}", VALUE, True) + GAP + breadth(order[0]) <= form.wide
    height = sum(tall(note, form.wide, SMALL) for note in notes) + STRIP * min(len(order), 1)
    height += 0.0 if beside else tall(f"{clock}   {text}", form.wide, VALUE, True) + 1.5
    data = {"clock": clock, "text": text, "notes": notes, "strips": order[:1], "beside": beside, "after": None}
    return [Item("step", height, data), *map(strip_alone, order[1:])]


def _notes(step: SheetStep, brief: int) -> tuple[str, ...]:
    return step.remarks if brief < LEAST else step.notes


def strip_alone(strip: Sequence[dict[str, Any]]) -> Item:
    data = {"clock": "", "text": "", "notes": [], "strips": [list(strip)], "beside": False, "after": None}
    return Item("step", STRIP, data)
