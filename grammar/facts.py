"""What a message is about, as typed facts: numbers in SI with their kind, names, settings; and how people read them.

In a template `{width}` words a fact as is usual for its kind. Behind a colon may stand the most decimals, a point in
front where all of them are shown, and the unit: `{width:2 m}`, `{width:.2 m}`, `{width:cm}`; for a time also `clock`,
for a share `of ten`, how often in ten times, and for names what stands between them, such as `{missing:, }`.
"""

import re
from typing import ClassVar, Self

from . import units
from .frozen import Frozen

_SPEC = re.compile(r"(\.?)(\d*) ?(\D*)")


class Measured(float):
    """A number in SI with its kind; `read_in` is the unit in which people read it."""

    dimension: ClassVar[str]
    usual: ClassVar[str]
    read_in: str

    def __new__(cls, value: float, read_in: str = "") -> Self:
        made = super().__new__(cls, value)
        made.read_in = read_in or cls.usual
        return made

    def __format__(self, spec: str) -> str:
        if spec == "clock":
            return f"{units.clock(self)} min"
        if spec == "of ten":
            return units.times_in_ten(self)
        found = _SPEC.fullmatch(spec)
        if not found or found[3] not in ("", *units.UNITS):
            return super().__format__(spec)
        every, decimals, unit = found[1], found[2], found[3] or self.read_in
        if every:
            return f"{units.from_si(self, unit):.{decimals}f} {unit}"
        return units.shown(self, unit, int(decimals) if decimals else None)

    def figure(self, more: int = 0) -> str:
        """The number alone, with some decimals more than usual."""
        return units.number(units.from_si(self, self.read_in), units.DECIMALS.get(self.read_in, 2) + more)

    def beside(self, other: "Measured") -> str:
        """The number and its unit, with enough decimals to differ from the other."""
        figures = [self.figure(more) for more in range(4)]
        return f"{next((f for f in figures if f != other.figure()), figures[-1])} {self.read_in}"


class Metres(Measured):
    dimension, usual = "length", "m"


class Seconds(Measured):
    dimension, usual = "time", "s"


class Speed(Measured):
    """m/s, read in km/h."""

    dimension, usual = "speed", "km/h"


class Angle(Measured):
    """rad, read in degrees."""

    dimension, usual = "angle", "deg"


class SpinRate(Measured):
    """rad/s, read in rpm."""

    dimension, usual = "spin", "rpm"


class Degrees(Measured):
    """Temperature."""

    dimension, usual = "temperature", "C"


class Portion(Measured):
    """A share of 1, read in percent."""

    dimension, usual = "share", "%"


_KINDS = {kind.dimension: kind for kind in (Metres, Seconds, Speed, Angle, SpinRate, Degrees, Portion)}


def read_in(value: float, unit: str) -> Measured:
    """An SI value that people read in this unit; its kind is that of the unit."""
    return _KINDS[units.UNITS[unit].dimension](value, unit)


class Between(Frozen):
    """From `low` to `high`; without `low` anything up to `high`."""

    low: Measured | None
    high: Measured

    def __format__(self, spec: str) -> str:
        low = "up" if self.low is None else self.low.figure()
        return f"{low} to {self.high.figure()} {self.high.read_in}"


class Numbers(Frozen):
    """Bare numbers from `low` to `high`."""

    low: float
    high: float
    whole: bool

    def __format__(self, spec: str) -> str:
        return f"{'a whole number' if self.whole else 'a number'} from {self.low:g} to {self.high:.10g}"


class Setting(Frozen):
    """What a device is set to: a number in the device's own unit, or a position of its dial."""

    value: float
    unit: str

    def __format__(self, spec: str) -> str:
        return f"position {self.value:g}" if self.unit == "position" else f"{self.value:g} {self.unit}"


class Difference(Frozen):
    """What another version of a script has in place of something; `before` is None where there was nothing."""

    what: str
    before: Measured | str | None
    after: Measured | str
    written: bool = False
    """Whether it is the line itself that a remedy writes."""

    def text(self) -> str:
        return f"{self.what} {self.after}" + ("" if self.before is None else f", not {self.before}")

    def data(self) -> dict[str, object]:
        """By name, for JSON."""
        return {name: data(value) for name, value in zip(self._fields, self.values(), strict=True)}


class Names(tuple[str, ...]):
    """Words of the language, or names that a script gives."""

    __slots__ = ()

    def __format__(self, spec: str) -> str:
        each = tuple(f"“{name}”" if ", " in name else name for name in self)
        return (spec.join(each) if spec else listed(each)) or "none"


class BallName(str):
    """The name of a ball, which people read with what tells it from the others of its family."""

    __slots__ = ()


def listed(names: tuple[str, ...] | list[str]) -> str:
    """`a, b or c`."""
    return ", ".join(names[:-1]) + " or " + names[-1] if len(names) > 1 else "".join(names)


def data(fact: object) -> object:
    """A fact for JSON: numbers with their unit, names as lists, words and counts as they are."""
    match fact:
        case Measured():
            return {"value": round(float(fact), 6), "unit": units.SI[fact.dimension]}
        case Between(low, high):
            edge = None if low is None else round(float(low), 6)
            return {"low": edge, "high": round(float(high), 6), "unit": units.SI[high.dimension]}
        case Frozen():
            return {name: data(value) for name, value in zip(fact._fields, fact.values(), strict=True)}
        case tuple():
            return [data(one) for one in fact]
        case _:
            return fact
