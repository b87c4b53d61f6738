"""The nearest possible ball: moves one line of a feed at a time until the ball can be aimed and passes.

It tries steps to both sides of what decides the flight, of depth, side, spin and stance, near ones first. It aims all
trials of all feeds as one batch, then once more between the last step that failed and the first that passed.
"""

from collections import Counter
from collections.abc import Callable, Collection, Mapping

from ..grammar.edits import Remedy
from ..grammar.frozen import replace
from .evaluate import keeps_bounds, lands, scatterings
from .findings.bounds import BoundOften, NotTogether
from .findings.flight import FeederLimit, NoFlight
from .findings.scatter import HeightVaries, ZoneSmall
from .model.enough import HALF, MARGIN, enough
from .model.program import Feed, Program
from .model.shots import Miss, SolvedShot
from .progress import SILENT, Progress
from .solve import solve
from .variants import (
    COARSE,
    STEPS,
    Variant,
    attributes,
    clamped,
    fixing,
    flipped,
    nearest,
    of_a_list,
    other_spins,
    placed,
    reaches,
    shifted,
    valued,
    wider,
)

NOTICED = {
    "height over net": 3,
    "height at the top": 3,
    "height": 2,
    "pace": 5,
    "time": 2,
    "depth": 2,
    "side": 1,
    "spin": 3,
    "stance": 2,
}
"""How many steps of each make about the same difference. Own choice."""
POINT = {"spin": 9, "height": 9, "height over net": 9, "height at the top": 9, "phase": 9, "pace": 3, "time": 3}
"""How much more the same difference takes from the wish than one of the place or the stance: height and spin are mostly
what a ball is for, then its pace. What takes least is proposed first. Own choice."""
UNSTEADY, RARE = 2, 4
"""What a ball lacks that lands in its zone, or comes as high as asked, less often than is enough, and one that does so
less often than every other time; one that has no margin over the net or inside its bounds lacks 1. They add up."""
ROOMY = {
    "falling": (("depth", -4), ("depth", -8), ("depth", -12), ("stance", 4), ("stance", 6), ("stance", 8)),
    "rising": (("stance", -4), ("stance", -6), ("stance", -8)),
}
"""What leaves a ball more room behind its bounce, or less where it has to rise. Where a line mends no ball at its aim,
these are tried all over their zones, which takes long."""
FARTHER, MOST_ANEW = (1, 2, 4, 8, 16), 2
"""How many steps a line is moved of a feed that leaves something open and has no ball, and of how many such feeds: each
step takes a search of its own."""
MOVED = ("side", "depth", "stance", "phase", "contact_height", "topspin", "sidespin")
AT_END = 2 / 3.6  # so near the feeder's fastest, m/s, is proposed in place of a pace beyond it. Own choice
MOST_TRIED, MOST_SIBLINGS = 4, 8
"""How many trials of a line are tested on the rest of a family, and on how many of its members."""
MOST_FEEDS = 6
"""If more feeds than this fail at once, they mostly share one cause; the rest wait for the next run."""
MOST_SPARE = 3
"""The most changes proposed for a line, the smallest first; at most one of them is shown."""
Judge = Callable[[Program, Feed, SolvedShot], bool]


def remedies(
    program: Program,
    failed: list[str],
    misses: Mapping[str, Miss],
    passes: Judge,
    only: Collection[str] | None = None,
    progress: Progress = SILENT,
) -> dict[str, tuple[Remedy, ...]]:
    """For each failed feed and every line, or those of `only`, that alone mends it: the smallest change, as source,
    and some larger ones in case that does not suit the whole practice; first what takes least from the wish. A ball
    that keeps its margin over the net goes before one that does not. A line that a whole family shares, or that feeds
    like this one inherit, is proposed only if the change suits them all."""
    leaders: dict[str, list[str]] = {}
    for name in failed:
        leaders.setdefault(program.feeds[name].family, []).append(name)
    feeds = [program.feeds[names[0]] for names in list(leaders.values())[:MOST_FEEDS]]
    trials = [trial for feed in feeds for trial in flipped(feed, misses.get(feed.name))]
    trials += [
        t
        for feed in feeds
        for a in attributes(feed)
        if a not in feed.free or feed.name in misses  # what is found anew is no line to move
        for s in reaches(program, feed, a)
        if (t := shifted(program, feed, a, s))
    ]
    trials += [t for feed in feeds if (t := clamped(program, feed))]
    trials += [t for feed in feeds for t in nearest(program, feed, misses.get(feed.name))]
    trials += [
        Variant(feed.name, attribute, steps, *way)
        for feed in feeds
        for attribute in (() if feed.name in misses else ("depth", "side"))  # flown, but outside such a small zone
        for steps in COARSE[:8]
        if attribute in feed.said and (way := wider(program, feed, attribute, steps * STEPS[attribute]))
    ]
    # One element of a list mends one ball: no use where several fail.
    trials = [t for t in trials if len(leaders[t.altered.family]) == 1 or not of_a_list(t)]
    trials = [t for t in trials if _near_the_end(t, misses) and (only is None or t.attribute in only)]
    fit = _passing(program, trials, failed, passes, progress)
    of_one = {name for name, attribute in fit if attribute == "spin"}
    turned = [feed for feed in feeds if feed.bounds and feed.name not in of_one and (only is None or "spin" in only)]
    others = [t for feed in turned for t in other_spins(feed)]
    fit |= _passing(program, others, failed, passes, progress)
    # Steps between the last that failed and the first that passed are still untried.
    between = [
        t
        for first, *_ in fit.values()
        for n in range(_before(abs(first.steps)) + 1, abs(first.steps))
        if (t := shifted(program, program.feeds[first.feed], first.attribute, n if first.steps > 0 else -n))
    ]
    for key, nearer in _passing(program, between, failed, passes, progress).items():
        fit[key] = sorted([nearer[0], *fit[key]], key=_nearness)
    steady = {key for key, some in fit.items() if any(trial.lacks < UNSTEADY for trial in some)}
    roomy = [
        t
        for feed in feeds
        if feed.depth and feed.phase and not feed.open
        for attribute, steps in ROOMY[feed.phase]
        if (feed.name, attribute) not in steady and (t := shifted(program, feed, attribute, steps))
    ]
    fit |= _passing(program, roomy, failed, passes, progress, anywhere=True)
    mended = {name for name, _ in fit}
    fit |= _anew(program, [feed for feed in feeds if feed.name not in mended], failed, misses, passes, progress)
    found: dict[str, list[Remedy]] = {}
    for some in sorted(fit.values(), key=lambda some: _change(some[0])):
        for trial in some[:MOST_SPARE]:
            remedy = placed(program.feeds[trial.feed], trial.attribute, trial.sentence)
            if remedy:
                found.setdefault(trial.altered.family, []).append(remedy)
    return {name: tuple(found.get(family, ())) for family, names in leaders.items() for name in names}


def _anew(
    program: Program,
    lost: list[Feed],
    failed: Collection[str],
    misses: Mapping[str, Miss],
    passes: Judge,
    progress: Progress,
) -> dict[tuple[str, str], list[Variant]]:
    """The same for feeds without a ball that leave something open, which is looked for anew with each trial."""
    # Feeds that share the line at fault are told together, with what mends the first of them.
    lines = {id(feed.said.get(fixing(feed))): feed for feed in reversed(lost) if feed.placed_anew}
    open_ = [feed for feed in lines.values() if feed.name in misses][::-1][:MOST_ANEW]
    spun = [t for feed in open_ if (t := clamped(program, feed))]  # where the spin is at fault, no other line mends it
    open_ = [feed for feed in open_ if all(feed.name != t.feed for t in spun)]
    far = [
        t
        for feed in open_
        for attribute in _looked_for(feed, misses[feed.name])
        for steps in FARTHER
        for way in (1, -1)
        if (attribute not in feed.free or feed.behind) and (t := shifted(program, feed, attribute, way * steps))
    ]
    far = [t for feed in open_ for t in nearest(program, feed, misses[feed.name])[:1]] + far
    far = [t for t in [*spun, *far] if _near_the_end(t, misses)]
    fit = _passing(program, far, failed, passes, progress, anywhere=True)
    between = [
        t
        for first, *_ in fit.values()
        for n in range(abs(first.steps) // 2 + 1, abs(first.steps))
        if (t := shifted(program, program.feeds[first.feed], first.attribute, n if first.steps > 0 else -n))
    ]
    for key, nearer in _passing(program, between, failed, passes, progress, anywhere=True).items():
        fit[key] = sorted([*nearer, *fit[key]], key=_nearness)
    return fit


def _looked_for(feed: Feed, miss: Miss) -> tuple[str, ...]:
    """The lines that are moved: what decides the flight, but for a pace that takes no ball to its place, in place of
    which an ordinary one is looked for, and how far behind its bounce a ball is met; of other lines that fight, each is
    tried where that is told."""
    decides = () if isinstance(miss.message, NoFlight) and fixing(feed) == "pace" else (fixing(feed),)
    behind = () if feed.behind is None else ("stance",)
    return (*decides, *(() if isinstance(miss.message, NotTogether) else ("depth",)), *behind)


def _near_the_end(trial: Variant, misses: Mapping[str, Miss]) -> bool:
    """Whether a pace beyond the feeder's range comes to the end of it: a slower one, in place of the fastest of several
    balls, would be slower than the others."""
    miss = misses.get(trial.feed)
    message = miss.message if miss else None
    if trial.attribute != "pace" or miss is None or miss.nearest is None or not isinstance(message, FeederLimit):
        return True
    beyond = message.what == "speed" and message.wanted is not None and message.wanted.asked == message.asked
    return not beyond or abs(trial.altered.value - miss.nearest) <= AT_END


def _passing(
    program: Program,
    trials: list[Variant],
    failed: Collection[str],
    passes: Judge,
    progress: Progress,
    anywhere: bool = False,
) -> dict[tuple[str, str], list[Variant]]:
    """For each feed and attribute the trials with the fewest steps that pass, also for all other balls of the same
    line; `anywhere` in their zones, not only at their aims."""
    fit: dict[tuple[str, str], list[Variant]] = {}
    for i, lacks in lacking(program, [trial.altered for trial in trials], passes, anywhere, progress):
        trial = replace(trials[i], lacks=lacks)
        fit.setdefault((trial.feed, trial.attribute), []).append(trial)
    likely = [trial for fits in fit.values() for trial in sorted(fits, key=_nearness)[:MOST_TRIED]]
    asked = [(trial, other) for trial in likely for other in _siblings(program, trial, failed)]
    granted = Counter(
        id(asked[i][0]) for i, _ in lacking(program, [other for _, other in asked], passes, anywhere, progress)
    )
    wanted = Counter(id(trial) for trial, _ in asked)
    passed: dict[tuple[str, str], list[Variant]] = {}
    for trial in likely:
        if granted[id(trial)] == wanted[id(trial)]:
            passed.setdefault((trial.feed, trial.attribute), []).append(trial)
    return passed


def _nearness(trial: Variant) -> tuple[int, int]:
    return trial.lacks, abs(trial.steps)


def lacking(
    program: Program, feeds: list[Feed], passes: Judge, anywhere: bool = False, progress: Progress = SILENT
) -> list[tuple[int, int]]:
    """Which of the feeds can be aimed and pass, and how much each lacks: nothing, the margin over the net and inside
    their bounds, or, unless the script accepts that, as many balls in the zone as is enough."""
    if not feeds:
        return []
    named = {f"{i}": replace(feed, name=f"{i}") for i, feed in enumerate(feeds)}
    solved = solve(program, named, anywhere, progress)
    shots = solved.shots
    feeds = [replace(solved.feeds.get(f"{i}", feed), name=feed.name) for i, feed in enumerate(feeds)]
    flown = [i for i, feed in enumerate(feeds) if (shot := shots.get(f"{i}")) and passes(program, feed, shot)]
    spread = scatterings(program, [(feeds[i], shots[f"{i}"]) for i in flown], sample=False)
    told = []
    for i, one in zip(flown, spread, strict=True):
        full = feeds[i].depth is None  # then the zone also counts the height, of which another finding tells
        wide, high, beyond = (kind.code in program.accepted for kind in (ZoneSmall, HeightVaries, BoundOften))
        rare = one.in_zone_band[0] < HALF and not (high if full else wide)
        if enough(one.over_net) and (beyond or keeps_bounds(one)) and (full or not rare):
            steady = (wide or lands(one, full)) and (high or enough(one.at_height))
            sure = one.over_net >= MARGIN and (beyond or keeps_bounds(one, MARGIN))
            told.append((i, RARE * rare + UNSTEADY * (not steady) + (not sure)))
    return told


def _siblings(program: Program, trial: Variant, failed: Collection[str]) -> list[Feed]:
    """Other feeds of the same line, with the line moved, an even sample if there are many: the rest of the family, and
    those feeds like this one that have no fault now."""
    if of_a_list(trial):
        return []
    old, new = program.feeds[trial.feed], trial.altered
    line = old.said["height" if trial.attribute == "phase" else trial.attribute]
    moved = {field: getattr(new, field) for field in MOVED if getattr(new, field) != getattr(old, field)}
    family = program.families.get(old.family, ())
    others = [name for name in family if name != old.name] if old.name in family else []
    likes = [
        feed.name
        for feed in program.feeds.values()
        if feed.family != old.family and feed.name not in failed and any(said is line for said in feed.said.values())
    ]
    if not any(child.sentence is line for child in old.line.children):
        likes = []  # inherited: the change becomes this feed's own line
    some = [name for names in (others, likes) for name in names[:: len(names) // MOST_SIBLINGS + 1]]
    siblings = [replace(program.feeds[name], **moved) for name in some]
    return siblings if new.value == old.value else [valued(sibling, new.value) for sibling in siblings]


def _change(trial: Variant) -> float:
    """How much a trial takes from what the coach asks for."""
    return abs(trial.steps) / NOTICED.get(trial.attribute, 1) * POINT.get(trial.attribute, 1)


def _before(steps: int) -> int:
    return max((n for n in COARSE if n < steps), default=0)
