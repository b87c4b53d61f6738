"""One reading as somebody at the court says it: `6.35`, `21 ft`, `9 paces`, `2.5 inside baseline`, `1.2 left`, `0.9 s`.

What is said of the line, the side, the unit or the way it was taken stands after the number, in any order. A figure
without a unit is in metres or seconds, without a line from the net, without a side to the right.
"""

import re

from ...grammar.frozen import Frozen
from ...grammar.units import SPELLINGS, UNITS
from .law import DEPTH, SIDE, TIME
from .readings import DOUBTS, CourtLines, impossible, in_court

LINES = {
    DEPTH: {"past net": "past_net", "inside baseline": "inside_baseline", "past service line": "past_service_line"},
    SIDE: {"left": "left", "right": "right"},
}
"""What may be said of where a figure is counted from, and its column in a table."""
FAR = 2.5
"""Standard deviations, of all that is in doubt, from which a figure is asked about. Own choice."""
NEARER = 1.5
"""Standard deviations within which another way to read it has to lie to be named. Own choice."""
OTHER_UNITS = ("ft", "cm", "in")
_NUMBER = re.compile(r"\s*([-+]?(?:\d+(?:[.,]\d*)?|[.,]\d+))\s*(.*)", re.S)


class AnswerRefused(Exception):
    """What is wrong with an answer, in one sentence."""


class PaceUnknown(Exception):
    """A figure in paces, and nobody has said how long one is."""


class TypedFigure(Frozen):
    """SI, in the court's frame; `by` how it was taken, "" where that is not said; `plain` if neither unit nor line nor
    side was said."""

    figure: float
    by: str
    plain: bool


def answered(text: str, kind: int, ground: CourtLines, pace_m: float | None = None) -> TypedFigure:
    """What was read, one of `law.KINDS`. AnswerRefused, or PaceUnknown where `pace_m` is needed and not known."""
    found = _NUMBER.fullmatch(text.lower())
    if not found:
        raise AnswerRefused(f'"{text.strip()[:30]}" does not begin with a number; {_example(kind)}')
    number, rest = float(found[1].replace(",", ".")), f" {' '.join(found[2].split())} "
    line = next((words for words in LINES.get(kind, {}) if f" {words} " in rest), "")
    if line:
        rest = rest.replace(f" {line} ", "  ", 1)
    unit, by = "", ""
    if " by paces " in rest:  # metres that were paced off
        rest, by = rest.replace(" by paces ", "  ", 1), "paces"
    for word in rest.split():
        if word == "paces" and not unit:
            unit = by = word
        elif word in DOUBTS and not by:
            by = word
        elif not unit and SPELLINGS.get(word, word) in UNITS:
            unit = SPELLINGS.get(word, word)
        elif word != "by":
            raise AnswerRefused(f'"{word[:20]}" says nothing about this figure; {_example(kind)}')
    if unit == "paces" and kind != TIME:
        if pace_m is None:
            raise PaceUnknown
        figure = number * pace_m
    else:
        unit = unit or ("s" if kind == TIME else "m")
        wanted = "time" if kind == TIME else "length"
        if unit not in UNITS or UNITS[unit].dimension != wanted:
            raise AnswerRefused(f"this is a {wanted}, which is not in {unit}; {_example(kind)}")
        figure = number * UNITS[unit].factor
    if line in ("left", "right") and number < 0:
        raise AnswerRefused("a minus already means left; write the side or the minus, not both")
    figure = in_court(LINES[kind][line], figure, ground) if line else figure
    if lacks := impossible(kind, figure):
        raise AnswerRefused(lacks)
    return TypedFigure(figure, by, not found[2].strip())


def likelier(answer: TypedFigure, kind: int, expected: float, deviation: float, ground: CourtLines) -> str:
    """What is strange about a possible figure, where the profile expects another one give or take a standard
    deviation, and how it may have been meant; "" if nothing is."""

    def apart(figure: float) -> float:
        return abs(figure - expected) / deviation

    if not apart(answer.figure) > FAR:
        return ""
    meant: dict[str, float] = {}
    if kind == SIDE:
        meant["on the other side"] = -answer.figure
    if kind != TIME and answer.plain:
        meant |= {f"in {unit}": answer.figure * _m(unit) for unit in OTHER_UNITS}
        if kind == DEPTH:
            meant |= {words: in_court(name, answer.figure, ground) for words, name in LINES[DEPTH].items()}
    best = min(meant, key=lambda words: apart(meant[words]), default="")
    far = f"the profile expects {_told(kind, expected)}, and {_told(kind, answer.figure)} is far from that"
    return far + (f"; it would be right {best}" if best and apart(meant[best]) < NEARER else "")


def _told(kind: int, figure: float) -> str:
    if kind == SIDE:
        return f"{abs(figure):.2f} m {'left' if figure < 0 else 'right'}"
    return f"{figure:.2f} {'s' if kind == TIME else 'm'}"


def _m(unit: str) -> float:
    return UNITS[unit].factor


def _example(kind: int) -> str:
    return "write " + {
        DEPTH: "6.35, 21 ft, 9 paces, 5.5 inside baseline or 0.4 past service line",
        SIDE: "0.8, 0.8 left, -0.8 for left, or 3 ft right", TIME: "0.94 or 0.94 s",
    }.get(kind, "1.2, 4 ft or 120 cm")  # fmt: skip
