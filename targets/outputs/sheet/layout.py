"""Pages of the feed sheet: which pieces are on which page; no markup yet. First who, where and the cautions, then the
balls with their pictures, then the session by the clock.

Values are 17 pt, letters of balls 22 pt bold, and nothing needed on court is under 14 pt: fluent reading needs 0.2
degrees of x-height (Legge & Bigelow, Journal of Vision 11(5), 2011), in glare and moving rather 0.3. Hidden characters
in the plan's text are made visible here, once, for every form of the sheet.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from ....compiler.model.plan import Plan
from .fit import FOOT, PAPERS, SPARE, TOP, WIDTH, Chunk, Item, flow, tall
from .letters import letters
from .page import Sheet, sheet
from .panels import SMALL, VALUE, Drawn, Form, dial_widths, drawn, legend, panels, shown, table, varied
from .play import block

LARGE = 1.2
FEW = 5
"""As many pages as a feeder can keep at hand (our own choice); with more of them small print is left out."""
WHOLE = 0.45
"""A block lower than this share of a page is not broken, unless that saves a page."""
LETTER, PERSON, MACHINE = (12.0, 14.0), (60.4, 32.8, 42.8, 38.0), (121.0, 53.0)
"""Widths of columns, mm: of a letter without and with a number, of a person's cells, of a machine's."""


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


def document(plan: Plan, paper: str = "a4", large: bool = False, date: str = "") -> Document:
    """The sheet on `paper` (a4 or letter), with the date if one is given."""
    page_width, page_height = PAPERS[paper]
    scale = LARGE if large else 1.0
    room, wide = page_height / scale - TOP - FOOT - SPARE, WIDTH / scale
    data = sheet(plan)
    longest = max((len(row.letter) for row in data.rows), default=1)
    letter = LETTER[longest > 1] + 6.0 * max(longest - 2, 0)  # a family of ten and more needs room for its letters
    share = (wide - letter) / (WIDTH - LETTER[0])
    columns = (letter, *(cell * share for cell in (PERSON if plan.feeder.kind == "person" else MACHINE)))
    front = _front(data, plan, wide, room)
    named = letters(plan)
    pictures = drawn(plan, named, [row.letter for row in data.rows], scale)
    tries: list[tuple[Form, list[list[Item]]]] = []
    for brief in (0, 1, 2, 3) if plan.feeder.kind == "machine" else (0, 1):
        only = varied(plan, data.rows) if brief == 3 else None
        dials = dial_widths(plan, data.rows, wide - letter, only)
        form = Form(plan, named, wide, scale, columns, dials, tuple(range(len(dials))) if only is None else only)
        tries += [(form, flow(_body(form, data, pictures, brief, whole * room), room)) for whole in (WHOLE, 0.0)]
        if len(front) + min(len(pages) for _, pages in tries) <= FEW:
            break
    form, few = min(tries, key=lambda one: max(len(front) + len(one[1]), FEW))
    return Document(
        shown(data.program), data.digest[:12], shown(date), paper, scale, page_width, page_height, form.columns,
        form.dials, tuple(tuple(page) for page in [*front, *few]),
    )  # fmt: skip


def _body(form: Form, data: Sheet, pictures: Sequence[Drawn], brief: int, whole_mm: float) -> list[Chunk]:
    """The balls, then the blocks."""
    if not data.rows:
        return []
    climbing = {letter for part in data.parts for ladder in part.rungs for letter, _ in ladder.rungs}
    rallied = {e.id for part in data.parts for e in part.variations if not climbing.issuperset(e.letters)}
    # A ladder's own rule counts hits in a row, and one count is enough.
    told = (entry for part in data.parts for entry in part.variations)
    entries = [entry if entry.id in rallied else replace(entry, goal=None) for entry in told]
    pictured = panels(form, pictures, entries, brief)
    head = Item("head", 12.5, {"text": "The balls", "under": ""})
    chunks = [Chunk((head, *legend(form).items, *pictured[0].items)), *pictured[1:], *table(form, data.rows, brief)]
    for n, part in enumerate(data.parts):
        before = () if n else tuple(filter(None, (data.dials, part.line)))
        chunks += block(form, part, brief, whole_mm, before)
    return chunks


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
    pages = flow([Chunk((item,)) for item in items], room)
    if sum(item.height_mm for item in [*pages[-1], *clock]) > room:
        return [*pages, *flow([Chunk((line,)) for line in clock], room)]
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
