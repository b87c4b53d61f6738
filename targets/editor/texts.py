"""The scripts that an editor has open, as it holds them itself."""

from collections.abc import Callable, Iterable
from typing import NamedTuple

from lsprotocol import types as t

from .positions import Positions


class OpenText(NamedTuple):
    """A text as it was sent, with its own ends of lines."""

    version: int
    sent: str

    def after(
        self, version: int, changes: Iterable[t.TextDocumentContentChangeEvent], units: Callable[[str], int]
    ) -> "OpenText":
        """The next version: each change is of the text that the change before it left."""
        text = self.sent
        for change in changes:
            if isinstance(change, t.TextDocumentContentChangePartial):
                at = Positions(text, units)
                text = text[: at.place(change.range.start)] + change.text + text[at.place(change.range.end) :]
            else:
                text = change.text
        return OpenText(version, text)
