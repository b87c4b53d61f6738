"""The lines of a court as ITF Rules of Tennis, rule 1, lays them out, for every drawing of one."""

from ...compiler.model.conditions import CourtRecord
from ...compiler.model.court import SINGLES_HALF_WIDTH

CENTRE_MARK_M = 0.10
"""Length of the mark that halves a baseline; it points into the court."""

Line = tuple[tuple[float, float], tuple[float, float]]
"""From and to, (x, y), m: the frame's x across and y along the court."""


def court_lines(court: CourtRecord) -> tuple[Line, ...]:
    """Baselines, sidelines, service lines, centre service line and centre marks, without the net.

    A full court has the sidelines of singles and of doubles. The baselines run between the outer ones, the service
    lines between those of singles whichever game is played.
    """
    length, service, outer = court.half_length_m, court.service_m, court.doubles_half_width_m
    inner = min(court.half_width_m, SINGLES_HALF_WIDTH)
    across = [((-half, y), (half, y)) for half, line in ((outer, length), (inner, service)) for y in (-line, line)]
    along = [((x, -length), (x, length)) for x in sorted({-outer, -inner, inner, outer})]
    marks = [((0.0, end * length), (0.0, end * (length - CENTRE_MARK_M))) for end in (-1, 1)]
    return (*across, *along, ((0.0, -service), (0.0, service)), *marks)
