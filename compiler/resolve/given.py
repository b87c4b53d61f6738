"""Amounts with a name: `given rhythm 4 s` in the head, `given rhythm` in place of any amount."""

from collections.abc import Mapping
from operator import is_

from ...grammar import syntax as s
from ...grammar.edits import filled
from ...grammar.facts import Names
from ...grammar.finding import Finding
from ...grammar.frozen import replace
from ...grammar.mistakes import near_names
from ...grammar.syntax import GivenAmount, Line, Node, Quantity, Tree, Word, sentences
from ...grammar.units import number
from ..findings.names import Duplicate, GivenUnknown, GivenUnused, SetUnknown
from ..model.program import Given


def put_in(tree: Tree, settings: Mapping[str, tuple[str, str]]) -> tuple[Tree, Mapping[str, Given], list[Finding]]:
    """The tree with every named amount replaced by its value, and the named amounts in use; `settings` (number, unit)
    override the script's."""
    amounts: dict[str, Quantity] = {}
    given: dict[str, Given] = {}
    used: set[str] = set()
    findings: list[Finding] = []

    def amount_of(node: GivenAmount) -> Node:
        name = node.name
        if name.text in amounts:
            used.add(name.text)
            found = amounts[name.text]
            return Quantity(found.number, found.unit).at(node.span)
        near = Names(near_names(name.text, amounts))
        findings.append(Finding(GivenUnknown(near=near, name=name.text), name.span))
        return node

    heads = [line for line, _ in tree.of(s.Program)]
    said: dict[str, Line] = {}
    for line, one in (found for head in heads for found in sentences(head.children, s.Given)):
        name, amount = one.name.text, one.amount
        if name in said:
            findings.append(Finding(Duplicate(f"given {name}"), line.span))
            continue
        said[name] = line
        own = amount if isinstance(amount, Quantity) else amounts.get(amount.name.text)
        if name in settings:
            value, unit = settings[name]
            amounts[name] = Quantity(Word("NUMBER", value).at(amount.span), Word("UNIT", unit).at(amount.span))
        elif isinstance(found := amount_of(amount) if isinstance(amount, GivenAmount) else amount, Quantity):
            amounts[name] = found
        if name in amounts:
            given[name] = Given(_words(amounts[name]), own is None or _words(amounts[name]) != _words(own))

    for name in settings.keys() - said.keys():
        findings.append(Finding(SetUnknown(name, Names(amounts)), heads[0].span if heads else tree.span))

    def put(node: Node) -> Node:
        return amount_of(node) if isinstance(node, GivenAmount) else node

    def walked(line: Line) -> Line:
        told = len(findings)
        sentence = line.sentence
        if sentence and "given" in line.span.text and not isinstance(sentence, s.Given):
            sentence = filled(sentence, put)
        whole = len(findings) == told
        children = tuple(map(walked, line.children))
        if sentence is line.sentence and whole and all(map(is_, children, line.children)):
            return line
        return replace(line, sentence=sentence if whole else None, children=children)

    filled_in = replace(tree, lines=tuple(map(walked, tree.lines)))
    if not findings and not any(tree.unread()):
        findings += [Finding(GivenUnused(name), said[name].span) for name in given if name not in used]
    return filled_in, {name: amount for name, amount in given.items() if name in used}, findings


def _words(amount: Quantity) -> str:
    """One way to write each amount, however many zeros it was typed with."""
    value, unit = amount.number, amount.unit
    return f"{number(float(value.text), 9) if value.kind == 'NUMBER' else value.text} {unit.text}"
