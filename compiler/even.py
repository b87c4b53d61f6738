"""The time between balls where marks decide which comes next: in a block in which a point begins again, and on a
ladder."""

from collections.abc import Callable, Iterable

from .model.program import Play, Program
from .model.schedule import Climb

Flight = Callable[[str], float]
"""From the launch of a ball to its contact, s."""


def evenly(program: Program, item: Play, flight: Flight) -> float | None:
    """The time between two balls of a block in which a point begins again; None for other blocks."""
    points = [program.points[name] for _, name in item.shares if name in program.points]
    if not any(point.after_miss == "from the start" for point in points):
        return None
    names = [member for share in item.shared for member in program.members_of(*share)]
    first = [(p, program.members_of(p.feeds[0], (p.whose or item.players)[:1])) for p in points]
    serves = {name: program.served(p.name) for p, members in first for name in members}
    intervals = [_at_least(program, name, names, flight) + serves.get(name, 0.0) for name in names]
    change = program.rotation.changeover if len(item.players) > 1 else 0.0
    line = program.player.changeover if program.player.in_line > 1 and program.player.rotate_every else 0.0
    return max(*intervals, change, line)


def climb_of(program: Program, item: Play, flight: Flight, order: Iterable[tuple[str, ...]]) -> Climb | None:
    """The balls of a ladder, of which `order` says what would come on each rung."""
    if item.ladder is None:
        return None
    rungs = tuple([program.members_of(*share) for share in item.shared])
    names = [name for members in rungs for name in members]
    if item.ladder.quantity:  # one feed, whose balls come as they would without a ladder
        intervals = tuple([program.feeds[name].interval for name in names])
    else:
        intervals = tuple([max(_at_least(program, name, names, flight) for name in members) for members in rungs])
    return Climb(rungs, intervals, tuple(order))


def _at_least(program: Program, name: str, among: Iterable[str], flight: Flight) -> float:
    """The interval of a ball, whichever of the others comes before it: an interval between contacts is longer by what
    the longest flight of them takes longer."""
    feed = program.feeds[name]
    return feed.interval + (max(map(flight, among)) - flight(name) if feed.between_contacts else 0.0)
