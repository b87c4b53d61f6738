"""The one script that a desk writes, and its draft: what was typed but not saved, kept beside it for a crash.

Nothing else is written, nothing is written through a link, and a file that another program has changed stays as it is.
"""

import contextlib
import os
import re
from hashlib import sha256
from pathlib import Path
from threading import Lock

from ...compiler.scripts import LARGEST, Refusal, decoded, read_bytes, sourced, write_new, write_whole

PLAIN_NAME = re.compile(r"[a-z0-9][a-z0-9_-]{0,59}\.feed", re.ASCII | re.IGNORECASE)
"""Of a file that a page names: no folder, no hidden file, nothing that a system reads as a sign."""


class ScriptFile:
    """`name` in `folder`. What the file held when it was last read or written is what a save may replace."""

    def __init__(self, folder: Path, name: str, unnamed: bool = False) -> None:
        """`unnamed`: nobody has chosen the name, so the first save may."""
        self.folder, self.name, self.unnamed = folder, name, unnamed
        self.path, self._draft = folder / name, folder / f".{name}.draft"
        self._known: str | None = None
        self._naming = Lock()  # a draft is written in a thread of its own

    def read(self) -> str | None:
        """What the file holds now; None if there is none. Refusal if it cannot be read or is a link."""
        data = self._bytes(self.path)
        self._known = _digest(data)
        return None if data is None else sourced(self.name, decoded(self.name, data)).text

    def changed(self) -> bool:
        """Has another program written or removed the file since it was read or saved?"""
        return self._digest() != self._known

    def save(self, text: str) -> bool:
        """Writes the file whole; False, and nothing is written, if another program has changed it. Refusal if it
        cannot be written."""
        data = text.encode("utf-8", "replace")  # a page may hold half a sign
        if len(data) > LARGEST:
            raise Refusal(f"{self.name} is larger than {LARGEST // 1024} KB; no script needs so much")
        if self.changed():
            return False
        if self._known is None:
            write_new(str(self.path), "")
        write_whole(str(self.path), data)
        self._known = _digest(data)
        self.forget()
        return True

    def call(self, name: str) -> None:
        """Gives a file that was never written the name that its user wants, and its draft with it; Refusal if the name
        is not a plain one, or taken."""
        if not PLAIN_NAME.fullmatch(name):
            raise Refusal("The name of a script has letters, numbers and hyphens, and ends in .feed")
        if os.path.lexists(self.folder / name):
            raise Refusal(f"{name} is there already")
        with self._naming, contextlib.suppress(OSError):
            old, self._draft = self._draft, self.folder / f".{name}.draft"
            self.name, self.path, self.unnamed = name, self.folder / name, False
            old.rename(self._draft)

    def keep(self) -> None:
        """The text of the desk goes before what another program wrote: the next save may replace it."""
        self._known = self._digest()

    # ---- what was typed but not saved

    def draft(self) -> str | None:
        with contextlib.suppress(Refusal):
            data = self._bytes(self._draft)
            return None if data is None else sourced(self.name, decoded(self.name, data)).text
        return None

    def remember(self, text: str) -> None:
        """Keeps a text until it is saved. Without room for it the work goes on: saving will tell."""
        if len(data := text.encode("utf-8", "replace")) > LARGEST:
            return
        with self._naming, contextlib.suppress(Refusal):
            if self._bytes(self._draft) is None:
                write_new(str(self._draft), "")
            write_whole(str(self._draft), data)

    def forget(self) -> None:
        with contextlib.suppress(OSError):
            self._draft.unlink()

    # ----

    def _bytes(self, path: Path) -> bytes | None:
        if path.is_symlink():
            raise Refusal(f"{path.name} is a link to another place; the desk opens files of its own folder alone")
        return read_bytes(str(path)) if os.path.lexists(path) else None

    def _digest(self) -> str | None:
        try:
            return _digest(self._bytes(self.path))
        except Refusal:
            return ""  # whatever it is now, it is not what was read


def _digest(data: bytes | None) -> str | None:
    return None if data is None else sha256(data).hexdigest()


def free_name(folder: Path) -> str:
    """For a new practice: a name that no file has. One whose draft was never saved comes first."""
    names = ["practice.feed", *(f"practice-{n}.feed" for n in range(2, 1000))]
    return next(name for name in names if not os.path.lexists(folder / name))
