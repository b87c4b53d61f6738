"""Where the player stands whose stance no line says: in words, and whether that is far back."""

from math import inf

import numpy as np

from ...grammar.edits import Remedy, changed, from_baseline
from ...grammar.facts import BallName, Metres, Names
from ...grammar.print import text
from ...grammar.syntax import Height, Phase, Sentence, Stance, Where, Word, keyword
from ...grammar.units import number
from ..conditions import conditions_of
from ..evaluate import release_of
from ..findings.player import MetFarBack
from ..model.program import Feed, FixedBy, Program
from ..model.shots import SolvedShot
from ..moves import far_behind, goes_back
from ..physics.outcome import outcome
from ..said_from import stood
from ..variants import OVER_NET, RUN_OFF, placed
from .met import at_other_parts, level_line, part_of

AWAY_M = (-1.0, -0.5, 0.0)
"""So far from where the player waits a short ball is tried to be met that is met far back, m. Own choice."""
BEHIND = (1 / 12, 1 / 8, 1 / 6, 5 / 24)
"""The same of other balls, behind the baseline in shares of half the court: 1 to 2.5 m on a full one. Own choice."""


def found_in_words(program: Program, feed: Feed) -> str:
    """The stance that was found, as a line says it."""
    behind = feed.stance - program.court.half_length
    room = f" (farther than the {number(RUN_OFF)} m of room that clubs mostly have)" if behind > RUN_OFF + 0.1 else ""
    second = keyword("AFTER_TWO_BOUNCES") if feed.bounces[0] == 2 else None
    return text(Stance((from_baseline(behind, 1),), after=second)) + room


def is_far_back(program: Program, feed: Feed, shot: SolvedShot) -> bool:
    """Whether the stance that was found is far behind the baseline, or the player goes back for a short ball; behind
    its second bounce a ball comes far."""
    landing, met = shot.predicted.landing, shot.predicted.contact[1]
    if landing is None or "stance" not in feed.free or feed.best or feed.stands or feed.bounces[0] == 2:
        return False
    return far_behind(program.court, met) or goes_back(program.court, feed, landing[1], met)


def far_back(program: Program, feed: Feed, shot: SolvedShot, left: Names, lands: float) -> MetFarBack:
    """What is told of a ball that comes down so far from the net, m, and is met far back."""
    met = shot.predicted.contact[1]
    return MetFarBack(BallName(feed.name), left, Metres(met - lands), goes_back(program.court, feed, lands, met))


def risen(feed: Feed) -> tuple[Remedy, ...]:
    """Of a feed whose stance is where the ball falls past a height: where it rises to it. None is flown yet."""
    lines = list[tuple[str, Sentence]]()
    for line in ("stance", "height", OVER_NET) if feed.phase == "falling" and "stance" in feed.free else ():
        match said := feed.said.get(line):
            case Stance(choices=(Where(way=Word()) as where, *_)):
                lines.append((line, changed(said, choices=(changed(where, way=keyword("RISING")),))))
            case Height(phase=Phase()):
                lines.append((line, changed(said, phase=Phase(keyword("RISING")))))
    return tuple(remedy for line, said in lines if (remedy := placed(feed, line, said)))


def nearer(program: Program, feed: Feed, shot: SolvedShot) -> tuple[Remedy, ...]:
    """Of a ball that is met far back: on its way up, or higher; and at a place farther in front. None is flown yet."""
    asked, line = dict(feed.fixes).get(FixedBy.AT_PLAYER, inf), level_line(feed)
    parts = at_other_parts(program, feed)
    higher = [placed(feed, line, said) for met, said in parts if dict(met.fixes)[FixedBy.AT_PLAYER] > asked]
    if feed.where and (y := _low_enough(program, feed, shot)) is not None:
        after = said.after if isinstance(said := feed.said["stance"], Stance) else None
        higher.append(placed(feed, "stance", changed(stood(feed, program.court, y), after=after)))
    return (*risen(feed), *(remedy for remedy in higher if remedy))


def _low_enough(program: Program, feed: Feed, shot: SolvedShot) -> float | None:
    """Where the same ball is met no higher than the shoulder, m from the net, as far in front as it is."""
    court, waits = program.court, feed.start[1] if feed.start else None
    lands = shot.predicted.landing[1] if shot.predicted.landing else 0.0
    if waits is not None and goes_back(court, feed, lands, shot.predicted.contact[1]):
        places = [waits + away for away in AWAY_M]
    else:
        places = [court.half_length * (1 + share) for share in BEHIND]
    rounded = np.array([court.half_length + round((y - court.half_length) * 4) / 4 for y in places])
    release = release_of([shot] * len(places))
    heights = outcome(release, rounded, np.zeros(len(places), bool), conditions_of(program)).contact.position[2]
    low = (rounded > lands) & (heights <= part_of(program.seen_by(feed.player), "shoulder"))
    return float(rounded[low][0]) if low.any() else None
