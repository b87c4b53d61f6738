"""What a person counts together on a sheet: the balls of a variation, or of a rung of a ladder, in a block or in all
rounds of one."""

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from ...compiler.model.plan import Block, Plan
from .typed_points import TypedPoint, points_of
from .typed_scores import TypedScore, scores_of

if TYPE_CHECKING:
    from ..outputs.sheet.letters import Letters


@dataclass(frozen=True, slots=True)
class TypedUnit:
    """The balls counted together: those of one variation, or of one rung of a ladder, in a block or in all rounds of
    one."""

    block: Block
    """The first of its rounds."""
    variation: str
    rung: int | None
    balls: tuple[tuple[int, str], ...]
    """Block and shot of each ball, in the order of the plan."""
    sheet: str
    """Its name on the sheet: the number of the block, the letters and the variation."""
    points: tuple[TypedPoint, ...] = ()
    """With the last unit of a block on the sheet, the points of this block."""
    scores: tuple[TypedScore, ...] = ()
    """The same of its scores."""
    among: int | None = None
    """Among how many balls its goal counts the hits; None for a streak."""

    @property
    def best(self) -> str:
        """What of it is told besides the counts."""
        return "best" if self.among else "streak"

    @property
    def number(self) -> str:
        """`Block 2`, as the sheet counts."""
        return self.sheet.partition(", ")[0]

    @property
    def name(self) -> str:
        if self.rung is not None and self.block.ladder:
            return self.block.ladder.labels[self.rung]
        return self.variation or "all balls"


def units(plan: Plan) -> list[TypedUnit]:
    """The units that a person can fill in on the sheet of this plan, in its order: rounds share their boxes there."""
    from ..outputs.blocks import grouped
    from ..outputs.sheet.letters import letters

    named = letters(plan)
    place = {letter: i for i, letter in enumerate(dict.fromkeys(named.of.values()))}
    found: list[TypedUnit] = []
    for number, blocks in enumerate(grouped(plan.blocks), start=1):
        joined: dict[tuple[str, str], TypedUnit] = {}
        for unit in (unit for block in blocks for unit in in_a_block(plan, block, number)):
            # A rung belongs to its own ladder; a variation, to all blocks of a round.
            key = unit.name, unit.block.words if unit.block.ladder else ""
            first = joined.get(key)
            joined[key] = unit if first is None else replace(first, balls=first.balls + unit.balls)
        rungs = [unit for unit in joined.values() if unit.rung is not None]
        rest = [unit for unit in joined.values() if unit.rung is None]
        # The sheet has the rungs first, then the variations in the order of their letters.
        rest.sort(key=lambda unit: min(place[named.of[shot]] for _, shot in unit.balls))
        found += [replace(unit, sheet=_told(plan, named, unit)) for unit in rungs + rest]
        if joined:  # a session may begin with a rest
            points, scores = tuple(points_of(plan, blocks)), tuple(scores_of(plan, blocks))
            found[-1] = replace(found[-1], points=points, scores=scores)
    return found


def in_a_block(plan: Plan, block: Block, number: int) -> list[TypedUnit]:
    """The units of one block, which is `number` on the sheet."""
    variations = {shot.id: shot.variation or "" for shot in plan.shots}
    among = {one.id: one.goal.window for one in plan.variations if one.goal}
    sheet = f"Block {number}, "
    if block.ladder:
        balls = [launch.any_of for launch in plan.launches if launch.block == block.index]
        return [
            TypedUnit(
                block,
                variations[shots[0]],
                rung,
                tuple((block.index, ball[rung]) for ball in balls),
                sheet,
                among=among.get(variations[shots[0]]),
            )
            for rung, shots in enumerate(block.ladder.rungs)
        ]
    fed = [launch.first for launch in plan.launches if launch.block == block.index] if block.kind == "balls" else []
    return [
        TypedUnit(
            block,
            name,
            None,
            tuple((block.index, shot) for shot in fed if variations[shot] == name),
            sheet,
            among=among.get(name),
        )
        for name in dict.fromkeys(variations[shot] for shot in fed)
    ]


def _told(plan: Plan, named: "Letters", unit: TypedUnit) -> str:
    """With its letters, and the title of its variation or the label of its rung."""
    among = {index for index, _ in unit.balls}
    mine = {shot.id for shot in plan.shots if (shot.variation or "") == unit.variation}
    shots = (shot for block in plan.blocks if block.index in among for shot in block.shots if shot in mine)
    # The paper names all balls of a block, also one that the draw left out.
    rungs = unit.block.ladder.rungs if unit.block.ladder else ()
    signs = named.short(named.used(shots)) if unit.rung is None else named.rung(rungs[unit.rung])
    signs = signs.replace(", ", " ")
    titles = {variation.id: variation.title or variation.id for variation in plan.variations}
    one = unit.name if unit.rung is not None else titles.get(unit.variation, unit.variation)
    return f"{unit.sheet}{signs} " + (f'"{one}"' if one else "all balls")
