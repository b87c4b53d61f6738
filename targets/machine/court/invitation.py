"""The way in for a phone: its address with the one-time word, in words and as a QR code that a camera reads."""

import io
from collections.abc import Sequence

from ..replay.picture import Picture


def address(origin: str, word: str) -> str:
    """The word stands after #, which a browser does not send along with requests."""
    return f"{origin}/#{word}"


def code(text: str) -> list[str] | None:
    """The QR code in half blocks, a string for each line; None where segno is not installed."""
    try:
        import segno
    except ImportError:
        return None
    out = io.StringIO()
    segno.make(text, error="l", micro=False).terminal(out, border=2, compact=True)
    return out.getvalue().splitlines()


def card(said: str, drawn: Sequence[str]) -> Picture:
    """The code as the screen beside the machine shows it."""
    keys = "any other key  close", "SPACE  stop"
    return Picture("A phone can come in", (), None, (), (said, *drawn), "", keys)
