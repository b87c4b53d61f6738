"""Amounts with a name: `given rhythm 4 s` in the head, `given rhythm` wherever an amount may stand."""

from collections.abc import Mapping
from dataclasses import replace

from ..model.program import Given
from ..model.tree import Line, Node, Tree, Word
from ..parse import near_names
from ..report.finding import Finding
from ..units import number


def put_in(tree: Tree, settings: Mapping[str, tuple[str, str]]) -> tuple[Tree, Mapping[str, Given], list[Finding]]:
    """The tree with every named amount in its place, and the amounts that have one; `settings` (number, unit) go over
    what the script gives."""
    amounts: dict[str, tuple[Word, ...]] = {}
    given: dict[str, Given] = {}
    used: set[str] = set()
    findings = []
    for line in (child for program in tree.of_kind("program") for child in program.children):
        if line.node and line.kind == "given":
            name, amount = line.node.words("NAME")[0].text, line.node.nodes("quantity")[0]
            if name in amounts:
                findings.append(Finding("said-twice", line.span, {"what": f"given {name}"}))
                continue
            own = amounts[name] = tuple(amount.words())
            if name in settings:
                value, unit = settings[name]
                amounts[name] = (Word("NUMBER", value, amount.span), Word("UNIT", unit, amount.span))
            given[name] = Given(_words(amounts[name]), _words(amounts[name]) != _words(own))

    heads = list(tree.of_kind("program"))
    for name in settings.keys() - amounts.keys():
        facts = {"name": name, "known": ", ".join(amounts) or "none"}
        findings.append(Finding("set-unknown", heads[0].span if heads else tree.span, facts))

    def filled(node: Node) -> Node:
        if node.kind == "quantity" and node.has("GIVEN"):
            name = node.words("NAME")[0]
            if name.text in amounts:
                used.add(name.text)
                return replace(node, parts=amounts[name.text])
            near = " or ".join(near_names(name.text, amounts))
            findings.append(Finding("given-unknown", name.span, {"name": name.text, "near": near}))
            return node
        return replace(node, parts=tuple(filled(p) if isinstance(p, Node) else p for p in node.parts))

    def walked(line: Line) -> Line:
        told = len(findings)
        node = filled(line.node) if line.node and line.kind != "given" else line.node
        return replace(line, node=node if len(findings) == told else None, children=tuple(map(walked, line.children)))

    filled_in = replace(tree, lines=tuple(map(walked, tree.lines)))
    return filled_in, {name: amount for name, amount in given.items() if name in used}, findings


def _words(amount: tuple[Word, ...]) -> str:
    """One way to write each amount, however many noughts it was typed with."""
    value, unit = amount
    return f"{number(float(value.text), 9) if value.kind == 'NUMBER' else value.text} {unit.text}"
