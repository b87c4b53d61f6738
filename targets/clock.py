"""The blocks of a plan under their index."""

from ..compiler.model.plan import Block, Plan


def blocks_by_index(plan: Plan) -> dict[int, Block]:
    return {block.index: block for block in plan.blocks}
