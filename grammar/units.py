"""Turns the units that a coach writes into SI, and SI into what a coach reads."""

import math
from typing import NamedTuple


class Unit(NamedTuple):
    dimension: str
    factor: float
    offset: float = 0.0


# The international foot, inch and mile are exact by definition (1959).
UNITS = {
    "m": Unit("length", 1.0),
    "cm": Unit("length", 0.01),
    "ft": Unit("length", 0.3048),
    "in": Unit("length", 0.0254),
    "km/h": Unit("speed", 1 / 3.6),
    "mph": Unit("speed", 0.44704),
    "m/s": Unit("speed", 1.0),
    "rpm": Unit("spin", 2 * math.pi / 60),
    "rev/s": Unit("spin", 2 * math.pi),
    "s": Unit("time", 1.0),
    "min": Unit("time", 60.0),
    "C": Unit("temperature", 1.0),
    "F": Unit("temperature", 5 / 9, -160 / 9),
    "deg": Unit("angle", math.pi / 180),
    "%": Unit("share", 0.01),
}

# What people write for a unit, and the unit that they mean.
SPELLINGS = {
    "metre": "m", "metres": "m", "meter": "m", "meters": "m", "M": "m", "centimetres": "cm", "centimeters": "cm",
    "foot": "ft", "feet": "ft", "inch": "in", "inches": "in", "kmh": "km/h", "kph": "km/h", "kmph": "km/h",
    "KM/H": "km/h", "ms": "m/s", "rpms": "rpm", "RPM": "rpm", "rps": "rev/s", "sec": "s", "secs": "s", "second": "s",
    "seconds": "s", "minute": "min", "minutes": "min", "mins": "min", "degrees": "deg", "c": "C", "f": "F",
    "percent": "%", "MPH": "mph",
}  # fmt: skip

SI = {
    "length": "m", "speed": "m/s", "spin": "rad/s", "time": "s", "temperature": "C", "angle": "rad", "share": "1",
}  # fmt: skip
"""What a value of each dimension is in once it is SI."""
DECIMALS = {"m": 2, "cm": 0, "km/h": 0, "m/s": 1, "s": 2, "min": 2, "deg": 1, "rpm": 0, "%": 0}
"""How many people read of a value, where nothing else is said."""

NOISE = 1e-6  # of the last decimal: more than computing adds to a number, and less than people read of it
RPM = UNITS["rpm"].factor
KMH = UNITS["km/h"].factor
DEG = UNITS["deg"].factor


def to_si(value: float, unit: str) -> float:
    known = UNITS[unit]
    return value * known.factor + known.offset


def from_si(value: float, unit: str) -> float:
    known = UNITS[unit]
    return (value - known.offset) / known.factor


def units_of(dimension: str) -> list[str]:
    return [name for name, unit in UNITS.items() if unit.dimension == dimension]


def number(value: float, decimals: int = 1) -> str:
    """The shortest text with at most this many decimals, never "-0". A half goes away from zero, and what computing
    adds or takes makes no difference: 60.5 km/h, from m/s, is 61 wherever it is read without decimals."""
    text = f"{value + math.copysign(NOISE * 10.0**-decimals, value):.{decimals}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def shown(value: float, unit: str, decimals: int | None = None) -> str:
    """An SI value as people read it, such as "1.2 m"; `decimals` at most, or what is usual for the unit."""
    figure = number(from_si(value, unit), DECIMALS.get(unit, 2) if decimals is None else decimals)
    return f"{figure}%" if unit == "%" else f"{figure} {unit}"


def clock(seconds: float) -> str:
    """m:ss as a stopwatch shows it, seconds rounded down; minutes go on after 59."""
    minutes, rest = divmod(int(round(seconds, 4)), 60)  # a plan tells seconds to 0.1 ms
    return f"{minutes}:{rest:02d}"


def of_ten(share: float) -> str:
    """A share of 1 as a number of ten: 7, or fewer than 1."""
    return f"{round(10 * share)}" if share >= 0.05 else "fewer than 1"


def hits_of(hits: int, among: int | None, in_sets: bool = False, in_all: bool = False, each: bool = False) -> str:
    """`4 in a row`, or `8 of 10`; `6 of every 8` in sets of eight; of all balls `35 of 50 in all`, or `15 in all` where
    nobody says how many there are; `3 of 5 each` of each who takes turns."""
    if each:
        return f"{hits_of(hits, among, in_sets, in_all)} each"
    if in_sets:
        return f"{hits} of every {among}"
    if in_all:
        return f"{hits} in all" if among is None else f"{hits} of {among} in all"
    return f"{hits} in a row" if hits == among else f"{hits} of {among}"


def misses_of(misses: int, among: int, in_sets: bool = False) -> str:
    """`3 misses in a row`, or `5 misses in 10`; `5 misses in every 16` in sets."""
    of = f"every {among}" if in_sets else "a row" if misses == among else among
    return f"{misses} {'miss' if misses == 1 else 'misses'} in {of}"


def times_in_ten(share: float) -> str:
    """How often in ten times: less than once, once, twice, 3 times."""
    often = {0: "less than once", 1: "once", 2: "twice"}
    return often.get(round(10 * share), f"{round(10 * share)} times")
