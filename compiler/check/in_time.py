"""What brings a player in time to a ball: a higher or slower one, another place to wait or to meet it."""

from collections.abc import Collection
from math import ceil

from ...grammar.edits import Remedy, amount, changed, from_baseline
from ...grammar.edits import name as named
from ...grammar.frozen import replace
from ...grammar.syntax import Distance, FromCentre, FromLine, FromNet, Offset, OnCentre, OnLine, Stance, Starts, keyword
from ..findings.player import NoTimeToSee
from ..model.program import Feed, FixedBy, Program
from ..model.shots import SolvedShot
from ..moves import late
from ..variants import STEPS, fixing, placed, shifted
from .met import later, met_elsewhere, part_of
from .stance import risen

GRID_M, MOST_M = 0.25, 3.0
"""In which steps a place to wait is proposed, and how far at most from the one that is said. Own choice."""
PARTS = (1.0, 1.5, 2.0)  # of the least that seems needed. Own choice
RISES = 0.5
"""Metres that a ball passes higher over the net for each square second that its way to the player takes longer. Of one
that falls alone g / 8 is more than twice that; its bounce is higher, too. Own choice."""


def in_time(
    program: Program, feed: Feed, shot: SolvedShot, message: NoTimeToSee, mended: Collection[Remedy]
) -> tuple[Remedy, ...]:
    """What leaves a ball more time, of which nothing is flown yet but those `mended`: first a higher one of the same
    kind, then a place to wait that is nearer, another way to meet it where that is open, a slower one, and what else
    mends it; a spin that nobody asked comes last."""
    slower = _slower(program, feed, shot, message) if feed.placed_anew else ()
    arcs = [one for one in (*mended, *slower) if "over net" in one.text]
    spins = [one for one in mended if one.text.split()[0] == "spin"]
    rest = [one for one in (*slower, *mended) if one not in arcs and one not in spins]
    smash = dict(feed.fixes).get(FixedBy.AT_PLAYER, 0.0) > part_of(program.seen_by(feed.player), "shoulder")
    lower = () if smash else (*later(program, feed), *met_elsewhere(program, feed))
    elsewhere = dict.fromkeys((*risen(feed), *_twice(feed), *lower))
    return (*arcs, *nearer_starts(program, feed, shot, message.known), *elsewhere, *rest, *spins)


def nearer_starts(program: Program, feed: Feed, shot: SolvedShot, known: bool) -> tuple[Remedy, ...]:
    """The nearest place to wait from which the player comes in time: on the way along the court, across it, or both."""
    said = feed.said.get("starts")
    if not isinstance(said, Starts) or feed.start is None:
        return ()
    seen, (x, y), flown = program.seen_by(feed.player), feed.start, shot.predicted
    aside, along = flown.contact[0] - x, 0.0 if y is None else flown.contact[1] - y
    found = list[tuple[float, tuple[float, float | None]]]()
    for way in ((0.0, along), (aside, 0.0), (aside, along)):
        longest = max(abs(part) for part in way)
        for n in range(1, int(min(longest, MOST_M) / GRID_M) + 1):
            by_x, by_y = (_even(part * n * GRID_M / longest) for part in way)
            start = x + by_x, None if y is None else y + by_y
            if not late(seen, replace(feed, start=start), flown.contact[:2], flown.contact_time, known):
                found.append((abs(by_x) + abs(by_y), start))
                break
    lines = (_starting(program, feed, said, start) for _, start in sorted(found, key=lambda each: each[0]))
    return tuple(line for line in lines if line)


def _starting(program: Program, feed: Feed, said: Starts, start: tuple[float, float | None]) -> Remedy | None:
    """The line that says it, from the lines from which the coach does."""
    (x, y), (was_x, was_y) = start, feed.start or (0.0, None)
    spots = list[Offset | Distance]()
    for spot in said.spots:
        match spot:
            case FromLine() | FromNet() | OnLine() if y is not None and y != was_y:
                spots.append(_along(program, spot, y))
            case FromCentre() | OnCentre() if x != was_x:
                side = FromCentre(amount(abs(x), 2, "m"), named("left" if x > 0 else "right"), keyword("OF_CENTRE"))
                spots.append(side if round(x, 2) else OnCentre(keyword("CENTRE")))
            case _:
                spots.append(spot)
    return placed(feed, "starts", changed(said, spots=tuple(spots))) if tuple(spots) != said.spots else None


def _along(program: Program, spot: Distance, y: float) -> Distance:
    """A place y from the net, said from where another is."""
    if isinstance(spot, FromNet):
        return FromNet(amount(y, 2, "m"), keyword("FROM_NET"))
    service = spot.line.kind == "SERVICE_LINE"
    return from_baseline(y - (program.court.service if service else program.court.half_length), 2, spot.line.kind)


def _twice(feed: Feed) -> tuple[Remedy, ...]:
    """After the second bounce, of a stance that says after the first."""
    said = feed.said.get("stance")
    if not isinstance(said, Stance) or said.after is None or feed.bounces != (1, 1):
        return ()
    line = placed(feed, "stance", changed(said, after=keyword("AFTER_TWO_BOUNCES")))
    return (line,) if line else ()


def _slower(program: Program, feed: Feed, shot: SolvedShot, message: NoTimeToSee) -> tuple[Remedy, ...]:
    """Of a ball that is looked for anew: so much slower or higher that it takes about as long as the player needs, and
    more."""
    line, step = fixing(feed), STEPS.get(fixing(feed), 0.0)
    needed, time = message.see + message.move, message.time
    match feed.fixed_by:
        case FixedBy.PACE:
            steps = -feed.value * 3.6 * (needed / time - 1) / step
        case FixedBy.OVER_NET | FixedBy.AT_TOP:
            steps = RISES * (needed**2 - time**2) / step
        case FixedBy.TIME:
            steps = (needed - time) / step
        case _:
            return ()
    each = dict.fromkeys(ceil(abs(steps) * part) for part in PARTS)
    moved = (shifted(program, feed, line, n if steps > 0 else -n) for n in each)
    return tuple(remedy for one in moved if one and (remedy := placed(feed, line, one.sentence)))


def _even(metres: float) -> float:
    return round(metres / GRID_M) * GRID_M
