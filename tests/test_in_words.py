"""Numbers, times and units in words, where they can mean nothing else; `format` writes them in digits."""

import pytest

from feedwright.grammar.format import formatted
from feedwright.grammar.parse import parse
from feedwright.grammar.source import Source

SCRIPT = """\
feed two
    stance    {stance}
    height    1 m over net

point attack
    plays     two, {plays}

session "Two minutes", lasts {lasts}
    {block}
        {game}
    rest      {rest}
    {timed}
"""
DIGITS = {
    "stance": "1 m behind baseline", "plays": "then two", "lasts": "30 min", "block": "21 points attack",
    "game": "first to 11", "rest": "90 s", "timed": "2 min     mix 2 two, three, at most 2 alike",
}  # fmt: skip
SAID = [
    ("stance", "half a metre behind baseline", "0.5 m behind baseline"),
    ("stance", "two and a half metres behind baseline", "2.5 m behind baseline"),
    ("stance", "1.5 metres behind baseline", "1.5 m behind baseline"),
    ("lasts", "half an hour", "30 min"),
    ("lasts", "an hour", "60 min"),
    ("block", "twenty points attack", "20 points attack"),
    ("game", "first to eleven", "first to 11"),
    ("rest", "1 min 30 s", "90 s"),
    ("rest", "one minute and thirty seconds", "90 s"),
    ("rest", "half a minute", "0.5 min"),
    ("timed", "three minutes two", "3 min     two"),
    ("timed", "2 min mix two, three, at most two alike", "2 min     mix two, three, at most 2 alike"),
    ("timed", "2 min cycle three two, three", "2 min     cycle 3 two, three"),
]


@pytest.mark.parametrize(("place", "words", "digits"), SAID)
def test_they_are_read_and_written_in_digits(place: str, words: str, digits: str) -> None:
    text, faults = formatted(Source("t.feed", SCRIPT.format(**DIGITS | {place: words})))
    usual, none = formatted(Source("t.feed", SCRIPT.format(**DIGITS | {place: digits})))
    assert not faults and not none and text == usual


def test_a_name_stays_a_name() -> None:
    text, faults = formatted(Source("t.feed", SCRIPT.format(**DIGITS)))
    assert not faults and "plays     two, then two" in text and "feed two\n" in text


def test_what_is_wrong_is_marked_where_the_word_stands() -> None:
    source = Source("t.feed", SCRIPT.format(**DIGITS | {"game": "first to eleven points"}))
    (fault,) = parse(source)[1]
    assert fault.span.text == "points" and "digits" not in " ".join(fault.advice)
