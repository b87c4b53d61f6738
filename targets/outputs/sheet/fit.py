"""How much room text takes, before a printer or browser sets it: estimates on the safe side, in millimetres.

Widths are those of Helvetica (Adobe's font metrics for the core fonts, from memory; Arial is drawn to the same, Roboto
is a little narrower), in ems.
"""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any
from unicodedata import combining, east_asian_width

PAPERS = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
"""Width and height, mm: ISO 216 and ANSI/ASME Y14.1."""
TOP, FOOT, SPARE = 8.0, 13.0, 1.0
WIDTH = 186.0
"""Of the content; letter paper leaves a little more margin."""
POINT = 25.4 / 72
LEADING = 1.15
_WIDTHS = {
    0.222: "ijl'|", 0.278: " .,:;!/tfI[]·\u00a0", 0.333: "r-()“”", 0.4: "°", 0.5: "cksvxyzJ",
    0.611: "FTZ", 0.667: "ABEKPSVXY&", 0.722: "CDHNRUw", 0.778: "GOQ", 0.833: "mM", 0.889: "%½¼¾", 0.944: "W", 1.0: "@",
}  # fmt: skip
_EMS = {character: ems for ems, characters in _WIDTHS.items() for character in characters}
HYPHEN = "\u00ad"
"""Shown only where a word is broken."""
_OTHERS = 0.556  # digits, the rest of the small letters, and the dash of a range
_RESERVE = 1.03
EXACT = 1e-6
"""A room made for a text holds it, whatever its words sum up to, mm."""
KNOWN = 4096
"""Texts that are measured once: a layout is tried in many ways, and each asks for the same ones."""
ROWS = ("row", "rows")
"""Pieces that go on without another heading."""
APART = 5.0
"""Above a heading that does not begin a page, mm."""
_UNIT = re.compile(
    r"(?<=\d) (?=(?:m|s|cm|min|km/h|mph|rpm|deg|balls?|rackets?|(?:and )?feed)\b)"
    r"|(?<=\band) (?=feed\b)|(?<=\bevery) (?=\d)"
)


@dataclass(frozen=True, slots=True)
class Item:
    """A piece that stays on one page: what it is, its greatest height, and its content as plain data."""

    kind: str
    height_mm: float
    data: dict[str, Any]


def width(text: str, points: float, bold: bool = False) -> float:
    """Width of a line of text, mm."""
    return _ems(text) * points * POINT * _RESERVE * (1.06 if bold else 1.0)


@lru_cache(KNOWN)
def _ems(text: str) -> float:
    return sum(_em(character) for character in text)


def _em(character: str) -> float:
    if combining(character) or character == HYPHEN:
        return 0.0
    if east_asian_width(character) in "WF" or ord(character) > 0x2E80:
        return 1.1
    return _EMS.get(character, _OTHERS if ord(character) < 0x250 or character == "–" else 0.9)


@lru_cache(KNOWN)
def lines(text: str, room_mm: float, points: float, bold: bool = False) -> int:
    """How many lines a text takes in this room, words kept whole if they fit; no room takes a letter a line."""
    room_mm = max(room_mm + EXACT, width("@", points, bold))
    count, used = 1, 0.0
    space = width(" ", points)
    for word in text.split(" "):
        wide = width(word, points, bold)
        if used and used + space + wide > room_mm:
            count, used = count + 1, 0.0
        used += wide + (space if used else 0.0)
        while used > room_mm:
            count, used = count + 1, used - room_mm
    return count


def tall(text: str, room_mm: float, points: float, bold: bool = False) -> float:
    """Height of a text, mm; 0 for an empty one."""
    return lines(text, room_mm, points, bold) * points * POINT * LEADING if text else 0.0


@dataclass(frozen=True, slots=True)
class Chunk:
    """Pieces that stay on one page, and what comes above them if that page begins with them."""

    items: tuple[Item, ...]
    again: tuple[Item, ...] = ()
    height_mm: float = field(init=False, compare=False)
    pictured: bool = field(init=False, compare=False)

    def __post_init__(self) -> None:
        """Once for all tries of a layout."""
        object.__setattr__(self, "height_mm", sum([item.height_mm for item in self.items]))
        object.__setattr__(self, "pictured", any([item.kind == "panels" for item in self.items]))


def flow(chunks: Iterable[Chunk], room_mm: float, around: Sequence[Chunk] = ()) -> list[list[Item]]:
    """Pages of chunks in their order. One that is higher than a page is broken between its pieces. Those `around` stand
    in their own order where a picture does not fit the page any more, and the rest of them after the last picture."""
    pages: list[list[Item]] = [[]]
    used, left = 0.0, list(around)

    def fits(part: Chunk) -> bool:
        return used + _apart(pages[-1], part) + part.height_mm <= room_mm

    def new(items: Sequence[Item] = ()) -> None:
        nonlocal used
        pages.append(list(items))
        used = sum(item.height_mm for item in items)

    def put(part: Chunk) -> None:
        nonlocal used
        if pages[-1] and not fits(part):
            new(part.again)
        used += _apart(pages[-1], part) + part.height_mm
        pages[-1].extend(part.items)

    def headed(part: Chunk) -> Chunk:
        """With its heading where it does not go on."""
        return part if pages[-1] and pages[-1][-1].kind in ROWS else Chunk((*part.again, *part.items))

    def single(part: Chunk) -> bool:
        """Whether a heading would have a single row of several under it on this page."""
        first, second = headed(part), left[1].items if len(left) > 1 else ()
        return bool(pages[-1]) and first is not part and not fits(Chunk((*first.items, *second)))

    parts = [
        part
        for chunk in chunks
        for part in ([chunk] if chunk.height_mm <= room_mm else [Chunk((item,), chunk.again) for item in chunk.items])
    ]
    last = max((n for n, part in enumerate(parts) if part.pictured), default=len(parts) - 1)
    for n, part in enumerate(parts):
        while left and part.pictured and not fits(part) and fits(headed(left[0])):
            if single(left[0]):
                break
            put(headed(left[0]))
            del left[0]
        put(part)
        while left and n == last:
            if single(left[0]):
                new()
            put(headed(left[0]))
            del left[0]
    return pages


def used(page: Sequence[Item]) -> float:
    """Of the height of a page, with what stands above its headings, mm."""
    return sum(item.height_mm + APART * (n > 0 and item.kind == "head") for n, item in enumerate(page))


def _apart(page: Sequence[Item], part: Chunk) -> float:
    return APART if page and part.items[0].kind == "head" else 0.0


def breaking(text: str) -> str:
    """The text with a number kept on the line of its unit, the end of a count together, and a rhythm."""
    return _UNIT.sub("\u00a0", text)
