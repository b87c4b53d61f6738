"""What is offered at a place: everything that the included programs say there, and nothing that is refused."""

from collections.abc import Iterator
from pathlib import Path
from random import Random

import pytest

from feedwright.compiler.include import include
from feedwright.compiler.resolve import resolve
from feedwright.compiler.service.script import opened
from feedwright.compiler.service.writing import offers
from feedwright.grammar import terminals
from feedwright.grammar.expect import expected
from feedwright.grammar.parse import parse
from feedwright.grammar.reader import Token
from feedwright.grammar.source import Source
from feedwright.programs import ScriptShelf
from feedwright.targets.machine.feeders import ProfileShelf

from ..shipped import OF_A_KIND
from ..whole import WHOLE

PROFILES, SCRIPTS = ProfileShelf(None), ScriptShelf(None)
OPEN = ("NUMBER", "TITLE", "FREE_TEXT", "COMMA")
MAKES = ("ZONE", "VARIATION", "FEED", "POINT", "GIVEN")
(SINK,) = (path for path in OF_A_KIND if path.stem.startswith("99"))


def offered(text: str, place: int | None = None) -> set[str]:
    found = offers(opened(Source("mine.feed", text), SCRIPTS), len(text) if place is None else place, PROFILES)
    return {offer.text for offer in found}


def words(text: str) -> Iterator[tuple[int, Token]]:
    """Every word of a script that is the language's or a name, and where it begins; not the names that it makes."""
    start = 0
    for row in text.split("\n"):
        sentence, begin = row.split("#")[0].strip(), start + len(row) - len(row.lstrip())
        start += len(row) + 1
        read = expected(sentence) if sentence else None
        for number, word in enumerate(read.words if read else ()):
            made = read and ((number == 1 and read.kinds[0] in MAKES) or read.kinds[number - 1] == "CALLED")
            if word.kind not in OPEN and not made:
                yield begin + word.start, word


@pytest.mark.parametrize("path", OF_A_KIND if WHOLE else [SINK], ids=lambda path: path.stem)
def test_each_word_of_a_program_is_offered_where_it_stands(path: Path) -> None:
    text = path.read_text("utf-8")
    script = opened(Source(path.name, text), SCRIPTS)
    for place, word in words(text):
        wanted = terminals.KEYWORDS.get(word.kind, str(word))
        found = {offer.text for offer in offers(script, place, PROFILES)}
        assert wanted in found, (text[text.rfind("\n", 0, place) : place], wanted, found)


def test_what_is_offered_is_not_refused() -> None:
    """A fifth of the words of the program that uses every construct, replaced by another that is offered there: the
    line up to it is the beginning of a sentence, and where it is a name or a unit, it is known and fits."""
    text, chance, names = SINK.read_text("utf-8"), Random(5), 0
    script = opened(Source(SINK.name, text), SCRIPTS)
    for place, word in [*words(text)][:: 1 if WHOLE else 5]:
        start = text.rfind("\n", 0, place) + 1
        found = offers(script, place, PROFILES)
        for offer in found:
            assert expected((text[start : offer.start] + offer.text).strip() + " ") is not None, offer
        others = [offer for offer in found if offer.sort != "word" and offer.text not in (word, "middle")]
        # What an amount of a scatter or a reply is of comes after it; one with a name is judged where it is used.
        free = word.kind == "UNIT" and (
            "scatter" in text[start:place] or text[start:].lstrip().startswith(("given", "reply"))
        )
        if word.kind in ("NAME", "UNIT") and others and word != "middle" and not free:
            offer = chance.choice(others)
            changed = text[:place] + offer.text + text[place + len(word) :]
            tree, faults = parse(Source(SINK.name, changed))
            _, found_faults = resolve(include(tree, SCRIPTS)[0], PROFILES, {})
            told = [f.code for f in (*faults, *found_faults) if f.span.start == place]
            assert not {"unknown-name", "wrong-unit", "unexpected-word", "feeder-kind"} & set(told), (offer, told)
            names += 1
    assert names > (40 if WHOLE else 8)


@pytest.mark.parametrize(
    ("text", "some", "none"),
    [
        ("", {"program", "feed", "session"}, {"side", "3"}),
        ("program ", set(), {"feed"}),
        ('program "A"\n    ', {"court", "player", "feeder"}, {"depth", "program"}),
        ('program "A"\n    court singles\n    ', {"player"}, {"court"}),
        ("feed a\n    hei", {"height"}, {"side"}),
        ("feed a\n    height waist\n    height 1 m ov", {"over net"}, set()),
        ("feed a\n    height 1 m over n", {"over net"}, set()),
        ("feed a\n    pace 80 ", {"km/h", "mph", "m/s"}, {"m", "s"}),
        ("feed a\n    pace 80 to 90 ", {"km/h"}, {"m"}),
        ("feed a\n    side forehand ", {"wing", "corner"}, {"middle"}),
        ('feed a # side of ', set(), {"feed"}),
        ('program "court ', set(), {"singles"}),
        ('feed a\nsession "S"\n    3 min ', {"a", "mix", "cycle"}, {"court"}),
        ('feed a\nfeed b\nsession "S"\n    ladder a, ', {"b", "up to"}, {"a"}),
        ("gibberish here ", set(), {"feed"}),
    ],
)  # fmt: skip
def test_offers_at_the_end_of(text: str, some: set[str], none: set[str]) -> None:
    found = offered(text)
    assert some <= found and not none & found, found


def test_a_half_written_word_is_replaced() -> None:
    text = "feed a\n    height 1 m over n"
    (offer,) = offers(opened(Source("mine.feed", text), None), len(text), PROFILES)
    assert text[: offer.start] + offer.text == "feed a\n    height 1 m over net"
