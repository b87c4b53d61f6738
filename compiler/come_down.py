"""Where a ball on the full would come down if nobody met it: what a depth beside `on the full` asks.

With the height at which it is met and what decides its flight, that says where the player stands; with that and a
stance, how long it flies.
"""

from collections.abc import Mapping

import numpy as np

from ..grammar.frozen import replace
from .conditions import conditions_of
from .evaluate import release_of
from .fit import SLACK, all_asked, beyond, wanted_of
from .kept import Kept, exactly
from .model.program import Feed, FixedBy, Program
from .model.shots import SolvedShot
from .physics import launches
from .physics.flight import Array
from .physics.launches import Wanted
from .physics.outcome import Conditions, Release, landed, outcome

BEFORE_M = 1.0  # about so far before that place a lob is met; where the search begins
NEAREST_M, FARTHEST_M = 0.3, 20.0  # where it looks for the player, from the net
STEPS, CLOSE_M = 20, 1e-3
_FOUND: Kept[Feed] = Kept(1000)
"""By the world and all that a feed asks."""


def placed_by_depth(program: Program, feeds: Mapping[str, Feed]) -> dict[str, Feed]:
    """The feeds whose depth says where a ball on the full would come down, with the stance or the time of contact that
    follows from it. Where there is none, the nearest that was tried: what keeps the ball from it is told of that."""
    found = dict[str, Feed]()
    for name, feed in feeds.items():
        if feed.down is None or feed.best or ("stance" in feed.said and feed.fixes):
            continue
        key = program.world, *all_asked(feed), exactly(feed.down.aim), "stance" in feed.said, feed.fixes
        came = _FOUND.get(key)
        if came is None:
            came = _timed(program, feed, feed.down.aim) if "stance" in feed.said else _met(program, feed, feed.down.aim)
            _FOUND.put(key, came)
        fixes = came.fixes if "stance" in feed.said else feed.fixes
        found[name] = replace(feed, stance=came.stance, fixed_by=came.fixed_by, value=came.value, fixes=fixes)
    return found


def comes_down(program: Program, shot: SolvedShot) -> float:
    """Where along the court a shot would come down, m from the net."""
    return float(landed(release_of([shot]), np.zeros(1), conditions_of(program))[0])


def _met(program: Program, feed: Feed, aim: float) -> Feed:
    """Met where a ball that comes down at the aim is at its height: each step moves the player by what it is off."""
    conditions, stance = conditions_of(program), min(max(aim - BEFORE_M, NEAREST_M), FARTHEST_M)
    for _ in range(STEPS):
        wanted = wanted_of([replace(feed, stance=stance)], program)
        roots, _ = launches.solve(wanted, conditions)
        if not len(roots.request):
            break
        release = wanted.at(roots.request).release(roots.speed, roots.elevation, roots.azimuth)
        off = aim - landed(release, np.zeros(len(roots.request)), conditions)[_arc(program, feed, release)]
        if not abs(off) > CLOSE_M:
            break
        stance = min(max(stance + float(off), NEAREST_M), FARTHEST_M)
    return replace(feed, stance=round(stance, 2))  # nobody stands more exactly


def _arc(program: Program, feed: Feed, release: Release) -> int:
    """Which of the launches is the ball: the flattest that the feeder has, or the steepest."""
    off = np.add.reduce(list(beyond(program.feeder, release, program.ball.diameter_m).values()))
    had = np.flatnonzero(off <= SLACK)
    some = had if len(had) else np.arange(len(off))
    return int(some[-1 if feed.arc == "looped" else 0])


def _timed(program: Program, feed: Feed, aim: float) -> Feed:
    """Met when a ball from there would come down at the aim: of the launches through the contact the steeper comes down
    nearer."""
    conditions, wanted = conditions_of(program), wanted_of([feed], program)
    grid = launches.elevations(wanted, conditions)[0]
    for _ in range(4):
        release, off = _through(wanted, grid, conditions, aim)
        if not len(off):
            return feed
        passed = np.flatnonzero((off[:-1] >= 0) != (off[1:] >= 0))
        k = int(passed[0]) if len(passed) else max(int(np.abs(off).argmin()) - 1, 0)
        low, high = release.elevation[[k, min(k + 1, len(off) - 1)]].tolist()
        grid = np.linspace(low, high, 9)
    k = int(np.abs(off).argmin())
    flown = outcome(release, np.full(len(off), feed.stance), np.ones(len(off), bool), conditions, peaks=False)
    time = float(flown.contact.time[k])
    return replace(feed, fixed_by=FixedBy.TIME, value=time, fixes=((FixedBy.TIME, time),))


def _through(wanted: Wanted, grid: Array, conditions: Conditions, aim: float) -> tuple[Release, Array]:
    """Launches through the contact at these elevations, and how far beyond the aim each would come down."""
    lanes = wanted.at(np.zeros(len(grid), np.intp))
    speed, azimuth = launches.pointed(lanes, grid, conditions)
    release = lanes.release(speed, grid, azimuth)
    off = landed(release, np.zeros(len(grid)), conditions) - aim
    some = np.flatnonzero(np.isfinite(off))
    return release.at(some), off[some]
