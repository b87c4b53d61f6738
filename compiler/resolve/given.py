"""Amounts with a name: `given rhythm 4 s` in the head, `given rhythm` wherever an amount may stand."""

from collections.abc import Mapping
from dataclasses import replace

from ...grammar.edits import filled
from ...grammar.mistakes import near_names
from ...grammar.syntax import Given, GivenAmount, Line, Node, Program, Quantity, Tree, Word, sentences
from ..report.finding import Finding


def put_in(tree: Tree, settings: Mapping[str, tuple[str, str]]) -> tuple[Tree, list[Finding]]:
    """The tree with every named amount in its place; `settings` (number, unit) go over what the script gives."""
    amounts: dict[str, Quantity] = {}
    findings: list[Finding] = []

    def amount_of(node: GivenAmount) -> Node:
        name = node.name
        if name.text in amounts:
            found = amounts[name.text]
            return Quantity(found.number, found.unit).at(node.span)
        near = " or ".join(near_names(name.text, amounts))
        findings.append(Finding("given-unknown", name.span, {"name": name.text, "near": near}))
        return node

    heads = [line for line, _ in tree.of(Program)]
    said: set[str] = set()
    for line, given in (found for head in heads for found in sentences(head.children, Given)):
        name, amount = given.name.text, given.amount
        if name in said:
            findings.append(Finding("said-twice", line.span, {"what": f"given {name}"}))
            continue
        said.add(name)
        if name in settings:
            number, unit = settings[name]
            amounts[name] = Quantity(Word("NUMBER", number).at(amount.span), Word("UNIT", unit).at(amount.span))
        else:
            found = amount_of(amount) if isinstance(amount, GivenAmount) else amount
            if isinstance(found, Quantity):
                amounts[name] = found

    for name in settings.keys() - said:
        facts = {"name": name, "known": ", ".join(amounts) or "none"}
        findings.append(Finding("set-unknown", heads[0].span if heads else tree.span, facts))

    def put(node: Node) -> Node:
        return amount_of(node) if isinstance(node, GivenAmount) else node

    def walked(line: Line) -> Line:
        told = len(findings)
        sentence = line.sentence
        if sentence and not isinstance(sentence, Given):
            sentence = filled(sentence, put)
        whole = len(findings) == told
        return replace(line, sentence=sentence if whole else None, children=tuple(map(walked, line.children)))

    return replace(tree, lines=tuple(map(walked, tree.lines))), findings
