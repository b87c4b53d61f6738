"""The TextMate grammar is made from the grammar of the language, and colours words as the language reads them."""

import json
import re
from pathlib import Path

import pytest

from feedwright.compiler.service.layout import painted
from feedwright.compiler.service.script import opened
from feedwright.grammar.source import Source
from feedwright.programs import ScriptShelf
from feedwright.targets.editor.colours import text_mate

from ..shipped import OF_A_KIND

FILE = Path(__file__).parent.parent.parent / "targets" / "editor" / "feed.tmLanguage.json"
SCOPES = {
    "word": ("keyword.other.feed",), "made": ("entity.name.feed", "variable.other.feed"),
    "number": ("constant.numeric.feed",),
    "unit": ("keyword.other.unit.feed",),
    "title": (
        "string.quoted.double.feed", "string.unquoted.feed", "constant.numeric.feed", "keyword.other.unit.feed",
        "variable.other.feed",
    ),
    "comment": ("comment.line.number-sign.feed",),
    "name": ("variable.other.feed", "keyword.other.feed", "entity.name.feed"),
}  # fmt: skip
"""A name that is a keyword elsewhere may have the keyword's colour; an amount that opens a block, that of one made.
The words after a ladder's `from` are those of a rung, or the name of a feed."""


def test_the_file_is_made_from_the_grammar(pytestconfig: pytest.Config) -> None:
    if pytestconfig.getoption("--update"):
        FILE.write_text(text_mate(), "utf-8")
    assert FILE.read_text("utf-8") == text_mate(), "to make it anew: pytest tests/editor/test_colours.py --update"


def scopes(row: str) -> list[str]:
    """The scope of each character, as the TextMate manual ("Language Grammars") says: the pattern that matches first
    in the row, among these the one that stands first, then on from its end."""
    patterns = [(re.compile(one["match"]), one) for one in json.loads(text_mate())["patterns"]]
    found, place = [""] * len(row), 0
    while place <= len(row):
        matches = [(match.start(), i, match) for i, (pattern, _) in enumerate(patterns)
                   if (match := pattern.search(row, place)) and match.end() > match.start()]  # fmt: skip
        if not matches:
            break
        _, i, match = min(matches, key=lambda one: one[:2])
        one = patterns[i][1]
        parts = {0: one["name"]} if "name" in one else {int(n): of["name"] for n, of in one["captures"].items()}
        for number, scope in parts.items():
            start, end = match.span(number)
            found[start:end] = [scope] * (end - start)
        place = match.end()
    return found


def test_words_have_the_colours_that_the_language_gives_them() -> None:
    for path in OF_A_KIND[-3:]:
        text = path.read_text("utf-8")
        coloured = [scope for row in text.split("\n") for scope in (*scopes(row), "")]
        for word in painted(opened(Source(path.name, text), ScriptShelf(None))):
            span = word.span
            signs = zip(span.text, coloured[span.start : span.end], strict=True)
            inside = {scope for sign, scope in signs if sign != " "}
            assert inside <= set(SCOPES[word.sort]), (path.stem, span.text, word.sort, inside)


def test_the_page_has_settings_that_start_the_server() -> None:
    page = FILE.with_name("EDITORS.md").read_text("utf-8")
    settings = re.findall(r"```text\n(.*?)```", page, re.S)
    assert len(settings) == 3
    for text in settings:
        assert re.search(r'"feedwright",? "language-server"', text)
    kate = json.loads(settings[2])["servers"]["feed"]
    assert kate["command"] == ["feedwright", "language-server"]
