"""Pages of the feed sheet: which pieces are on which page and how large the picture is; no markup yet.

Values are 17 pt, letters of balls 22 pt bold, and nothing needed on court is under 14 pt: fluent reading needs 0.2
degrees of x-height (Legge & Bigelow, Journal of Vision 11(5), 2011), in glare and moving rather 0.3. Hidden characters
in the plan's text are made visible here, once, for every form of the sheet.
"""

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import product
from math import ceil
from typing import Any

from ....compiler.model.plan import Plan, Shot
from ....compiler.printable import plural, visible
from . import rows
from .court import court, size
from .fit import FOOT, KNOWN, PAPERS, SPARE, TOP, WIDTH, Item, lines, pack, tall, width
from .front import HOW, spot
from .letters import Letters, letters, listed
from .page import Sheet, SheetPart, SheetStep, VariationRow, sheet
from .strip import breadth, strips

LARGE = 1.2
SMALL, VALUE = 14.0, 17.0
COURTS = (150.0, 138.0, 126.0, 116.0, 106.0, 98.0, 90.0, 82.0, 74.0)
"""Heights of the picture, mm; the largest that fits counts."""
SHARED = tuple(height for height in COURTS if height < 100)
"""Of two pictures on one page."""
LETTER, PERSON, MACHINE = (12.0, 14.0), (60.4, 32.8, 42.8, 38.0), (121.0, 53.0)
"""Widths of columns, mm: of a letter without and with a number, of a person's cells, of a machine's."""
GUTTER = 1.5
"""Between columns, mm; it is part of their widths."""
LEAST_WORDS = 45.0
"""Room that words about a machine's ball need beside its settings, mm; with less room they go under them."""
APART, STRIP = 5.0, 8.7
"""Heights, mm: between two blocks on one page, and of a line of letters."""
MOST_BOXES, MISSES = 12, 3
ENDED = "Ended on rung ____"
_Look = tuple[int, bool, float]
"""How brief (0 all words, 1 no small print in the table, 2 no words on variations, 3 only settings in the table),
whether the order stands under the table, and the height of the picture."""
_UNIT = re.compile(r"(?<=\d) (?=(?:m|s|cm|min|km/h|mph|rpm|deg|balls?|rackets?|(?:and )?feed)\b)|(?<=\band) (?=feed\b)")
_KEEP = "\u00a0"  # a number stays with its unit, the end of a count together


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
    """Widths of a row's letter and cells, mm before scaling."""
    dials: tuple[float, ...]
    """Widths of a machine's settings, which stand over the cells, mm before scaling."""
    pages: tuple[tuple[Item, ...], ...]


@lru_cache(KNOWN)
def shown(text: str) -> str:
    return _UNIT.sub(_KEEP, visible(text))


def document(plan: Plan, paper: str = "a4", large: bool = False, date: str = "") -> Document:
    """The sheet on `paper` (a4 or letter), with the date if one is given."""
    page_width, page_height = PAPERS[paper]
    scale = LARGE if large else 1.0
    room, wide = page_height / scale - TOP - FOOT - SPARE, WIDTH / scale
    data = sheet(plan)
    longest = max((len(row.letter) for part in data.parts for row in part.rows), default=1)
    letter = LETTER[longest > 1] + 6.0 * max(longest - 2, 0)  # a family of ten and more needs room for its letters
    share = (wide - letter) / (WIDTH - LETTER[0])
    columns = (letter, *(cell * share for cell in (PERSON if plan.feeder.kind == "person" else MACHINE)))
    form = _Form(plan, letters(plan), wide, columns, _dials(plan, data, wide - letter))
    pages = _front(data, plan, wide, room)
    todo = [part for part in data.parts if part.rows]
    while todo:
        looks = [(brief, False, height) for brief in (0, 1) for height in SHARED]
        if len(todo) > 1 and (both := _whole(form, todo[:2], room, looks)):
            pages.append(both)
            del todo[:2]
        else:
            pages += _block(form, todo.pop(0), room)
    return Document(
        shown(data.program), data.digest[:12], shown(date), paper, scale, page_width, page_height, form.columns,
        form.dials, tuple(tuple(page) for page in pages),
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Form:
    """What is the same for all blocks of a sheet; widths in mm before scaling."""

    plan: Plan
    named: Letters
    wide: float
    columns: tuple[float, ...]
    dials: tuple[float, ...]

    def lettered(self, part: SheetPart) -> dict[str, list[Shot]]:
        return {row.letter: self.named.shots(row.letter, [shot.id for shot in self.plan.shots]) for row in part.rows}


def _dials(plan: Plan, data: Sheet, room: float) -> tuple[float, ...]:
    """Widths that the name, unit and values of each setting need, or equal widths if those do not fit."""
    values = [row.dials for part in data.parts for row in part.rows]
    wanted = tuple(
        max(width(name, SMALL), width(unit, SMALL), *(width(dials[n], VALUE) for dials in values)) + 1.8 * GUTTER
        for n, (name, unit) in enumerate(rows.dials(plan))
    )
    return wanted if sum(wanted) <= room else tuple(room / len(wanted) for _ in wanted)


def _front(data: Sheet, plan: Plan, wide: float, room: float) -> list[list[Item]]:
    """Who, where and the cautions, then the clock, on the same page if all of it fits there."""
    front = data.front
    items = [title(plan, wide)]
    items += [Item("text", tall(note, wide, SMALL) + 1, {"text": note}) for note in map(shown, front.notes)]
    items += [fact(label, text, wide) for label, text in front.facts]
    items.append(cautions(front.cautions, "Before the first ball", wide))
    clock = []
    for time, what, balls in front.clock:
        told = shown(what)
        entry = {"clock": time, "text": told, "balls": balls}
        clock.append(Item("clock", tall(told, wide - 52, SMALL) + 1.0, entry))
    pages = pack(items, room)
    if sum(item.height_mm for item in [*pages[-1], *clock]) > room:
        return [*pages, *pack(clock, room)]
    return [*pages[:-1], [*pages[-1], *clock]]


def title(plan: Plan, wide: float) -> Item:
    program, session = shown(plan.program), shown(plan.session)
    height = tall(program, wide, 24, True) + tall(session, wide, VALUE) + 3
    return Item("title", height, {"text": program, "under": session})


def fact(label: str, text: str, wide: float) -> Item:
    told = shown(text)
    return Item("fact", tall(told, wide - 30, SMALL) + 1.4, {"label": label, "text": told})


def cautions(texts: Sequence[str], head: str, wide: float) -> Item:
    told = [shown(text) for text in texts]
    return Item("cautions", sum(tall(text, wide - 13, SMALL) + 0.6 for text in told) + 15, {"text": head, "list": told})


def _whole(form: _Form, parts: Sequence[SheetPart], room: float, looks: Iterable[_Look]) -> list[Item] | None:
    """Whole blocks on one page, in the first look in which they fit; None if they fit in none."""
    for look in looks:
        used = sum(item.height_mm for part in parts for item in _arranged(form, part, look))
        if used + APART * (len(parts) - 1) <= room:
            return [item for part in parts for item in _arranged(form, part, look, drawn=True)]
    return None


def _block(form: _Form, part: SheetPart, room: float) -> list[list[Item]]:
    """One page if possible. To fit, it first leaves out the small print, then shrinks the picture and puts the order
    under the table, then leaves out the words on variations, and last everything in a machine's rows but the settings.
    Otherwise few pages, mostly two."""
    briefs = (0, 1, 2, 3) if form.dials else (0, 1, 2)
    looks = [(brief, apart, height) for brief in briefs for apart in (False, True) for height in COURTS]
    if whole := _whole(form, [part], room, looks):
        return [whole]
    again = Item("again", 11, {"text": f"Block {part.number}, continued"})
    best: list[list[Item]] = []
    for look, first, rest in _spreads(form, part, briefs):
        if sum(item.height_mm for item in first) > room:
            continue
        pages = pack([again, *rest], room, again)
        if not best or 1 + len(pages) < len(best):
            best = [[first[0], _band(form, part, look, drawn=True), *first[2:]], *pages]
        if len(best) == 2:
            return best
    flowing = pack(_arranged(form, part, looks[-1], drawn=True), room, again)
    return best if best and len(best) <= len(flowing) else flowing


def _spreads(form: _Form, part: SheetPart, briefs: Sequence[int]) -> Iterator[tuple[_Look, list[Item], list[Item]]]:
    """Two pages, the band only measured: what the player does, then the balls; or all but the order, then the order."""
    for variations, brief in product((0, 2), briefs):
        fed = [*_table(form, part, brief), *_order(form, part, brief)]
        for height in COURTS:
            look = (variations, True, height)
            yield look, [_head(part, form.wide), _band(form, part, look)], fed
    for brief in briefs:
        steps = _order(form, part, brief)
        for height in COURTS:
            look = (brief, True, height)
            yield look, _arranged(form, part, look)[: -len(steps)], steps


def _arranged(form: _Form, part: SheetPart, look: _Look, drawn: bool = False) -> list[Item]:
    brief, apart, _ = look
    steps = _order(form, part, brief) if apart else []
    return [_head(part, form.wide), _band(form, part, look, drawn), *_table(form, part, brief), *steps]


def _band(form: _Form, part: SheetPart, look: _Look, drawn: bool = False) -> Item:
    """The picture, drawn or only measured, and the words beside it."""
    brief, apart, height = look
    lettered = form.lettered(part)
    across, down = size(form.plan, [shot for shots in lettered.values() for shot in shots], height)
    beside = _variations(form, part, form.wide - across - 5, brief)
    if not apart:
        beside += _steps(form, part, form.wide - across - 5, brief)
    if brief == 0:
        beside.append(_legend(form.plan, form.wide - across - 5))
    side = [{"kind": item.kind, **item.data} for item in beside]
    svg = court(form.plan, lettered, height)[0] if drawn else ""
    tallest = max(down, sum(item.height_mm for item in beside)) + 2
    return Item("band", tallest, {"svg": svg, "width": across, "height": down, "side": side})


def _head(part: SheetPart, wide: float) -> Item:
    script = shown(part.script)
    balls = plural(part.balls, "ball")
    text = f"Block {part.number} · {part.starts} to {part.ends} · {balls}"
    return Item("head", 11.0 + tall(script, wide, SMALL), {"text": text, "under": script})


def _table(form: _Form, part: SheetPart, brief: int) -> list[Item]:
    cells_mm = form.columns[1:]
    body = sum(cells_mm)
    dials = [(shown(name), shown(unit)) for name, unit in rows.dials(form.plan)]
    height = 7.2 if brief < 3 else 1.5
    for line in zip(*dials, strict=True):
        height += max(tall(text, mm - GUTTER, SMALL) for text, mm in zip(line, form.dials, strict=True))
    items = [Item("heads", height, {"cells": list(rows.heads(form.plan)) if brief < 3 else [], "dials": dials})]
    for row in part.rows:
        cells = [[shown(upper), shown(lower)] for upper, lower in row.cells] if brief < 3 else []
        count = max(
            (
                lines(upper, mm - GUTTER, VALUE) + (lines(lower, mm - GUTTER, VALUE) if lower else 0)
                for (upper, lower), mm in zip(cells, cells_mm, strict=False)
            ),
            default=0,
        )
        spin, rest = shown(row.spin), body - sum(form.dials)
        beside = rest >= LEAST_WORDS
        if dials:
            count += lines(spin, rest, VALUE) if beside else 1 + lines(spin, body, VALUE)
        under = [shown(row.small)] if brief < 1 else []
        under += [shown(note) for note in row.notes]
        height = count * 6.4 + 1.5 + sum(tall(text, body, SMALL) for text in under)
        entry = {"letter": row.letter, "cells": cells, "dials": list(row.dials), "spin": spin, "beside": beside}
        items.append(Item("row", height, entry | {"under": under}))
    return items


def _with_rhythm(part: SheetPart, step: SheetStep, text: str, notes: list[str]) -> tuple[str, list[str]]:
    """Adds the rhythm that the small print leaves out: after the text, or as a note if the step's balls differ."""
    rhythms: dict[str, list[str]] = {}
    for row in part.rows:
        if row.letter in step.order or not step.order:
            rhythms.setdefault(row.every, []).append(row.letter)
    if len(rhythms) == 1:
        return f"{text}, {shown(next(iter(rhythms)))}", notes
    return text, [shown("; ".join(f"{listed(used)} {every}" for every, used in rhythms.items())), *notes]


def _variations(form: _Form, part: SheetPart, wide: float, brief: int) -> list[Item]:
    """Where to stand, variations, ladders and the line."""
    plan = form.plan
    items: list[Item] = []
    if plan.feeder.kind == "person" and brief < 2:
        text = shown(f"Stand {spot(plan)}; feed {HOW[plan.feeder.how].partition(' from')[0]}.")
        items.append(Item("text", tall(text, wide, SMALL) + 1.5, {"text": text}))
    climbing = {letter for ladder in part.rungs for letter, _ in ladder.rungs}
    for entry in part.variations:
        told = [] if brief >= 2 else [f"when {entry.when}" if entry.when else "", entry.reply]
        names = entry.names if brief == 1 else ""
        # A ladder's own rule counts hits in a row, and one count is enough.
        entry = replace(entry, goal=None) if climbing.issuperset(entry.letters) else entry
        items.append(variation(entry, wide, "; ".join(filter(None, told)), names, () if brief >= 2 else entry.notes))
    for ladder in part.rungs:
        rungs = [[letter, shown(label)] for letter, label in ladder.rungs]
        boxes = min(ladder.boxes, MOST_BOXES)
        height = tall(ladder.rule, wide, VALUE) + 7.4 * len(rungs) + 2
        items.append(Item("ladder", height, {"text": ladder.rule, "rungs": rungs, "boxes": boxes}))
        items.append(Item("text", tall(ENDED, wide, SMALL) + 1.5, {"text": ENDED}))
    for point in part.points:
        data = {"text": point.rule, "rungs": [["", shown(point.name)]], "boxes": min(point.points, MOST_BOXES)}
        items.append(Item("ladder", tall(point.rule, wide, VALUE) + 7.4 + 2, data))
    if part.line:
        items.append(Item("line", tall(part.line, wide, VALUE) + 1.5, {"text": part.line}))
    return items


def _legend(plan: Plan, wide: float) -> Item:
    who = "the machine" if plan.feeder.kind == "machine" else "you"
    full = all(shot.predicted.landing_m is None for shot in plan.shots)
    lands = "Square frame, “full”: no bounce" if full else "Dot: landing (square frame, “full”: no bounce)"
    text = f"{lands}. Diamond: contact. Black square: {who}. Short dashes: land it inside; long: the reply."
    return Item("legend", tall(text, wide, SMALL) + 2, {"text": text})


def _steps(form: _Form, part: SheetPart, wide: float, brief: int) -> list[Item]:
    items: list[Item] = []
    for turn in part.rounds:
        if turn.label:
            items.append(Item("round", 7.5, {"text": turn.label}))
        items += [_step(form, part, step, wide, brief) for step in turn.steps]
    return items


def _order(form: _Form, part: SheetPart, brief: int) -> list[Item]:
    """The steps under the table, with each line of letters as a separate item."""
    items: list[Item] = []
    for item in _steps(form, part, form.wide, brief):
        more = item.data.get("strips", [])[1:]
        first = item.data | {"strips": item.data["strips"][:1]} if more else item.data
        items.append(Item(item.kind, item.height_mm - STRIP * len(more), first))
        items += [strip_alone(strip) for strip in more]
    return items


def variation(entry: VariationRow, wide: float, told: str, names: str, notes: Sequence[str]) -> Item:
    """A variation with its letters, the boxes for its goal, and the words that are given."""
    head = shown(f"{listed(entry.letters)}: {entry.title}")
    small = [shown(told), shown(names), *(shown(note) for note in notes)]
    hits = min(entry.goal or 0, MOST_BOXES)
    goal = f"{entry.goal} in a row" if entry.goal else ""
    ticks = ceil((27 + 2.6 * len(goal) + 5.7 * (hits + MISSES)) / wide) if hits else 0
    height = tall(head, wide, VALUE, True) + sum(tall(text, wide, SMALL) for text in small) + 7.4 * ticks + 2.2
    data = {"title": head, "texts": [text for text in small if text], "goal": goal, "hits": hits, "misses": MISSES}
    return Item("variation", height, data)


def _step(form: _Form, part: SheetPart, step: SheetStep, wide: float, brief: int) -> Item:
    """When to do what, with the order of the balls: beside the text if it is one short line."""
    clock, text = ", ".join(step.clocks), shown(step.text)
    notes = [shown(note) for note in step.notes]
    if brief and step.kind == "balls" and form.plan.feeder.kind == "machine":
        text, notes = _with_rhythm(part, step, text, notes)
    order = strips(step.order, wide, form.plan.player, step.groups) if len(set(step.order)) > 1 else []
    beside = len(order) == 1 and width(f"{clock}   {text}", VALUE, True) + 4 + breadth(order[0]) <= wide
    height = sum(tall(note, wide, SMALL) for note in notes) + STRIP * len(order)
    height += 0.0 if beside else tall(f"{clock}   {text}", wide, VALUE, True) + 1.5
    return Item("step", height, {"clock": clock, "text": text, "notes": notes, "strips": order, "beside": beside})


def strip_alone(strip: list[dict[str, Any]]) -> Item:
    return Item("step", STRIP, {"clock": "", "text": "", "notes": [], "strips": [strip], "beside": False})
