"""The session's clock: launches count from their stretch, people look at one watch."""

from ..compiler.model.plan import Block, Plan


def minutes(seconds: float) -> str:
    """m:ss, to the nearest second."""
    whole = round(seconds)
    return f"{whole // 60}:{whole % 60:02d}"


def blocks_by_index(plan: Plan) -> dict[int, Block]:
    return {block.index: block for block in plan.blocks}


def stretch_starts(plan: Plan) -> dict[int, float]:
    """Second of the session at which each stretch starts: that of its first block with balls."""
    starts: dict[int, float] = {}
    for block in plan.blocks:
        if block.kind == "balls":
            starts.setdefault(block.stretch, block.start_s)
    return starts
