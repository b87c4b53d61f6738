"""A ball moved in a drawing, as the lines of its feed that say so: in the steps in which remedies are proposed."""

from collections.abc import Mapping

from ...grammar.edits import Edit, below, instead
from ...grammar.frozen import replace
from ...grammar.syntax import Sentence
from ..model.program import Feed, FixedBy, Program
from ..variants import STEPS, bounded, placed, shifted

PARTS = {"depth": -1, "side": 1, "stance": 1, "height": 1, "over": 1, "pace": 1, "time": 1}
"""What may be moved, and the sign of its steps: a depth is counted from the baseline inwards."""
EDGES = {"depth": ("near", "far"), "side": ("left", "right")}
"""The edges of a zone: towards the net and away from it, at -x and at +x."""
MOVES = (*PARTS, *(edge for edges in EDGES.values() for edge in edges))
LINES = {"over": "height over net"}
_FIXED = {"height": FixedBy.AT_PLAYER, "over": FixedBy.OVER_NET, "pace": FixedBy.PACE, "time": FixedBy.TIME}


def moved(program: Program, ball: str, by: Mapping[str, float]) -> tuple[Edit, ...]:
    """The edits that move a ball by these metres: its landing deeper (`depth`) and to +x (`side`), its contact away
    from the net (`stance`) and up (`height`), its way over the net up (`over`); leaves it faster by so many km/h
    (`pace`) or is met so many seconds later (`time`), whichever its feed says; or an edge of its zone towards +y
    (`near`, `far`) or +x (`left`, `right`). A feed that names a zone gets a side and a depth of its own in its place.
    What is smaller than half a step and what no sentence says is left out."""
    feed = program.feeds.get(ball)
    if feed is None:
        return ()
    zone = None if "into" in feed.elements else feed.said.get("into")
    if zone:
        feed = replace(feed, said={**feed.said, "side": zone, "depth": zone})
    lines = {LINES.get(part, part): _moved(program, feed, part, by[part]) for part in PARTS if by.get(part)}
    for part, (low, high) in EDGES.items():
        if by.get(low) or by.get(high):
            lines[part] = _edged(program, feed, part, by.get(low, 0.0), by.get(high, 0.0))
    edits = []
    if zone and any(lines.get(part) for part in EDGES):
        side, depth = (lines.pop(part, None) or _stretched(program, feed, part) for part in ("side", "depth"))
        if side and depth:
            own = any(line.sentence is zone for line in feed.line.children)
            edits.append(instead(zone, side, depth) if own else below(feed.line, side, depth))
    edits += [edit for part, said in lines.items() if said and (edit := placed(feed, part, said))]
    return tuple(replace(edit, span=program.rows.place(edit.span)) for edit in edits)


def movable(program: Program, ball: str) -> tuple[str, ...]:
    """Those of MOVES that a line of the ball's feed can say, one way or the other."""
    return tuple(part for part in MOVES if any(moved(program, ball, {part: way * _least(part)}) for way in (1, -1)))


def _least(part: str) -> float:
    return max(0.25, STEPS.get(part, 0.0))


def _moved(program: Program, feed: Feed, part: str, metres: float) -> Sentence | None:
    attribute = LINES.get(part, part)
    if what := _FIXED.get(part):  # of what two lines fix, either is moved
        value = dict(((feed.fixed_by, feed.value), *(feed.fixes if not feed.best else ()))).get(what)
        if value is None:
            return None
        feed = replace(feed, fixed_by=what, value=value)
    steps = round(PARTS[part] * metres / STEPS[attribute])
    variant = shifted(program, feed, attribute, steps) if steps else None
    return variant.sentence if variant else None


def _edged(program: Program, feed: Feed, part: str, low: float, high: float) -> Sentence | None:
    if part not in feed.said or max(abs(low), abs(high)) < STEPS[part] / 2:
        return None
    return _stretched(program, feed, part, low, high)


def _stretched(program: Program, feed: Feed, part: str, low: float = 0.0, high: float = 0.0) -> Sentence | None:
    way = bounded(program, feed, part, low, high)
    return way[1] if way else None
