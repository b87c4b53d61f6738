"""The nearest place of the feeder from which balls keep their bounds: it leaves every line of a ball as it is."""

from collections.abc import Iterator, Sequence

from ..grammar import syntax as s
from ..grammar.edits import Remedy, amount, changed, instead
from ..grammar.frozen import replace
from .model.court import Court
from .model.program import Program
from .remedy import Judge, lacking

MOVES_M = (1.0, -1.0, 2.0, -2.0, 3.0, -3.0, 4.0, 5.0, 6.0)
"""How much nearer to the net the feeder is tried, m."""
FEW_M = (4.0, 2.0, 6.0)  # where each takes a search of its own; the first that does is taken
NEAREST_M = 3.0  # from the net
EVEN_M = 0.5  # places are told in such steps
MOST_PLACES = 2


def place_remedies(program: Program, balls: Sequence[str], passes: Judge, anew: bool = False) -> tuple[Remedy, ...]:
    """Changes of the feeder's line with which all these balls pass, the ones first that keep most, then the near ones;
    none for a feeder on the player's side. `anew`: what they leave open is looked for again, from a few places."""
    feeds = [program.feeds[name] for name in balls]
    if len({program.place_of(feed).there for feed in feeds}) != 1:
        return ()
    program, feeds = program.fed_from(feeds[0].place), [replace(feed, place=None) for feed in feeds]
    if program.place.players_side:
        return ()
    found = []
    for i, (moved, away) in enumerate(nearer(program, FEW_M if anew else MOVES_M)):
        told = lacking(moved, feeds, passes, anew)
        if len(told) == len(feeds):
            found.append((max(lacks for _, lacks in told), i, stood(program, away)))
            if anew:
                break
    return tuple(remedy for *_, remedy in sorted(found, key=lambda one: one[:2])[:MOST_PLACES])


def nearer_places(program: Program, moves: Sequence[float]) -> tuple[Remedy, ...]:
    """Such changes, none of which is flown yet."""
    if program.place.players_side:
        return ()
    return tuple(stood(program, away) for _, away in nearer(program, moves))


def nearer(program: Program, moves: Sequence[float]) -> Iterator[tuple[Program, float]]:
    """The program with its feeder so much nearer to the net, m, and how far from the net that is."""
    for by in moves:
        away = round((-program.place.y - by - program.court.half_length) / EVEN_M) * EVEN_M
        away += program.court.half_length
        if away >= NEAREST_M:
            yield replace(program, place=replace(program.place, y=-away)), away


def stood(program: Program, away: float) -> Remedy:
    sentence = program.place.sentence
    others = (spot for spot in sentence.spots if not isinstance(spot, s.FromLine | s.FromNet | s.OnLine))
    across = [spot for spot in sentence.spots if isinstance(spot, s.FromSideline | s.FromCentre | s.OnCentre)]
    rest = [spot for spot in others if spot not in across]
    return instead(sentence, changed(sentence, spots=(*across, along(program.court, away), *rest)))


def along(court: Court, away: float) -> s.FromLine | s.OnLine:
    """A place so far from the net, said from the line that is nearer."""
    lines = ((court.service, "SERVICE_LINE"), (court.half_length, "BASELINE"))
    line, kind = min(lines, key=lambda one: abs(away - one[0]))
    if abs(away - line) < 0.05:
        return s.OnLine(s.keyword(kind))
    return s.FromLine(
        amount(abs(away - line), 1, "m"), s.keyword("BEHIND" if away > line else "INSIDE"), s.keyword(kind)
    )
