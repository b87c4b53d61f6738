"""Filling pages: pieces of known height, one after the other, a new page when the next does not fit.

Heights are estimates on the safe side, so that a page holds on A4 and on letter whatever the font of the reader.
"""

from dataclasses import dataclass
from math import ceil
from unicodedata import east_asian_width

PAGE_MM = 254.0
"""Letter paper is 279 mm high; the rest is margins, footer and reserve."""


@dataclass(frozen=True, slots=True)
class Item:
    height_mm: float
    html: str


def lines(text: str, characters: int) -> int:
    """Lines that a text takes at most, where `characters` of mean width fill one."""
    width = sum(2.0 if east_asian_width(c) in "WF" else 1.3 if c.isupper() else 1.0 for c in text)
    return max(1, ceil(width / characters))


def pack(items: list[Item], again: Item | None = None) -> list[list[Item]]:
    """Pages of items in their order; `again` heads every page but the first."""
    pages: list[list[Item]] = [[]]
    used = 0.0
    for item in items:
        if pages[-1] and used + item.height_mm > PAGE_MM:
            pages.append([again] if again else [])
            used = again.height_mm if again else 0.0
        pages[-1].append(item)
        used += item.height_mm
    return pages
