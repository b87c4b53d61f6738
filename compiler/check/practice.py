"""The practice as a whole: its length, and what in the script nobody uses."""

from ..model.judgement import Judgement
from ..model.program import Program
from ..model.schedule import Schedule
from ..model.shots import Shots
from ..report.finding import Finding
from ..units import clock

LENGTH_TOLERANCE = 0.05
"""A session may be this share longer or shorter than it says. Own choice."""


def length(program: Program, shots: Shots, schedule: Schedule | None, judgement: Judgement) -> list[Finding]:
    """Is the session as long as it says?"""
    session = program.session
    if schedule is None or session is None or session.lasts is None:
        return []
    found = schedule.total
    if abs(found - session.lasts) <= LENGTH_TOLERANCE * session.lasts:
        return []
    facts = {"asked": f"{clock(session.lasts)} min", "possible": f"{clock(found)} min"}
    return [Finding("session-length", session.span, facts)]


def unused(program: Program, shots: Shots, schedule: Schedule | None, judgement: Judgement) -> list[Finding]:
    """Is every feed played, and every variation aimed at?"""
    found = []
    aimed = {feed.variation for feed in program.feeds.values()}
    for variation in program.variations.values():
        if variation.name not in aimed:
            found.append(Finding("variation-unused", variation.span, {"name": variation.name}))
    if schedule is not None:
        played = {program.feeds[name].family for block in schedule.sequence.blocks for name in block.feeds}
        for name, members in program.families.items():
            if name not in played:
                found.append(Finding("feed-unused", program.feeds[members[0]].span, {"name": name}))
    return found
