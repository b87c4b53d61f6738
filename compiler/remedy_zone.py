"""The smallest wider zone that the feeder hits often enough, tried before it is proposed."""

from ..grammar.edits import Remedy, changed, counted, instead
from ..grammar.syntax import Depth
from .evaluate import lands, scatterings
from .model.enough import enough
from .model.program import Feed, Program
from .solve import solve
from .variants import widened

FEWEST_STEPS, MOST_FEWER = 2, 4


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
    return {
        name: tuple(remedy for (of, _), remedy in found.items() if of == name) + _in_fewer_steps(program.feeds[name])
        for name in names
    }


def _in_fewer_steps(feed: Feed) -> tuple[Remedy, ...]:
    """The range of a depth in fewer and fewer steps: the first and the last then lie farther inside it. What the ball
    of each step does is left to the trial of the script."""
    line = feed.said.get("depth")
    if not isinstance(line, Depth) or line.steps is None:
        return ()
    few = range(int(line.steps.number.text) - 1, FEWEST_STEPS - 1, -1)
    return tuple(instead(line, changed(line, steps=changed(line.steps, number=counted(n)))) for n in few)[:MOST_FEWER]
