"""A ball moved in a drawing, as the lines of its feed that say so: in the steps in which remedies are proposed."""

from collections.abc import Mapping

from ...grammar.edits import Edit
from ..model.program import FixedBy, Program
from ..variants import STEPS, placed, shifted

PARTS = {"depth": -1, "side": 1, "stance": 1, "height": 1}
"""What may be moved, and the sign of its steps: a depth is counted from the baseline inwards."""


def moved(program: Program, ball: str, by: Mapping[str, float]) -> tuple[Edit, ...]:
    """The edits that move a ball by these metres: its landing deeper (`depth`) and to +x (`side`), its contact away
    from the net (`stance`) and up (`height`). What is smaller than half a step, what the feed does not say itself and
    what no sentence says is left out."""
    feed = program.feeds.get(ball)
    found = []
    for part, metres in by.items() if feed else ():
        if part not in PARTS or (part == "height" and feed and feed.fixed_by is not FixedBy.AT_PLAYER):
            continue
        steps = round(PARTS[part] * metres / STEPS[part])
        variant = shifted(program, feed, part, steps) if feed and steps else None
        if feed and variant and (edit := placed(feed, part, variant.sentence)):
            found.append(edit)
    return tuple(found)
