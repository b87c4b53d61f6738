"""Screens: one that draws in place with giant words, and plain lines for pipes and screen readers.

Both draw a Picture and write it to the stream they are given. A terminal may keep a write waiting for any time, so only
display.py calls them, on a thread of its own.
"""

import io
import os
from collections import deque
from collections.abc import Callable
from typing import TYPE_CHECKING, Protocol, TextIO

from ....compiler.printable import visible
from .layout import Page, laid_out
from .picture import Picture

if TYPE_CHECKING:
    from rich.console import Console, RenderableType

STOP_STYLE = "bold reverse red"
"""For Stop and for what a person must act on at once; bold and reverse also show without colour."""

CODE_STYLE = "#ffffff on #000000"
"""A camera reads a QR code that is dark on light, so its colours are not left to the terminal."""


class LiveScreen(Protocol):
    def show(self, picture: Picture) -> None: ...
    def say(self, text: str) -> None: ...
    def ring(self) -> None: ...
    def pages(self, picture: Picture) -> int: ...
    def close(self) -> None: ...


def screen(out: TextIO, plain: bool) -> LiveScreen:
    """The screen that this terminal can show."""
    if plain or not out.isatty():
        return Plain(out)
    from rich.console import Console

    console = Console(file=out)
    if console.is_dumb_terminal or console.legacy_windows:
        told = Plain(out)
        told.say("This terminal cannot draw in place, so the replay writes lines, as with --plain.")
        return told
    return Live(out, console)


class Plain:
    """A line for each change; the countdown at 60, 30, 10, 5, 3, 2 and 1."""

    TOLD = frozenset({60, 30, 10, 5, 3, 2, 1})

    def __init__(self, out: TextIO) -> None:
        self._write, self._rings = writes_to(out), out.isatty()
        self._last: tuple[str, tuple[str, ...]] = "", ()
        self._seconds: int | None = None

    def show(self, picture: Picture) -> None:
        headline, lines = self._last
        new = picture.headline != headline
        for line in ([picture.headline] if new else []) + [line for line in picture.lines if line not in lines]:
            self.say(line)
        if new and picture.keys:
            self.say("     ".join(picture.keys))
        self._last = picture.headline, picture.lines
        if picture.seconds != self._seconds:
            if picture.seconds in self.TOLD:
                self.say(f"{picture.seconds} s")
            self._seconds = picture.seconds

    def say(self, text: str) -> None:
        self._write(visible(text) + "\n")

    def ring(self) -> None:
        if self._rings:
            self._write("\a")

    def pages(self, picture: Picture) -> int:
        return 1  # every line stays to be read

    def close(self) -> None:
        pass


class Live:
    """The box after the messages, redrawn in its place. A bell is a single byte and moves nothing."""

    def __init__(self, out: TextIO, console: "Console") -> None:
        self._write, self._console = writes_to(out, "replace"), console  # one character replaces one: nothing moves
        self._size = console.size
        self._ascii = not _encodes(out.encoding, "█▀▄╭")
        self._said: deque[str] = deque(maxlen=50)
        self._height = 0
        self._last: Picture | None = None

    def show(self, picture: Picture) -> None:
        if picture != self._last or self._console.size != self._size:
            self._last = picture
            self._draw("")

    def say(self, text: str) -> None:
        self._said.append(visible(text))
        self._draw(visible(text) + "\n")

    def ring(self) -> None:
        self._write("\a")

    def pages(self, picture: Picture) -> int:
        return laid_out(picture, *self._console.size, self._ascii).pages

    def close(self) -> None:
        if self._height:
            self._write("\n")
            self._height = 0

    def _draw(self, above: str) -> None:
        """In one write: go back to the first line of the box, write the messages above it, then the box."""
        size = self._console.size
        text = f"\r\x1b[{self._height - 1}A" if self._height > 1 else "\r"
        if size != self._size:  # the terminal has rewrapped the old lines: redraw from the top
            self._size, text, above = size, "\x1b[H\x1b[2J", "".join(f"{line}\n" for line in self._said)
        text += "\x1b[J" + above if above else ""
        rows = self._rows(size.width, size.height) if self._last else []
        text += "\n".join(f"\x1b[2K{row}" for row in rows) + "\x1b[J"
        self._height = len(rows)
        self._write(text)

    def _rows(self, width: int, height: int) -> list[str]:
        assert self._last is not None
        from rich.console import Console

        real = self._console
        page = Console(
            file=io.StringIO(), force_terminal=True, width=width, legacy_windows=False, highlight=False, markup=False,
            color_system=real.color_system, no_color=real.no_color, emoji=False,  # type: ignore[arg-type]
        )  # fmt: skip
        with page.capture() as captured:
            page.print(drawn(self._last, width, height, self._ascii), end="")
        return captured.get().rstrip("\n").split("\n")[:height]


def drawn(picture: Picture, width: int, height: int, ascii_only: bool = False) -> "RenderableType":
    """The picture for a screen of that size, in a frame if there is room for one."""
    from rich.console import Group
    from rich.panel import Panel
    from rich.text import Text

    page = laid_out(picture, width, height, ascii_only)
    body = Group(*_texts(page, picture.alarm))
    title = Text(visible(picture.headline), style=STOP_STYLE if picture.alarm else "bold")
    if page.framed:
        from rich import box

        return Panel(body, title=title, width=width, box=box.ASCII if ascii_only else box.ROUNDED)
    return Group(title, body)


def _texts(page: Page, alarm: bool) -> "list[RenderableType]":
    from rich.text import Text

    texts: list[RenderableType] = []
    for row in page.giant:
        texts.append(Text(row.center(page.width).rstrip(), style="bold red" if alarm else "bold", no_wrap=True))
    texts += [Text(row, style=CODE_STYLE if is_code(row) else "") for row in page.rows]
    for row in page.keys:
        text = Text(row, style="bold")
        text.highlight_regex(r"SPACE  (?:STOP|stop)\b", STOP_STYLE)
        texts.append(text)
    return texts


def is_code(row: str) -> bool:
    """Whether a row is one of a QR code."""
    return bool(row) and set(row) <= set("█▀▄ ")


def writes_to(out: TextIO, unknown: str = "backslashreplace") -> Callable[[str], None]:
    """A function that writes past the stream's own buffer, whose lock would keep the program from ending while a
    terminal accepts nothing. `unknown`: the `codecs` error handler for characters outside the terminal's encoding."""
    try:
        number = out.fileno() if os.name == "posix" else None
    except (OSError, ValueError, AttributeError):
        number = None
    encoding = getattr(out, "encoding", None) or "utf-8"

    def write(text: str) -> None:
        data = text.encode(encoding, unknown)
        if number is None:
            out.write(data.decode(encoding))
            out.flush()
            return
        while data:
            data = data[os.write(number, data) :]

    return write


def _encodes(encoding: str, signs: str) -> bool:
    try:
        signs.encode(encoding)
    except (UnicodeEncodeError, LookupError):
        return False
    return True
