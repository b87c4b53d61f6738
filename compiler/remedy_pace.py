"""An ordinary pace in place of one that takes no ball to its place: one that passes about a metre over the net, since
the least that gets there does so in a high arc."""

from collections.abc import Collection

from ..grammar import units
from ..grammar.edits import Remedy, amount, changed
from ..grammar.facts import Speed
from ..grammar.frozen import replace
from ..grammar.syntax import Pace
from .model.program import Best, Feed, FixedBy, Program
from .remedy import Judge
from .solve import solve
from .variants import placed

ORDINARY_M = 1.0  # over the net. Common practice, no source
SPARE = 5  # km/h that an ordinary pace is slower at most, if that alone can be had


def ordinary_paces(program: Program, feed: Feed, passes: Judge) -> tuple[Remedy, ...]:
    """The pace with which such a ball flies as flat as an ordinary one, and one a little slower."""
    said = feed.said.get("pace")
    if not isinstance(said, Pace) or "pace" in feed.elements or FixedBy.OVER_NET in dict(feed.fixes):
        return ()
    rest = tuple(fix for fix in feed.fixes if fix[0] is not FixedBy.PACE)
    over = FixedBy.OVER_NET, ORDINARY_M
    other = replace(feed, fixed_by=over[0], value=over[1], fixes=(over, *rest) if feed.fixes else ())
    solved = solve(program, {feed.name: other})
    shot = solved.shots.get(feed.name)
    asked = dict(feed.fixes).get(FixedBy.PACE, feed.value)
    if shot is None or shot.speed <= asked or not passes(program, solved.feeds.get(feed.name, other), shot):
        return ()
    ordinary = round(units.from_si(shot.speed, "km/h"))
    lines = (changed(said, choices=(amount(pace, 0, "km/h"),)) for pace in (ordinary, ordinary - SPARE))
    return tuple(remedy for line in lines if (remedy := placed(feed, "pace", line)))


def slowest(program: Program, feed: Feed) -> Speed | None:
    """The least pace with which such a ball gets to its place."""
    rest = tuple(fix for fix in feed.fixes if fix[0] is not FixedBy.PACE)
    least = replace(feed, best=Best(FixedBy.PACE, -1), fixed_by=FixedBy.PACE, fixes=rest)
    shot = solve(program, {feed.name: least}).shots.get(feed.name)
    return Speed(shot.speed) if shot else None


def of_rungs(program: Program, balls: Collection[str]) -> frozenset[str]:
    """Those of some balls that are rungs of a ladder beside others of them, each with a pace of its own: no one pace
    mends them."""
    found = set[str]()
    for play in program.session.plays if program.session else ():
        mine = {name for name in balls for _, share in play.shares if name in program.members(share)}
        paces = {dict(program.feeds[name].fixes).get(FixedBy.PACE, program.feeds[name].value) for name in mine}
        found |= mine if play.ladder and len(paces) > 1 else set()
    return frozenset(found)
