"""Two lines at once: small changes of where the player stands and of where the ball lands, or of where a person feeds,
that keep the height, the pace and the time that are asked, where one line alone gives up much of one of them."""

from collections.abc import Iterator
from itertools import product

from ..grammar.edits import Edit, Remedy, united
from .model.program import Feed, Program
from .remedy import Judge, lacking
from .remedy_place import nearer, stood
from .variants import Variant, of_a_list, placed, shifted

STANCES, DEPTHS, NEARER_M = (-2, 2), (-4, 4, -8), (2.0, 3.0)
"""By how many steps each is moved, and by how many metres a person's place: each pair takes a search of its own. Own
choice."""
MOST = 2  # that are written into the script and tried


def pairs(program: Program, feed: Feed, passes: Judge) -> tuple[Remedy, ...]:
    """The pairs with which there is such a ball: where a person stands is nobody's wish for the ball, so a pair with
    it comes first; then what lacks least."""
    found = list[tuple[int, Remedy]]()
    places = NEARER_M if program.feeder.kind == "person" and not program.place.players_side else ()
    stances = _moved(program, feed, "stance", STANCES)
    depths = _moved(program, feed, "depth", DEPTHS)
    for moved, away in nearer(program, places):
        ways = [(trial.altered, (stood(program, away), edit)) for trial, edit in (*stances, *depths)]
        found += _had(moved, ways, passes)
        if found:
            break
    if not found:
        found = _had(program, list(_both(program, stances, depths)), passes)
    return tuple(remedy for _, remedy in sorted(found, key=lambda one: one[0])[:MOST])


def _moved(program: Program, feed: Feed, line: str, moves: tuple[int, ...]) -> list[tuple[Variant, Edit]]:
    if line in feed.free and not (line == "stance" and feed.behind):
        return []
    trials = [trial for steps in moves if (trial := shifted(program, feed, line, steps)) and not of_a_list(trial)]
    return [(trial, edit) for trial in trials if (edit := placed(feed, line, trial.sentence))]


def _both(
    program: Program, stances: list[tuple[Variant, Edit]], depths: list[tuple[Variant, Edit]]
) -> Iterator[tuple[Feed, tuple[Edit, Edit]]]:
    for (stance, one), (depth, other) in product(stances, depths):
        both = shifted(program, depth.altered, "stance", stance.steps)
        # Two new lines under one head would stand in one place.
        if both and one.span != other.span:
            yield both.altered, (one, other)


def _had(program: Program, ways: list[tuple[Feed, tuple[Edit, Edit]]], passes: Judge) -> list[tuple[int, Remedy]]:
    ways = [(feed, parts) for feed, parts in ways if len({part.span.source.name for part in parts}) == 1]
    told = lacking(program, [feed for feed, _ in ways], passes, anywhere=True)
    return [(lacks, united(ways[i][1])) for i, lacks in told]
