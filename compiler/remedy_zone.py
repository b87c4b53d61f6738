"""The smallest wider zone that the feeder hits often enough, tried before it is proposed."""

from ..grammar.edits import Remedy
from .evaluate import lands, scatterings
from .model.enough import enough
from .model.program import Program
from .solve import solve
from .variants import widened


def zone_remedies(program: Program, names: list[str]) -> dict[str, tuple[Remedy, ...]]:
    """For each feed the smallest wider depth, and the smallest wider side, in which enough of the balls land."""
    trials = [(name, *trial) for name in names for trial in widened(program, program.feeds[name])]
    shots = solve(program, {feed.name: feed for _, _, feed, _ in trials}, explain=False).shots
    flown = [trial for trial in trials if trial[2].name in shots]
    pairs = [(feed, shots[feed.name]) for _, _, feed, _ in flown]
    found: dict[tuple[str, str], Remedy] = {}
    for (name, attribute, feed, remedy), one in zip(flown, scatterings(program, pairs, sample=False), strict=True):
        if lands(one, feed.depth is None) and enough(one.over_net):
            found.setdefault((name, attribute), remedy)
    return {name: tuple(remedy for (of, _), remedy in found.items() if of == name) for name in names}
