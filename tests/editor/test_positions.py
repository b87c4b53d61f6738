"""Lines and columns as the Language Server Protocol 3.17 counts them: columns in UTF-16 units."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from lsprotocol.types import Position, Range, TextDocumentContentChangePartial

from feedwright.targets.editor.positions import Positions
from feedwright.targets.editor.texts import OpenText


def utf16(text: str) -> int:
    return len(text.encode("utf-16-le")) // 2


TEXTS = st.text(st.sampled_from("ab \n\u00e9\u2713\U0001f3be"), max_size=60)


@given(TEXTS)
def test_every_place_has_a_position_that_leads_back(text: str) -> None:
    at = Positions(text, utf16)
    for place in range(len(text) + 1):
        position = at.position(place)
        row = text.split("\n")[position.line].encode("utf-16-le")
        before = sum(len(one) + 1 for one in text.split("\n")[: position.line])
        assert text[before:place].encode("utf-16-le") == row[: 2 * position.character]
        assert at.place(position) == place


def test_the_example_of_the_protocol() -> None:
    """LSP 3.17, Text Documents: in `a𐐀b` the offset of b is 3."""
    at = Positions("a\U00010400b", utf16)
    assert at.position(2) == Position(0, 3) and at.place(Position(0, 3)) == 2


def test_beyond_a_line_or_the_text_is_its_end() -> None:
    at = Positions("ab\nc", utf16)
    assert [at.place(Position(*where)) for where in ((0, 9), (1, 9), (7, 0))] == [2, 4, 4]


# LSP 3.17, Text Documents: `\n`, `\r\n` and `\r` end a line. The others do so for Python's splitlines alone.
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("sign", ["\u2028", "\u2029", "\x85", "\v", "\f", "\x1c"])
def test_an_edit_counts_the_lines_that_the_protocol_counts(end: str, sign: str) -> None:
    sent = OpenText(1, f"a{sign}b{end}\U0001f3bec{end}")
    second = Range(Position(1, 2), Position(1, 3))
    beyond = Range(Position(7, 0), Position(7, 9))
    changes = [TextDocumentContentChangePartial(second, "d"), TextDocumentContentChangePartial(beyond, "e")]
    assert sent.after(2, changes, utf16) == OpenText(2, f"a{sign}b{end}\U0001f3bed{end}e")
