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


_RESULTS: Kept[SolvedShot | Miss] = Kept()
"""By the conditions and what is asked."""


def solve(program: Program, feeds: Mapping[str, Feed], explain: bool = True, progress: Progress = SILENT) -> Shots:
    """A shot or a miss for every feed, with the program's court, air, ball and feeder; without `explain` shots only."""
    place = program.place
    conditions = repr((conditions_of(program), program.feeder, place.x, place.y, place.players_side))
    keys = {name: (conditions, *_asked(feed)) for name, feed in feeds.items()}
    results = {name: _RESULTS.get(key) for name, key in keys.items()}
    known = {  # a miss speaks of its feed by name
        name: replace(one, feed=name) if isinstance(one, SolvedShot) else one
        for name, one in results.items()
        if one and (one.feed == name or not explain or isinstance(one, SolvedShot))
    }
    fresh = {name: feed for name, feed in feeds.items() if name not in known}
    progress.done(SOLVING * len(known))
    found = {**known, **_solved(program, fresh, explain, progress)}
    failed = {name: feeds[name] for name, one in found.items() if isinstance(one, Miss)}
    if explain and len(failed) > MOST_CLOSER:  # of so many together not all are looked at closely: told as one batch
        found |= _solved(program, {name: feeds[name] for name in feeds if name in failed}, explain, SILENT)
    else:
        for name in fresh.keys() & found.keys():
            _RESULTS.put(keys[name], found[name])
    return Shots(
        {name: one for name in feeds if isinstance(one := found.get(name), SolvedShot)},
        {name: one for name in feeds if explain and isinstance(one := found.get(name), Miss)},
    )


def _asked(feed: Feed) -> tuple[object, ...]:
    """All that a shot hangs on beside the conditions."""
    depth = (None, None, None) if feed.depth is None else feed.depth.values()
    numbers = exactly(
        *feed.side.values(), *depth, feed.stance, feed.value, feed.contact_height, feed.topspin, feed.sidespin
    )
    return feed.depth is None, feed.fixed_by.name, feed.phase, feed.arc, numbers


def _solved(
    program: Program, feeds: Mapping[str, Feed], explain: bool, progress: Progress
) -> dict[str, SolvedShot | Miss]:
    """The same, worked out."""
    if not feeds:
        return {}
    listed = list(feeds.values())
    conditions = conditions_of(program)
    wanted = _wanted(listed, program.place, program.feeder, program.ball.radius_m)
    roots, scan = launches.solve(wanted, conditions, lambda balls: progress.done(SOLVING * balls))
    broken = limits_broken(roots, listed, program.feeder, program.ball.diameter_m)
    asked = np.array([feed.phase is not None for feed in listed])
    phases = _phases(wanted, roots, asked, conditions)
    chosen: dict[int, int] = {}
    missed: dict[int, list[int]] = {}
    for i, feed in enumerate(listed):
        mine = np.flatnonzero(roots.request == i)
        reachable = spin_limit(feed, program.feeder) is None
        if feed.arc:  # the arc that is asked for, not the other where the feeder cannot give it
            mine = mine[-1:] if feed.arc == "looped" else mine[:1]
        fits = [r for r in mine if reachable and not broken[r] and feed.phase in (None, phases[r])]
        if fits:
            chosen[i] = int(fits[0])
        else:
            missed[i] = mine.tolist()
    misses: dict[str, Miss] = {}
    if missed and explain:
        # What can be had is told from a closer scan, so that no proposal lies outside it.
        index, rows = _unlike(wanted, np.array(list(missed)))
        index = index[:MOST_CLOSER]
        with np.errstate(invalid="ignore", divide="ignore", over="ignore"):  # not a number stands for no launch
            closer = launches.through(wanted.at(index), _closer(scan.elevation[index]), conditions)
        for row, (i, theirs) in zip(rows, missed.items(), strict=True):
            limits, ways = [broken[r] for r in theirs], [phases[r] for r in theirs]
            seen = (closer, int(row)) if row < len(index) else (scan, i)
            misses[listed[i].name] = unreachable(listed[i], program, *seen, limits, ways)
    return {**misses, **_rounded(listed, wanted, roots, chosen, program, conditions)}


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


def _phases(wanted: Wanted, roots: Roots, asked: np.ndarray, conditions: Conditions) -> list[str]:
    """Whether the ball rises or falls where each root meets the player; empty where nobody asks."""
    phases = [""] * len(roots.request)
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
