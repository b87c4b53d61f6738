"""Measuring a printed page: text with its size and place, and what lies over what."""

import io
import re
from functools import lru_cache
from itertools import islice
from typing import Any

import pdfplumber

SLACK = 0.6
"""Points that boxes of letters may share: kerning and the rounding of the file, about a fifth of a millimetre."""


FOOT = 13 / 25.4 * 72


@lru_cache(32)
def pages(data: bytes) -> list[Any]:
    return list(pdfplumber.open(io.BytesIO(data)).pages)


def text(page: Any, least: float = 0.0) -> str:
    """Text of the letters of at least that size (pt), without any blanks: setters break and space as they like."""
    kept = page.filter(lambda o: o["object_type"] != "char" or o["size"] >= least)
    return bare(kept.extract_text() or "")


def bare(words: str) -> str:
    return re.sub(r"\s+", "", words)


def letters(page: Any) -> list[Any]:
    """What can be seen of the text, but for the footer under its line."""
    return [char for char in page.chars if char["text"].strip() and char["top"] < page.height - FOOT]


def smallest(page: Any) -> float:
    return min(char["size"] for char in letters(page))


@lru_cache(32)
def words(page: Any) -> list[Any]:
    return page.extract_words(keep_blank_chars=False, use_text_flow=True, extra_attrs=["size"])  # type: ignore[no-any-return]


def overlapping(page: Any) -> list[tuple[str, str]]:
    """Pairs of words of which one is printed over another, by the middle halves of their heights."""
    found = []
    boxes = sorted((*_core(word), word["x0"], word["x1"], word["text"]) for word in words(page))
    for n, (_, a1, left, right, one) in enumerate(boxes):
        for b0, b1, x0, x1, two in islice(boxes, n + 1, None):
            if b0 >= a1 - SLACK:
                break  # this one and all after it begin below
            if min(a1, b1) - b0 > SLACK and min(right, x1) - max(left, x0) > SLACK:
                found.append((one, two))
    return found


def _core(word: Any) -> tuple[float, float]:
    # A box of letters is as high as its type, ascenders and descenders too; small letters fill the middle of it.
    quarter = (word["bottom"] - word["top"]) / 4
    return word["top"] + quarter, word["bottom"] - quarter


def outside(page: Any, margin: float) -> list[str]:
    """Words that stand in the margin, pt."""
    return [w["text"] for w in words(page) if w["x0"] < margin - SLACK or w["x1"] > page.width - margin + SLACK]


def fields(page: Any) -> list[Any]:
    """Boxes for a number (12 or 15.3 mm by 6.6 mm, 34 or 43 pt by 19 pt)."""
    return [r for r in [*page.rects, *page.curves] if 32.0 < r["width"] < 45.0 and 17.0 < r["height"] < 20.5]


def ticks(page: Any) -> list[Any]:
    """Boxes of the size of a tick box (4.8 mm is 13.6 pt)."""
    return [r for r in [*page.rects, *page.curves] if 12.0 < r["width"] < 15.0 and 12.0 < r["height"] < 15.0]
