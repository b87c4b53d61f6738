"""Screens: a live one with giant figures, and plain lines for pipes and screen readers. Both draw a Picture."""

from collections.abc import Callable
from typing import TYPE_CHECKING, Protocol, TextIO

from ...compiler.printable import visible
from .picture import Picture

if TYPE_CHECKING:
    from rich.panel import Panel

_FIGURES = {
    "0": "███|█ █|█ █|█ █|███", "1": "  █|  █|  █|  █|  █", "2": "███|  █|███|█  |███", "3": "███|  █|███|  █|███",
    "4": "█ █|█ █|███|  █|  █", "5": "███|█  |███|  █|███", "6": "███|█  |███|█ █|███", "7": "███|  █|  █|  █|  █",
    "8": "███|█ █|███|█ █|███", "9": "███|█ █|███|  █|███",
}  # fmt: skip


def giant(number: int) -> str:
    """Figures five lines high, each sign doubled in width."""
    rows = zip(*(_FIGURES[figure].split("|") for figure in str(number)), strict=True)
    return "\n".join("  ".join("".join(c * 2 for c in part) for part in row) for row in rows)


class Screen(Protocol):
    def show(self, picture: Picture) -> None: ...
    def say(self, text: str) -> None: ...
    def close(self) -> None: ...


class Plain:
    """A line for each change; the countdown at 60, 30, 10, 5, 3, 2 and 1."""

    TOLD = frozenset({60, 30, 10, 5, 3, 2, 1})

    def __init__(self, out: TextIO) -> None:
        self._out = out
        self._last: tuple[object, ...] = ()
        self._seconds: int | None = None

    def show(self, picture: Picture) -> None:
        told = (picture.headline, picture.lines)
        if told != self._last:
            for line in [picture.headline, *picture.lines] if picture.headline not in self._last[:1] else picture.lines:
                if line not in (self._last[1] if self._last else ()):  # type: ignore[operator]
                    self.say(line)
            if picture.headline not in self._last[:1]:
                self.say(picture.keys)
            self._last = told
        if picture.seconds != self._seconds:
            if picture.seconds in self.TOLD:
                self.say(f"{picture.seconds} s")
            self._seconds = picture.seconds

    def say(self, text: str) -> None:
        self._out.write(visible(text) + "\n")
        self._out.flush()

    def close(self) -> None:
        pass


def drawn(picture: Picture) -> "Panel":
    """The picture in a frame, the seconds as giant figures."""
    from rich.align import Align
    from rich.console import Group
    from rich.panel import Panel
    from rich.text import Text

    parts: list[object] = []
    if picture.seconds is not None:
        parts.append(Align.center(Text(giant(picture.seconds), style="bold")))
    parts += [Text(visible(line)) for line in picture.lines]
    parts += [Text(), Text(picture.keys, style="bold")]
    return Panel(Group(*parts), title=Text(picture.headline))  # type: ignore[arg-type]


class Live:
    """rich's live display in place, without the alternate screen: what was said stays in the scroll-back."""

    def __init__(self, out: TextIO) -> None:
        from rich.console import Console
        from rich.live import Live as RichLive

        self._console = Console(file=out)
        self._live = RichLive(console=self._console, auto_refresh=False, transient=False)
        self._live.start()
        self._last: Picture | None = None

    def show(self, picture: Picture) -> None:
        if picture == self._last:
            return
        self._last = picture
        self._live.update(drawn(picture), refresh=True)

    def say(self, text: str) -> None:
        from rich.text import Text

        self._console.print(Text(visible(text)))

    def close(self) -> None:
        self._live.stop()


class Bells:
    """Three short bells before a ball and a double one at its moment, where a terminal listens."""

    def __init__(self, ring: Callable[[str], None] | None) -> None:
        self._ring, self._last = ring, None

    def hear(self, seconds: int | None) -> None:
        if seconds != self._last and self._ring and seconds is not None:
            if seconds in (1, 2, 3):
                self._ring("\a")
            elif self._last == 1:
                self._ring("\a\a")
        self._last = seconds  # type: ignore[assignment]
