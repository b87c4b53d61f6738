"""The best balls of feeds, each aimed so far aside that the way to it keeps its bounds."""

from collections.abc import Callable, Sequence
from math import inf

from ..grammar.frozen import replace
from .best import Quest
from .chosen import Chosen
from .fit import asked_of, wanted_of
from .flown_settings import flown_settings
from .model.program import Feed, Program
from .moves import far_behind, goes_back, late
from .nearer import aimed
from .physics.flight import GRAVITY
from .physics.outcome import Conditions
from .rounding import Rounded
from .together import Search, together
from .worth import BENT, Worth

NEAR_TOP_M, MUCH_BENT = 0.2, 4.0
"""A ball that is met so far below the top of its bounce comes high enough anyhow: other lines bend it, unless it misses
what lines state by so many widths, as a lob does where a flat ball comes less high. Own choice."""
AT_EASE = 0.0, False  # nobody comes too late to it or goes far back
TIMES = 3  # that a ball is aimed anew; each time it comes nearer to where it has to
SAME_M = 0.02  # an aim that moves by less is no other: a tenth of what a ball may miss it by. Own choice


def choose(
    feeds: Sequence[Feed], program: Program, conditions: Conditions, solved: Callable[[int], None]
) -> list[Chosen]:
    """The best ball of each feed; `solved` hears often how many more are found."""
    return together((_chosen(feed, program, conditions) for feed in feeds), conditions, solved)


def _chosen(feed: Feed, program: Program, conditions: Conditions) -> Search[Chosen]:
    """The best. Where no line says how it is met, that is on its way down behind the first bounce, unless a player who
    starts where a line says comes too late to that place, or it is far back: then on its way up, or behind the second,
    where that is less so. Behind the second, too, if the first keeps a bound worse."""
    found = yield from _met(feed, program, conditions)
    if "stance" not in feed.free:
        return found
    seen, twice = program.seen_by(feed.player), feed.bounces == (1, 2)
    if twice and (found.short == inf or found.beyond > 0):
        second = yield from _nearer(replace(feed, bounces=(2, 2)), program, conditions, False)
        if second.short < found.short:
            return second
    awkward = _awkward(seen, found)
    if feed.best or found.topped or found.short == inf:
        return found
    rising = feed.phase is None and not feed.stands
    behind = [feed, *([replace(feed, bounces=(2, 2))] if twice else [])]
    ways = [way for one in behind for way in (*([replace(one, phase="rising")] if rising else []), one)]
    for other in [way for way in ways if way is not feed]:
        if awkward == AT_EASE:
            break
        again = yield from _nearer(other, program, conditions, False)
        asked = again.short <= found.lacks + BENT and again.beyond <= found.beyond
        if asked and (less := _awkward(seen, again)) < awkward:
            found, awkward = again, less
    return found


def _awkward(program: Program, found: Chosen) -> tuple[float, bool]:
    """How much too late the player comes to a ball, s, and whether that is met far back."""
    one = found.rounded
    if one is None:
        return AT_EASE
    (lands, met), court = (
        ((at.position[:2, 0].tolist()) for at in (one.flown.landing, one.flown.contact)),
        program.court,
    )
    back = far_behind(court, met[1]) or goes_back(court, found.feed, lands[1], met[1])
    return round(late(program, found.feed, (met[0], met[1]), float(one.flown.contact.time[0])), 2), back


def _met(feed: Feed, program: Program, conditions: Conditions) -> Search[Chosen]:
    """The best; where there is none, or one that bends what lines state to come as high as the player stands for, the
    best that need not come so high."""
    found = yield from _nearer(feed, program, conditions, False)
    if feed.where is None or feed.best or "stance" not in feed.free:
        return found
    if found.rounded is None or found.lacking:
        return replace(found, topped=(yield from _nearer(feed, program, conditions, True)))
    bent = _bent(feed, found.rounded, program)
    fall = float(found.rounded.flown.contact.velocity[2, 0])
    if bent <= BENT or (bent <= MUCH_BENT and fall**2 / (2 * GRAVITY) > NEAR_TOP_M):
        return found
    topped = yield from _nearer(feed, program, conditions, True)
    if topped.rounded is None or topped.lacking or _bent(feed, topped.rounded, program) > bent / 2:
        return found
    return replace(found, topped=topped)


def _bent(feed: Feed, one: Rounded, program: Program) -> float:
    """By how much a ball misses what the lines of its feed state, in widths of `HELD`."""
    return Worth(feed, asked_of([feed], program), wanted_of([feed], program), program).bent(one)


def _nearer(feed: Feed, program: Program, conditions: Conditions, topped: bool) -> Search[Chosen]:
    """The best without the bounds of its way, and where that breaks them with them and another aim."""
    free = replace(feed, bounds=tuple(bound for bound in feed.bounds if bound not in feed.ways))
    found = yield from _quest(free, program, conditions, topped).chosen()
    for again in range(TIMES if feed.ways else 0):
        if found.rounded is None:
            break
        landing, contact = (
            (float(at.position[0, 0]), float(at.position[1, 0]))
            for at in (found.rounded.flown.landing, found.rounded.flown.contact)
        )
        nearer = aimed(program, feed, landing if feed.depth else contact, contact)
        if nearer is feed or (again and abs(nearer.side.aim - feed.side.aim) < SAME_M):
            break
        feed, found = nearer, (yield from _quest(nearer, program, conditions, topped).chosen())
    return found


def _quest(feed: Feed, program: Program, conditions: Conditions, topped: bool) -> Quest:
    wanted = wanted_of([feed], program)
    worth = Worth(feed, asked_of([feed], program), wanted, program, topped=topped)
    return Quest(worth, wanted, program, conditions, flown_settings(worth))
