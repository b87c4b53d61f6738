"""The way in for a phone: its address with the one-time word, in words and as a QR code that a camera reads."""

import io


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
