"""The balls on the feed sheet: a picture for each variation with its words, two beside each other, and the table."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any, TypeVar

from ....compiler.model.plan import Plan
from ....compiler.printable import visible
from ..court.pictures import CourtPicture, joined, pictures
from ..court.svg import Drawing, draw
from . import rows
from .fit import EXACT, HYPHEN, KNOWN, Chunk, Item, breaking, lines, tall, width
from .letters import Letters, listed, of
from .page import VariationRow
from .rows import Row, met
from .words import quoted

SMALL, VALUE = 14.0, 17.0
MACHINE = 0.695
"""Share of the first cell of a machine's row, where the ball lands."""
LEAST_LANDS, LEAST_SPIN, MOST = 44.0, 29.0, (35.5, 45.0, 60.0)
"""Least room for where a ball lands and for its spin, and the most for its height, its spin and its count, of which
longer ones take two lines, mm."""
TERSE = 4
"""As `brief`: no names of balls, no clock on the first page, and headings of blocks that say how their balls come."""
BARE = 5
"""The same without the heights of contacts under the pictures."""
UNFLOWN = 6
"""The same without the places where a machine's balls land."""
NAMED = 7
"""The same with no place of replies on the first page but those that have a name."""
LEAST = 8
"""The same without these."""
Cell = TypeVar("Cell")
Drawn = tuple[CourtPicture, Drawing]
GUTTER = 1.5
"""Between columns, mm; it is part of their widths."""
ASIDE = 3.0
"""The same between the cells of a row, which are words."""
CLOSE, CLEAR, AIRY = 0.75, 1.8, 2.7
"""After the numbers of settings: at least, beside one more column, and with room for all, mm."""
MET = ("met", "m")
"""Name and unit of the height of the contact, in a column."""
BETWEEN = 4.0
"""Between two pictures, or a picture and its words, mm."""
MOST_WORDS = 0.6
"""Height of the words under or beside a picture, as a share of the page's width; more of them stand by themselves."""
LETTERED = 6.6
"""Height of the letter of a ball, mm."""
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
    kept: tuple[int, ...]
    """The settings in the table; the others stand once above it."""
    met: bool = False
    """Whether the table has the height of the contact beside the settings."""
    dials: tuple[float, ...] = ()

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
        made.append((drawing, _words(form, picture, entry, name in told, brief), picture.letters))
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


def _words(form: Form, picture: CourtPicture, entry: VariationRow | None, told: bool, brief: int) -> dict[str, Any]:
    """What the player does with its balls, or where that was `told` above, what it is called."""
    letters = of(listed(picture.letters), picture.player)
    heights = [f"Met at {met(picture.shots)} m."] if 0 < brief < BARE and not form.met else []
    heights = [_flight(form, picture), *heights] if form.machine and 2 <= brief < UNFLOWN else heights
    if entry is None or told:
        return {"title": shown(f"{letters}: {entry.title}" if entry else letters), "texts": heights}
    asked = "; ".join(filter(None, [f"when {entry.when}" if entry.when else "", entry.reply if brief < 3 else ""]))
    goal = f"Goal: {entry.goal.words}." if entry.goal else ""
    texts = [f"{asked}." if asked else "", " ".join([*entry.notes, goal]).strip()]
    if 0 < brief < TERSE:
        names: dict[str, list[str]] = {}
        for letter in picture.letters:
            (shot, *_) = form.named.shots(letter, list(form.named.of))
            names.setdefault(shot.feed, []).append(letter)
        named = "; ".join(f"{listed(used)} {quoted(name)}" for name, used in names.items())
        heights = [f"{named}. {' '.join(heights)}"]
    texts = [text for text in (*texts, *heights) if text]
    texts = [" ".join(texts)] if brief >= 3 else texts
    return {"title": shown(f"{letters}: {entry.title}"), "texts": [shown(text) for text in texts]}


def _flight(form: Form, picture: CourtPicture) -> str:
    """Where its balls land and how high they come over the net, where the table leaves that out: to compare with what a
    machine throws."""
    shots = list(picture.shots)
    depth, over = rows.lands(form.plan, shots)[0], rows.high(form.plan, shots)
    where = f"On the full{depth.removeprefix('full')}" if depth.startswith("full, ") else f"Lands {depth}"
    return f"{where}, {f'{over[1]} over the net' if over[1] else over[0]}."


def _tall(words: dict[str, Any], room: float) -> float:
    return tall(words["title"], room, VALUE, True) + sum(tall(text, room, SMALL) for text in words["texts"]) + 1.0


def _panel(drawing: Drawing, words: dict[str, Any]) -> dict[str, Any]:
    return {"svg": drawing.svg, "width": drawing.width, "height": drawing.height, **words}


def legend(form: Form) -> Chunk:
    who = "machine" if form.plan.feeder.kind == "machine" else "you"
    bounces = any(shot.predicted.landing_m for shot in form.plan.shots)
    full = any(shot.predicted.landing_m is None for shot in form.plan.shots)
    lands = ["dot: lands"] * bounces + ["square frame: on the full, within arms"] * full
    screened = any(one.screen for one in (form.plan.feeder, *form.plan.feeder.elsewhere))
    bar = ["bar: screen"] * screened
    text = ", ".join([*lands, "diamond: met", f"black: {who}", *bar, "dashes: zone", "dash-dot: reply"])
    text = f"{text[0].upper()}{text[1:]}"
    return Chunk((Item("text", tall(text, form.wide, SMALL) + 2, {"text": text}),))


def table(form: Form, shown_rows: Sequence[Row], brief: int, first: bool) -> list[Chunk]:
    """A row for each letter; above the `first` ones what is the same for all. `brief` 1 leaves out the small print, 2
    all but a machine's settings and the spin, from 3 on it sets two rows of settings side by side. Headings come again
    on the next page, where at least two rows go on."""
    twice = brief >= 3 and form.columns[0] + sum(form.dials) <= half(form.wide) + EXACT and len(shown_rows) > 1
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
    if form.met and texts:
        texts.append("Met: the height at contact.")
    text = shown(" ".join(texts))
    return [Item("text", tall(text, form.wide, SMALL) + 1, {"text": text})] if text else []


def side_by_side(cells: Sequence[Cell], columns: int = 2) -> list[list[Cell]]:
    """The lines of some columns, the left one first."""
    count = -(-len(cells) // columns)
    return [list(cells[n::count]) for n in range(count)]


def _heads(form: Form, brief: int, twice: bool) -> Item:
    named = rows.dials(form.plan)
    dials = [(shown(name), shown(unit)) for name, unit in (*(named[n] for n in form.kept), *[MET] * form.met)]
    if twice:
        dials = [(HYPHEN.join(_parts(name)), unit) for name, unit in dials]
    height, air = 7.2 + 1.2 * bool(dials) if brief < 2 else 1.5, 0.0 if brief >= 3 else GUTTER
    for line in zip(*dials, strict=True):
        height += max(tall(text, mm - air, SMALL, True) for text, mm in zip(line, form.dials, strict=True))
    return Item("heads", height, {"cells": _cells(form, brief), "dials": dials, "twice": twice})


def _cells(form: Form, brief: int) -> list[str]:
    """Those of a machine stand under its settings, which have heads of their own."""
    first, *others = rows.heads(form.plan)[: len(form.columns) - 1]
    return [f"second line: {first}" if form.machine else first, *others] if brief < 2 else []


def _row(form: Form, row: Row, brief: int, twice: bool) -> Item:
    cells_mm = form.columns[1:]
    body = half(form.wide) - form.columns[0] if twice else sum(cells_mm)
    cells = [[shown(upper), shown(lower)] for upper, lower in row.cells[: len(cells_mm)]] if brief < 2 else []
    count = _deep(cells, cells_mm)
    spin, rest = "" if twice or row.like else shown(row.spin), body - sum(form.dials)
    beside = rest >= LEAST_WORDS or twice
    if form.machine:
        count += 1 if not spin else lines(spin, rest, VALUE) if beside else 1 + lines(spin, body, VALUE)
    told = row.told[1:] if twice and row.who else row.told  # whose it is stands above the table
    small = row.small if brief < 1 else " · ".join(told)
    under = [shown(" · ".join(filter(None, (*map(_counted, row.cells[len(cells_mm) :]), small))))]
    under = [text for text in under if text]
    under += [shown(note) for note in row.notes]
    height = max(count * 6.4, LETTERED) + 1.5 + sum(tall(text, body, SMALL) for text in under)
    entry = {
        "letter": row.letter,
        "cells": cells,
        "dials": [] if row.like else [*(row.dials[n] for n in form.kept), *[row.met] * form.met],
        "like": f"as {row.like}{f', met at {row.met} m' * form.met}" if row.like else "",
        "spin": spin,
        "beside": beside,
    }
    return Item("row", height, entry | {"under": under})


def _counted(cell: rows.Cell) -> str:
    """The count in words, where it has no cell."""
    told = ", ".join(filter(None, cell))
    return f"count {told}" if cell[1] else told


def varied(plan: Plan, shown_rows: Sequence[Row]) -> tuple[int, ...]:
    """The settings that are not the same for all balls."""
    return tuple(n for n in range(len(rows.dials(plan))) if len({row.dials[n] for row in shown_rows}) > 1)


def cell_widths(plan: Plan, shown_rows: Sequence[Row], room: float) -> tuple[float, ...]:
    """Widths of the cells: each has what its longest line needs, and the first one the rest. If too little is left for
    that one, the count has no cell and stands under the others; the spin takes two lines where that saves others. A
    machine's cells have fixed shares."""
    if plan.feeder.kind == "machine":
        return (MACHINE * room, (1 - MACHINE) * room)
    needed = [
        [width(head, SMALL, True) + ASIDE]
        + [width(shown(line), VALUE) + ASIDE for row in shown_rows for line in row.cells[n]]
        for n, head in enumerate(rows.heads(plan))
        if n
    ]
    wanted = [max((mm for mm in cells if mm <= most), default=most) for cells, most in zip(needed, MOST, strict=True)]
    if room - sum(wanted) < LEAST_LANDS:
        del wanted[-1]

    def tried(spin_mm: float) -> tuple[float, ...]:
        over_mm, _, *count_mm = wanted
        return (room - over_mm - spin_mm - sum(count_mm), over_mm, spin_mm, *count_mm)

    spins = sorted({wanted[1], *(mm for mm in (LEAST_SPIN, *needed[1]) if LEAST_SPIN <= mm <= wanted[1])}, reverse=True)
    return min(map(tried, spins), key=lambda widths: _lines(shown_rows, widths))


def _lines(shown_rows: Sequence[Row], widths: tuple[float, ...]) -> int:
    """How many lines the cells of all rows take."""
    return sum(_deep([(shown(upper), shown(lower)) for upper, lower in row.cells], widths) for row in shown_rows)


def _deep(cells: Sequence[Sequence[str]], widths: Sequence[float]) -> int:
    """Lines of the deepest cell of a row."""
    return max(
        (
            lines(upper, mm - ASIDE, VALUE) + (lines(lower, mm - ASIDE, VALUE) if lower else 0)
            for (upper, lower), mm in zip(cells, widths, strict=False)
        ),
        default=0,
    )


def with_dials(form: Form, shown_rows: Sequence[Row], room: float, close: bool, met: bool) -> Form:
    """With the widths that the name, unit and values of each setting need, or equal ones if those do not fit. If they
    stand `close`, names take two lines where two rows then stand side by side; and the height of the contact, if it is
    wanted, has a column where two rows still do."""
    beside = half(room + form.columns[0]) - form.columns[0]
    for with_met in (True, False)[not met :]:
        made = replace(form, met=with_met)
        for broken in (False, True)[: 1 + close]:
            needed = _needed(made, shown_rows, broken)
            air = (beside - sum(needed)) / max(len(needed), 1)  # numbers side by side need it
            if close and air >= (CLEAR if with_met else CLOSE):
                return replace(made, dials=tuple(mm + air for mm in needed))
    wanted = tuple(mm + AIRY for mm in _needed(form, shown_rows, broken=False))
    return replace(form, dials=wanted if sum(wanted) <= room else tuple(room / len(wanted) for _ in wanted))


def _needed(form: Form, shown_rows: Sequence[Row], broken: bool) -> list[float]:
    named = rows.dials(form.plan)
    columns = [(*named[n], [row.dials[n] for row in shown_rows]) for n in form.kept]
    columns += [(*MET, [row.met for row in shown_rows])] * form.met
    return [
        max(
            *(width(part, SMALL, True) for part in (_parts(name, "-") if broken else [name])),
            width(unit, SMALL, True),
            *(width(value, VALUE) for value in values),
        )
        for name, unit, values in columns
    ]


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
    made = [joined(picture, named) for picture in picked]
    return [(picture, draw(plan, picture, scale, cut=True)) for picture in made]
