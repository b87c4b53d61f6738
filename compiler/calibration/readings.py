"""What somebody read of test balls: a table that a person can type and a spreadsheet can write.

A row for each throw, in any order, several of one ball if it was thrown again; a cell without a figure was not read.
Left and right are seen from behind the machine.
"""

import csv
import io
import math
import re
from collections.abc import Mapping, Sequence

import numpy as np

from ...grammar.frozen import Frozen
from ...grammar.units import UNITS
from .law import DEPTH, HEIGHT, KINDS, OVER_NET, SECOND, SIDE, TIME
from .learn import Readings

DOUBTS = {"tape": 0.05, "paces": 0.20, "eye": 0.40, "film": 0.10}
"""One standard deviation of a length by how it was taken, m. Common practice, no source."""
WATCH_S, FILM_S = 0.15, 0.04
"""Of a time by a watch in the hand, and by one picture of a film of 25 to 30 a second. Common practice, no source."""
LARGEST = 256 * 1024
MOST = 500
COLUMNS = {
    "past_net": DEPTH, "inside_baseline": DEPTH, "past_service_line": DEPTH, "right": SIDE, "left": SIDE,
    "time": TIME, "over_net": OVER_NET, "height": HEIGHT, "second_past_net": SECOND,
}  # fmt: skip
WORDS = ("ball", "by", "note")
POSSIBLE = {
    DEPTH: (0.0, 22.0), SIDE: (-9.0, 9.0), TIME: (0.15, 6.0), OVER_NET: (-1.0, 15.0), HEIGHT: (0.0, 8.0),
    SECOND: (0.0, 40.0),
}  # fmt: skip
"""What can be read at all, SI: a typing error lies beyond it more often than a ball."""
BEFORE = "the second bounce would lie before the first"


class ReadingsRefused(Exception):
    """What is wrong with a table of readings, in one sentence with its place."""


class CourtLines(Frozen):
    """Of the court: half its length, and from the net to the service line, m."""

    half_length: float
    service: float


class Read(Frozen):
    """The throws whose readings there are: which ball (n,), at which y the height was read (n,), and the readings."""

    balls: tuple[str, ...]
    lines: tuple[float, ...]
    readings: Readings


HEADS = (
    "ball", "past_net_m", "right_m", "time_s", "over_net_m", "height_m", "height_at_m", "second_past_net_m", "by",
    "note",
)  # fmt: skip
"""The columns of a table that is written here."""
ALWAYS = ("ball", "past_net_m", "right_m", "time_s", "by", "note")
FIGURES = {
    DEPTH: "past_net_m", SIDE: "right_m", TIME: "time_s", OVER_NET: "over_net_m", HEIGHT: "height_m",
    SECOND: "second_past_net_m",
}  # fmt: skip


def table(rows: Sequence[Mapping[str, str]]) -> str:
    """A table of these rows, from a column's head to its cell; with the usual columns and those that a row fills."""
    heads = [head for head in HEADS if head in ALWAYS or any(row.get(head) for row in rows)]
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerows([heads, *([row.get(head, "") for head in heads] for row in rows)])
    return out.getvalue()


def parsed(text: str, known: Sequence[str], ground: CourtLines) -> Read:
    """The readings of a table; ReadingsRefused names the row and the column."""
    if len(text) > LARGEST:
        raise ReadingsRefused(f"the table is larger than {LARGEST // 1024} KB")
    first = text.lstrip("\ufeff").partition("\n")[0]
    mark = ";" if first.count(";") > first.count(",") else "\t" if "\t" in first else ","
    rows = [
        row for row in csv.reader(io.StringIO(text.lstrip("\ufeff")), delimiter=mark) if any(c.strip() for c in row)
    ]
    if not rows:
        raise ReadingsRefused("the table is empty")
    heads = [_column(cell) for cell in rows[0]]
    if "ball" not in [name for name, _ in heads]:
        raise ReadingsRefused("the table has no column ball")
    if len(rows) > MOST:
        raise ReadingsRefused(f"the table has more than {MOST} rows")
    balls, lines, values, doubts = list[str](), list[float](), list[np.ndarray](), list[np.ndarray]()
    for number, row in enumerate(rows[1:], start=2):
        said = dict(zip([name for name, _ in heads], [cell.strip() for cell in row], strict=False))
        ball = said.get("ball", "")
        if ball not in known:
            raise ReadingsRefused(f'row {number}: there is no ball "{ball[:20]}"; the plan has {", ".join(known)}')
        by = said.get("by", "") or "tape"
        if by not in DOUBTS:
            raise ReadingsRefused(f'row {number}: by is "{by[:20]}"; it is one of {", ".join(DOUBTS)}')
        value = np.full(len(KINDS), np.nan)
        line = math.nan
        for (name, unit), cell in zip(heads, row, strict=False):
            if name in WORDS or not cell.strip():
                continue
            figure = _figure(cell, unit, number, name, mark)
            if name == "height_at":
                line = figure
                continue
            kind, figure = COLUMNS[name], in_court(name, figure, ground)
            if np.isfinite(value[kind]):
                raise ReadingsRefused(f"row {number}: {name} is a second figure for the same thing")
            if not (lacks := impossible(kind, figure)) == "":
                raise ReadingsRefused(f"row {number}, {name}: {lacks}")
            value[kind] = figure
        if np.isfinite(value[HEIGHT]) and math.isnan(line):
            raise ReadingsRefused(f"row {number}: a height needs height_at, how far from the net it was read")
        if value[SECOND] < value[DEPTH]:
            raise ReadingsRefused(f"row {number}: {BEFORE}")
        if np.isfinite(value).any():
            doubt = np.full(len(KINDS), DOUBTS[by])
            doubt[TIME] = FILM_S if by == "film" else WATCH_S
            balls.append(ball)
            lines.append(line)
            values.append(value)
            doubts.append(doubt)
    if not balls:
        raise ReadingsRefused("no row has a figure")
    return Read(tuple(balls), tuple(lines), Readings(np.array(values).T, np.array(doubts).T))


def in_court(name: str, figure: float, ground: CourtLines) -> float:
    """A figure of a column, SI, in the court's frame."""
    match name:
        case "inside_baseline":
            return ground.half_length - figure
        case "past_service_line":
            return ground.service + figure
        case "left":
            return -figure
    return figure


def impossible(kind: int, figure: float) -> str:
    """Why no ball can have been read so, in words; "" if one can."""
    low, high = POSSIBLE[kind]
    unit = "s" if kind == TIME else "m"
    if low <= figure <= high:
        return ""
    return f"{figure:.2f} {unit} lies beyond {low:g} to {high:g} {unit}; is it in another unit, or from another line?"


def _column(cell: str) -> tuple[str, str]:
    """The name of a column and its unit: past_net_m, past_net_ft, time_s."""
    name = re.sub(r"[\s-]+", "_", cell.strip().lower())
    if name in WORDS:
        return name, ""
    stem, _, unit = name.rpartition("_")
    wanted = "time" if stem == "time" else "length"
    if (stem in COLUMNS or stem == "height_at") and unit in UNITS and UNITS[unit].dimension == wanted:
        return stem, unit
    known = ", ".join([*WORDS, *(f"{key}_{'s' if key == 'time' else 'm'}" for key in (*COLUMNS, "height_at"))])
    raise ReadingsRefused(
        f'there is no column "{cell.strip()[:30]}"; the columns are {known}, and _cm, _ft or _in for _m'
    )


def _figure(cell: str, unit: str, number: int, name: str, mark: str) -> float:
    text = cell.strip()
    if mark != "," and text.count(",") == 1 and "." not in text:
        text = text.replace(",", ".")
    try:
        found = float(text)
    except ValueError:
        found = math.nan
    if not math.isfinite(found):
        raise ReadingsRefused(f'row {number}, {name}: "{cell.strip()[:20]}" is not a number')
    return found * UNITS[unit].factor
