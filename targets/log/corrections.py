"""The corrections of a machine day by day: a slow drift of battery, wheels or balls shows as a slope."""

import sqlite3
from contextlib import closing
from datetime import date
from math import sqrt
from pathlib import Path
from typing import NamedTuple

from ...compiler.printable import plural
from .store import open_to_write, told, transaction


class DayRecord(NamedTuple):
    """By how much balls landed longer and more to the right, m, than the measured profile said, on one day."""

    day: str
    profile: str
    balls: int
    along_m: float
    aside_m: float


class Slope(NamedTuple):
    """Change a week, m, and one standard deviation of it."""

    a_week_m: float
    doubt_m: float

    @property
    def clear(self) -> bool:
        """Whether it is more than chance: twice its standard deviation."""
        return abs(self.a_week_m) > 2 * self.doubt_m


def keep(path: Path, record: DayRecord) -> None:
    """Write a day's correction; a second one of the same day and profile takes the place of the first."""
    with closing(open_to_write(path)) as database, told(path), transaction(database):
        database.execute(
            "INSERT INTO corrections (day, profile, balls, along, aside) VALUES (?, ?, ?, ?, ?) "
            "ON CONFLICT (profile, day) DO UPDATE SET balls = excluded.balls, along = excluded.along, "
            "aside = excluded.aside",
            record,
        )


def kept(database: sqlite3.Connection) -> dict[str, list[DayRecord]]:
    """By profile, in order of days."""
    found: dict[str, list[DayRecord]] = {}
    rows = database.execute("SELECT day, profile, balls, along, aside FROM corrections ORDER BY profile, day")
    for row in map(DayRecord._make, rows):
        found.setdefault(row.profile, []).append(row)
    return found


def slope(records: list[DayRecord]) -> Slope | None:
    """Of the corrections along the court, by least squares (any textbook of statistics); None for fewer than four
    days, which lie on a line too easily."""
    if len(records) < 4:
        return None
    weeks = [date.fromisoformat(one.day).toordinal() / 7 for one in records]
    mean = sum(weeks) / len(weeks)
    height = sum(one.along_m for one in records) / len(records)
    width = sum((week - mean) ** 2 for week in weeks)
    if not width:
        return None
    rate = sum((week - mean) * one.along_m for week, one in zip(weeks, records, strict=True)) / width
    left = sum((one.along_m - height - rate * (w - mean)) ** 2 for w, one in zip(weeks, records, strict=True))
    return Slope(rate, sqrt(left / (len(records) - 2) / width))


def sentence(profile: str, records: list[DayRecord]) -> str:
    """What the days of a profile say."""
    last = records[-1]
    way = "longer" if last.along_m > 0 else "shorter"
    said = (
        f"{profile}, {plural(len(records), 'correction')}: on {last.day} balls landed {abs(last.along_m):.2f} m {way}"
    )
    rate = slope(records)
    if rate is None:
        return f"{said}; four days make a slope"
    each = f"{abs(rate.a_week_m):.2f} m {'longer' if rate.a_week_m > 0 else 'shorter'} each week (± {rate.doubt_m:.2f})"
    if not rate.clear:
        return f"{said}; no clear slope, {each}"
    return f"{said}; {each}: battery, wheels or balls change, so measure the machine again"
