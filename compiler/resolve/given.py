"""Amounts with a name: `given rhythm 4 s` in the head, `given rhythm` wherever an amount may stand."""

from collections.abc import Mapping
from dataclasses import replace

from ...grammar.mistakes import near_names
from ...grammar.syntax import Line, Node, Tree, Word
from ..report.finding import Finding


def put_in(tree: Tree, settings: Mapping[str, tuple[str, str]]) -> tuple[Tree, list[Finding]]:
    """The tree with every named amount in its place; `settings` (number, unit) go over what the script gives."""
    amounts: dict[str, tuple[Word, ...]] = {}
    findings = []
    for line in (child for program in tree.of_kind("program") for child in program.children):
        if line.node and line.kind == "given":
            name, amount = line.node.words("NAME")[0].text, line.node.nodes("quantity")[0]
            if name in amounts:
                findings.append(Finding("said-twice", line.span, {"what": f"given {name}"}))
                continue
            amounts[name] = tuple(amount.words())
            if name in settings:
                number, unit = settings[name]
                amounts[name] = (Word("NUMBER", number, amount.span), Word("UNIT", unit, amount.span))

    heads = list(tree.of_kind("program"))
    for name in settings.keys() - amounts.keys():
        facts = {"name": name, "known": ", ".join(amounts) or "none"}
        findings.append(Finding("set-unknown", heads[0].span if heads else tree.span, facts))

    def filled(node: Node) -> Node:
        if node.kind == "quantity" and node.has("GIVEN"):
            name = node.words("NAME")[0]
            if name.text in amounts:
                return replace(node, parts=amounts[name.text])
            near = " or ".join(near_names(name.text, amounts))
            findings.append(Finding("given-unknown", name.span, {"name": name.text, "near": near}))
            return node
        return replace(node, parts=tuple(filled(p) if isinstance(p, Node) else p for p in node.parts))

    def walked(line: Line) -> Line:
        told = len(findings)
        node = filled(line.node) if line.node and line.kind != "given" else line.node
        return replace(line, node=node if len(findings) == told else None, children=tuple(map(walked, line.children)))

    return replace(tree, lines=tuple(map(walked, tree.lines))), findings
