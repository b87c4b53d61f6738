"""Pages of the feed sheet: which pieces are on which page; no markup yet. First the cautions, who and where, then the
balls with their pictures, then the session by the clock.

Values are 17 pt, letters of balls 22 pt bold, and nothing needed on court is under 14 pt: fluent reading needs 0.2
degrees of x-height (Legge & Bigelow, Journal of Vision 11(5), 2011), in glare and moving rather 0.3. Hidden characters
in the plan's text are made visible here, once, for every form of the sheet.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import chain
from re import search

from ....compiler.model.plan import Plan
from . import words
from .fit import FOOT, PAPERS, SPARE, TOP, WIDTH, Chunk, Item, flow, tall, used
from .front import ACCEPTED, CONES, HIT_HEIGHT, HIT_PLACE, IN_RACKETS, ON_SCREEN, REPLIES
from .letters import letters
from .page import Sheet, sheet
from .panels import (
    BARE,
    LEAST,
    NAMED,
    SMALL,
    TERSE,
    UNFLOWN,
    VALUE,
    Drawn,
    Form,
    cell_widths,
    drawn,
    legend,
    panels,
    shown,
    table,
    varied,
    with_dials,
)
from .play import block
from .starting import BY_HAND, GO_ON, PORTS, TO_START

LARGE = 1.2
FEW = 5
"""As many pages as a feeder can keep at hand (our own choice); with more of them small print is left out."""
ORDERS = ("after", "among", "around", "before")
"""Where the rows of the table may stand: after all pictures, each after its own picture, wherever no picture fits any
more, or before all of them."""
WHOLE = 0.45
"""A block lower than this share of a page is not broken, unless that saves a page."""
SPARSE = 1 / 3
"""A last page with less than this on it is worth a step that saves it (our own choice)."""
BALLS, BROAD = len("100 balls"), (52.0, 68.0)
"""How long the number of balls of a block is at most in a narrow column, and room that the clock's columns take without
and with a broad one, mm."""
BLANK = "_" * 6
"""Where a number is written by hand."""
AIR = 2.0
"""Between a row and the picture below it, and above a fact at the foot of a full page, mm."""
TIMES = "Blocks at"
"""The fact that stands for the clock where that takes a page."""
LETTER = (12.0, 12.5)
"""Width of the column of a letter without and with a number, mm."""


@dataclass(frozen=True, slots=True)
class FirstPage:
    """What the first page says if it takes no page: how high replies have to be, how to start and to go on, where all
    replies go, and the clock."""

    more: int = 0
    """How many of the facts that may be left out it has."""
    places: bool = False
    clock: bool = False
    """In full, and not only when the blocks begin."""
    first: bool = False
    """On the first page, though the facts that are read once then stand behind it, and may stand on the next one."""
    times: bool = True


FULLY = tuple(
    FirstPage(more, places, True, first)
    for more, places, first in (
        (5, True, True), (3, True, True), (3, False, True), (3, True, False), (3, False, False), (2, True, False),
        (2, False, True), (2, False, False), (1, False, True), (1, False, False), (0, False, True), (0, False, False),
    )
)  # fmt: skip
"""What is tried on the first page, the most first."""
BRIEFLY = (
    FULLY[0],
    FirstPage(5, True),
    FirstPage(3, True),
    FirstPage(3, True, times=False),
    FirstPage(2, True, times=False),
    FirstPage(1, True, times=False),
    FirstPage(0, True, times=False),
    FirstPage(3),
    FirstPage(3, times=False),
    FirstPage(2, times=False),
    FirstPage(1, times=False),
    FirstPage(0, False, True, True),
    FirstPage(),
    FirstPage(times=False),
)
"""The same on a sheet that may do without the clock."""


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
    columns = (letter, *cell_widths(plan, data.rows, wide - letter))
    named = letters(plan)
    pictures = drawn(plan, named, [row.letter for row in data.rows], scale)
    tries: list[tuple[Form, int, list[list[Item]]]] = []
    briefs = (0, 1, *[2] * (plan.feeder.kind == "machine"), 3, TERSE, BARE, UNFLOWN, NAMED, LEAST)
    for brief in briefs:
        close = brief >= 3
        kept = varied(plan, data.rows) if close else tuple(range(len(data.rows[0].dials) if data.rows else 0))
        form = Form(plan, named, wide, scale, columns, kept)
        form = with_dials(form, data.rows, wide - letter, close, met=form.machine and brief >= TERSE)
        blocks = [_blocks(form, data, brief, whole * room) for whole in (WHOLE, 0.0)]
        stood = [_balls(form, data, pictures, brief, order) for order in ORDERS]
        placed = [(balls, around, some) for balls, around in stood for some in blocks]
        *fuller, least = BRIEFLY if brief >= TERSE else FULLY
        without = _flowed(_front(data, plan, wide, brief, least, room), placed, room)
        # What it says more takes no page, and pushes nothing out.
        fewest = min(map(len, without))
        more = (_flowed(_front(data, plan, wide, brief, said, room), placed, room) for said in fuller)
        found = next(fits for tried in chain(more, [without]) if (fits := [one for one in tried if len(one) <= fewest]))
        tries.append((form, brief, min(found, key=lambda pages: (len(pages), _sparse(pages, room), _split(pages)))))
        shortest = min(without, key=len)
        if len(shortest) <= FEW and not _sparse(shortest, room):
            break
    form, brief, pages = min(tries, key=lambda one: len(one[2]))
    pages = at_the_foot(data, plan, wide, brief, pages, room)
    return Document(
        shown(data.program), data.digest[:12], shown(date), paper, scale, page_width, page_height, form.columns,
        form.dials, tuple(map(tuple, pages)),
    )  # fmt: skip


Placed = tuple[list[Chunk], list[Chunk], list[Chunk]]


def _flowed(front: list[Chunk], placed: Sequence[Placed], room_mm: float) -> list[list[list[Item]]]:
    """The pages with each of the ways in which balls and blocks may stand."""
    return [flow([*front, *balls, *blocks], room_mm, around) for balls, around, blocks in placed]


def _sparse(pages: list[list[Item]], room_mm: float) -> bool:
    """Whether the last page was begun for a few lines."""
    return used(pages[-1]) < SPARSE * room_mm


def _split(pages: list[list[Item]]) -> int:
    """On how many pages more than two the table stands, because the balls of a block are looked up while they are
    fed."""
    return max(sum(any(item.kind in ("row", "rows") for item in page) for page in pages), 2)


def _balls(
    form: Form, data: Sheet, pictures: Sequence[Drawn], brief: int, order: str
) -> tuple[list[Chunk], list[Chunk]]:
    """The pictures with the rows of the table among or after them, and the rows that may stand around them."""
    if not data.rows:
        return [], []
    climbing = {letter for part in data.parts for ladder in part.rungs for letter in ladder.letters}
    rallied = {e.id for part in data.parts for e in part.variations if not climbing.issuperset(e.letters)}
    # A ladder's own rule counts hits, and one count is enough.
    entries = [
        entry if entry.id in rallied else replace(entry, goal=None) for part in data.parts for entry in part.variations
    ]
    small = brief if form.machine else min(brief, 1)
    chunks: list[Chunk] = []
    waiting: list[str] = []  # letters that have a picture and no row yet
    tabled = 0
    for pictured, letters_ in panels(form, pictures, entries, brief):
        if tabled or order in ("around", "before"):
            pictured[0] = Chunk((Item("air", AIR, {}), *pictured[0].items))
        chunks += pictured
        waiting += letters_
        if order == "among" or (order == "after" and len(waiting) == len(data.rows)):
            coming = [row for row in data.rows if row.letter in waiting]
            chunks += table(form, coming, small, first=not tabled)
            tabled, waiting = tabled + len(coming), []
    head = Item("head", 11.0, {"text": "The balls", "under": "", "aside": "· player at the top, dots lead to contact"})
    if order in ("after", "among"):
        chunks[0] = Chunk((head, *legend(form).items, *chunks[0].items))
        return chunks, []
    first, *others = table(form, data.rows, small, first=True)
    chunks[0] = Chunk((*legend(form).items, *chunks[0].items))
    above = [Chunk((head, *first.items))]
    return ([*above, *chunks], others) if order == "around" else ([*above, *others, *chunks], [])


def _blocks(form: Form, data: Sheet, brief: int, whole_mm: float) -> list[Chunk]:
    chunks: list[Chunk] = []
    for n, part in enumerate(data.parts):
        turns = "" if any(earlier.line == part.line for earlier in data.parts[:n]) or not part.line else f"{part.line}."
        before = tuple(filter(None, ("" if n else data.dials, turns)))
        chunks += block(form, part, brief, whole_mm, before)
    return chunks


def _front(data: Sheet, plan: Plan, wide: float, brief: int, said: FirstPage, room: float) -> list[Chunk]:
    """The cautions, who and where, then the clock, which stays on one page if it can. A terse sheet may do without:
    each block says when it begins."""
    front = data.front
    items = [title(plan, front.session, wide), cautions(front.cautions, "Before the first ball", wide)]
    items += [Item("text", tall(note, wide, SMALL) + 1, {"text": note}) for note in map(shown, front.notes)]
    bare = brief >= 3 and plan.feeder.kind == "machine"  # without heights in rackets
    facts = tuple((label, text.replace(IN_RACKETS, "") if bare else text) for label, text in front.facts)
    after = [label for label, _ in facts].index("Bring") + 1
    cones = _cones(data, plan, 3 <= brief < NAMED or said.places) if brief < LEAST else ""
    replies = ((CONES, cones), (REPLIES, _heights(data, plan, brief)))
    facts = (*facts[:after], *(one for one in replies if one[1]), *facts[after:])
    facts = tuple(one for one in facts if one[0] not in (REPLIES, TO_START, GO_ON, ACCEPTED, ON_SCREEN)[said.more :])
    if front.goals:
        facts = (("Goals", "; ".join(f"{goal}: {BLANK}" for goal in front.goals)), *facts)
    labels = [label for label, _ in facts]
    chunks = [*(Chunk((item,)) for item in items), *(Chunk((fact(label, text, wide),)) for label, text in facts)]
    clock, end = _clock(data, wide), len(chunks)
    least = len(items) + labels.index("Bring") + 1 if said.first else end
    before = (at for at in range(end, least - 1, -1) if sum(one.height_mm for one in (*chunks[:at], clock)) <= room)
    found = next(before, None) if said.clock else None
    if found is None and brief >= TERSE:
        clock = Chunk((fact(TIMES, ", ".join(part.starts for part in data.parts), wide),) * said.times)
        found = len(items) + labels.index("Made for")
    found = end if found is None else found
    return [chunk for chunk in (*chunks[:found], clock, *chunks[found:]) if chunk.items]


def _cones(data: Sheet, plan: Plan, every: bool) -> str:
    """Where replies go, with the letters of their balls. A zone with a name or in words alone has its measures here,
    `every` other one stands here where the sheet leaves out its numbers elsewhere, or has room."""
    zones = {letters(plan).of[shot.id]: plan.targets(shot) for shot in plan.shots if shot.id in letters(plan).of}
    found: dict[str, set[str]] = {}
    for entry in (entry for part in data.parts for entry in part.variations if entry.place):
        unmeasured = "into “" in entry.place or not search(r"\d", entry.place)
        for letter in entry.letters:
            of = zones[letter] if unmeasured else ()
            if of or every:
                told = entry.place, " or ".join(filter(None, (words.area(zone, plan.court) for zone in of)))
                found.setdefault(": ".join(filter(None, told)), set()).add(letter)
    return "; ".join(
        f"{letters(plan).short(used)}: {place}" for place, used in sorted(found.items(), key=lambda one: min(one[1]))
    )


def _heights(data: Sheet, plan: Plan, brief: int) -> str:
    """How high over the net replies have to be, where that does not stand under the pictures."""
    asked = {variation.id: variation.reply for variation in plan.variations}
    found: dict[str, set[str]] = {}
    for entry in (entry for part in data.parts for entry in part.variations if brief >= 3):
        if height := words.over_net(asked[entry.id]):
            found.setdefault(height, set()).update(entry.letters)
    told = [
        f"{letters(plan).short(used)} {height}" for height, used in sorted(found.items(), key=lambda one: min(one[1]))
    ]
    return f"over the net: {'; '.join(told)}" if told else ""


def at_the_foot(
    data: Sheet, plan: Plan, wide: float, brief: int, pages: list[list[Item]], room: float
) -> list[list[Item]]:
    """The pages with what the first one has no room for, where others have some left; and a hit without a height that
    stands nowhere."""
    pages = [list(page) for page in pages]
    # With less room without how to find the port, or with the test balls alone, and without the keys for marks.
    shorter = {
        TO_START: (str, lambda text: text.replace(PORTS, ""), lambda text: text.rpartition(BY_HAND)[2]),
        GO_ON: (str, lambda text: text.partition(". ")[0]),
    }
    given = dict(data.front.facts)
    facts = [(label, short(given[label])) for label, ways in shorter.items() if label in given for short in ways]
    heights = _heights(data, plan, brief)
    every = [*facts, (CONES, _cones(data, plan, every=True)), (REPLIES, heights)]
    every += [one for one in data.front.facts if one[0] == ON_SCREEN]
    for made in (fact(label, text, wide) for label, text in every if text):
        told = [(page, item) for page in pages for item in page if item.data.get("label") == made.data["label"]]
        page, less = told[0] if told else ([], None)
        foot = next((page for page in pages if used(page) + AIR + made.height_mm <= room), [])
        if less and less.height_mm >= made.height_mm:
            continue  # else the cones of places with a name alone
        if less and used(page) - less.height_mm + made.height_mm <= room:
            page[page.index(less)] = made
        elif foot:
            foot += [Item("air", AIR, {}), made]
            page[:] = [item for item in page if item is not less]
    if heights and not any(item.data.get("label") == REPLIES for page in pages for item in page):
        for page in pages:
            for n, item in enumerate(page):
                if HIT_HEIGHT in item.data.get("text", ""):
                    text = item.data["text"].replace(HIT_HEIGHT, HIT_PLACE)
                    page[n] = replace(item, data={**item.data, "text": text})
    return pages


def _clock(data: Sheet, wide: float) -> Chunk:
    """When each block begins, with its letters and balls."""
    most = max((len(balls) for _, _, balls in data.front.clock), default=0)
    items = []
    for time, what, balls in data.front.clock:
        told = shown(what)
        entry = {"clock": time, "text": told, "balls": balls, "broad": most > BALLS}
        items.append(Item("clock", tall(told, wide - BROAD[most > BALLS], SMALL) + 1.0, entry))
    return Chunk(tuple(items))


def title(plan: Plan, session: str, wide: float) -> Item:
    program, under = shown(plan.program), shown(session)
    height = tall(program, wide, 24, True) + tall(under, wide, VALUE) + 3
    return Item("title", height, {"text": program, "under": under})


def fact(label: str, text: str, wide: float) -> Item:
    told = shown(text)
    return Item("fact", tall(told, wide - 29, SMALL) + 0.9, {"label": label, "text": told})


def cautions(texts: Sequence[str], head: str, wide: float) -> Item:
    told = [shown(text) for text in texts]
    return Item("cautions", sum(tall(text, wide - 13, SMALL) + 0.6 for text in told) + 14, {"text": head, "list": told})
