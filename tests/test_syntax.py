"""The typed tree and its one printer: what was read prints as it was written, what was made prints as a sentence."""

import ast
import re
from collections.abc import Iterator
from itertools import product
from pathlib import Path
from typing import get_args

import pytest
from hypothesis import given, settings

from feedwright.compiler.pipeline import compile_source
from feedwright.grammar import edits, reader, syntax
from feedwright.grammar.build import _RULES
from feedwright.grammar.lalr import lark
from feedwright.grammar.parse import parse
from feedwright.grammar.print import AnyNode, printed, text
from feedwright.grammar.source import Source
from feedwright.grammar.syntax import Line, Node, Sentence, Tree, Word
from feedwright.grammar.terminals import KEYWORDS, KINDS, UNDER
from feedwright.targets.machine.feeders import ProfileShelf

from .cases import cases
from .test_format import SCRIPTS, scripts
from .whole import share

ROOT = Path(__file__).parent.parent


def read(script: str) -> Tree:
    tree, faults = parse(Source("a.feed", script))
    assert not faults
    return tree


def sentences(lines: tuple[Line, ...]) -> Iterator[Sentence]:
    for line in lines:
        if line.sentence:
            yield line.sentence
        yield from sentences(line.children)


def inside(node: Node) -> Iterator[Node]:
    yield node
    for part in node.nodes():
        yield from inside(part)


# ---- what was read prints as it was written


@pytest.mark.parametrize("path", SCRIPTS, ids=lambda path: path.stem)
def test_a_shipped_script_prints_as_it_was_written(path: Path) -> None:
    script = path.read_text("utf-8")
    assert printed(read(script)) == script


def test_scripts_with_every_slip_print_as_they_were_written() -> None:
    for case in cases():
        assert printed(parse(case.source)[0]) == case.source.text, case.name


@settings(max_examples=share(150))
@given(scripts())
def test_any_script_prints_as_it_was_written_and_its_sentences_parse_to_themselves(script: str) -> None:
    tree = read(script)
    assert printed(tree) == script
    for sentence in sentences(tree.lines):
        assert parse_one(text(sentence)) == sentence


HEADS = {"program": 'program "a"', "zone": "zone a", "variation": 'variation a "b"', "feed": "feed a",
         "point": "point a",
         "session": 'session "a"', "ladder": "ladder a, up to 9 balls, pace 7, 8 m/s",
         "counted": "9 points a"}  # fmt: skip


def parse_one(sentence: str) -> Sentence:
    for head in ("", *HEADS.values()):
        above = f"{head}\n " if head else ""
        above = f'session "a"\n {head}\n  ' if head.startswith(("ladder", "9 ")) else above
        tree, faults = parse(Source("a.feed", above + sentence))
        if not faults:
            return list(sentences(tree.lines))[-1]
    raise AssertionError(sentence)


# ---- classes


def classes() -> set[type[Node]]:
    found, new = set(), [Node]
    while new:
        new = [sub for cls in new for sub in cls.__subclasses__()]
        found |= set(new)
    return found - {Sentence, syntax.Surface, syntax.Bound}


def test_every_sentence_has_a_place_where_it_may_stand() -> None:
    kinds = {cls.kind for cls in classes() if issubclass(cls, Sentence)}
    assert kinds == {kind for kinds in UNDER.values() for kind in kinds}, "compare with UNDER of grammar/terminals.py"


def test_every_keyword_has_its_words() -> None:
    names = {terminal.name for terminal in lark().terminals if not terminal.name.startswith("__")}
    assert names == {*KEYWORDS, *KINDS} - {"$END"}, "compare with KEYWORDS of grammar/terminals.py"


def test_every_class_is_used_by_what_is_shipped() -> None:
    used = {
        type(node) for path in SCRIPTS for s in sentences(read(path.read_text("utf-8")).lines) for node in inside(s)
    }
    assert classes() == used, "compare with programs/99-every-construct.feed and tests/everything/"


def test_every_rule_is_built_and_every_class_is_printed() -> None:
    rules = {str(rule.origin.name) for rule in lark().rules if not rule.origin.name.startswith("__")}
    assert rules - {"start"} - set(_RULES) == set(), "has no line in grammar/build.py"
    assert classes() - {Word} - set(get_args(AnyNode)) == set(), "is missing in AnyNode of grammar/print.py"


def test_nodes_are_frozen_and_equal_whatever_their_places() -> None:
    (one,), (other,) = (
        list(sentences(read(script).lines)) for script in ("accept net-hit", "\n\naccept   net-hit # x")
    )
    assert one == other and hash(one) == hash(other) and one.span != other.span
    assert syntax.Rest(edits.amount(1, 0, "s")) != syntax.Collect(edits.amount(1, 0, "s"))
    with pytest.raises(AttributeError):
        one.name = edits.name("other")  # type: ignore[attr-defined]


def test_what_a_sentence_becomes() -> None:
    """Read by eye: one line of each sort, as fields."""
    height = parse_one("height 1 m, waist, falling")
    one, waist = syntax.Quantity(Word("NUMBER", "1"), Word("UNIT", "m")), syntax.Name(Word("NAME", "waist"))
    assert height == syntax.Height((one, waist), None, None, syntax.Phase(Word("FALLING", "falling")))
    assert parse_one("8 balls  mix 2 a, b, at most 3 alike") == syntax.Counted(
        Word("NUMBER", "8"),
        Word("BALLS", "balls"),
        syntax.Mix(
            (syntax.Share(Word("NUMBER", "2"), Word("NAME", "a")), syntax.Share(None, Word("NAME", "b"))),
            (syntax.AtMost(Word("AT_MOST", "at most"), Word("NUMBER", "3")),),
        ),
    )
    assert parse_one("feed b aims c, like a") == syntax.Feed(*(Word("NAME", name) for name in "bca"))


# ---- edits


def test_a_changed_sentence_prints_anew_and_everything_else_stays() -> None:
    script = 'session  "A" # so\n\n   3 min  a  # first\n   # between\n   rest   30 s\n'
    tree = read(script)

    def longer(said: Sentence) -> Sentence:
        return edits.changed(said, amount=edits.amount(4, 0, "min")) if isinstance(said, syntax.Timed) else said

    new = Tree(edits.rewritten(tree.lines, longer), tree.end)
    assert printed(new) == script.replace("3 min  a", "4 min     a")
    assert printed(tree) == script


def test_a_line_under_a_head_is_indented_as_its_brothers() -> None:
    for indent in ("\t", "  "):
        script = f"feed a\n{indent}side middle\n"
        head = read(script).lines[0]
        edit = edits.below(head, syntax.Spin((syntax.Spins((syntax.Flat(),)),)))
        mended = script[: edit.span.start] + edit.text + script[edit.span.end :]
        assert mended == f"feed a\n{indent}spin flat\n{indent}side middle\n" and read(mended)


def test_an_amount_may_be_given_by_another_and_an_unknown_one_is_told() -> None:
    script = (ROOT / "programs" / "02-first-script.feed").read_text("utf-8")
    for given_line, codes in (("given b 6 s\n    given a given b", []), ("given a given b", ["given-unknown"])):
        with_given = re.sub(r"(\n    surface)", f"\n    {given_line}\\1", script, count=1)
        with_given = re.sub(r"interval  .*", "interval  given a", with_given)
        found = compile_source(Source("a.feed", with_given), ProfileShelf())
        assert sorted({f.code for f in found.findings if f.code == "given-unknown"}) == codes


# ---- nobody else writes the language

HOUSE = [
    p
    for room in ("compiler", "programs", "targets/command", "targets/log")
    for p in sorted((ROOT / room).rglob("*.py"))
]
PUT_IN = ("1", "1 m", "a", "a b")
PREFIXES = ("depth ", "side ", "height ", "spin ", "reply ", "2 min ")
PHRASES = ("baseline", "sideline", "service line", "over net", "from net", "of centre", "to contact", "alike")


def _is_language(parts: list[str | None]) -> bool:
    """Whether the text parses as a sentence, or holds a phrase of the language and parses as the rest of a sentence,
    whatever stands for what is put in."""
    said = " ".join(part or "" for part in parts)
    gaps = parts.count(None)
    if not gaps or gaps > 3 or not set(said.split()) & set(" ".join(KEYWORDS.values()).split()):
        return False
    prefixes = ("", *(PREFIXES if any(phrase in said for phrase in PHRASES) else ()))
    for chosen in product(PUT_IN, repeat=gaps):
        stand_ins = iter(chosen)
        made = "".join(next(stand_ins) if part is None else part for part in parts).strip(" \n,")
        for prefix in prefixes:
            try:
                reader.read(prefix + made)
                return True
            except reader.Stuck:
                pass
    return False


def _built_strings(path: Path) -> Iterator[tuple[int, list[str | None]]]:
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.JoinedStr):
            yield node.lineno, [str(v.value) if isinstance(v, ast.Constant) else None for v in node.values]


def test_no_string_put_together_outside_the_grammar_is_a_sentence_of_the_language() -> None:
    assert _is_language(["height ", None, " over net"]) and _is_language([None, " m inside baseline"])
    found = {
        f"{path.relative_to(ROOT)}: {''.join(part or '*' for part in parts).strip()}"
        for path in HOUSE
        for _, parts in _built_strings(path)
        if _is_language(parts)
    }
    # Words for people that happen to parse: a heading, what messages and forms call things. And what a person typed in
    # part.
    assert found == {
        "compiler/service/blanks.py: * high",
        "compiler/compare.py: air *",
        "targets/command/listing.py: *  feeder",
        "compiler/resolve/head.py: pace *",
        "compiler/resolve/given.py: given *",
        "targets/log/goals.py: * won",
    }


def test_in_the_air_is_on_the_full() -> None:
    said = [
        read(f"feed volley\n    height waist, {words}\n").lines[0].children[0]
        for words in ("on the full", "in  the air")
    ]
    phases = [line.sentence.phase for line in said if isinstance(line.sentence, syntax.Height)]
    assert [phase.on_the_full for phase in phases if phase] == [True, True]
    assert printed(read("feed volley\n    height waist, in the air\n")).endswith("in the air\n"), "and stays as written"
