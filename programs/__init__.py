"""Included programs, and scripts found by name for `use`."""

from pathlib import Path

from ..grammar.source import Source

LARGEST = 256 * 1024


def shipped() -> dict[str, str]:
    """The text of every included program, by file name."""
    return {
        entry.name: entry.read_text("utf-8")
        for entry in sorted(Path(__file__).parent.iterdir(), key=lambda entry: entry.name)
        if entry.name.endswith(".feed")
    }


class ScriptShelf:
    """Scripts to use: those in a folder and beneath it first, then the shipped ones. Nothing else is read."""

    def __init__(self, folder: Path | None) -> None:
        self._folder = folder.resolve() if folder else None

    def names(self) -> list[str]:
        own = [str(p.relative_to(self._folder)) for p in self._folder.glob("*.feed")] if self._folder else []
        return sorted({*own, *shipped()})

    def load(self, name: str) -> Source | None:
        """The script of that name, which the caller has checked to be a plain relative one; None where it cannot be
        read as text of a sensible size, or a link leads out of the folder."""
        if self._folder:
            path = (self._folder / name).resolve()
            if path.is_relative_to(self._folder) and path.is_file():
                with path.open("rb") as stream:
                    data = stream.read(LARGEST + 1)
                return _source(name, data)
        text = shipped().get(name)
        return Source(name, text) if text is not None else None


def _source(name: str, data: bytes) -> Source | None:
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return None
    if len(data) > LARGEST or "\0" in text:
        return None
    return Source(name, text.replace("\r\n", "\n").replace("\r", "\n"))
