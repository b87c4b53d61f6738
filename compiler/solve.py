"""Feeds -> Shots: for each feed a launch that does what is asked, as the device can be set, flown again.

All feeds are solved in one batch. Settings are rounded to what the device takes: the steps around the wanted launch,
or every position of a dial, are flown as one batch, and the combination that comes closest is kept and stated. The
flattest arc to the aim comes first; where it does not do, the other arcs, and then the rest of the zone.
"""

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import reduce
from math import inf

import numpy as np

from ..grammar.frozen import replace
from . import elsewhere
from .fit import KINDS, REFUSED, Demand, Index, asked_of, judged
from .kept import Kept, exactly
from .model.feeder import Feeder
from .model.program import Feed, FeederPlace, Program
from .model.shots import Miss, Prediction, Shots, SolvedShot
from .physics import launches
from .physics.launches import Wanted
from .physics.outcome import Conditions, outcome
from .possible import Had, possible
from .progress import SILENT, SOLVING, Progress
from .reach import missed
from .rounding import Ideal, Rounded, Trial, best, between, near

TOP_MPS = 0.3
"""Rising or falling slower than this a ball is met at the top, within half a centimetre (v^2 / 2g). Own choice."""
MOST_CLOSER = 60
"""The most different feeds whose whole zone is looked at, and the most of which is told what is possible; where more
fail at once, they mostly share one cause."""
CLOSE_BY = 0.25
"""A launch that breaks a limit by less than this, in widths of its range, may come within it when it is rounded."""
TOGETHER = 4000  # trials flown as one batch: overhead is small, and so is the memory
FINER = (0.12, 0.03)  # widths of a zone, in which a launch is looked for around the one that lacks least
SOME = 20  # launches of a zone, the most of each feed that are rounded


_RESULTS: Kept[tuple[SolvedShot | Miss, bool]] = Kept()
"""By the conditions and what is asked; and whether it was looked for in the whole zone."""


def solve(program: Program, feeds: Mapping[str, Feed], explain: bool = True, progress: Progress = SILENT) -> Shots:
    """A shot or a miss for every feed, with the program's court, air, ball and feeder. Without `explain` those shots
    alone that go to the aim."""
    place = program.place
    conditions = repr((conditions_of(program), program.court, program.feeder, place.x, place.y, place.players_side))
    keys = {name: (conditions, explain, *_asked(feed)) for name, feed in feeds.items()}
    found = {name: one for name, key in keys.items() if (one := _known(key, name))}
    progress.done(SOLVING * len(found))
    fresh = {name: feed for name, feed in feeds.items() if name not in found}
    found |= _solved(program, fresh, explain, progress)
    if sum(wide for _, wide in found.values()) > MOST_CLOSER:  # not all are looked at closely, the first as one batch
        found = _solved(program, feeds, explain, SILENT)
    else:
        for name in fresh.keys() & found.keys():
            _RESULTS.put(keys[name], found[name])
    results = {name: found[name][0] for name in feeds if name in found}
    return Shots(
        {name: shot for name, shot in results.items() if isinstance(shot, SolvedShot)},
        {name: miss for name, miss in results.items() if isinstance(miss, Miss)},
    )


def _known(key: Hashable, name: str) -> tuple[SolvedShot | Miss, bool] | None:
    """What was found for the same before; a miss speaks of its feed by name."""
    one, wide = _RESULTS.get(key) or (None, False)
    if isinstance(one, SolvedShot):
        return replace(one, feed=name), wide
    return (one, wide) if one and one.feed == name else None


def _asked(feed: Feed) -> tuple[object, ...]:
    """All that a shot hangs on beside the conditions."""
    depth = (None, None, None) if feed.depth is None else feed.depth.values()
    numbers = exactly(
        *feed.side.values(), *depth, feed.stance, feed.value, feed.contact_height, feed.topspin, feed.sidespin
    )
    return feed.depth is None, feed.fixed_by.name, feed.phase, feed.arc, numbers


def _solved(
    program: Program, feeds: Mapping[str, Feed], explain: bool, progress: Progress
) -> dict[str, tuple[SolvedShot | Miss, bool]]:
    """The same, worked out, and whether it was looked for in the whole zone."""
    if not feeds:
        return {}
    listed, conditions = list(feeds.values()), conditions_of(program)
    wanted, asked = _wanted(listed, program.place, program.feeder, program.ball.radius_m), asked_of(listed, program)
    search = _Search(listed, asked, wanted, program, conditions)
    roots, scan = launches.solve(wanted, conditions, lambda balls: progress.done(SOLVING * balls))
    ideal = search.ideal(elsewhere.aims(np.arange(len(listed)), roots, asked, wanted))
    search.try_(near(listed, program.feeder, ideal, _first(ideal)))
    able, close = search.others(ideal, strict=not explain)
    search.try_(near(listed, program.feeder, ideal, able))
    search.try_(near(listed, program.feeder, ideal, close), clean=True)
    aimed = len(ideal.feed)
    left, like = search.open(), dict[int, int]()
    if explain and len(left):
        wider, like = search.wider(left, roots)
        ideal = ideal.with_(wider)
    results: dict[int, SolvedShot | Miss] = {}
    refused = [i for i in left if i not in search.found or search.found[i].refused] if explain else []
    if refused:
        had = search.possible(np.array(refused), scan)
        for i in refused:
            mine = np.flatnonzero(np.isin(ideal.feed, [i, like.get(i, i)]))
            told = search.found.get(i), had.get(i), scan.measure[i]
            miss = missed(listed[i], program, ideal, mine, mine < aimed, *told)
            if miss:
                results[i] = miss
    for i, feed in enumerate(listed):
        if i not in results and i in search.found and search.found[i].there:
            results[i] = _shot(feed, search.found[i], program.feeder)
    wide = set(left.tolist()) if explain else set()
    return {listed[i].name: (one, i in wide) for i, one in results.items()}


def _first(ideal: Ideal) -> list[int]:
    """Of each feed the first launch to its aim that can be had."""
    able = np.flatnonzero(ideal.judged.faults & REFUSED == 0)
    able = able[np.lexsort((ideal.arc[able], ideal.feed[able]))]
    return able[np.unique(ideal.feed[able], return_index=True)[1]].tolist()


@dataclass(slots=True)
class _Search:
    """The feeds of one batch, and the best settings found for each so far."""

    feeds: Sequence[Feed]
    asked: Demand
    wanted: Wanted
    program: Program
    conditions: Conditions
    found: dict[int, Rounded] = field(default_factory=dict)

    def open(self) -> Index:
        """Those for which something cleaner may be found."""
        clean = {i for i, one in self.found.items() if one.clean}
        return np.array([i for i in range(len(self.feeds)) if i not in clean], dtype=np.intp)

    def ideal(self, spots: elsewhere.Spots) -> Ideal:
        """The launches to some places, flown and judged; without those of an arc that is not asked for."""
        roots, place = spots.roots, spots.roots.request
        rank = np.arange(len(place)) - np.searchsorted(place, place)
        count = np.bincount(place, minlength=len(spots.feed))[place]
        arc = np.array([{"low": 1, "looped": 2}.get(feed.arc or "", 0) for feed in self.feeds])[spots.feed[place]]
        # A place with one arc alone has it as the low and as the looped one.
        kept = np.flatnonzero((arc == 0) | (count == 1) | ((arc == 1) == (rank == 0)))
        feed, place = spots.feed[place[kept]], place[kept]
        lanes = self.wanted.at(feed)
        release = lanes.release(roots.speed[kept], roots.elevation[kept], roots.azimuth[kept])
        flown = outcome(release, lanes.stance, lanes.full, self.conditions)
        return Ideal(
            feed, np.where(arc == 2, count - 1 - rank, rank)[kept], spots.share[:, place],
            release.speed, release.elevation, release.azimuth, flown.contact.velocity[2] > 0,
            judged(self.asked.at(feed), release, flown, self.program),
        )  # fmt: skip

    def others(self, ideal: Ideal, strict: bool) -> tuple[list[int], list[int]]:
        """The launches to the aims of those feeds that are open: those that the feeder has, with `strict` those that
        can be had; and, unless `strict`, those a little beyond its limits, which rounding may bring within."""
        mine = np.isin(ideal.feed, self.open())
        off = sum(ideal.judged.limits.values())
        if strict:
            return np.flatnonzero(mine & (ideal.judged.faults & REFUSED == 0)).tolist(), []
        close = mine & (off > 0) & (off <= CLOSE_BY)
        return np.flatnonzero(mine & (off == 0)).tolist(), np.flatnonzero(close).tolist()

    def try_(self, trials: list[Trial], clean: bool = False) -> None:
        """Flies settings, and keeps those that are better than what was found; with `clean` only if nothing at all is
        to be said against them."""
        for first in range(0, len(trials), TOGETHER):
            some = trials[first : first + TOGETHER]
            found = best(some, self.feeds, self.asked, self.wanted, self.program, self.conditions)
            for i, one in found.items():
                if (one.clean or not clean) and (i not in self.found or one.rank < self.found[i].rank):
                    self.found[i] = one

    def wider(self, left: Index, roots: launches.Roots) -> tuple[Ideal, dict[int, int]]:
        """Launches to the whole zones of some feeds, whose settings are tried too; and for each feed the one that asks
        for the same, of which the launches are told."""
        columns = [column[..., left] for of in (self.asked, self.wanted) for column in of.values()]
        columns.append(np.array([len(self.feeds[i].arc or "") for i in left]))
        first, which = alike(np.vstack([np.atleast_2d(np.asarray(column, float)) for column in columns]))
        few = left[first[:MOST_CLOSER]]
        known = [
            elsewhere.aims(few, roots, self.asked, self.wanted),
            elsewhere.anchors(few, self.asked, self.wanted, self.conditions),
        ]
        known.append(elsewhere.inner(few, known, self.asked, self.wanted, self.conditions))
        ideal = reduce(Ideal.with_, (self.ideal(spots) for spots in known))
        for reach in FINER:
            ideal = ideal.with_(self.ideal(self._around(ideal, few, reach)))
        for i in few:
            self._settings(ideal, int(i))
        like = {int(i): int(left[first[kind]]) for i, kind in zip(left, which, strict=True) if kind < len(few)}
        for i, other in like.items():
            if other in self.found:
                self.found[i] = self.found[other]
        return ideal, like

    def _around(self, ideal: Ideal, few: Index, reach: float) -> elsewhere.Spots:
        """Of feeds without a launch that can be had, the surroundings of those that lack least."""
        able = {int(i) for i in ideal.feed[ideal.judged.faults & REFUSED == 0]}
        order = np.lexsort((ideal.judged.off, ideal.arc, ideal.feed))
        least = {(int(ideal.feed[k]), int(ideal.arc[k])): k for k in order[::-1] if int(ideal.feed[k]) not in able}
        some = np.array(sorted(least.values()), dtype=np.intp)
        starts = np.stack([ideal.speed[some], ideal.elevation[some], ideal.azimuth[some]])
        return elsewhere.around(
            ideal.feed[some], ideal.share[:, some], starts, reach, self.asked, self.wanted, self.conditions
        )

    def _settings(self, ideal: Ideal, i: int) -> None:
        """Tries the settings near launches to the zone of one feed, then those all over their range."""
        mine = np.flatnonzero(ideal.feed == i)
        able = mine[ideal.judged.faults[mine] & REFUSED == 0]
        none = not len(able)
        if none:
            spins = ideal.judged.limits["topspin"] + ideal.judged.limits["sidespin"]
            able = mine[spins[mine] == 0]
            able = able[np.argsort(ideal.judged.off[able])[:SOME]]
        away = ((ideal.share[:, able] - 0.5) ** 2).sum(axis=0)
        able = able[np.lexsort((away, ideal.arc[able]))]
        spread = able[np.unique(np.linspace(0, len(able) - 1, SOME).astype(int))] if len(able) else able
        self.try_(near(self.feeds, self.program.feeder, ideal, spread.tolist()), clean=none)
        for arc in np.unique(ideal.arc[able]):
            if i not in self.found or not self.found[i].clean:
                same = able[ideal.arc[able] == arc].tolist()
                self.try_(between(self.feeds, self.program.feeder, ideal, same), clean=none)

    def possible(self, refused: Index, scan: launches.Scan) -> dict[int, Had]:
        """For refused feeds the values of what fixes their flight that can be had to the aim."""
        columns = [getattr(self.wanted, name)[..., refused] for name in Wanted._fields if name != "value"]
        columns += [self.asked.rising[refused]]
        columns.append(np.array([len(self.feeds[i].arc or "") for i in refused]))
        first, which = alike(np.vstack([np.atleast_2d(np.asarray(column, float)) for column in columns]))
        few = refused[first[:MOST_CLOSER]]
        told = possible(few, scan.elevation[few], self.feeds, self.asked, self.wanted, self.program, self.conditions)
        return {int(i): told[kind] for i, kind in zip(refused, which, strict=True) if kind < len(few)}


def alike(columns: np.ndarray) -> tuple[launches.Index, launches.Index]:
    """Of columns (k, n) the first of each kind, in order, and for each column (n,) which kind it is."""
    kinds: dict[bytes, int] = {}
    keys = [column.tobytes() for column in np.ascontiguousarray(columns.T)]
    which = np.array([kinds.setdefault(key, len(kinds)) for key in keys], dtype=np.intp)
    return np.unique(which, return_index=True)[1], which


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
        kind=np.array([KINDS[feed.fixed_by] for feed in feeds]),
        value=np.array([feed.value for feed in feeds]),
    )


def _shot(feed: Feed, found: Rounded, feeder: Feeder) -> SolvedShot:
    release, flown, i = found.release, found.flown, found.at
    settings = dict(zip(feeder.axes(), found.settings, strict=True)) if feeder.kind == "machine" else {}

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
