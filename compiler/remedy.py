"""The nearest possible ball: moves one line of a feed at a time until the ball can be aimed and passes.

It tries steps to both sides of what decides the flight, of depth, side, spin and stance, near ones first. It aims all
trials of all feeds as one batch, then once more between the last step that failed and the first that passed.
"""

import math
from collections import Counter
from collections.abc import Callable, Collection, Iterator, Mapping

from ..grammar import units
from ..grammar.edits import Remedy, amount, below, changed, counted, instead
from ..grammar.edits import name as named
from ..grammar.frozen import Frozen, replace
from ..grammar.syntax import (
    Backspin,
    Bounds,
    Depth,
    Extent,
    Flat,
    FromCentre,
    FromLine,
    Height,
    OnCentre,
    OnLine,
    Pace,
    Phase,
    Sentence,
    Series,
    Side,
    Sidespin,
    Spin,
    Spins,
    Stance,
    Time,
    Topspin,
    Turn,
    Word,
    keyword,
)
from ..grammar.units import RPM
from .evaluate import scatterings
from .findings.flight import PhaseNotThere
from .model.program import Feed, FixedBy, Program, Range
from .model.shots import Miss, SolvedShot
from .reach import UNITS_SHOWN
from .solve import solve

# The step for each line, in the unit it is written in: what a feeder can set and a coach would write.
STEPS = {"height over net": 0.1, "height": 0.05, "pace": 1.0, "time": 0.05, "depth": 0.25, "side": 0.25, "spin": 100.0,
         "stance": 0.25}  # fmt: skip
NOTICED = {"height over net": 3, "height": 2, "pace": 5, "time": 2, "depth": 2, "side": 1, "spin": 3, "stance": 2}
"""How many steps of each make about the same difference; the smallest change is proposed first. Own choice."""
COARSE = (1, 2, 3, 4, 6, 8, 12, 16, 24, 32)
RUN_OFF = 5.48  # m behind the baseline, the ITF's recommended run-off for clubs
MOVED = ("side", "depth", "stance", "value", "phase", "topspin", "sidespin")
MOST_TRIED, MOST_SIBLINGS = 4, 8
"""How many trials of a line are tested on the rest of a family, and on how many of its members."""
ENOUGH = 0.5
"""At least this share of a proposed ball lands in its zone; otherwise the next finding would be about that."""
MOST_FEEDS = 6
"""If more feeds than this fail at once, they mostly share one cause; the rest wait for the next run."""
MOST_SPARE = 3
"""The most changes proposed for a line, the smallest first; at most one of them is shown."""
Way = tuple[Feed, Sentence]
"""A changed feed, and the line that says what changed."""
Judge = Callable[[Program, Feed, SolvedShot], bool]


class _Trial(Frozen):
    feed: str
    attribute: str
    steps: int
    altered: Feed
    sentence: Sentence


def remedies(
    program: Program, failed: list[str], misses: Mapping[str, Miss], passes: Judge
) -> dict[str, tuple[Remedy, ...]]:
    """For each failed feed and every line that alone would mend it: the smallest change, as source, and some larger
    ones in case that does not suit the whole practice; the smallest first. A line that a whole family shares, or that
    feeds like this one inherit, is proposed only if the change suits them all."""
    leaders: dict[str, list[str]] = {}
    for name in failed:
        leaders.setdefault(program.feeds[name].family, []).append(name)
    feeds = [program.feeds[names[0]] for names in list(leaders.values())[:MOST_FEEDS]]
    trials = [trial for feed in feeds for trial in _flipped(feed, misses.get(feed.name))]
    trials += [
        t
        for feed in feeds
        for a in _attributes(feed)
        for n in COARSE
        for s in (n, -n)
        if (t := _moved(program, feed, a, s))
    ]
    trials += [t for feed in feeds if (t := _clamped(program, feed))]
    trials += [t for feed in feeds for t in _nearest(program, feed, misses.get(feed.name))]
    trials += [
        _Trial(feed.name, attribute, steps, *way)
        for feed in feeds
        for attribute in (() if feed.name in misses else ("depth", "side"))  # flown, but outside such a small zone
        for steps in COARSE[:8]
        if attribute in feed.said and (way := _wider(program, feed, attribute, steps * STEPS[attribute]))
    ]
    # One element of a list mends one ball: no use where several fail.
    trials = [t for t in trials if len(leaders[t.altered.family]) == 1 or not _of_a_list(t)]
    fit = _passing(program, trials, failed, passes)
    # Steps between the last that failed and the first that passed are still untried.
    between = [
        t
        for first, *_ in fit.values()
        for n in range(_before(abs(first.steps)) + 1, abs(first.steps))
        if (t := _moved(program, program.feeds[first.feed], first.attribute, n if first.steps > 0 else -n))
    ]
    for key, nearer in _passing(program, between, failed, passes).items():
        fit[key] = sorted([nearer[0], *fit[key]], key=lambda t: abs(t.steps))
    found: dict[str, list[Remedy]] = {}
    for some in sorted(fit.values(), key=lambda some: _change(program.feeds[some[0].feed], some[0])):
        for trial in some[:MOST_SPARE]:
            remedy = _placed(program.feeds[trial.feed], trial.attribute, trial.sentence)
            if remedy:
                found.setdefault(trial.altered.family, []).append(remedy)
    return {name: tuple(found.get(family, ())) for family, names in leaders.items() for name in names}


def _of_a_list(trial: _Trial) -> bool:
    return ("height" if trial.attribute == "phase" else trial.attribute) in trial.altered.elements


def _passing(
    program: Program, trials: list[_Trial], failed: Collection[str], passes: Judge
) -> dict[tuple[str, str], list[_Trial]]:
    """For each feed and attribute the trials with the fewest steps that pass, also for all other balls of the same
    line."""
    fit: dict[tuple[str, str], list[_Trial]] = {}
    for trial in _aimed(program, [(trial, trial.altered) for trial in trials], passes):
        fit.setdefault((trial.feed, trial.attribute), []).append(trial)
    likely = [trial for fits in fit.values() for trial in sorted(fits, key=lambda t: abs(t.steps))[:MOST_TRIED]]
    asked = [(trial, other) for trial in likely for other in _siblings(program, trial, failed)]
    granted = Counter(map(id, _aimed(program, asked, passes)))
    wanted = Counter(id(trial) for trial, _ in asked)
    passed: dict[tuple[str, str], list[_Trial]] = {}
    for trial in likely:
        if granted[id(trial)] == wanted[id(trial)]:
            passed.setdefault((trial.feed, trial.attribute), []).append(trial)
    return passed


def _aimed(program: Program, asked: list[tuple[_Trial, Feed]], passes: Judge) -> list[_Trial]:
    """The trials whose ball can be aimed and passes, one for each ball."""
    named = {f"{i}": replace(feed, name=f"{i}") for i, (_, feed) in enumerate(asked)}
    shots = solve(program, named, explain=False).shots
    flown = [
        (trial, feed, shot)
        for i, (trial, feed) in enumerate(asked)
        if (shot := shots.get(f"{i}")) and passes(program, feed, shot)
    ]
    spread = scatterings(program, [(feed, shot) for _, feed, shot in flown], sample=False)
    return [trial for (trial, _, _), one in zip(flown, spread, strict=True) if one.in_zone_band[0] >= ENOUGH]


def _siblings(program: Program, trial: _Trial, failed: Collection[str]) -> list[Feed]:
    """Other feeds of the same line, with the line moved, an even sample if there are many: the rest of the family, and
    those feeds like this one that have no fault now."""
    if _of_a_list(trial):
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
    return [replace(program.feeds[name], **moved) for name in some]


def _change(feed: Feed, trial: _Trial) -> float:
    """How large a change a trial is; what decides the flight, mostly the marked line, counts half."""
    return abs(trial.steps) / NOTICED.get(trial.attribute, 1) * (0.5 if trial.attribute == _fixing(feed) else 1.0)


def _before(steps: int) -> int:
    return max((n for n in COARSE if n < steps), default=0)


def _attributes(feed: Feed) -> Iterator[str]:
    if feed.fixed_by is not FixedBy.TOP_OF_BOUNCE:
        yield _fixing(feed)
    if feed.depth:
        yield "depth"
    yield from ("spin", "side", "stance")


def _fixing(feed: Feed) -> str:
    return {FixedBy.OVER_NET: "height over net", FixedBy.PACE: "pace", FixedBy.TIME: "time"}.get(
        feed.fixed_by, "height"
    )


def _moved(program: Program, feed: Feed, attribute: str, steps: int) -> _Trial | None:
    """The feed with one line moved by this many steps; None if the line would make no sense."""
    if attribute not in feed.said:  # a zone's side and depth belong to the zone
        return None
    by, base = steps * STEPS[attribute], program.court.half_length
    found: Way | None
    if attribute == "depth" and feed.depth:
        found = _depth(feed, feed.depth, base, by)
    elif attribute == "side":
        found = _side(feed, by)
    elif attribute == "stance":
        found = _stance(feed, base, program.court.service, by)
    elif attribute == "spin":
        topspin = round(feed.topspin / RPM / STEPS["spin"]) * STEPS["spin"] + by
        found = replace(feed, topspin=topspin * RPM), _spin(topspin * RPM, feed.sidespin)
    else:
        found = _fixed(feed, attribute, steps)
    return _Trial(feed.name, attribute, steps, *found) if found else None


def _fixed(feed: Feed, attribute: str, steps: int) -> Way | None:
    if feed.best and feed.best.what is not feed.fixed_by:
        return None  # the line that would say it says something else
    unit, step = UNITS_SHOWN[feed.fixed_by], STEPS[attribute]
    value = (round(units.from_si(feed.value, unit) / step) + steps) * step
    if value <= 0:
        return None
    said, moved = amount(value, 2, unit), replace(feed, value=units.to_si(value, unit))
    match attribute:
        case "height over net":
            return moved, Height((said,), keyword("OVER_NET"))
        case "time":
            return moved, Time(said, keyword("TO_CONTACT"))
        case "pace":
            return moved, Pace((said,))
    return moved, Height((said,), phase=_phase(feed.phase) if feed.phase else None)


def _phase(phase: str) -> Phase:
    return Phase(keyword(phase.upper()))


def _even(metres: float) -> float:
    """On the grid of the steps, so a named zone becomes round numbers."""
    return round(metres / 0.25) * 0.25


def _depth(feed: Feed, depth: Range, base: float, by: float) -> Way | None:
    near, far = (_even(base - edge) + by for edge in (depth.high, depth.low))  # metres inside the baseline
    if near < 0 or far > base - 0.5:
        return None
    near, far = round(near, 2), round(max(far, near + 0.25), 2)
    moved = Range(base - far, base - near, base - (near + far) / 2)
    return replace(feed, depth=moved), Depth((FromLine(_bounds(near, far), keyword("INSIDE"), keyword("BASELINE")),))


def _side(feed: Feed, by: float) -> Way | None:
    low, high = round(_even(feed.side.low) + by, 2), round(_even(feed.side.high) + by, 2)
    high = max(high, low + 0.25)
    moved = replace(feed, side=Range(low, high, (low + high) / 2))
    if low * high < 0:
        middle = (low + high) / 2
        if abs(high - low - 1.5) > 0.01:
            return None  # no sentence says a range across the centre
        if abs(middle) < 0.005:
            return moved, Side((OnCentre(keyword("CENTRE")),))
        return moved, _from_centre(amount(abs(middle), 2, "m"), middle)
    return moved, _from_centre(_bounds(*sorted((abs(low), abs(high)))), high)


def _from_centre(extent: Extent, x: float) -> Side:
    return Side((FromCentre(extent, named("left" if x > 0 else "right"), keyword("OF_CENTRE")),))


def _bounds(low: float, high: float) -> Bounds:
    return Bounds(counted(low, 2), counted(high, 2), Word("UNIT", "m"))


def _stance(feed: Feed, base: float, service: float, by: float) -> Way | None:
    if not min(service, feed.stance) <= feed.stance + by <= max(base + RUN_OFF, feed.stance):
        return None  # not a volley, and not behind the fence
    behind = round(_even(feed.stance - base) + by, 2)
    line, way = keyword("BASELINE"), keyword("BEHIND" if behind > 0 else "INSIDE")
    place = FromLine(amount(abs(behind), 2, "m"), way, line) if behind else OnLine(line)
    return replace(feed, stance=base + behind), Stance(place)


def shifted_stances(program: Program, feed: Feed) -> list[tuple[Feed, Remedy]]:
    """The feed met deeper and deeper, each with its changed line and a name of its own."""
    found = []
    for steps in range(1, 13):
        trial = _moved(program, feed, "stance", steps)
        remedy = _placed(feed, "stance", trial.sentence) if trial else None
        if trial and remedy:
            found.append((replace(trial.altered, name=f"{feed.name}, {steps} deeper"), remedy))
    return found


def widened(program: Program, feed: Feed) -> list[tuple[str, Feed, Remedy]]:
    """The feed with its depth, then with its side, wider and wider: which of them, the feed with a name of its own,
    and its changed line."""
    found = []
    for attribute in ("depth", "side"):
        for steps in range(1, 13):
            more = steps * STEPS[attribute]
            moved = _wider(program, feed, attribute, more) if attribute in feed.said else None
            if moved and (remedy := _placed(feed, attribute, moved[1])):
                found.append((attribute, replace(moved[0], name=f"{feed.name}, {attribute} {steps} wider"), remedy))
    return found


def _wider(program: Program, feed: Feed, attribute: str, more: float) -> Way | None:
    """Both edges moved out, at most to the lines; None if no sentence says it or it is no wider."""
    court = program.court
    if attribute == "side":
        low, high = max(feed.side.low - more, -court.half_width), min(feed.side.high + more, court.half_width)
        return _side(replace(feed, side=Range(low, high, feed.side.aim)), 0.0)
    if feed.depth is None:
        return None
    near, far = max(feed.depth.low - more, 0.5), min(feed.depth.high + more, court.half_length)
    return _depth(feed, Range(near, far, feed.depth.aim), court.half_length, 0.0)


def _nearest(program: Program, feed: Feed, miss: Miss | None) -> list[_Trial]:
    """What decides the flight, at the nearest value that the feeder can give and a few steps inside its limit."""
    if miss is None or miss.nearest is None or feed.fixed_by is FixedBy.TOP_OF_BOUNCE:
        return []
    attribute, unit = _fixing(feed), UNITS_SHOWN[feed.fixed_by]
    by = (units.from_si(miss.nearest, unit) - units.from_si(feed.value, unit)) / STEPS[attribute]
    outward = 1 if by > 0 else -1
    first = math.ceil(abs(by))
    return [t for i in (0, *COARSE) if (t := _moved(program, feed, attribute, outward * (first + i)))]


def _flipped(feed: Feed, miss: Miss | None) -> list[_Trial]:
    """The other phase, if only the phase is at fault."""
    said = feed.said.get("height")
    message = miss.message if miss else None
    if not isinstance(message, PhaseNotThere) or not isinstance(said, Height) or "height" in feed.elements:
        return []
    other = message.other
    return [_Trial(feed.name, "phase", 0, replace(feed, phase=other), changed(said, phase=_phase(other)))]


def _clamped(program: Program, feed: Feed) -> _Trial | None:
    """Spin brought within the feeder's range if it is outside."""

    def within(axis: object, value: float) -> float:
        low, high = (axis.low_si, axis.high_si) if axis else (0.0, 0.0)  # type: ignore[attr-defined]
        return float(min(max(value, low), high))

    topspin = within(program.feeder.topspin, feed.topspin)
    sidespin = within(program.feeder.sidespin, feed.sidespin)
    if (topspin, sidespin) == (feed.topspin, feed.sidespin):
        return None
    altered = replace(feed, topspin=topspin, sidespin=sidespin)
    return _Trial(feed.name, "spin", 0, altered, _spin(topspin, sidespin))


def _spin(topspin: float, sidespin: float) -> Spin:
    turns: list[Turn] = []
    if round(topspin / RPM):
        turns.append((Topspin if topspin > 0 else Backspin)(amount(abs(topspin) / RPM, 0, "rpm")))
    if round(sidespin / RPM):
        way = keyword("TO_THE_RIGHT" if sidespin > 0 else "TO_THE_LEFT")
        turns.append(Sidespin(amount(abs(sidespin) / RPM, 0, "rpm"), way))
    return Spin((Spins(tuple(turns) or (Flat(),)),))


def _placed(feed: Feed, attribute: str, sentence: Sentence) -> Remedy | None:
    """Replaces the feed's own line, or adds a line under its head if the line was inherited. In a list it replaces only
    the one element; a line that offers many steps has no single one to replace."""
    attribute = "height" if attribute == "phase" else attribute
    old = feed.said[attribute]
    if attribute in feed.elements:
        if isinstance(old, Sentence | Series) or not isinstance(sentence, Side | Depth | Height | Spin | Pace):
            return None
        return instead(old, sentence.choices[0])
    own = any(line.sentence is old for line in feed.line.children)
    return instead(old, sentence) if own else below(feed.line, sentence)
