"""The balls on the feed sheet: a picture for each variation with its words, two beside each other, and the table."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, TypeVar

from ....compiler.model.plan import Plan
from ....compiler.printable import visible
from ..court.pictures import CourtPicture, pictures
from ..court.svg import Drawing, draw
from . import rows
from .fit import KNOWN, Chunk, Item, breaking, lines, tall, width
from .letters import Letters, listed, of
from .page import VariationRow
from .rows import Row, met

SMALL, VALUE = 14.0, 17.0
MACHINE, PERSON = 0.695, (0.347, 0.188, 0.246, 0.219)
"""Shares of the cells of a row, the first where the ball lands."""
LEAST_LANDS, MOST_HIGH = 44.0, 34.0
"""Room for where a ball lands, and for heights, of which a range may take two lines, mm."""
TERSE = 4
"""As `brief`: no names of balls, no clock on the first page, and headings of blocks that say how their balls come."""
Cell = TypeVar("Cell")
Drawn = tuple[CourtPicture, Drawing]
GUTTER = 1.5
"""Between columns, mm; it is part of their widths."""
HYPHEN = "\u00ad"
"""Shown only where a name is broken."""
BETWEEN = 4.0
"""Between two pictures, or a picture and its words, mm."""
MOST_WORDS = 0.6
"""Height of the words under or beside a picture, as a share of the page's width; more of them stand by themselves."""
LEAST_WORDS = 45.0
"""Room that words about a machine's ball need beside its settings, mm; with less room they go under them."""


@dataclass(frozen=True, slots=True)
class Form:
    """What is the same for all pieces of a sheet; widths in mm before scaling."""

    plan: Plan
    named: Letters
    wide: float
    scale: float
    columns: tuple[float, ...]
    dials: tuple[float, ...]
    kept: tuple[int, ...]
    """The settings in the table; the others stand once above it."""

    @property
    def machine(self) -> bool:
        return self.plan.feeder.kind == "machine"


@lru_cache(KNOWN)
def shown(text: str) -> str:
    return breaking(visible(text))


def panels(
    form: Form, picked: Iterable[Drawn], rows_: Iterable[VariationRow], brief: int
) -> list[tuple[list[Chunk], tuple[str, ...]]]:
    """A picture for each variation, with its words where it comes first. Two stand side by side if they fit; a last
    one has its words at its side. With them come the letters of their balls. `brief` 1 adds the names that the table
    leaves out, 3 leaves out the reply's numbers, `TERSE` those names too."""
    entries = list({entry.id: entry for entry in rows_}.values())
    told: set[str] = set()
    made: list[tuple[Drawing, dict[str, Any], tuple[str, ...]]] = []
    for picture, drawing in picked:
        name = picture.variation.id if picture.variation else ""
        entry = next((entry for entry in entries if entry.id == name), None)
        made.append((drawing, _words(form, picture, entry if name not in told else None, brief), picture.letters))
        told.add(name)
    found: list[tuple[list[Chunk], tuple[str, ...]]] = []
    most = MOST_WORDS * form.wide
    column = half(form.wide)
    while made:
        aside: list[str] = []
        for _, words, _ in made[:2]:
            if _tall(words, column) > most:
                aside, words["texts"] = [*aside, *words["texts"]], []
        paired = len(made) > 1 and all(drawing.width <= column for drawing, *_ in made[:2])
        these, made = made[: 1 + paired], made[1 + paired :]
        height = max(drawing.height for drawing, *_ in these)
        if paired:
            height += max(_tall(words, column) for _, words, _ in these)
        else:
            height = max(height, _tall(these[0][1], form.wide - these[0][0].width - BETWEEN))
        data = {"panels": [_panel(drawing, words) for drawing, words, _ in these], "beside": not paired}
        chunks = [Chunk((Item("panels", height + BETWEEN, data),))]
        chunks += [Chunk((Item("text", tall(text, form.wide, SMALL) + 1, {"text": text}),)) for text in aside]
        found.append((chunks, tuple(letter for *_, letters in these for letter in letters)))
    return found


def _words(form: Form, picture: CourtPicture, entry: VariationRow | None, brief: int) -> dict[str, Any]:
    letters = of(listed(picture.letters), picture.player)
    if entry is None:
        title = picture.variation.title or picture.variation.id if picture.variation else ""
        return {"title": shown(f"{letters}: {title}" if title else letters), "texts": []}
    asked = "; ".join(filter(None, [f"when {entry.when}" if entry.when else "", entry.reply if brief < 3 else ""]))
    goal = f"Goal: {entry.goal} in a row." if entry.goal else ""
    texts = [f"{asked}." if asked else "", " ".join([*entry.notes, goal]).strip()]
    if 0 < brief < TERSE:
        names: dict[str, list[str]] = {}
        for letter in picture.letters:
            (shot, *_) = form.named.shots(letter, list(form.named.of))
            names.setdefault(shot.feed, []).append(letter)
        named = "; ".join(f"{listed(used)} {name}" for name, used in names.items())
        texts.append(f"{named}. Met at {met(picture.shots)} m.")
    texts = [" ".join(filter(None, texts))] if brief >= 3 else list(filter(None, texts))
    return {"title": shown(f"{letters}: {entry.title}"), "texts": [shown(text) for text in texts]}


def _tall(words: dict[str, Any], room: float) -> float:
    return tall(words["title"], room, VALUE, True) + sum(tall(text, room, SMALL) for text in words["texts"]) + 1.0


def _panel(drawing: Drawing, words: dict[str, Any]) -> dict[str, Any]:
    return {"svg": drawing.svg, "width": drawing.width, "height": drawing.height, **words}


def legend(form: Form) -> Chunk:
    who = "machine" if form.plan.feeder.kind == "machine" else "you"
    bounces = any(shot.predicted.landing_m for shot in form.plan.shots)
    full = any(shot.predicted.landing_m is None for shot in form.plan.shots)
    lands = ["dot: landing"] * bounces + ["square frame: on the full"] * full
    text = ", ".join([*lands, "diamond: contact", f"black: {who}", "short dashes: zone", "long: reply"])
    text = f"{text[0].upper()}{text[1:]}"
    return Chunk((Item("text", tall(text, form.wide, SMALL) + 2, {"text": text}),))


def table(form: Form, shown_rows: Sequence[Row], brief: int, first: bool) -> list[Chunk]:
    """A row for each letter; above the `first` ones what is the same for all. `brief` 1 leaves out the small print, 2
    all but a machine's settings and the spin, from 3 on it sets two rows of settings side by side. Headings come again
    on the next page, where at least two rows go on."""
    twice = brief >= 3 and form.columns[0] + sum(form.dials) <= half(form.wide) and len(shown_rows) > 1
    heads, items = _heads(form, brief, twice), [_row(form, row, brief, twice) for row in shown_rows]
    if twice:
        pairs = [items[n : n + 2] for n in range(0, len(items), 2)]
        items = [Item("rows", max(i.height_mm for i in pair), {"rows": [i.data for i in pair]}) for pair in pairs]
    groups: list[tuple[Item, ...]] = [(item,) for item in items]
    if len(groups) > 1:
        groups[-2:] = [groups[-2] + groups[-1]]
    if len(groups) > 1:
        groups[:2] = [groups[0] + groups[1]]
    groups[0] = (*(_above(form, shown_rows[0], twice) if first else ()), heads, *groups[0])
    return [Chunk(group, (heads,) if n else ()) for n, group in enumerate(groups)]


def _above(form: Form, row: Row, twice: bool) -> list[Item]:
    """What stands in no row: the settings that are the same for all balls, and whose the balls are."""
    named = rows.dials(form.plan)
    told = [f"{named[n][0]} {row.dials[n]} {named[n][1]}" for n in range(len(named)) if n not in form.kept]
    texts = [f"For all balls: {', '.join(told)}."] if told else []
    if twice and row.who:
        of: dict[str, list[str]] = {}
        for shot in form.plan.shots:
            of.setdefault(shot.player or "", []).append(form.named.of[shot.id])
        texts.append("; ".join(f"{who}: {form.named.short(used)}" for who, used in of.items()) + ".")
    text = shown(" ".join(texts))
    return [Item("text", tall(text, form.wide, SMALL) + 1, {"text": text})] if text else []


def side_by_side(cells: Sequence[Cell], columns: int = 2) -> list[list[Cell]]:
    """The lines of some columns, the left one first."""
    count = -(-len(cells) // columns)
    return [list(cells[n::count]) for n in range(count)]


def _heads(form: Form, brief: int, twice: bool) -> Item:
    named = rows.dials(form.plan)
    dials = [(shown(named[n][0]), shown(named[n][1])) for n in form.kept]
    if twice:
        dials = [(HYPHEN.join(_parts(name)), unit) for name, unit in dials]
    height, air = 7.2 + 1.2 * bool(dials) if brief < 2 else 1.5, 0.0 if brief >= 3 else GUTTER
    for line in zip(*dials, strict=True):
        height += max(tall(text, mm - air, SMALL, True) for text, mm in zip(line, form.dials, strict=True))
    return Item("heads", height, {"cells": _cells(form, brief), "dials": dials, "twice": twice})


def _cells(form: Form, brief: int) -> list[str]:
    return list(rows.heads(form.plan)) if brief < 2 else []


def _row(form: Form, row: Row, brief: int, twice: bool) -> Item:
    cells_mm = form.columns[1:]
    body = half(form.wide) - form.columns[0] if twice else sum(cells_mm)
    cells = [[shown(upper), shown(lower)] for upper, lower in row.cells] if brief < 2 else []
    count = max(
        (
            lines(upper, mm - GUTTER, VALUE) + (lines(lower, mm - GUTTER, VALUE) if lower else 0)
            for (upper, lower), mm in zip(cells, cells_mm, strict=False)
        ),
        default=0,
    )
    spin, rest = "" if twice else shown(row.spin), body - sum(form.dials)
    beside = rest >= LEAST_WORDS or twice
    if form.machine:
        count += 1 if not spin else lines(spin, rest, VALUE) if beside else 1 + lines(spin, body, VALUE)
    told = row.told[1:] if twice and row.who else row.told  # whose it is stands above the table
    under = [shown(row.small if brief < 1 else " · ".join(told))] if brief < 1 or told else []
    under += [shown(note) for note in row.notes]
    height = count * 6.4 + 1.5 + sum(tall(text, body, SMALL) for text in under)
    entry = {
        "letter": row.letter,
        "cells": cells,
        "dials": [row.dials[n] for n in form.kept],
        "spin": spin,
        "beside": beside,
    }
    return Item("row", height, entry | {"under": under})


def varied(plan: Plan, shown_rows: Sequence[Row]) -> tuple[int, ...]:
    """The settings that are not the same for all balls."""
    return tuple(n for n in range(len(rows.dials(plan))) if len({row.dials[n] for row in shown_rows}) > 1)


def cell_widths(plan: Plan, shown_rows: Sequence[Row], room: float) -> tuple[float, ...]:
    """Widths of the cells: each has what its longest line needs, and the first one the rest. They have fixed shares for
    a machine, and if too little is left for the first."""
    if plan.feeder.kind == "machine":
        return (MACHINE * room, (1 - MACHINE) * room)
    needed = [
        [width(head, SMALL, True) + GUTTER]
        + [width(shown(line), VALUE) + GUTTER for row in shown_rows for line in row.cells[n]]
        for n, head in enumerate(rows.heads(plan))
        if n
    ]
    wanted = [max(cells) for cells in needed]
    wanted[0] = max((cell for cell in needed[0] if cell <= MOST_HIGH), default=MOST_HIGH)
    rest = room - sum(wanted)
    if rest < LEAST_LANDS:  # a heading stays on its line
        wanted = [max(share * room, cells[0]) for share, cells in zip(PERSON[1:], needed, strict=True)]
        rest = room - sum(wanted)
    return (rest, *wanted)


def dial_widths(
    plan: Plan, shown_rows: Sequence[Row], room: float, only: Sequence[int] | None = None, letter: float = 0.0
) -> tuple[float, ...]:
    """Widths that the name, unit and values of each setting need, or equal widths if those do not fit; of `only` some,
    with less air, and with names on two lines if two rows then stand side by side."""
    named = rows.dials(plan)
    tries = []
    for broken in (False, True)[: 1 if only is None else 2]:
        tries.append(
            tuple(
                max(
                    *(width(part, SMALL, True) for part in (_parts(named[n][0], "-") if broken else [named[n][0]])),
                    width(named[n][1], SMALL, True),
                    *(width(row.dials[n], VALUE) for row in shown_rows),
                )
                + (1.8 if only is None else 0.5) * GUTTER
                for n in (range(len(named)) if only is None else only)
            )
        )
    beside = half(room + letter) - letter
    for one in tries:
        if only is not None and sum(one) <= beside:
            return tuple(mm + (beside - sum(one)) / len(one) for mm in one)  # numbers side by side need air
    wanted = tries[0]
    return wanted if sum(wanted) <= room else tuple(room / len(wanted) for _ in wanted)


def half(wide: float) -> float:
    """Width of one of two columns."""
    return (wide - BETWEEN) / 2


def _parts(name: str, end: str = "") -> list[str]:
    """The name of a setting, broken before `spin` as in topspin."""
    return [f"{name[:-4]}{end}", name[-4:]] if name.endswith("spin") and len(name) > 4 else [name]


def drawn(plan: Plan, named: Letters, wanted: Iterable[str], scale: float) -> list[Drawn]:
    """The pictures of some letters. Placing their labels is most of the work of a sheet, and no try of a layout
    changes them."""
    letters = set(wanted)
    picked = pictures(plan, named, [shot for shot, letter in named.of.items() if letter in letters])
    return [(picture, draw(plan, picture, scale)) for picture in picked]
