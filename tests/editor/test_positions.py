"""Lines and columns as the Language Server Protocol 3.17 counts them: columns in UTF-16 units."""

from hypothesis import given
from hypothesis import strategies as st
from lsprotocol.types import Position

from feedwright.targets.editor.positions import Positions


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
