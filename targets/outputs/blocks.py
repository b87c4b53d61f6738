"""How the blocks of a plan are counted for people: as the sheet does, in whatever shows a number."""

from collections.abc import Sequence

from ...compiler.model.plan import Block


def grouped(blocks: Sequence[Block]) -> list[list[Block]]:
    """Blocks that people count as one: one of balls with the rests and collects after it, all rounds together."""
    groups: list[list[Block]] = []
    for block in blocks:
        if groups and _belongs(groups[-1], block):
            groups[-1].append(block)
        else:
            groups.append([block])
    return groups


def numbered(blocks: Sequence[Block]) -> dict[int, int]:
    """The number, from one, of the group in which each block is, by the block's index."""
    return {block.index: number for number, group in enumerate(grouped(blocks), start=1) for block in group}


def _belongs(group: list[Block], block: Block) -> bool:
    last = group[-1].round
    if block.round is None:
        return block.kind != "balls"
    return last is not None and last[1] == block.round[1] and last[0] <= block.round[0]
