"""Pages of the feed sheet: which pieces stand on which page and how large the picture is; no markup yet.

Values are 17 pt, letters of balls 22 pt bold, nothing needed on court under 14 pt: fluent reading wants 0.2 degrees of
x-height (Legge & Bigelow, Journal of Vision 11(5), 2011), in glare and moving rather 0.3. Text from the plan is made
visible here, once, for every form of the sheet.
"""

import re
from dataclasses import dataclass
from math import ceil
from typing import Any

from ...compiler.model.plan import Plan
from ..printable import plural, visible
from . import rows
from .court import court, size
from .fit import FOOT, PAPERS, SPARE, TOP, WIDTH, Item, lines, pack, tall, width
from .front import HOW, spot
from .letters import Letters, letters
from .page import Part, Sheet, sheet
from .strip import strips

LARGE = 1.2
SMALL, VALUE = 14.0, 17.0
COURTS = (150.0, 138.0, 126.0, 116.0, 106.0, 98.0, 90.0, 82.0, 74.0)
"""Heights of the picture, mm, the largest that fits is taken."""
LETTER, PERSON, MACHINE, MACHINE_LARGE = 12.0, (59.5, 33.0, 46.5, 35.0), (59.5, 32.0), (40.0, 24.0)
"""Widths of columns, mm: of the letter, of a person's cells, of a machine's."""
MOST_BOXES, MISSES = 12, 3
_UNIT = re.compile(r"(?<=\d) (?=(?:m|s|cm|min|km/h|mph|rpm|deg|balls?|rackets?)\b)")
_KEEP = "\u00a0"  # a number stays with its unit


@dataclass(frozen=True, slots=True)
class Document:
    """Pages ready to be set: `width` and `height` of the paper in mm, `scale` for all sizes."""

    title: str
    digest: str
    date: str
    paper: str
    scale: float
    width: float
    height: float
    columns: tuple[float, ...]
    """Widths of a row's letter, cells and dials, mm before scaling."""
    pages: tuple[tuple[Item, ...], ...]


def shown(text: str) -> str:
    return _UNIT.sub(_KEEP, visible(text))


def document(plan: Plan, paper: str = "a4", large: bool = False, date: str = "") -> Document:
    """The sheet on `paper` (a4 or letter); the date is printed only where one is given."""
    page_width, page_height = PAPERS[paper]
    scale = LARGE if large else 1.0
    room, wide = page_height / scale - TOP - FOOT - SPARE, WIDTH / scale
    data = sheet(plan)
    longest = max((len(row.letter) for part in data.parts for row in part.rows), default=1)
    columns = _columns(plan, wide, LETTER + 6.0 * max(longest - 2, 0))
    pages = pack(_front(data, plan, wide), room, Item("again", 11, {"text": "First page, continued"}))
    for part in data.parts:
        if part.rows:
            again = Item("again", 11, {"text": f"Block {part.number}, continued"})
            pages += pack(_block(plan, part, room, wide, columns), room, again)
    return Document(
        shown(data.program), data.digest[:12], shown(date), paper, scale, page_width, page_height, columns,
        tuple(tuple(page) for page in pages),
    )  # fmt: skip


def _columns(plan: Plan, wide: float, letter: float) -> tuple[float, ...]:
    """Letter, cells and dials; a family of ten and more needs room for its letters."""
    share = (wide - letter) / (WIDTH - LETTER)
    if plan.feeder.kind == "person":
        return (letter, *(width * share for width in PERSON))
    count = max(1, len(rows.dials(plan)))
    # Figures are not broken: in large print the words give way.
    lands, high = MACHINE if wide == WIDTH else MACHINE_LARGE
    return (letter, lands, high, *((wide - letter - lands - high) / count for _ in range(count)))


def _front(data: Sheet, plan: Plan, wide: float) -> list[Item]:
    front = data.front
    program, session = shown(data.program), shown(data.session)
    items = [
        Item(
            "title", tall(program, wide, 24, True) + tall(session, wide, VALUE) + 3, {"text": program, "under": session}
        )
    ]
    items += [Item("text", tall(note, wide, SMALL) + 1, {"text": note}) for note in map(shown, front.notes)]
    for label, text in front.facts:
        told = shown(text)
        items.append(Item("fact", tall(told, wide - 27, SMALL) + 1.4, {"label": label, "text": told}))
    cautions = [shown(caution) for caution in front.cautions]
    height = sum(tall(caution, wide - 13, SMALL) + 0.6 for caution in cautions) + 15
    items.append(Item("cautions", height, {"text": "Before the first ball", "list": cautions}))
    for clock, what, balls in front.clock:
        told = shown(what)
        entry = {"clock": clock, "text": told, "balls": balls}
        items.append(Item("clock", tall(told, wide - 52, SMALL) + 1.0, entry))
    return items


def _block(plan: Plan, part: Part, room: float, wide: float, columns: tuple[float, ...]) -> list[Item]:
    """The block on one page if that can be: first the small print shrinks, then the picture, then the jobs' words."""
    named = letters(plan)
    lettered = {row.letter: named.shots(row.letter, list(_ids(plan, named, row.letter, part))) for row in part.rows}
    head = _head(part, wide)
    for brief in (0, 1, 2):
        table = _table(plan, part, columns, small=brief < 1)
        left = room - head.height_mm - sum(item.height_mm for item in table)
        for height in COURTS:
            across, down = size(plan, [shot for shots in lettered.values() for shot in shots], height)
            beside = wide - across - 5
            entries = _side(plan, part, beside, brief)
            tallest = max(down, sum(item.height_mm for item in entries)) + 2
            if tallest <= left:
                return [head, _band(plan, lettered, height, entries, tallest), *table]
    height = COURTS[-1]
    across, down = size(plan, [shot for shots in lettered.values() for shot in shots], height)
    jobs = [item for item in _side(plan, part, wide - across - 5, 2) if item.kind not in ("step", "round")]
    tallest = max(down, sum(item.height_mm for item in jobs)) + 2
    steps = [item for item in _side(plan, part, wide, 2, apart=True) if item.kind in ("step", "round")]
    return [head, _band(plan, lettered, height, jobs, tallest), *table, *steps]


def _ids(plan: Plan, named: Letters, letter: str, part: Part) -> list[str]:
    return [shot.id for shot in plan.shots if named.of[shot.id] == letter]


def _head(part: Part, wide: float) -> Item:
    script = shown(part.script)
    balls = plural(part.balls, "ball")
    title = f"Block {part.number} · {part.starts} to {part.ends} · {balls}"
    return Item("head", 11.0 + tall(script, wide, SMALL), {"text": title, "under": script})


def _band(plan: Plan, lettered: dict[str, Any], height: float, entries: list[Item], tallest: float) -> Item:
    svg, across, down = court(plan, lettered, height)
    side = [{"kind": item.kind, **item.data} for item in entries]
    return Item("band", tallest, {"svg": svg, "width": across, "height": down, "side": side})


def _table(plan: Plan, part: Part, columns: tuple[float, ...], small: bool) -> list[Item]:
    heads = list(rows.heads(plan))
    dials = [(shown(name), shown(unit)) for name, unit in rows.dials(plan)]
    # Names reach over the next column, on two lines in turn; the last has no next column.
    right = len(dials) > 1 and width(dials[-1][0], SMALL) > columns[-1]
    items = [Item("heads", 16.9 if dials else 7.2, {"cells": heads, "dials": dials, "right": right})]
    for row in part.rows:
        cells = [[shown(upper), shown(lower)] for upper, lower in row.cells]
        count = 2
        for (upper, lower), room in zip(cells, columns[1:], strict=False):
            count = max(count, lines(upper, room - 1, VALUE) + (lines(lower, room - 1, VALUE) if lower else 0))
        beneath, rest = shown(row.beneath), sum(columns[3:])
        if beneath:
            count = max(count, 1 + lines(beneath, rest - 1, VALUE))
        under = [shown(row.small)] if small else []
        under += [shown(note) for note in row.notes]
        height = count * 6.4 + 1.5 + sum(tall(text, sum(columns[1:]), SMALL) for text in under)
        entry = {"letter": row.letter, "cells": cells, "dials": list(row.dials), "beneath": beneath, "under": under}
        items.append(Item("row", height, entry))
    return items


def _with_rhythm(part: Part, text: str, notes: list[str]) -> tuple[str, list[str]]:
    """What the small print of the rows would have said: after the text, or as a note where the balls differ."""
    rhythms: dict[str, list[str]] = {}
    for row in part.rows:
        rhythms.setdefault(row.every, []).append(row.letter)
    if len(rhythms) == 1:
        return f"{text}, {shown(next(iter(rhythms)))}", notes
    return text, [shown("; ".join(f"{' '.join(used)} {every}" for every, used in rhythms.items())), *notes]


def _side(plan: Plan, part: Part, wide: float, brief: int, apart: bool = False) -> list[Item]:
    """Jobs, ladder, line and order, for beside the picture; `apart`: each strip of letters an item of its own."""
    items: list[Item] = []
    if plan.feeder.kind == "person" and brief < 2:
        text = shown(f"Stand {spot(plan)}; feed {HOW[plan.feeder.how].partition(' from')[0]}.")
        items.append(Item("text", tall(text, wide, SMALL) + 1.5, {"text": text}))
    climbing = {letter for ladder in part.rungs for letter, _ in ladder.rungs}
    for job in part.jobs:
        title = shown(f"{', '.join(job.letters)}: {job.title}")
        told = [] if brief == 2 else [f"when {job.when}" if job.when else "", job.reply]
        text = shown("; ".join(part for part in told if part))
        notes = [] if brief == 2 else [shown(note) for note in job.notes]
        names = shown(job.names) if brief == 1 else ""
        # On a ladder its own rule counts hits in a row, and one count is enough.
        wanted = 0 if climbing.issuperset(job.letters) else job.goal or 0
        hits = min(wanted, MOST_BOXES)
        goal = f"{wanted} in a row" if wanted else ""
        rows_ = ceil((27 + 2.6 * len(goal) + 5.7 * (hits + MISSES)) / wide) if hits else 0
        height = tall(title, wide, VALUE, True) + tall(text, wide, SMALL) + tall(names, wide, SMALL) + 7.4 * rows_ + 2.2
        height += sum(tall(note, wide, SMALL) for note in notes)
        entry = {
            "title": title,
            "text": text,
            "names": names,
            "goal": goal,
            "hits": hits,
            "misses": MISSES,
            "notes": notes,
        }
        items.append(Item("job", height, entry))
    for ladder in part.rungs:
        rungs = [[letter, shown(label)] for letter, label in ladder.rungs]
        boxes = min(ladder.boxes, MOST_BOXES)
        height = tall(ladder.rule, wide, VALUE) + 7.4 * len(rungs) + 2
        items.append(Item("ladder", height, {"text": ladder.rule, "rungs": rungs, "boxes": boxes}))
    if part.line:
        items.append(Item("line", tall(part.line, wide, VALUE) + 1.5, {"text": part.line}))
    for turn in part.rounds:
        if turn.label:
            items.append(Item("round", 7.5, {"text": turn.label}))
        for step in turn.steps:
            clock, text = ", ".join(step.clocks), shown(step.text)
            notes = [shown(note) for note in step.notes]
            if brief and step.kind == "balls" and plan.feeder.kind == "machine":
                text, notes = _with_rhythm(part, text, notes)
            height = tall(f"{clock}   {text}", wide, VALUE, True) + sum(tall(n, wide, SMALL) for n in notes) + 1.5
            letters_ = strips(step.order, wide, plan.player)
            first = letters_[:1] if apart else letters_
            entry = {"clock": clock, "text": text, "notes": notes, "strips": first}
            items.append(Item("step", height + 8.7 * len(first), entry))
            if apart:
                more = ({"clock": "", "text": "", "notes": [], "strips": [strip]} for strip in letters_[1:])
                items += [Item("step", 8.7, entry) for entry in more]
    if brief == 0:
        who = "the machine" if plan.feeder.kind == "machine" else "you"
        full = all(shot.predicted.landing_m is None for shot in plan.shots)
        lands = "Square frame, “full”: no bounce" if full else "Dot: lands (square frame, “full”: no bounce)"
        text = f"{lands}. Diamond: is met. Black square: {who}. Short dashes: land it inside; long: the reply."
        items.append(Item("legend", tall(text, wide, SMALL) + 2, {"text": text}))
    return items
