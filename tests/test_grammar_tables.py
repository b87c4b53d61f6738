"""Sentences are read by tables that lark made of the grammar, and as lark itself reads them."""

import shutil
import subprocess
import sys
from pathlib import Path
from random import Random

import pytest
from lark import Token, Tree
from lark.exceptions import UnexpectedInput

from feedwright.grammar.lalr import FILE, lark, written
from feedwright.grammar.reader import AFTER_COMMA, Branch, Reader, Stuck, read

from .cases import cases
from .whole import share

ROOT = Path(__file__).parent.parent
SCRIPTS = [path.read_text("utf-8") for path in (*ROOT.glob("programs/*.feed"), *ROOT.glob("tests/everything/*.feed"))]
STRAY = ' ,.-\t"#xX9éß²'
"""What stands in the wrong place: signs of the language, and letters and digits that are none of it."""


def test_the_tables_are_those_of_the_grammar(pytestconfig: pytest.Config) -> None:
    if pytestconfig.getoption("--update"):
        FILE.write_text(written(), "utf-8")
        subprocess.run([sys.executable, "-c", "from feedwright.grammar import tables"], check=True)
        return
    assert FILE.read_text("utf-8") == written(), "to make them anew: pytest tests/test_grammar_tables.py --update"


def test_a_grammar_that_changed_is_read_by_tables_made_anew(tmp_path: Path) -> None:
    """Without the tables written again: whoever changes the grammar sees the change at once."""
    house = tmp_path / "house"
    shutil.copytree(ROOT / "grammar", house, ignore=shutil.ignore_patterns("__pycache__"))
    text = (house / "feed.lark").read_text("utf-8").replace("session", "evening")
    (house / "feed.lark").write_text(text, "utf-8")
    code = "from house.reader import read; print(read('evening \"x\"').rule)"
    done = subprocess.run([sys.executable, "-c", code], cwd=tmp_path, capture_output=True, text=True, check=True)
    assert done.stdout == "evening\n"


def sentences() -> list[str]:
    """What the included programs say, and every case of a script with a slip."""
    texts = [*SCRIPTS, *(case.source.text for case in cases())]
    return sorted({row.partition("#")[0].strip() for text in texts for row in text.split("\n")} - {""})


def by_lark(text: str) -> object:
    """The words and rules of a sentence, or where it goes wrong and what could stand there, by lark."""
    try:
        return _plain(lark().parse(text))
    except UnexpectedInput:
        pass
    reader = lark().parse_interactive(text)
    words = reader.lexer_thread.lex(reader.parser_state)
    while True:
        before = reader.copy()
        try:
            if (word := next(words, None)) is None:
                return len(text), reader.accepts()
            reader.feed_token(word)
        except UnexpectedInput as error:
            return error.pos_in_stream, before.accepts()


def _plain(tree: Tree[Token]) -> object:
    return str(tree.data), [_word(part) if isinstance(part, Token) else _plain(part) for part in tree.children]


def _word(token: Token) -> object:
    """Without the comma that may come before some words, which a reader leaves out."""
    kept = token.lstrip(", ") if token.type in AFTER_COMMA else str(token)
    return token.type, kept, (token.end_pos or 0) - len(kept), token.end_pos


def by_us(text: str) -> object:
    def plain(tree: Branch) -> object:
        return tree.rule, [
            plain(part) if isinstance(part, Branch) else (part.kind, str(part), part.start, part.end)
            for part in tree.parts
        ]

    try:
        return plain(read(text))
    except Stuck:
        pass
    reader = Reader(text)
    accepted = reader.accepts()
    try:
        while reader.next() is not None:
            accepted = reader.accepts()
    except Stuck as stuck:
        return stuck.place, accepted
    return len(text), accepted


def test_sentences_are_read_as_lark_reads_them() -> None:
    every = sentences()
    for text in every if share(len(every)) == len(every) else Random(1).sample(every, 150):
        assert by_us(text) == by_lark(text), text


def test_sentences_with_a_slip_are_refused_where_lark_refuses_them() -> None:
    """Cut short, with a part doubled or left out, or with a sign put in."""
    chance, every = Random(2), sentences()
    for _ in range(share(2000)):
        text = chance.choice(every)
        place, other = sorted(chance.choices(range(len(text) + 1), k=2))
        sign = chance.choice(STRAY)
        text = chance.choice(
            [text[:place], text[:place] + sign + text[place:], text[:place] + text[other:], text[:other] + text[place:]]
        ).strip(" \t")
        if text:
            assert by_us(text) == by_lark(text), text
