"""The feed language as text: grammar, words for people, likely mistakes."""

from pathlib import Path
from zlib import crc32

FOLDER = Path(__file__).parent


def grammar_text() -> str:
    return (FOLDER / "feed.lark").read_text("utf-8")


def fingerprint() -> str:
    """Distinguishes one state of the grammar from another; a checksum is enough, and loads faster than a digest."""
    text = grammar_text()
    return f"{len(text)}-{crc32(text.encode()):08x}"
