"""Distances along the court, said from the line from which the coach says them."""

from ..grammar import syntax as s
from ..grammar.edits import amount, counted, from_baseline
from ..grammar.syntax import keyword
from .model.court import Court
from .model.program import Feed


def said_from(feed: Feed, court: Court, low: float, high: float | None = None) -> s.Distance | s.Way:
    """A place, y in m, or all from `low` to `high`: from the net or the service line if the feed's depth is said from
    there, else inside the baseline."""

    def extent(one: float, other: float | None) -> s.Extent:
        if other is None:
            return amount(one, 2, "m")
        return s.Bounds(counted(min(one, other), 2), counted(max(one, other), 2), s.Word("UNIT", "m"))

    origin, far = reference(feed, court), low if high is None else high
    if origin == 0.0:
        return s.FromNet(extent(low, high), keyword("FROM_NET"))
    if origin == court.service and (low >= origin or far <= origin):
        way = "BEHIND" if low >= origin else "INSIDE"
        other = None if high is None else abs(high - origin)
        return s.FromLine(extent(abs(low - origin), other), keyword(way), keyword("SERVICE_LINE"))
    if origin == court.service and high is not None:
        ends = ((origin - low, "INSIDE"), (high - origin, "BEHIND"))
        return s.Way(*(s.FromLine(amount(off, 2, "m"), keyword(way), keyword("SERVICE_LINE")) for off, way in ends))
    base = court.half_length
    other = None if high is None else base - high
    return s.FromLine(extent(base - low, other), keyword("INSIDE"), keyword("BASELINE"))


def stood(feed: Feed, court: Court, y: float) -> s.Stance:
    """A stance there, said from the line from which the coach says it."""
    origin = reference(feed, court, "stance")
    away = round(y - origin, 2)
    if origin == 0.0:
        return s.Stance((s.FromNet(amount(away, 2, "m"), keyword("FROM_NET")),))
    return s.Stance((from_baseline(away, 2, "SERVICE_LINE" if origin == court.service else "BASELINE"),))


def reference(feed: Feed, court: Court, of: str = "depth") -> float:
    """Where the line is from which the feed's depth, or its stance, is said, y in m."""
    said = feed.said.get(of)
    place = said.choices[0] if isinstance(said, s.Depth | s.Stance) else said
    place = place.places[0] if isinstance(place, s.Row) else place
    match place:
        case s.FromNet() | s.Name(s.Word(text="short")):
            return 0.0
        case s.FromLine(_, _, line) | s.OnLine(line) | s.Way(s.FromLine(_, _, line)) if line.kind == "SERVICE_LINE":
            return court.service
    return court.half_length
