"""What came of feeds that ask for the best there is or leave something open, and what is in the way of more."""

from ...grammar.edits import amount, from_baseline
from ...grammar.facts import BallName, Names, SpinRate, read_in
from ...grammar.finding import Finding
from ...grammar.print import text
from ...grammar.syntax import Depth, FromNet, Height, Phase, Stance, keyword
from ...grammar.units import RPM
from ..findings.bounds import BallFound
from ..findings.player import MetFarBack
from ..model.evaluation import Evaluation
from ..model.program import Feed, FixedBy, Program
from ..model.schedule import Schedule
from ..model.shots import Shots
from ..reach import UNITS_SHOWN
from .figures import measured, place
from .stance import far_back, found_in_words, is_far_back, nearer

WORDS = {
    FixedBy.PACE: ("pace", "slowest", "fastest"),
    FixedBy.OVER_NET: ("height over net", "lowest", "highest"),
    FixedBy.AT_TOP: ("height at the top", "lowest", "highest"),
    FixedBy.AT_PLAYER: ("height", "lowest", "highest"),
    FixedBy.TIME: ("time", "shortest", "longest"),
    FixedBy.SPIN: ("spin", "most", "most"),
}
"""Of each: the line that says it, the least and the most."""


def best(program: Program, shots: Shots, schedule: Schedule | None, evaluation: Evaluation) -> list[Finding]:
    """What is the most, and what is the depth, the stance, the spin?"""
    found = []
    for name in shots.feeds:
        feed, shot = program.feeds.get(name), shots.shots.get(name)
        if feed is None or shot is None or name not in evaluation.scatterings:  # a ball that fails is no best one
            continue
        most, value, line = "", None, ""
        if feed.best:
            line, least, greatest = WORDS[feed.best.what]
            given = measured(shot)[feed.best.what]
            if given is not None:
                value = read_in(given, UNITS_SHOWN[feed.best.what])
                most = greatest if feed.best.sign > 0 else least
        bare = shots.bare.get(name)
        spare = read_in(bare, UNITS_SHOWN[feed.best.what]) if feed.best and bare is not None else None
        left, binds = _left_open(program, feed), Names(_shown(bind) for bind in shots.binds.get(name, ()))
        if not left and not most:
            continue
        where = place(feed, line, *sorted(feed.free), *(("depth",) if feed.down else ()))
        landing = shot.predicted.landing
        if landing and is_far_back(program, feed, shot) and MetFarBack.code not in program.accepted:
            message = far_back(program, feed, shot, Names(left), landing[1])
            found.append(Finding(message, where, remedies=nearer(program, feed, shot)))
        else:
            found.append(Finding(BallFound(BallName(name), line, most, value, Names(left), binds, spare), where))
    return found


def _left_open(program: Program, feed: Feed) -> list[str]:
    base, told = program.court.half_length, list[str]()
    if feed.depth and "depth" in feed.free:
        told.append(text(Depth((from_baseline(feed.depth.aim - base, 1),))))
    if "stance" in feed.free:
        told.append(found_in_words(program, feed))
    if feed.down and "stance" not in feed.said:
        told.append(text(Stance((FromNet(amount(feed.stance, 1, "m"), keyword("FROM_NET")),))))
    if feed.between:
        height = amount(feed.contact_height or 0.0, 2, "m")
        told.append(text(Height((height,), phase=Phase(keyword("ON_THE_FULL")))))
    if "height over net" in feed.free:
        told.append(text(Height((amount(feed.value, 1, "m"),), keyword("OVER_NET"))))
    if "spin" in feed.free and not (feed.best and feed.best.what is FixedBy.SPIN):
        spin = f"{'topspin' if feed.topspin >= 0 else 'backspin'} {SpinRate(abs(feed.topspin))}"
        told.append(spin if round(feed.topspin / RPM) else "flat")
    return told


def _shown(bind: str) -> str:
    """A bound as it stands in the script is marked as such."""
    if bind == "place":
        return "the place where it lands"
    return bind if bind.startswith("the ") else f"`{bind}`"
