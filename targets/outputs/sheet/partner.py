"""The partner form: two players and no feeder. One plays steadily, the other changes the ball in the printed order,
then they change over. Left and right are always the hitter's own, so one page serves both sides of the net."""

from ....compiler.model.plan import Plan, Shot
from ....compiler.printable import visible
from . import words
from .fit import FOOT, PAPERS, SPARE, TOP, WIDTH, Chunk, Item, flow, lines, tall
from .front import EVERYBODY, EYES
from .layout import LARGE, Document, cautions, fact, title
from .letters import letters, listed
from .page import SheetPart, VariationRow, sheet
from .panels import ASIDE, SMALL, VALUE, Form, drawn, legend, panels, shown
from .play import strip_alone
from .rows import high, lands
from .strip import strips

COLUMNS = (14.0, 62.0, 62.0, 48.0)
_Said = tuple[str, ...]
"""What distinguishes a variation from the others, whichever letters it has."""


class NoRally(ValueError):
    """A plan that two players cannot rally with: its balls do not cross the net."""


def document(plan: Plan, paper: str = "a4", large: bool = False, date: str = "") -> Document:
    if any(one.players_side for one in (plan.feeder, *plan.feeder.elsewhere)):
        raise NoRally(
            f"{visible(plan.program)} is fed from the player's own side; the partner form needs balls over the net"
        )
    page_width, page_height = PAPERS[paper]
    scale = LARGE if large else 1.0
    room, wide = page_height / scale - TOP - FOOT - SPARE, WIDTH / scale
    data = sheet(plan, hitter=True)
    columns = tuple(width * wide / WIDTH for width in COLUMNS)
    plan = plan.model_copy(update={"feeder": plan.feeder.model_copy(update={"screen": False})})  # nobody feeds
    # Whoever reads the page stands behind the near baseline.
    own = plan.feeder.model_copy(update={"kind": "person", "place_m": (0.0, -plan.court.half_length_m - 0.5)})
    own = own.model_copy(update={"elsewhere": ()})
    shots = tuple(shot.model_copy(update={"fed_from": 0}) for shot in plan.shots)
    seen = plan.model_copy(update={"feeder": own, "shots": shots})
    form = Form(seen, letters(plan), wide, scale, columns, ())
    before = [item for part in data.parts if not part.rows for item in _breaks(part, wide)]
    chunks = [Chunk((item,)) for item in [*_first(plan, wide), *before]]
    told: set[_Said] = set()
    rows: set[str] = set()
    for part in data.parts:
        if part.rows:
            again = (Item("again", 11, {"text": f"Block {part.number}, continued"}),)
            first, *more = _block(form, part, told, rows)
            chunks += [first, *(Chunk(chunk.items, again) for chunk in more)]
            told |= {_said(entry) for entry in part.variations}
            rows |= {row.letter for row in part.rows}
    pages = flow(chunks, room)
    return Document(
        shown(data.program), data.digest[:12], shown(date), paper, scale, page_width, page_height, columns,
        (), tuple(tuple(page) for page in pages),
    )  # fmt: skip


def _first(plan: Plan, wide: float) -> list[Item]:
    facts = (
        ("Both", "One on each side of the net: the steady player where each block says, the changing player behind "
                 "the baseline. No machine, no feeder."),
        ("Steady player", "Starts each rally with a dropped ball, keeps it going, and plays the variation printed "
                          "for the letter that comes."),
        ("Changing player", "Plays the letters of the strip, one at each stroke, from left to right. After the last "
                            "letter, start again. After a lost ball, continue where the strip stopped."),
        ("Change over", "At the time printed the two players change roles, not sides. One page serves both sides."),
        ("How to read", "Left and right are the hitter's own, facing the net. Heights over the net's cord are in "
                        "rackets of 0.7 m, to a quarter."),
        ("Bring", f"A dozen balls ({plan.ball.name}), two copies of the page or one at the net post, pencil, water"),
    )  # fmt: skip
    stop = "Anyone may call STOP: both stop at once. Hit only to a partner who is looking."
    # Nobody feeds here, so these are the sheet's cautions without those about a feeder, a screen or a machine.
    safely = cautions((stop, f"{EYES}.", *EVERYBODY), "Before the first ball", wide)
    session = "" if plan.session == plan.program else plan.session
    return [title(plan, session, wide), *(fact(label, text, wide) for label, text in facts), safely]


def _block(form: Form, part: SheetPart, told: set[_Said], rows: set[str]) -> list[Chunk]:
    """When who plays, the strip, and what comes here first: a picture for each variation with its words, and a row for
    each letter."""
    plan, wide = form.plan, form.wide
    kinds = {row.letter: form.named.shots(row.letter, [shot.id for shot in plan.shots]) for row in part.rows}
    head = Item("head", 11.5, {"text": f"Block {part.number} · {part.starts} to {part.until}", "under": ""})
    entries = [entry for entry in part.variations if _said(entry) not in told]
    heads = Item("heads", 7.2, {"cells": ["to", "over the net", "spin, name"], "dials": [], "twice": False})
    table = [_row(plan, letter, shots, wide) for letter, shots in kinds.items() if letter not in rows]
    order = tuple(letter for turn in part.rounds for step in turn.steps for letter in step.order)
    order += tuple(letter for letter in kinds if letter not in order)  # a ladder's rungs, from the easiest on
    one = f"The changing player plays {part.rows[0].letter} every time."
    text = "The changing player's strip" if len(kinds) > 1 else one
    strip = [strip_alone(strip) for strip in strips(order, wide)] if len(kinds) > 1 else []
    known = [entry for entry in part.variations if _said(entry) in told]
    answers = [Item("line", tall(text, wide, VALUE) + 1.5, {"text": text}) for text in map(_answer, known)]
    wanted = [letter for entry in entries for letter in entry.letters]
    drawings = drawn(plan, form.named, wanted, form.scale)
    pictured = [chunk for chunks, _ in panels(form, drawings, entries, 0) for chunk in chunks]
    if pictured:
        pictured[0] = Chunk((*legend(form).items, *pictured[0].items))
    times = _times(form, part, [shot for shots in kinds.values() for shot in shots])
    return [
        Chunk((head, *times, *answers, *(pictured[0].items if pictured else ()))),
        *pictured[1:],
        *([Chunk((heads, *table))] if table else []),
        Chunk((Item("round", 9, {"text": text}), *strip[:2])),
        *(Chunk((item,)) for item in strip[2:]),
        *(Chunk((item,)) for item in _breaks(part, wide)),
    ]


def _answer(entry: VariationRow) -> str:
    return shown(f"{listed(entry.letters)}: {entry.title}, as before")


def _said(entry: VariationRow) -> _Said:
    return entry.title, entry.when, entry.reply, *entry.notes


def _breaks(part: SheetPart, wide: float) -> list[Item]:
    """The rests inside blocks, and the rests and collects, by the clock."""
    inside = dict.fromkeys(
        shown(f"{step.rest.capitalize()}.") for turn in part.rounds for step in turn.steps if step.rest
    )
    items = [Item("line", tall(text, wide, VALUE) + 1.5, {"text": text}) for text in inside]
    for step in (step for turn in part.rounds for step in turn.steps if step.kind != "balls"):
        clock, text, notes = ", ".join(step.clocks), shown(step.text), [shown(note) for note in step.notes]
        height = tall(f"{clock}   {text}", wide, VALUE, True) + 1.5 + sum(tall(note, wide, SMALL) for note in notes)
        data = {"clock": clock, "text": text, "notes": notes, "strips": [], "beside": False, "after": None}
        items.append(Item("step", height, data))
    return items


def _times(form: Form, part: SheetPart, shots: list[Shot]) -> list[Item]:
    plan, wide = form.plan, form.wide
    met = words.along(min(shot.stance_y_m for shot in shots), max(shot.stance_y_m for shot in shots), plan.court)
    times = (
        f"{part.starts} to {part.half}: player 1 steady, player 2 changing.",
        f"{part.half} to {part.until}: change over. Player 2 steady, player 1 changing.",
        shown(f"The steady player stands {met}."),
    )
    items = [Item("line", tall(text, wide, VALUE) + 1.5, {"text": text}) for text in times]
    # A block's notes are the coach's, whoever feeds. In rounds each note comes once.
    notes = dict.fromkeys(
        note for turn in part.rounds for step in turn.steps if step.kind == "balls" for note in step.notes
    )
    items += [Item("text", tall(note, wide, SMALL) + 1, {"text": note}) for note in map(shown, notes)]
    return [*items, Item("round", 9, {"text": "The steady player's reply to each letter:"})]


def _row(plan: Plan, letter: str, shots: list[Shot], wide: float) -> Item:
    """The ball as its hitter plays it: in the feeder's frame the feeder's right is the hitter's right."""
    cells = [
        [shown(text) for text in cell]
        for cell in (lands(plan, shots), high(plan, shots), (words.spin(shots[0].launch), shots[0].feed))
    ]
    count = 2
    for (upper, lower), room in zip(cells, COLUMNS[1:], strict=True):
        fits = room * wide / WIDTH - ASIDE
        count = max(count, lines(upper, fits, VALUE) + lines(lower, fits, VALUE))
    notes = [shown(note) for note in dict.fromkeys(note for shot in shots for note in shot.notes)]
    height = count * 6.4 + 1.5 + sum(tall(note, wide - COLUMNS[0], SMALL) for note in notes)
    data = {"letter": letter, "cells": cells, "dials": [], "like": "", "spin": "", "beside": True, "under": notes}
    return Item("row", height, data)
