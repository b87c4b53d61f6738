"""The best balls of feeds, each aimed so far aside that the way to it keeps its bounds."""

from collections.abc import Callable, Sequence

from ..grammar.frozen import replace
from .best import Quest
from .chosen import Chosen
from .fit import asked_of, wanted_of
from .model.program import Feed, Program
from .nearer import aimed
from .physics.outcome import Conditions
from .together import Search, together
from .worth import Worth

TIMES = 3  # that a ball is aimed anew; each time it comes nearer to where it has to
SAME_M = 0.02  # an aim that moves by less is no other: a tenth of what a ball may miss it by. Own choice


def choose(
    feeds: Sequence[Feed], program: Program, conditions: Conditions, solved: Callable[[int], None]
) -> list[Chosen]:
    """The best ball of each feed; `solved` hears often how many more are found."""
    return together((_chosen(feed, program, conditions) for feed in feeds), conditions, solved)


def _chosen(feed: Feed, program: Program, conditions: Conditions) -> Search[Chosen]:
    """The best; where there is none, the best that need not come as high as the player stands for."""
    found = yield from _nearer(feed, program, conditions, False)
    if feed.where is None or feed.best or "stance" not in feed.free or not (found.rounded is None or found.lacking):
        return found
    return replace(found, topped=(yield from _nearer(feed, program, conditions, True)))


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
    return Quest(Worth(feed, asked_of([feed], program), wanted, program, topped=topped), wanted, program, conditions)
