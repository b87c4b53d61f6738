"""A row of the feed sheet: one kind of ball in cells of two short lines, wide enough for 17 pt on any paper."""

from dataclasses import dataclass

from ...compiler.model.plan import Plan, Shot
from . import words

Cell = tuple[str, str]
"""Upper and lower line."""


@dataclass(frozen=True, slots=True)
class Row:
    letter: str
    cells: tuple[Cell, ...]
    """Where it lands, how high, then for a person the ball and the rhythm."""
    dials: tuple[str, ...]
    """What a machine is set to, in the order of the profile; empty for a person."""
    beneath: str
    """Spin and pace in words, under the dials; empty for a person."""
    small: str
    """Name, and how the player meets it."""
    every: str
    """The rhythm, such as "every 4 s"."""
    notes: tuple[str, ...]


def heads(plan: Plan) -> tuple[str, ...]:
    """Headings of the cells."""
    high = "highest" if plan.feeder.players_side else "over the net"
    return ("lands", high) if plan.feeder.kind == "machine" else ("lands", high, "ball", "count")


def dials(plan: Plan) -> tuple[Cell, ...]:
    """Name and unit of each setting."""
    return tuple(plan.feeder.setting_units.items()) if plan.feeder.kind == "machine" else ()


def row(plan: Plan, letter: str, shots: list[Shot], rung: str = "") -> Row:
    machine = plan.feeder.kind == "machine"
    first = shots[0]
    speeds = [shot.launch.speed_mps for shot in shots]
    spin, pace = words.spin(first.launch), words.pace(min(speeds), max(speeds))
    every = f"every {words.number(first.interval_s, 2)} s"
    cells: list[Cell] = [_lands(plan, shots), _high(plan, shots)]
    if not machine:
        count = words.counted(first.interval_s)
        cells += [(spin, pace), (count, every) if count else (every, "")]
    named = f"rung {rung}: {first.feed}" if rung else first.feed
    return Row(
        letter,
        tuple(cells),
        tuple(_value(first.settings.get(name)) for name, _ in dials(plan)),
        f"{spin}, {pace}" if machine else "",
        f"{named} · {_met(plan, shots)}" + (f" · {every}" if machine else ""),
        every,
        tuple(dict.fromkeys(note for shot in shots for note in shot.notes)),
    )


def _value(value: float | None) -> str:
    return "–" if value is None else f"{value:.6g}"


def _lands(plan: Plan, shots: list[Shot]) -> Cell:
    spots = [shot.predicted.landing_m for shot in shots if shot.predicted.landing_m]
    full = "" if spots else "full, "
    spots = spots or [shot.predicted.contact_m[:2] for shot in shots]
    xs, ys = [x for x, _ in spots], [y for _, y in spots]
    vary = ", vary" if len(shots) > 1 else ""
    depth = words.along(min(ys), max(ys), plan.court).removesuffix(" line")  # all cells of the column name a line
    return f"{full}{depth}", f"{words.aside(min(xs), max(xs), plan.court)}{vary}"


def _high(plan: Plan, shots: list[Shot]) -> Cell:
    """Over the cord, or on the player's own side the highest point above the ground."""
    if plan.feeder.players_side:
        heights = [shot.predicted.peak_m for shot in shots]
    else:
        heights = [s.predicted.net_clearance_m for s in shots if s.predicted.net_clearance_m is not None]
    if not heights:
        return "past the", "net's end"
    low, high = min(heights), max(heights)
    return words.rackets(low, high), f"{words.span(low, high, 2 if low < 0.5 else 1)} m"


def _met(plan: Plan, shots: list[Shot]) -> str:
    heights = [shot.predicted.contact_m[2] for shot in shots]
    phase = shots[0].predicted.contact_phase
    own = "".join(word for word in [shots[0].words.get("height", "")] if not word[:1].isdigit())
    manner = own if "," in own else ", ".join(part for part in (own, phase) if part)
    place = words.along(shots[0].stance_y_m, shots[0].stance_y_m, plan.court)
    return f"met {words.span(min(heights), max(heights), 1)} m up ({manner}), {place}"
