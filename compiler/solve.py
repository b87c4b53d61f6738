"""Feeds -> Shots: for each feed a launch that does what is asked, as the device can be set, flown again.

All feeds are solved in one batch. Settings are rounded to what the device takes: the steps around the wanted launch,
or every position of a dial, are flown as one batch, and the combination that comes closest is kept and stated.
"""

from collections.abc import Mapping
from itertools import product
from math import inf

import numpy as np

from ..grammar.frozen import replace
from .kept import Kept, exactly
from .model.feeder import AXES, Axis, Feeder
from .model.program import Feed, FeederPlace, FixedBy, Program, Range
from .model.shots import Miss, Prediction, Shots, SolvedShot
from .physics import launches
from .physics.launches import Roots, Wanted
from .physics.outcome import Conditions, Outcome, Release, outcome
from .progress import SILENT, SOLVING, Progress
from .reach import limits_broken, spin_limit, unreachable

_KIND = {
    FixedBy.OVER_NET: launches.CLEARANCE,
    FixedBy.AT_PLAYER: launches.CONTACT_HEIGHT,
    FixedBy.TOP_OF_BOUNCE: launches.CONTACT_RISE,
    FixedBy.PACE: launches.SPEED,
    FixedBy.TIME: launches.CONTACT_TIME,
}
# How far off counts as one, when rounded settings are compared: metres, m/s of rise, m/s of pace, s. Own choice.
_TOLERANCE = {
    FixedBy.OVER_NET: 0.3,
    FixedBy.AT_PLAYER: 0.2,
    FixedBy.TOP_OF_BOUNCE: 0.8,
    FixedBy.PACE: 1.0,
    FixedBy.TIME: 0.1,
}
MOST_TRIALS = 400
TOP_MPS = 0.3
"""Rising or falling slower than this a ball is met at the top, within half a centimetre (v^2 / 2g). Own choice."""
CLOSER = 12  # times as close as the scan that looks for launches
MOST_CLOSER = 100
"""Places, spins and stances looked at so closely; where more fail at once, they mostly share one cause."""


_SHOTS: Kept[tuple[SolvedShot | None]] = Kept()
"""By the conditions and what is asked; None where no launch does it."""
_MISSES: Kept[Miss] = Kept()
"""By the same, the feed's name, and whether it was looked at closely."""


def solve(program: Program, feeds: Mapping[str, Feed], explain: bool = True, progress: Progress = SILENT) -> Shots:
    """A shot or a miss for every feed, with the program's court, air, ball and feeder; without `explain` shots only."""
    place = program.place
    conditions = repr((conditions_of(program), program.feeder, place.x, place.y, place.players_side))
    keys = {name: (conditions, *_asked(feed)) for name, feed in feeds.items()}
    known = {name: _SHOTS.get(key) for name, key in keys.items()}
    fresh = {name: feed for name, feed in feeds.items() if known[name] is None}
    progress.done(SOLVING * (len(feeds) - len(fresh)))
    shots = _solved(program, fresh, progress)
    for name in fresh:
        known[name] = (shots.get(name),)
        _SHOTS.put(keys[name], (shots.get(name),))
    found = {name: replace(one[0], feed=name) for name, one in known.items() if one and one[0]}
    failed = {name: feed for name, feed in feeds.items() if explain and name not in found}
    return Shots(found, _missed(program, failed, keys) if failed else {})


def _missed(program: Program, feeds: Mapping[str, Feed], keys: Mapping[str, tuple[object, ...]]) -> dict[str, Miss]:
    """Why each of these feeds has no launch, and what can be had."""
    listed = list(feeds.values())
    wanted = _wanted(listed, program.place, program.feeder, program.ball.radius_m)
    closely = (_unlike(wanted, np.arange(len(listed)))[1] < MOST_CLOSER).tolist()
    kept = {name: (*keys[name], name, close) for name, close in zip(feeds, closely, strict=True)}
    known = {name: _MISSES.get(key) for name, key in kept.items()}
    fresh = [i for i, name in enumerate(feeds) if known[name] is None]
    for miss in _explained(program, [listed[i] for i in fresh], np.array([closely[i] for i in fresh], bool)):
        known[miss.feed] = miss
        _MISSES.put(kept[miss.feed], miss)
    return {name: miss for name, miss in known.items() if miss}


def _asked(feed: Feed) -> tuple[object, ...]:
    """All that a shot hangs on beside the conditions."""
    depth = (None, None, None) if feed.depth is None else feed.depth.values()
    numbers = exactly(
        *feed.side.values(), *depth, feed.stance, feed.value, feed.contact_height, feed.topspin, feed.sidespin
    )
    return feed.depth is None, feed.fixed_by.name, feed.phase, feed.arc, numbers


def _solved(program: Program, feeds: Mapping[str, Feed], progress: Progress) -> dict[str, SolvedShot]:
    """Those feeds that some launch gives, as it is found and rounded."""
    if not feeds:
        return {}
    listed = list(feeds.values())
    conditions = conditions_of(program)
    wanted = _wanted(listed, program.place, program.feeder, program.ball.radius_m)
    roots, _ = launches.solve(wanted, conditions, lambda balls: progress.done(SOLVING * balls))
    broken = limits_broken(roots, listed, program.feeder, program.ball.diameter_m)
    phases = _phases(wanted, roots, listed, conditions)
    chosen: dict[int, int] = {}
    for i, feed in enumerate(listed):
        reachable = spin_limit(feed, program.feeder) is None
        fits = [r for r in _ways(roots, i, feed) if reachable and not broken[r] and feed.phase in (None, phases[r])]
        if fits:
            chosen[i] = fits[0]
    return _rounded(listed, wanted, roots, chosen, program, conditions)


def _ways(roots: Roots, i: int, feed: Feed) -> list[int]:
    """The launches of the arc that is asked for, not of the other where the feeder cannot give it."""
    mine: list[int] = np.flatnonzero(roots.request == i).tolist()
    return mine if not feed.arc else mine[-1:] if feed.arc == "looped" else mine[:1]


def _explained(program: Program, feeds: list[Feed], closely: np.ndarray) -> list[Miss]:
    """Why none of these feeds has a launch. What can be had is told, of those marked in `closely` (n,), from a closer
    scan, so that no proposal lies outside it."""
    if not feeds:
        return []
    conditions = conditions_of(program)
    wanted = _wanted(feeds, program.place, program.feeder, program.ball.radius_m)
    roots, scan = launches.solve(wanted, conditions)
    broken = limits_broken(roots, feeds, program.feeder, program.ball.diameter_m)
    phases = _phases(wanted, roots, feeds, conditions)
    near = np.flatnonzero(closely)
    index, rows = _unlike(wanted, near)
    row_of = dict(zip(near.tolist(), rows.tolist(), strict=True))
    with np.errstate(invalid="ignore", divide="ignore", over="ignore"):  # not a number stands for no launch
        closer = launches.through(wanted.at(index), _closer(scan.elevation[index]), conditions) if len(index) else scan
    found = []
    for i, feed in enumerate(feeds):
        ways = _ways(roots, i, feed)
        seen, row = (closer, row_of[i]) if i in row_of else (scan, i)
        found.append(unreachable(feed, program, seen, row, [broken[r] for r in ways], [phases[r] for r in ways]))
    return found


def _unlike(wanted: Wanted, index: launches.Index) -> tuple[launches.Index, launches.Index]:
    """Of some requests those whose scans differ, and which of them each one's is like: values apart, all counts."""
    few = wanted.at(index)
    columns = [*few.origin, *few.point, few.stance, few.full, few.topspin, few.sidespin, few.kind]
    first, rows = alike(np.array(columns, float))
    return index[first], rows


def alike(columns: np.ndarray) -> tuple[launches.Index, launches.Index]:
    """Of columns (k, n) the first of each kind, in order, and for each column (n,) which kind it is."""
    kinds: dict[bytes, int] = {}
    keys = [column.tobytes() for column in np.ascontiguousarray(columns.T)]
    which = np.array([kinds.setdefault(key, len(kinds)) for key in keys], dtype=np.intp)
    return np.unique(which, return_index=True)[1], which


def _closer(grid: np.ndarray) -> np.ndarray:
    """Elevations (n, e) with more between every two."""
    at = np.arange(grid.shape[1])
    return np.stack([np.interp(np.linspace(0, at[-1], CLOSER * at[-1] + 1), at, row) for row in grid])


def conditions_of(program: Program) -> Conditions:
    court = program.court
    bounces = 2 if program.player.two_bounces else 1
    return Conditions(
        program.ball, program.air, program.surface, court.net_centre, court.net_post, court.post_x, bounces,
        inf if court.ceiling is None else court.ceiling,
    )  # fmt: skip


def _wanted(feeds: list[Feed], place: FeederPlace, feeder: Feeder, radius: float) -> Wanted:
    n = len(feeds)
    full = np.array([feed.depth is None for feed in feeds])
    y = [feed.depth.aim if feed.depth else feed.stance for feed in feeds]
    z = [radius if feed.contact_height is None else feed.contact_height for feed in feeds]
    return Wanted(
        origin=np.tile(np.array([[place.x], [place.y], [feeder.release_height_m]]), n),
        point=np.array([[feed.side.aim for feed in feeds], y, z]),
        stance=np.array([feed.stance for feed in feeds]),
        full=full,
        topspin=np.array([feed.topspin for feed in feeds]),
        sidespin=np.array([feed.sidespin for feed in feeds]),
        kind=np.array([_KIND[feed.fixed_by] for feed in feeds]),
        value=np.array([feed.value for feed in feeds]),
    )


def _phases(wanted: Wanted, roots: Roots, feeds: list[Feed], conditions: Conditions) -> list[str]:
    """Whether the ball rises or falls where each root meets the player; empty where nobody asks."""
    phases = [""] * len(roots.request)
    asked = np.array([feed.phase is not None for feed in feeds])
    some = np.flatnonzero(asked[roots.request])
    if len(some):
        lanes = wanted.at(roots.request[some])
        release = lanes.release(roots.speed[some], roots.elevation[some], roots.azimuth[some])
        rises = outcome(release, lanes.stance, lanes.full, conditions).contact.velocity[2]
        for root, rise in zip(some, rises, strict=True):
            phases[root] = "rising" if rise > 0 else "falling"
    return phases


def _rounded(
    feeds: list[Feed], wanted: Wanted, roots: Roots, chosen: Mapping[int, int], program: Program, conditions: Conditions
) -> dict[str, SolvedShot]:
    """The settings that come closest for each chosen root, flown."""
    if not chosen:
        return {}
    axes = program.feeder.axes()
    trials: list[tuple[int, tuple[float, ...]]] = []
    for i, root in chosen.items():
        ideal = {
            "speed": roots.speed[root], "elevation": roots.elevation[root], "azimuth": roots.azimuth[root],
            "topspin": feeds[i].topspin, "sidespin": feeds[i].sidespin,
        }  # fmt: skip
        near = [_nearest(axes[name].settings_near(ideal[name]), name, axes, ideal) for name in axes]
        trials += [(i, settings) for settings in product(*near)]
    owner = np.array([i for i, _ in trials])
    values = {
        name: np.array([axis.value(settings[k]) for _, settings in trials])
        for k, (name, axis) in enumerate(axes.items())
    }
    lanes = wanted.at(owner)
    none = np.zeros(len(owner))
    release = Release(lanes.origin, *(values.get(name, none) for name in AXES))
    flown = outcome(release, lanes.stance, lanes.full, conditions)
    score = _score([feeds[i] for i in owner], flown, release.speed)
    shots = {}
    for i in chosen:
        mine = np.flatnonzero(owner == i)
        best = int(mine[np.argmin(score[mine])])
        machine = program.feeder.kind == "machine"
        settings = dict(zip(axes, trials[best][1], strict=True)) if machine else {}
        shots[feeds[i].name] = _shot(feeds[i], settings, release, flown, best)
    return shots


def _nearest(
    settings: tuple[float, ...], name: str, axes: Mapping[str, Axis], ideal: Mapping[str, float]
) -> tuple[float, ...]:
    """Azimuth and spin only where nearest; speed and elevation, which trade against each other, all of them."""
    if name in ("speed", "elevation") and len(settings) <= int(MOST_TRIALS**0.5):
        return settings
    axis = axes[name]
    return tuple(sorted(settings, key=lambda s: abs(axis.value(s) - ideal[name]))[: 1 if name != "azimuth" else 2])


def _score(feeds: list[Feed], flown: Outcome, speed: np.ndarray) -> np.ndarray:
    """How far each trial is from what was asked: squares of the misses, each in the width that still counts as met."""
    full = np.array([feed.depth is None for feed in feeds])
    x = np.where(full, flown.contact.position[0], flown.landing.position[0])
    side = (x - [feed.side.aim for feed in feeds]) / [_half(feed.side) for feed in feeds]
    along = np.where(
        full,
        (flown.contact.position[2] - [feed.contact_height or 0.0 for feed in feeds]) / 0.2,
        (flown.landing.position[1] - [feed.depth.aim if feed.depth else 0.0 for feed in feeds])
        / [_half(feed.depth) if feed.depth else 1.0 for feed in feeds],
    )
    kind = np.array([_KIND[feed.fixed_by] for feed in feeds])
    off = launches.measure(flown, speed, kind) - [feed.value for feed in feeds]
    off = off / [_TOLERANCE[feed.fixed_by] for feed in feeds]
    return np.nan_to_num(side**2 + along**2 + off**2, nan=1e9)


def _half(zone: Range) -> float:
    return max((zone.high - zone.low) / 2, 0.2)


def _shot(feed: Feed, settings: dict[str, float], release: Release, flown: Outcome, i: int) -> SolvedShot:
    def maybe(value: np.floating) -> float | None:
        return float(value) if np.isfinite(value) else None

    contact, landing = flown.contact, flown.landing
    landed = bool(np.isfinite(landing.time[i]))
    rise = float(contact.velocity[2, i])
    way = "rising" if rise > 0 else "falling"
    # A ball that is met on its way up or down as asked is told so, however close to the top that is.
    phase = "on the full" if not landed else way if way == feed.phase or abs(rise) >= TOP_MPS else "top"
    predicted = Prediction(
        clearance=maybe(flown.clearance[i]),
        net_x=maybe(flown.net_x[i]),
        landing=(float(landing.position[0, i]), float(landing.position[1, i])) if landed else None,
        landing_time=maybe(landing.time[i]),
        landing_speed=maybe(np.linalg.norm(landing.velocity[:, i])),
        contact=tuple(float(c) for c in contact.position[:, i]),  # type: ignore[arg-type]
        contact_time=float(contact.time[i]),
        contact_speed=float(np.linalg.norm(contact.velocity[:, i])),
        phase=phase,
        bounces=int(flown.bounces[i]),
        peak=float(flown.peak[i]),
    )
    return SolvedShot(
        feed.name, settings, tuple(float(c) for c in release.origin[:, i]),  # type: ignore[arg-type]
        float(release.speed[i]), float(release.elevation[i]), float(release.azimuth[i]),
        float(release.topspin[i]), float(release.sidespin[i]), predicted,
    )  # fmt: skip
