"""Feeds -> Shots: for each feed a launch that does what is asked, as the device can be set, flown again.

All feeds are solved in one batch. Settings are rounded to what the device takes: the steps around the wanted launch,
or every position of a dial, are flown as one batch, and the combination that comes closest is kept and stated. The
flattest arc to the aim comes first; where it does not do, the other arcs, and then the rest of the zone.
"""

from collections.abc import Mapping, Sequence
from functools import reduce
from itertools import compress

import numpy as np
from numpy.typing import NDArray

from ..grammar.frozen import Changing, own, replace
from . import elsewhere
from .conditions import conditions_of
from .fit import REFUSED, Demand, Fault, Index, all_asked, asked_of, judged, spins_had, wanted_of
from .kept import Kept
from .model.program import Feed, Program
from .model.shots import Miss, Shots, SolvedShot
from .nearer import aimed_before
from .physics import launches
from .physics.flight import Array
from .physics.launches import Wanted, alike
from .physics.outcome import Conditions, outcome
from .possible import Had, possible
from .progress import SEEKING, SILENT, SOLVING, Progress, Uncounted
from .reach import missed, no_best, no_bounces, no_spin, outside_court
from .roots import flattest
from .roots import solve as roots_of
from .rounding import Ideal, Rounded, Trial, beside, best, between, near, released, tried

MOST_CLOSER = 60
"""The most different feeds whose whole zone is looked at, and the most of which is told what is possible; where more
fail at once, they mostly share one cause."""
CLOSE_BY = 0.25  # widths of a range: a launch that breaks a limit by less may come within it when it is rounded
TOGETHER = 4000  # trials flown as one batch: overhead is small, and so is the memory
FINER = (0.12, 0.03)  # widths of a zone, in which a launch is looked for around the one that lacks least
SOME = 20  # launches of a zone, the most of each feed that are rounded

_AIMED: Kept[tuple[SolvedShot | None, bool]] = Kept()
"""By the world and what is asked: the shot to the aim, and whether nothing is to be said against it."""
_SOUGHT: Kept[tuple[SolvedShot | Miss | None]] = Kept(1000)
"""By the same, the feed's name, and whether its whole zone was looked at."""


def solve(program: Program, feeds: Mapping[str, Feed], explain: bool = True, progress: Progress = SILENT) -> Shots:
    """A shot or a miss for every feed, with the program's court, air, ball and feeder. Without `explain` those shots
    alone that go to the aim."""
    if there := program.from_each_place(feeds):
        came = (solve(seen, mine, explain, progress) for seen, mine in there)
        return reduce(lambda shots, more: shots.and_(more, feeds), came)
    if not explain:  # a small change of a ball that was found is no search for another best one
        feeds = {name: feed.pinned for name, feed in feeds.items()}
    if elsewhere := {name: feed for name, feed in feeds.items() if feed.same_as}:
        from .same_ball import met_elsewhere

        progress.done(SOLVING * len(elsewhere))
        rest = solve(program, {n: feed for n, feed in feeds.items() if n not in elsewhere}, explain, progress)
        return rest.and_(met_elsewhere(program, elsewhere, solve), feeds)
    if explain and any(feed.down for feed in feeds.values()):
        from .come_down import placed_by_depth  # few scripts ask for it

        down = placed_by_depth(program, feeds)
        found = _solved(program, {**feeds, **down}, explain, progress)
        return replace(found, feeds={**down, **found.feeds})
    return _solved(program, feeds, explain, progress)


def _solved(program: Program, feeds: Mapping[str, Feed], explain: bool, progress: Progress) -> Shots:
    if any(feed.open for feed in feeds.values()):
        return _with_open(program, feeds, progress)
    shots, misses = dict[str, SolvedShot](), dict[str, Miss]()
    for name, one in zip(feeds, each(program, list(feeds.values()), explain, progress), strict=True):
        if isinstance(one, Miss):
            misses[name] = one
        elif one:
            shots[name] = one
    return Shots(shots, misses)


def each(
    program: Program, feeds: Sequence[Feed], explain: bool = True, progress: Progress = SILENT
) -> list[SolvedShot | Miss | None]:
    """The same for feeds that leave nothing open, in their order; they may have one name."""
    keys = [(program.world, explain, *all_asked(feed)) for feed in feeds]
    feeds = [aimed_before(program, feed) for feed in feeds]
    aimed = {i: one for i, key in enumerate(keys) if (one := _AIMED.get(key))}
    progress.done(SOLVING * len(aimed))
    fresh = [i for i in range(len(feeds)) if i not in aimed]
    for i, one in zip(fresh, _aimed(program, [feeds[i] for i in fresh], explain, progress), strict=True):
        aimed[i] = one
        _AIMED.put(keys[i], one)
    named = ((aimed[i][0], feed.name) for i, feed in enumerate(feeds))
    found = [shot if shot is None or shot.feed == name else replace(shot, feed=name) for shot, name in named]
    left = [i for i in range(len(feeds)) if explain and not aimed[i][1]]
    results: list[SolvedShot | Miss | None] = [*found]
    theirs = _sought(program, [feeds[i] for i in left], [keys[i] for i in left], progress)
    for i, sought in zip(left, theirs, strict=True):
        results[i] = sought or found[i]
    return results


def _with_open(program: Program, feeds: Mapping[str, Feed], progress: Progress) -> Shots:
    """The same, where some ask for the best there is or leave something open."""
    from .choose import choose  # few scripts ask for it
    from .chosen import CHOSEN

    shots = dict[str, SolvedShot]()
    decided, binds, bare = dict[str, Feed](), dict[str, tuple[str, ...]](), dict[str, float]()
    conditions, lowest = conditions_of(program), program.player.lowest_on(program.court.name)
    open_ = {name: feed for name, feed in feeds.items() if feed.open}
    misses = {name: Miss(name, outside) for name, feed in open_.items() if (outside := outside_court(feed, program))}
    misses |= {name: miss for name, feed in open_.items() if name not in misses and (miss := no_spin(feed, program))}
    keys = {
        name: (
            program.world,
            lowest,
            program.seen_by(feed.player).player.stature_on(program.court.name),
            *all_asked(feed),
        )
        for name, feed in open_.items()
        if name not in misses
    }
    known = {kept: chosen for kept in keys.values() if (chosen := CHOSEN.get(kept))}
    fresh = {kept: open_[name] for name, kept in keys.items() if kept not in known}
    progress.done(SEEKING * (len(keys) - len(fresh)))
    best = choose(list(fresh.values()), program, conditions, lambda balls: progress.done(SEEKING * balls))
    for kept, chosen in zip(fresh, best, strict=True):
        known[kept] = chosen
        CHOSEN.put(kept, chosen)
    for name, kept in keys.items():
        feed, player = open_[name], program.seen_by(open_[name].player).player
        low = player.height_on("knee", program.court.name) or player.lowest_on(program.court.name)
        chosen = known[kept].played(low, player.head_on(program.court.name))
        found = chosen.feed
        came = {"stance": found.stance, "depth": found.depth, "topspin": found.topspin, "value": found.value}
        came["contact_height"] = found.contact_height
        topped = chosen is known[kept].topped
        decided[name] = replace(feed, topped=topped, bounces=found.bounces, **came)
        binds[name] = chosen.binds
        if chosen.bare is not None:
            bare[name] = chosen.bare
        if chosen.rounded is None or chosen.lacking:
            misses[name] = no_best(feed, program, chosen.lacking, chosen.top)
        elif chosen.rounded.faults & Fault.BOUNCES:
            misses[name] = Miss(name, no_bounces(feed))
        else:
            shots[name] = chosen.rounded.shot(decided[name], program.feeder)
    rest = solve(program, {name: feed for name, feed in feeds.items() if not feed.open}, True, progress)
    return rest.and_(Shots(shots, misses, decided, binds, bare), feeds)


def _aimed(
    program: Program, feeds: list[Feed], explain: bool, progress: Progress
) -> list[tuple[SolvedShot | None, bool]]:
    """The shots to the aims of feeds, and whether nothing is to be said against them."""
    hopeful = [True] * len(feeds) if explain else spins_had(program.feeder, feeds).tolist()
    if not any(hopeful):
        return [(None, False)] * len(feeds)
    some = list(compress(feeds, hopeful))
    search = _Search.of(some, program)
    search.flattest(progress)
    found = [(search.shot(i), True) for i in range(len(some))]
    if len(left := search.open()):
        again = _Search.of([some[i] for i in left], program)
        again.aim(explain, progress)
        still = set(again.open().tolist())
        for k, i in enumerate(left):
            found[i] = again.shot(k), k not in still
    each = iter(found)
    return [next(each) if hope else (None, False) for hope in hopeful]


def _sought(
    program: Program, feeds: list[Feed], keys: list[tuple[object, ...]], progress: Progress
) -> list[SolvedShot | Miss | None]:
    """For feeds whose aim alone will not do a shot to anywhere in the zone, or why there is none. The whole zone is
    looked at for the first `MOST_CLOSER` that differ, and what is possible to as many aims."""
    if not feeds:
        return []
    search, every = _Search.of(feeds, program), np.arange(len(feeds))
    closely = np.stack([of(every)[1] < MOST_CLOSER for of in (search.kinds, search.places)])
    kept = [(*key, feed.name, *marks) for key, feed, marks in zip(keys, feeds, closely.T.tolist(), strict=True)]
    known = {i: one for i, key in enumerate(kept) if (one := _SOUGHT.get(key))}
    fresh = [i for i in range(len(feeds)) if i not in known]
    found = _explained(program, [feeds[i] for i in fresh], closely[:, fresh], progress)
    for i, result in zip(fresh, found, strict=True):
        known[i] = (result,)
        _SOUGHT.put(kept[i], known[i])
    return [known[i][0] for i in range(len(feeds))]


def _explained(
    program: Program, feeds: list[Feed], closely: NDArray[np.bool_], progress: Progress
) -> list[SolvedShot | Miss | None]:
    """The same, worked out; `closely` (2, n) marks whose whole zone, and which aims' range, is looked at."""
    if not feeds:
        return []
    search = _Search.of(feeds, program)
    going = Uncounted(progress)
    roots, scan, ideal = search.aim(True, going)
    aimed = len(ideal.feed)
    zones, aims = (np.flatnonzero(marked) for marked in closely)
    like = dict[int, int]()
    if len(zones):
        wider, like = search.wider(zones, roots)
        going.done(0.0)
        ideal = ideal.with_(wider)
    refused = [i for i in range(len(feeds)) if i not in search.found or search.found[i].refused]
    had = search.possible(np.array([i for i in aims if i in refused], np.intp), scan)
    results: list[SolvedShot | Miss | None] = [search.shot(i) for i in range(len(feeds))]
    for i in refused:
        mine = np.flatnonzero(np.isin(ideal.feed, [i, like.get(i, i)]))
        told = search.found.get(i), had.get(i), scan.measure[i]
        results[i] = missed(feeds[i], program, ideal, mine, mine < aimed, *told) or results[i]
    return results


def _first(ideal: Ideal) -> list[int]:
    """Of each feed the first launch to its aim that can be had."""
    able = np.flatnonzero(ideal.judged.faults & REFUSED == 0)
    able = able[np.lexsort((ideal.arc[able], ideal.feed[able]))]
    return able[np.unique(ideal.feed[able], return_index=True)[1]].tolist()


class _Search(Changing):
    """The feeds of one batch, and the best settings found for each so far."""

    feeds: Sequence[Feed]
    asked: Demand
    wanted: Wanted
    program: Program
    conditions: Conditions
    found: dict[int, Rounded] = own(factory=dict)

    @staticmethod
    def of(feeds: Sequence[Feed], program: Program) -> "_Search":
        wanted = wanted_of(feeds, program)
        return _Search(feeds, asked_of(feeds, program), wanted, program, conditions_of(program))

    def flattest(self, progress: Progress) -> None:
        """Looks for shots to the aims by the flattest arcs alone, which most feeds are fed with. Each launch and the
        settings around it fly together."""
        feeder, had = self.program.feeder, spins_had(self.program.feeder, self.feeds)
        low = np.flatnonzero([feed.arc != "looped" for feed in self.feeds])
        request, *launch = flattest(
            self.wanted.at(low), self.conditions, lambda balls: progress.done(SOLVING / 2 * balls)
        ).values()
        for some in launches.batches(len(request)):
            feed = low[request[some]]
            lanes = self.wanted.at(feed)
            release = lanes.release(*(of[some] for of in launch))
            trials = [
                (int(i), 0, settings)
                for i, *one in zip(feed, release.speed, release.elevation, release.azimuth, strict=True)
                if had[i]
                for settings in beside(self.feeds[i], feeder, *one)
            ]
            around, rounded = released(trials, self.wanted, feeder)
            stance, full = np.append(lanes.stance, around.stance), np.append(lanes.full, around.full)
            both, whose = release.and_(rounded), np.append(feed, [i for i, _, _ in trials]).astype(np.intp)
            flown = outcome(both, stance, full, self.conditions)
            faults = judged(self.asked.at(whose), both, flown, self.program).faults
            own, theirs = np.split(np.arange(len(stance)), [len(feed)])
            found = best(trials, self.feeds, self.asked, rounded, flown.at(theirs), faults[theirs])
            self.found |= {int(i): found[i] for i in feed[faults[own] & REFUSED == 0] if i in found}
        progress.done(SOLVING / 2 * (len(self.feeds) - len(self.open())))

    def aim(self, explain: bool, progress: Progress) -> tuple[launches.Roots, launches.Scan, Ideal]:
        """Looks for shots to the aims; the launches that were found, before any rounding."""
        roots, scan = roots_of(self.wanted, self.conditions, lambda balls: progress.done(SOLVING / 2 * balls))
        ideal = self.ideal(elsewhere.aims(np.arange(len(self.feeds)), roots, self.asked, self.wanted))
        feeder = self.program.feeder
        self.try_(near(self.feeds, feeder, ideal, _first(ideal)))
        able, close = self.others(ideal, strict=not explain)
        self.try_(near(self.feeds, feeder, ideal, able))
        self.try_(near(self.feeds, feeder, ideal, close), clean=True)
        return roots, scan, ideal

    def shot(self, i: int) -> SolvedShot | None:
        found = self.found.get(i)
        return found.shot(self.feeds[i], self.program.feeder) if found and found.there else None

    def kinds(self, some: Index) -> tuple[Index, Index]:
        """Of feeds the first of each kind, by all that they ask, and which kind each one is."""
        return self._alike([column for of in (self.asked, self.wanted) for column in of.values()], some)

    def places(self, some: Index) -> tuple[Index, Index]:
        """The same by the aim, how the ball comes there and its bounds, whatever fixes its flight: the same can be had
        there."""
        columns = [getattr(self.wanted, name) for name in Wanted._fields if name != "value"]
        return self._alike([*columns, self.asked.rising, self.asked.low, self.asked.high], some)

    def _alike(self, columns: list[Array], some: Index) -> tuple[Index, Index]:
        columns = [*columns, np.array([len(feed.arc or "") for feed in self.feeds])]
        return alike(np.vstack([np.atleast_2d(np.asarray(column[..., some], float)) for column in columns]))

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
            found = tried(some, self.feeds, self.asked, self.wanted, self.program, self.conditions)
            for i, one in found.items():
                if (one.clean or not clean) and (i not in self.found or one.rank < self.found[i].rank):
                    self.found[i] = one

    def wider(self, left: Index, roots: launches.Roots) -> tuple[Ideal, dict[int, int]]:
        """Launches to the whole zones of some feeds, whose settings are tried too; and for each feed the one that asks
        for the same, of which the launches are told."""
        first, which = self.kinds(left)
        few = left[first]
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
        like = {int(i): int(few[kind]) for i, kind in zip(left, which, strict=True)}
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
        if not len(refused):
            return {}
        first, which = self.places(refused)
        few = refused[first]
        told = possible(few, scan.elevation[few], self.feeds, self.asked, self.wanted, self.program, self.conditions)
        return {int(i): told[kind] for i, kind in zip(refused, which, strict=True)}
