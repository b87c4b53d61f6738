"""One shipped program uses the whole grammar; what cannot stand beside it in one script is in tests/everything/.

Compared with the grammar as lark compiles it: of every rule each symbol that any of its alternatives holds, and each
symbol that an alternative can do without.
"""

from collections.abc import Iterable, Iterator
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest
from lark import Token

from feedwright.compiler.include import include
from feedwright.compiler.report.render import human
from feedwright.compiler.resolve import resolve
from feedwright.grammar.lalr import lark
from feedwright.grammar.parse import parse
from feedwright.grammar.source import Source
from feedwright.grammar.syntax import Line, Tree
from feedwright.grammar.terminals import UNDER
from feedwright.programs import ScriptShelf
from feedwright.targets.machine.feeders import ProfileShelf

from .shipped import compiled

ROOT = Path(__file__).parent.parent
MAIN = ROOT / "programs" / "99-every-construct.feed"
BESIDE = sorted((ROOT / "tests" / "everything").glob("*.feed"))
Use = tuple[str, str]
"""A rule and what it holds: a symbol, or one that it can do without, marked with a minus."""


def script(path: Path) -> Source:
    return Source(path.name, path.read_text("utf-8"))


def uses_in_grammar() -> set[Use]:
    alternatives: dict[str, list[frozenset[str]]] = {}
    for rule in lark().rules:
        held = frozenset(_flat(symbol.name for symbol in rule.expansion))
        if not rule.origin.name.startswith("__"):
            alternatives.setdefault(str(rule.origin.name), []).append(held)
    del alternatives["start"]  # every sentence is one of its alternatives, and a rule of its own
    found = set()
    for name, sets in alternatives.items():
        for symbol in frozenset().union(*sets):
            found.add((name, symbol))
            if not all(symbol in held for held in sets):
                found.add((name, f"-{symbol}"))
    return found


def _flat(names: Iterable[str]) -> Iterator[str]:
    """A list written with * or + is a rule of its own inside lark; what it holds belongs to the rule around it."""
    for name in names:
        if name.startswith("__"):
            inner = (s.name for r in lark().rules if r.origin.name == name for s in r.expansion if s.name != name)
            yield from _flat(inner)
        else:
            yield name


@cache
def uses_in(path: Path) -> frozenset[Use]:
    tree, faults = parse(script(path))
    assert not faults
    wanted = uses_in_grammar()
    found = set()
    for rule, held in _rules(tree.lines):
        found |= {(rule, kind) for kind in held}
        found |= {use for use in wanted if use[0] == rule and use[1][0] == "-" and use[1][1:] not in held}
    return frozenset(found)


def _rules(lines: tuple[Line, ...]) -> Iterator[tuple[str, set[str]]]:
    """Each rule that a sentence uses, as lark reads it, with what it holds."""
    for line in lines:
        for rule in lark().parse(line.span.text).iter_subtrees():
            yield rule.data, {child.type if isinstance(child, Token) else child.data for child in rule.children}
        yield from _rules(line.children)


@pytest.mark.parametrize("path", [MAIN, *BESIDE], ids=lambda path: path.stem)
def test_they_compile_without_a_finding(path: Path) -> None:
    found = compiled(path)
    assert not found.findings, human(found.findings)
    assert found.plan


def test_every_rule_and_every_alternative_is_used() -> None:
    used = frozenset().union(*(uses_in(path) for path in [MAIN, *BESIDE]))
    assert sorted(uses_in_grammar() - used) == []


def test_what_stands_beside_says_only_what_the_program_cannot() -> None:
    """Each of the small ones is there for something that the program does not say."""
    assert BESIDE
    for path in BESIDE:
        others = frozenset().union(*(uses_in(other) for other in [MAIN, *BESIDE] if other != path))
        assert uses_in(path) - others, path
    rules = {rule for rule, _ in uses_in_grammar()}
    assert rules == {rule for rule, _ in uses_in(MAIN)}, "every rule is in the one program"


def resolved(tree: Tree) -> object:
    """What a tree means: the program without its words, or what is found instead."""
    program, findings = resolve(tree, ProfileShelf(), {})
    if findings or program is None:
        return [finding.code for finding in findings]
    return replace(program, feeds={name: replace(feed, words={}) for name, feed in program.feeds.items()})


def without_each(lines: tuple[Line, ...]) -> Iterator[tuple[Line, tuple[Line, ...]]]:
    """Each line, and the lines that are left without it and what stands under it."""
    for i, line in enumerate(lines):
        yield line, lines[:i] + lines[i + 1 :]
        for inner, left in without_each(line.children):
            yield inner, (*lines[:i], replace(line, children=left), *lines[i + 1 :])


def test_every_kind_of_sentence_has_a_meaning() -> None:
    """Some sentence of each kind cannot be left out without changing what the script comes to."""
    silent = {kind for kinds in UNDER.values() for kind in kinds} - {"use"}  # read before, by include
    for path in [MAIN, *BESIDE]:
        tree = include(parse(script(path))[0], ScriptShelf(None))[0]
        whole = resolved(tree)
        for line, left in without_each(tree.lines):
            if line.kind in silent and resolved(replace(tree, lines=left)) != whole:
                silent.remove(line.kind)
    assert silent == set(), "nothing in compiler/resolve/ reads it"


def test_the_comparison_can_fail() -> None:
    """A grammar's use that a script lacks is noticed: the first script has neither ladder nor zone."""
    missing = uses_in_grammar() - uses_in(ROOT / "programs" / "02-first-script.feed")
    assert {("ladder", "LADDER"), ("zone", "ZONE"), ("spot", "BEHIND_A_SCREEN")} & missing == {
        ("ladder", "LADDER"), ("zone", "ZONE"),
    }  # fmt: skip
