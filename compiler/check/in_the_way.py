"""Which lines of a feed that leaves something open are in the way of its ball: one of them at a time is let go, or
moved, and the ball is looked for anew."""

import math
from typing import NamedTuple

from ...grammar import units
from ...grammar.edits import Remedy
from ...grammar.finding import Message
from ...grammar.frozen import replace
from ...grammar.syntax import Bound as BoundLine
from ..evaluate import scatterings
from ..findings.bounds import BoundBroken, NotTogether
from ..model.program import Bound, Feed, FixedBy, Program
from ..model.shots import SolvedShot
from ..reach import ASKED, UNITS_SHOWN
from ..remedy import Judge
from ..remedy_place import nearer_places
from ..solve import solve
from ..variants import STEPS, Variant, fixing, of_a_list, placed, shifted
from .ball import loosened
from .figures import measured

MOVES = {"stance": (4, -4, 8, -8), "depth": (2, -2, 4, -4)}
"""By how many steps a line is moved: each takes a search of its own. Own choice."""
FEW_MOVES = {"depth": (2, -2, 4)}
"""The same of a feed that asks for the most or the least there is, which takes longer."""
UNFLOWN, NEARER_M = (4,), (3.0,)
"""By how many steps the depth is moved, and how much nearer the feeder is placed, of one that leaves its spin open
beside that, which takes longest: the trial alone looks for its ball. Own choice."""
FARTHER = (0, 3)  # more steps than to the nearest that was found. Own choice
MOST_BOUNDS = 5
MOST_PLACES = 2  # that are proposed for a line that was moved
SPARE = 4
"""So many steps wider than the ball needs it a bound is proposed too, since balls scatter. Own choice."""


class InTheWay(NamedTuple):
    words: tuple[str, ...]
    """Of the lines without which there is such a ball."""
    remedies: tuple[Remedy, ...]


def in_the_way(program: Program, feed: Feed, message: Message, passes: Judge) -> InTheWay:
    """Of a feed without a ball, or with the best that breaks a bound."""
    if feed.best and "spin" in feed.free:
        return InTheWay((), _unflown(program, feed))
    broken = message.bound if isinstance(message, BoundBroken) else ""
    far = _as_far(feed, message) if isinstance(message, NotTogether) and not feed.best else ()
    bounds = [bound for bound in feed.bounds if bound.words != broken][:MOST_BOUNDS]
    freed = [replace(feed, bounds=tuple(other for other in feed.bounds if other is not bound)) for bound in bounds]
    moved = [
        trial
        for attribute, moves in (FEW_MOVES if feed.best else {**MOVES, fixing(feed): far}).items()
        for steps in moves
        if attribute not in feed.free and (trial := shifted(program, feed, attribute, steps)) and not of_a_list(trial)
    ]
    named = {f"{i}": one for i, one in enumerate((*freed, *(trial.altered for trial in moved)))}
    solved = solve(program, {name: replace(one, name=name) for name, one in named.items()})
    had = {
        int(name): (one, shot)
        for name, shot in solved.shots.items()
        if passes(program, one := replace(solved.feeds.get(name, named[name]), name=feed.name), shot)
    }
    lines = [(bounds[i], had[i][1]) for i in range(len(bounds)) if i in had]
    wider = [edit for bound, shot in lines for edit in _wider(program, feed, bound, shot)]
    flown = [(trial, *had[i]) for i, trial in enumerate(moved, len(bounds)) if i in had]
    return InTheWay(tuple(bound.words for bound, _ in lines), (*wider, *_kept_most(program, feed, flown)))


def away_from_the_aim(program: Program, feed: Feed) -> tuple[str, ...]:
    """The bounds of a feed that leaves nothing open without one of which it has a ball to its aim."""
    bounds = {f"{i}": bound for i, bound in enumerate(feed.bounds[:MOST_BOUNDS])}
    freed = {
        name: replace(feed, name=name, bounds=tuple(other for other in feed.bounds if other is not bound))
        for name, bound in bounds.items()
    }
    return tuple(bounds[name].words for name in solve(program, freed, explain=False).shots)


def _unflown(program: Program, feed: Feed) -> tuple[Remedy, ...]:
    depths = [shifted(program, feed, "depth", by) for by in UNFLOWN if "depth" not in feed.free]
    edits = [placed(feed, "depth", one.sentence) for one in depths if one]
    return (*(edit for edit in edits if edit), *nearer_places(program.fed_from(feed.place), NEARER_M))


def _as_far(feed: Feed, message: NotTogether) -> tuple[int, ...]:
    """By how many steps the line that decides the flight comes to the nearest that was found, and somewhat farther."""
    if message.what != ASKED[feed.fixed_by]:
        return ()
    unit, step = UNITS_SHOWN[feed.fixed_by], STEPS[fixing(feed)]
    by = (units.from_si(message.given, unit) - units.from_si(feed.value, unit)) / step
    nearest = math.ceil(abs(by) - 1e-6)
    return tuple(round(math.copysign(nearest + more, by)) for more in FARTHER)


def _wider(program: Program, feed: Feed, bound: Bound, shot: SolvedShot) -> list[Remedy]:
    """The bound as wide as the ball needs it that is had without it, first with room for those beside it; a limit of
    the whole script stays."""
    value = measured(shot).get(bound.what)
    if value is None or not isinstance(bound.sentence, BoundLine) or bound.what is FixedBy.WAY:
        return []
    return [loosened(program, feed, bound, value, spare) for spare in (SPARE, 0)]


def _kept_most(program: Program, feed: Feed, flown: list[tuple[Variant, Feed, SolvedShot]]) -> list[Remedy]:
    """Of each line that was moved the place first with which most balls keep their bounds, near ones first."""
    spread = scatterings(program, [(one, shot) for _, one, shot in flown], sample=False)
    shares = [min((share for share, _ in one.kept.values()), default=1.0) for one in spread]
    order = sorted(range(len(flown)), key=lambda i: (-round(min(shares[i], 0.9), 1), abs(flown[i][0].steps)))
    found: dict[str, list[Remedy]] = {}
    for trial in (flown[i][0] for i in order):
        some, edit = found.setdefault(trial.attribute, []), placed(feed, trial.attribute, trial.sentence)
        if edit and len(some) < MOST_PLACES:
            some.append(edit)
    return [edit for some in found.values() for edit in some]
