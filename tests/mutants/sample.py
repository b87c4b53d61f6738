"""The changes that are tried: every place in the sources where one can be made, and a seeded draw from them."""

import ast
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from hashlib import sha256
from pathlib import Path
from random import Random

import parso
from cosmic_ray.operators.operator import Operator
from cosmic_ray.plugins import get_operator, operator_names

from .areas import AREAS
from .operators import OTHER, OWN
from .worker import LOADED, function

ROOT = Path(__file__).parent.parent.parent

Place = tuple[int, int]


@dataclass(frozen=True)
class Mutant:
    """One change of one file: `operator` made at the `index`-th place that it finds there, in `line`."""

    area: str
    file: str
    operator: str
    index: int
    line: int

    @property
    def name(self) -> str:
        """The same as long as neither the file nor the change is another."""
        return sha256(f"{text_of(self.file)}\0{self.operator}\0{self.index}".encode()).hexdigest()[:16]

    @property
    def function(self) -> str:
        """The outermost function around it, by the name that `worker.function` gives; else what is run on loading."""
        names = (name for name, first, last in bodies(self.file) if first <= self.line <= last)
        return function(self.file, next(names, LOADED))

    def made(self) -> "Made":
        old, new = text_of(self.file), changed(self.file, self.operator, self.index)
        one, two = old.split("\n"), new.split("\n")
        first = next(i for i, (a, b) in enumerate(zip(one, two, strict=False)) if a != b)
        last = next(i for i, (a, b) in enumerate(zip(reversed(one), reversed(two), strict=False)) if a != b)
        before, after = (" ".join(" ".join(t[first : max(len(t) - last, first + 1)]).split()) for t in (one, two))
        return Made(new, before, after)


@dataclass(frozen=True)
class Made:
    """The whole file, changed, and the lines that are others, as they were and as they are, on one line."""

    text: str
    before: str
    after: str


@cache
def text_of(file: str) -> str:
    return (ROOT / file).read_text("utf-8")


@cache
def bodies(file: str) -> list[tuple[str, int, int]]:
    """Of the functions of a file, and of the methods of its classes, the name and the lines of the body."""

    def inside(nodes: list[ast.stmt], outer: str) -> Iterator[tuple[str, int, int]]:
        for node in nodes:
            if isinstance(node, ast.ClassDef):
                yield from inside(node.body, f"{outer}{node.name}.")
            elif isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
                yield f"{outer}{node.name}", node.body[0].lineno, node.end_lineno or node.lineno

    return list(inside(ast.parse(text_of(file)).body, ""))


@cache
def operators() -> dict[str, Operator]:
    """By name, those that need no arguments."""
    found = {name.partition("/")[2]: get_operator(name) for name in operator_names()} | OWN
    return {name: kind() for name, kind in found.items() if not name.startswith(ARGUMENTS) and name not in NO_OTHER}


ARGUMENTS = ("Variable", "RemoveDecorator")
"""Operators that have to be told a name, and the one for decorators, which are left alone."""
NO_OTHER = {f"ReplaceComparisonOperator_{one}" for one in ("Eq_Is", "Is_Eq", "NotEq_IsNot", "IsNot_NotEq")}
"""Of numbers, of words that a program holds once and of members of an enumeration they say the same."""


def family(operator: str) -> str:
    """One for all that put something else in the place of one sign."""
    head, _, rest = operator.partition("_")
    return head if rest else operator


def files(area: str) -> list[str]:
    found = (path for part in AREAS[area].parts for path in _python(ROOT / part))
    return sorted(path.relative_to(ROOT).as_posix() for path in found)


def _python(path: Path) -> Iterator[Path]:
    return iter([path]) if path.is_file() else path.rglob("*.py")


@cache
def places(file: str) -> dict[tuple[str, Place], list[tuple[str, int]]]:
    """Where a file can be changed, with the ways: by kind of change and place, operators and the place's count."""
    text = text_of(file)
    silent = _said_to_types_alone(text)
    found: dict[tuple[str, Place], list[tuple[str, int]]] = {}
    nodes = list(_nodes(parso.parse(text)))
    of_type = {kind: [node for node in nodes if node.type == kind] for kind in LOOKED_AT.values()}
    for name, operator in operators().items():
        index = 0
        for node in of_type.get(LOOKED_AT.get(family(name), ""), nodes):
            for start, _ in operator.mutation_positions(node):
                if not any(low <= start < high for low, high in silent):
                    found.setdefault((family(name), start), []).append((name, index))
                index += 1
    return found


LOOKED_AT = {"ReplaceBinaryOperator": "operator", "ReplaceComparisonOperator": "comparison"}
"""The only type of node that many operators look at."""
IDLE = frozenset("()[]{},.:;=")


def _only_named(node: parso.tree.NodeOrLeaf) -> bool:
    return node.type == "name" and node.value not in OTHER


def _nodes(node: parso.tree.NodeOrLeaf) -> Iterator[parso.tree.NodeOrLeaf]:
    """All but what no operator looks at: names, strings and punctuation."""
    if not (
        node.type in ("string", "newline", "endmarker") or getattr(node, "value", None) in IDLE or _only_named(node)
    ):
        yield node
    for child in getattr(node, "children", ()):
        yield from _nodes(child)


def _said_to_types_alone(text: str) -> list[tuple[Place, Place]]:
    """Annotations, names of types and decorators: a change there is for mypy, or breaks the import."""
    spots: list[ast.AST | None] = []
    for node in ast.walk(ast.parse(text)):
        match node:
            case ast.FunctionDef() | ast.AsyncFunctionDef():
                spots += [node.returns, *node.decorator_list]
            case ast.arg() | ast.AnnAssign():
                spots.append(node.annotation)
            case ast.ClassDef():
                spots += [*node.decorator_list, *node.bases]
            case ast.Assign(value=ast.Subscript() | ast.BinOp(op=ast.BitOr())) if node.col_offset == 0:
                spots.append(node.value)
    lines = text.split("\n")

    def column(line: int, offset: int) -> int:
        return len(lines[line - 1].encode()[:offset].decode())

    return [
        (
            (spot.lineno, column(spot.lineno, spot.col_offset)),
            (spot.end_lineno, column(spot.end_lineno, spot.end_col_offset)),
        )
        for spot in spots
        if isinstance(spot, ast.expr) and spot.end_lineno and spot.end_col_offset is not None
    ]


def changed(file: str, operator: str, index: int) -> str:
    """The file's text with one change made."""
    tree, count, made = parso.parse(text_of(file)), 0, operators()[operator]
    for node in _nodes(tree):
        for offset, _ in enumerate(made.mutation_positions(node)):
            if count + offset == index:
                new = made.mutate(node, offset)
                if new is not node:
                    _put(node, new)
                return str(tree.get_code())
        count += sum(1 for _ in made.mutation_positions(node))
    raise LookupError((file, operator, index))


def _put(old: parso.tree.NodeOrLeaf, new: parso.tree.NodeOrLeaf | None) -> None:
    siblings = old.parent.children
    at = next(i for i, child in enumerate(siblings) if child is old)
    siblings[at : at + 1] = [] if new is None else [new]


def drawn(count: int, seed: int, beginning: tuple[str, ...] = ("",)) -> list[Mutant]:
    """Each area's share of so many changes; the seed decides on places, ways and order. Of them those in files whose
    names begin so."""
    chosen: list[Mutant] = []
    whole = sum(area.share for area in AREAS.values())
    for name, area in AREAS.items():
        if any(file.startswith(beginning) for file in files(name)):
            chance = Random(f"{seed} {name}")
            spots = [(file, spot) for file in files(name) for spot in sorted(places(file))]
            for file, spot in chance.sample(spots, min(round(count * area.share / whole), len(spots))):
                chosen.append(Mutant(name, file, *chance.choice(places(file)[spot]), spot[1][0]))
    Random(seed).shuffle(chosen)
    return [mutant for mutant in chosen if mutant.file.startswith(beginning)]
