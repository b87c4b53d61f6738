"""The layout of a picture on a screen of a given size. Text that must be read before arming is split into pages and
never cut. Other text comes in order of importance, and what does not fit is left out."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

from ....compiler.printable import visible
from .figures import fitted
from .picture import Picture

if TYPE_CHECKING:
    from rich.console import Console

FRAME_WIDTH, FRAME_HEIGHT = 50, 16
"""A smaller screen has no frame, because every line is needed."""
GAP = "    "


@dataclass(frozen=True, slots=True)
class Page:
    framed: bool
    width: int
    giant: tuple[str, ...]
    rows: tuple[str, ...]
    keys: tuple[str, ...]
    pages: int
    """The number of pages; more than one only if something must be read."""


def laid_out(picture: Picture, width: int, height: int, ascii_only: bool = False) -> Page:
    """One page of the picture: `picture.page`, counted from zero, or the last if there are fewer."""
    framed = width >= FRAME_WIDTH and height >= FRAME_HEIGHT
    inside = max(width - 4 if framed else width, 10)
    rows = max(height - 2 if framed else height - 1, 3)
    keys = _keys(picture.keys, inside)
    room = rows - len(keys)
    pages = _pages(picture, inside, room, ascii_only) if picture.must else [_free(picture, inside, room, ascii_only)]
    at = min(picture.page, len(pages) - 1)
    if at + 1 < len(pages):
        keys = _keys((f"a  read on, page {at + 1} of {len(pages)}", picture.keys[-1]), inside)
    giant, shown = pages[at]
    if at + 1 == len(pages):
        left = room - len(giant) - len(shown)
        shown = shown + _what_fits([*picture.more, picture.counts] if picture.must else [picture.counts], inside, left)
    if framed and len(giant) + len(shown) < room:
        shown.append("")
    return Page(framed, inside, tuple(giant), tuple(shown), tuple(keys), len(pages))


def _free(picture: Picture, width: int, room: int, ascii_only: bool) -> tuple[list[str], list[str]]:
    """Giant words first, if three lines of the rest still fit; all of the rest if a person must act."""
    wanted = sum(len(_broken(line, width)) for line in picture.more)
    least = 0 if picture.alarm else min(3, wanted)
    giant = fitted(picture.giant, width, room - least, ascii_only, not picture.alarm)
    return giant, _what_fits(picture.more, width, room - len(giant))


def _pages(picture: Picture, width: int, room: int, ascii_only: bool) -> list[tuple[list[str], list[str]]]:
    whole = sum(len(_broken(line, width)) for line in picture.must)
    giant = fitted(picture.giant, width, room - whole, ascii_only, True)  # smaller words are better than two pages
    giant = giant or fitted(picture.giant, width, room - 3, ascii_only, True)
    pages: list[tuple[list[str], list[str]]] = [(giant, [])]
    for line in picture.must:
        broken = _broken(line, width)
        while broken:
            taken = len(pages[-1][0]) + len(pages[-1][1])
            if taken + len(broken) > room and pages[-1][1] and len(broken) <= room:
                pages.append(([], []))  # keep a line whole: move it to the next page
                continue
            free = room - taken
            if free <= 0:
                pages.append(([], []))
                continue
            pages[-1][1].extend(broken[:free])
            broken = broken[free:]
    return pages


def _what_fits(lines: Sequence[str], width: int, room: int) -> list[str]:
    """The lines in order, each whole, as many as there is room for."""
    rows: list[str] = []
    for line in lines:
        broken = _broken(line, width) if line else []
        if len(rows) + len(broken) > room:
            break
        rows += broken
    return rows


def _keys(keys: Sequence[str], width: int) -> list[str]:
    """The keys in rows, as many to a row as fit."""
    rows: list[str] = []
    for key in keys:
        if rows and len(rows[-1] + GAP + key) <= width:
            rows[-1] += GAP + key
        else:
            rows += _broken(key, width)
    return rows


def _broken(line: str, width: int) -> list[str]:
    """Broken by the width of each character on the screen: some take two cells, some none."""
    from rich.text import Text

    return [row.plain.rstrip() for row in Text(visible(line)).wrap(_console(), width, overflow="fold")] or [""]


@cache
def _console() -> "Console":
    import io

    from rich.console import Console

    return Console(file=io.StringIO())
