"""The balls of feeds that have the ball of another: its launch, flown to another stance."""

from collections.abc import Callable, Mapping

import numpy as np

from ..grammar.facts import BallName
from ..grammar.frozen import replace
from .conditions import conditions_of
from .findings.same_ball import SameBallLost
from .fit import CLEAR_M
from .model.program import Feed, Program
from .model.shots import Miss, Shots, SolvedShot
from .physics.outcome import Release, outcome
from .rounding import Rounded

Solve = Callable[[Program, Mapping[str, Feed]], Shots]


def met_elsewhere(program: Program, feeds: Mapping[str, Feed], solve: Solve) -> Shots:
    """A shot or a miss for each of these feeds; the feeds with what came of the other."""
    balls = list(dict.fromkeys(id(feed.same_as) for feed in feeds.values()))
    others = {f"{balls.index(id(feed.same_as))}": feed.same_as for feed in feeds.values() if feed.same_as}
    had = solve(program, others)
    shots, misses, came = dict[str, SolvedShot](), dict[str, Miss](), dict[str, Feed]()
    for name, feed in feeds.items():
        key = f"{balls.index(id(feed.same_as))}"
        other, ball = had.feeds.get(key, others[key]), had.shots.get(key)
        found = replace(feed, depth=other.depth, topspin=other.topspin, contact_height=other.contact_height)
        reason = "cannot be fed"
        if ball:
            found = replace(found, value=ball.speed)
            shot = _flown(program, found, ball)
            height = shot.predicted.contact[2]
            if feed.depth is None:
                found = replace(found, contact_height=height)
            reason = "comes down before this stance" if feed.depth is None else "passes this stance before it bounces"
            if height >= program.ball.radius_m + CLEAR_M or _bounced_out(found, ball):
                shots[name] = replace(shot, feed=name)
                reason = ""
        if reason:
            misses[name] = Miss(name, SameBallLost(BallName(feed.name), BallName(others[key].family), reason))
        came[name] = found
    return Shots(shots, misses, came)


def _bounced_out(feed: Feed, ball: SolvedShot) -> bool:
    """Whether it bounces before the stance, and then once too often, of which the check tells."""
    return feed.depth is not None and ball.predicted.landing is not None and ball.predicted.landing[1] < feed.stance


def _flown(program: Program, feed: Feed, ball: SolvedShot) -> SolvedShot:
    origin = np.array(ball.origin).reshape(3, 1)
    figures = (np.array([one]) for one in (ball.speed, ball.elevation, ball.azimuth, ball.topspin, ball.sidespin))
    release = Release(origin, *figures)
    flown = outcome(release, np.array([feed.stance]), np.array([feed.depth is None]), conditions_of(program))
    return Rounded((0, 0, 0.0), tuple(ball.settings.values()), release, flown, 0, 0).shot(feed, program.feeder)
