"""A remedy of several lines, and figures that have to differ."""

from feedwright.compiler.findings.bounds import NotTogether
from feedwright.compiler.findings.player import NoTimeToSee
from feedwright.compiler.report.render import human, made_line
from feedwright.compiler.trial import _moved
from feedwright.grammar.edits import Remedy, at, united
from feedwright.grammar.facts import BallName, Metres, Seconds
from feedwright.grammar.finding import Finding
from feedwright.grammar.source import Source, Span

TEXT = "feed a\n    depth 3 m\n    side middle\n    stance 2 m behind the bounce\n    height waist\n"
SOURCE = Source("a.feed", TEXT)


def span(words: str) -> Span:
    start = TEXT.index(words)
    return Span(SOURCE, start, start + len(words))


BOTH = united([Remedy(span("stance 2 m behind"), "stance 1.5 m behind"), Remedy(span("depth 3 m"), "depth 4.25 m")])


def test_each_line_is_told_by_itself() -> None:
    message = NotTogether(BallName("a"), "height at the player", Metres(0.7), Metres(0.2))
    told = human([Finding(message, span("height waist"), remedies=(BOTH,))])
    assert "  Write in line 2:\n    depth 4.25 m\n  and in line 4:\n    stance 1.5 m behind the bounce\n" in told
    assert made_line(BOTH) == ("depth 4.25 m / stance 1.5 m behind the bounce", "line 2 and line 4")


def test_its_text_leaves_the_lines_between_as_they_are() -> None:
    new = TEXT[: BOTH.span.start] + BOTH.text + TEXT[BOTH.span.end :]
    assert new == TEXT.replace("3 m", "4.25 m").replace("2 m", "1.5 m")
    for words in ("side", "the bounce", "height"):  # a place after the change is found again in the script before
        after = Span(SOURCE, new.index(words), new.index(words) + 1)
        assert _moved(after, BOTH).start == TEXT.index(words)


def test_in_rows_of_their_own_the_first_stands_for_all() -> None:
    rows = {one.span.start: Source("a.feed", one.span.text) for one in BOTH.parts}
    apart = at(BOTH, lambda one: Span(rows[one.start], 0, len(rows[one.start].text)))
    assert apart.text == "depth 4.25 m" and len(apart.parts) == 2
    starts = {id(row): start for start, row in rows.items()}
    back = at(apart, lambda one: Span(SOURCE, starts[id(one.source)], starts[id(one.source)] + one.end))
    assert back == BOTH


def test_a_missing_hundredth_of_a_second_is_seen() -> None:
    """1.168 < 0.380 + 0.791: in hundredths both come to 1.17 s."""
    told = NoTimeToSee(BallName("a"), Seconds(1.168), Seconds(0.38), Seconds(0.791)).text()
    assert "1.168 s" in told and "0.380 s" in told and "0.791 s" in told
    assert "0.90 s" in NoTimeToSee(BallName("a"), Seconds(0.9), Seconds(0.38), Seconds(0.791)).text()
