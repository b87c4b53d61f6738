"""Problems with what mends them, and where those of an older text are in a newer one."""

import pytest

from feedwright.compiler.pipeline import compile_source
from feedwright.compiler.service.script import edited
from feedwright.compiler.service.telling import Problem, carried, problems
from feedwright.grammar.source import Source
from feedwright.targets.machine.feeders import ProfileShelf

from ..shipped import FOLDER

TEXT = (FOLDER / "02-first-script.feed").read_text("utf-8")


def told(text: str) -> tuple[Problem, ...]:
    source = Source("a.feed", text)
    return problems(compile_source(source, ProfileShelf(None), plan=False, remedies=False).findings, source)


@pytest.mark.parametrize(
    ("right", "wrong"),
    [
        ("topspin 1200", "topspinn 1200"), ("surface   hard", "surface   hardd"), ("aims clear\n", "aims cleer\n"),
        ("side      forehand", "seid      forehand"), ("6 s", "6 sc"), ("mix high", "mix heigh"),
    ],
)  # fmt: skip
def test_a_word_that_is_misspelt_is_mended_by_the_one_that_was_meant(right: str, wrong: str) -> None:
    text = TEXT.replace(right, wrong, 1)
    assert text != TEXT
    mended = [edited(one.span.source, (mending.edit,)) for one in told(text) for mending in one.mendings]
    assert TEXT in mended and all(len(told(other)) <= len(told(text)) for other in mended)


def test_a_word_is_mended_where_another_line_has_a_slip_of_its_own() -> None:
    text = TEXT.replace("aims clear\n", "aims cleer\n", 1).replace("surface   hard", "surface   hardd")
    makes = [mending.makes for one in told(text) for mending in one.mendings]
    assert "surface hard" in makes and "feed high aims clear" in makes


def carried_words(before: str, after: str) -> list[str]:
    """The words of the rows at which the problems of one text stand in another."""
    source = Source("a.feed", after)
    return [span.source.line_of(span.start)[2].strip() for one in carried(told(before), source) if (span := one.span)]


def test_problems_of_an_older_text_move_with_their_rows() -> None:
    before = TEXT.replace("interval  6 s", "interval  0.7 s").replace("5 min     mix", "6 min     mix")
    rows = [one.span.source.line_of(one.span.start)[2].strip() for one in told(before)]
    assert len(rows) >= 2
    assert carried_words(before, before) == rows
    assert carried_words(before, "# first\n" + before) == rows and carried_words(before, before + "# last\n") == rows
    assert carried_words(before, before.replace("0.7 s", "0.9 s")) == [row for row in rows if "0.7 s" not in row]
    assert carried_words(before, "") == []


def test_what_helps_without_a_remedy_is_said_once_remedies_were_looked_for() -> None:
    source = Source("a.feed", TEXT.replace("machine club", "person racket").replace("0.6 m over", "0.05 m over"))
    findings = compile_source(source, ProfileShelf(None), plan=False, remedies=False).findings
    later = {one.message.otherwise for one in findings} - {""}
    before, after = (" ".join(one.text for one in problems(findings, source, looked)) for looked in (False, True))
    assert later and all(said[1:] in after and said[1:] not in before for said in later)
