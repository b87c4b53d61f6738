"""A ball with the player's goal, from one form: the variation that says what a good reply is, and the ball that aims
at it."""

from collections.abc import Callable
from itertools import count

from ...grammar.edits import Edit
from ...grammar.frozen import replace
from .blanks import BOUNDS, GOES, TOWARD, BallBlanks, BlankProblem, VariationBlanks, bounded, choices
from .forms import variation_written
from .script import Script

DEEP_M, ORDINARY_M = (0.5, 4.0), (0.3, 7.0)
"""Where the replies of a goal land, from the baseline inwards, m: our own choice."""


def with_goal(
    script: Script, blanks: BallBlanks, write: Callable[[Script, BallBlanks], tuple[Edit, ...]]
) -> tuple[Edit, ...]:
    """What writes the ball, with the variation of its goal, if it has one; BlankProblem if a blank holds what it may
    not."""
    if not blanks.goal:
        return write(script, blanks)
    bounded("goal", blanks.goal, *BOUNDS["goal"])
    if blanks.goes not in GOES:
        raise BlankProblem(f"goes is one of: {', '.join(GOES)}")
    known, way = choices(script)["aims"], blanks.goes.replace(" ", "-")
    called = f"{blanks.name}-{'back' if blanks.goes == GOES[0] else way}"
    called = next(one for n in count(1) if (one := called if n == 1 else f"{called}-{n}") not in known)
    near, far = DEEP_M if blanks.goes.endswith("deep") else ORDINARY_M
    title = "a good reply" if blanks.goes == GOES[0] else blanks.goes
    asked = VariationBlanks(
        called, title, near=near, far=far, goal=blanks.goal, among=blanks.among, toward=_toward(blanks)
    )
    return _one_at_a_place((*variation_written(script, asked), *write(script, replace(blanks, aims=called))))


def _toward(blanks: BallBlanks) -> str:
    """To where across the court the reply goes."""
    way = blanks.goes.removesuffix(" and deep")
    if way in ("crosscourt", "down the line") and blanks.side.split(" ")[0] not in ("forehand", "backhand"):
        raise BlankProblem(f"only a ball to the forehand or backhand goes {way}: choose its side")
    return way if way in TOWARD else ""


def _one_at_a_place(edits: tuple[Edit, ...]) -> tuple[Edit, ...]:
    """What goes into the same place, as one edit: a script has no order of two."""
    made: dict[object, Edit] = {}
    for edit in edits:
        place = (edit.span.start, edit.span.end)
        made[place] = Edit(edit.span, made[place].text + edit.text) if place in made else edit
    return tuple(made.values())
