"""Changes of a source: what is written stands as the lines around it do."""

from feedwright.grammar import parse as reading
from feedwright.grammar import syntax as s
from feedwright.grammar.edits import above, amount, below, instead
from feedwright.grammar.parse import parse
from feedwright.grammar.source import Source

WIDE = "feed a\n    height    1 m over net\n    spin      flat\n    interval  6 s  # slow\n"
NARROW = "feed a\n  height 1 m over net\n  spin flat\n  interval 6 s  # slow\n"


def test_a_sentence_keeps_the_column_of_the_one_that_it_replaces() -> None:
    quick = s.Interval(amount(4, 0, "s"))
    for text, said, first in ((WIDE, "interval  4 s", "    interval  4 s"), (NARROW, "interval 4 s", "  interval 4 s")):
        tree, _ = parse(Source("a.feed", text))
        head = tree.lines[0]
        old = head.children[-1]
        assert old.sentence and instead(old.sentence, quick).text == said
        assert instead(old.sentence, quick, quick).text == f"{said}\n{first}"
        assert below(head, quick, quick).text == f"\n{first}\n{first}"
        assert above(old.span, quick).text == f"{said}\n{first[: -len(said)]}"


def test_below_a_head_without_lines_the_language_says_the_column() -> None:
    tree, _ = parse(Source("a.feed", "feed a\n"))
    assert below(tree.lines[0], s.Interval(amount(4, 0, "s"))).text == "\n    interval 4 s"


def test_a_slip_is_judged_once_for_each_text_of_a_line() -> None:
    """A script that changes is read again at each key; a line that cannot be read costs a hundred times as much."""
    text = "feed a\n    hieght 1 m over net\n    spinn flat\n"
    told = parse(Source("a.feed", text))[1]
    known = reading._slip.cache_info().misses
    again = parse(Source("a.feed", f"\n{text}"))[1]
    assert len(told) == 2 and reading._slip.cache_info().misses == known
    assert [one.message for one in again] == [one.message for one in told]
    assert [one.span.start for one in again] == [one.span.start + 1 for one in told]
