"""Changes that the tool from the registry does not make: a statement left out, `min` for `max`."""

from collections.abc import Iterator

import parso
from cosmic_ray.operators.operator import Operator
from parso.python.tree import Keyword, Name

Place = tuple[int, int]


class StatementLeftOut(Operator):
    """`self.wish = None` becomes `pass`. Left out is what sets an attribute or an item, adds to a name, or is a call;
    without a line that binds a name the next one would stop."""

    def mutation_positions(self, node: parso.tree.NodeOrLeaf) -> Iterator[tuple[Place, Place]]:
        if node.parent is None or node.parent.type != "simple_stmt" or node is not node.parent.children[0]:
            return
        if node.type in ("atom_expr", "power") or (node.type == "expr_stmt" and self._sets(node)):
            yield node.start_pos, node.end_pos

    @staticmethod
    def _sets(node: parso.tree.NodeOrLeaf) -> bool:
        first, how = node.children[0], node.children[1]
        return how.type != "annassign" and (first.type in ("atom_expr", "power") or getattr(how, "value", "=") != "=")

    def mutate(self, node: parso.tree.NodeOrLeaf, index: int) -> parso.tree.NodeOrLeaf:
        first = node.get_first_leaf()
        return Keyword("pass", first.start_pos, first.prefix)

    @classmethod
    def examples(cls) -> tuple[()]:
        return ()


OTHER = {"min": "max", "any": "all", "floor": "ceil", "sin": "cos"}
OTHER |= {two: one for one, two in OTHER.items()}


class OtherEnd(Operator):
    """`min` for `max`, `any` for `all`, `floor` for `ceil`, and the other way round."""

    def mutation_positions(self, node: parso.tree.NodeOrLeaf) -> Iterator[tuple[Place, Place]]:
        if isinstance(node, Name) and node.value in OTHER:
            after = node.get_next_leaf()
            if after is not None and after.value == "(":
                yield node.start_pos, node.end_pos

    def mutate(self, node: parso.tree.NodeOrLeaf, index: int) -> parso.tree.NodeOrLeaf:
        return Name(OTHER[node.value], node.start_pos, node.prefix)

    @classmethod
    def examples(cls) -> tuple[()]:
        return ()


OWN: dict[str, type[Operator]] = {"StatementLeftOut": StatementLeftOut, "OtherEnd": OtherEnd}
