"""Outline, folds and what each word is, of the included programs."""

from feedwright.compiler.service.layout import Heading, folds, outline, painted
from feedwright.compiler.service.script import opened
from feedwright.grammar.source import Source
from feedwright.programs import ScriptShelf

from ..shipped import OF_A_KIND

SCRIPTS = ScriptShelf(None)


def test_an_outline_holds_every_line_at_the_margin_and_the_rounds_of_the_session() -> None:
    text = 'program "P"\nfeed a aims x\n    arc low\n\nsession "S"\n    2 rounds\n        3 balls a\n    rest 1 min\n'
    script = opened(Source("p.feed", text), None)
    told = [(heading.kind, heading.name, heading.whole.text.count("\n")) for heading in outline(script)]
    assert told == [("program", '"P"', 0), ("feed", "a aims x", 1), ("session", '"S"', 3)]
    (rounds,) = outline(script)[2].under
    assert isinstance(rounds, Heading) and rounds.name == "2 rounds"
    assert folds(script) == ((2, 3), (5, 8), (6, 7))


def test_every_sign_of_a_program_is_a_word_a_comma_a_blank_or_a_comment() -> None:
    for path in OF_A_KIND:
        script = opened(Source(path.name, path.read_text("utf-8")), SCRIPTS)
        left = list(script.source.text)
        end = 0
        for word in painted(script):
            assert word.span.start >= end, word
            end = word.span.end
            left[word.span.start : word.span.end] = " " * (word.span.end - word.span.start)
        assert set("".join(left)) <= {" ", "\n", ","}, path


def test_what_words_are() -> None:
    text = "# first\nfeed wide aims x  # why\n    pace 80 km/h\n    gibberish\n"
    script = opened(Source("p.feed", text), None)
    assert [(word.sort, word.span.text) for word in painted(script)] == [
        ("comment", "# first"), ("word", "feed"), ("made", "wide"), ("word", "aims"), ("name", "x"),
        ("comment", "# why"), ("word", "pace"), ("number", "80"), ("unit", "km/h"),
    ]  # fmt: skip
