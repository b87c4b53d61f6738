"""Feeds with one line changed, and the line that says so: what a coach could write instead.

Each line moves in steps of what a feeder can set and a coach would write.
"""

import math
from collections.abc import Iterator

from ..grammar import units
from ..grammar.edits import Remedy, amount, below, changed, counted, instead
from ..grammar.edits import name as named
from ..grammar.frozen import Frozen, replace
from ..grammar.syntax import (
    Across,
    Backspin,
    Bounds,
    Depth,
    Extent,
    Flat,
    FromCentre,
    Height,
    OnCentre,
    Pace,
    Phase,
    Row,
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
    Within,
    Word,
    keyword,
)
from ..grammar.units import RPM
from .findings.bounds import NotTogether
from .findings.flight import PhaseNotThere
from .model.court import Court
from .model.program import Feed, FixedBy, Program, Range
from .model.shots import Miss
from .reach import ASKED, UNITS_SHOWN
from .resolve.places import wished
from .said_from import reference, said_from, stood

# The step for each line, in the unit it is written in: what a feeder can set and a coach would write.
STEPS = {"height over net": 0.1, "height at the top": 0.1, "height": 0.05, "pace": 1.0, "time": 0.05, "depth": 0.25,
         "side": 0.25, "spin": 100.0, "stance": 0.25}  # fmt: skip
COARSE = (1, 2, 3, 4, 6, 8, 12, 16, 24, 32, 40)
"""Numbers of steps to try, near ones first."""
FINEST = 24
OVER_NET, AT_TOP = "height over net", "height at the top"
SAID_IN = {
    FixedBy.OVER_NET: "height over net", FixedBy.AT_TOP: "height at the top", FixedBy.AT_PLAYER: "height",
    FixedBy.PACE: "pace", FixedBy.TIME: "time",
}  # fmt: skip
"""The line that says each."""
FARTHER_ON = (0, 1, 3)  # more steps than to the nearest. Own choice
RUN_OFF = 5.48  # m behind the baseline, the ITF's recommended run-off for clubs
Way = tuple[Feed, Sentence]
"""A changed feed, and the line that says what changed."""


class Variant(Frozen):
    feed: str
    attribute: str
    steps: int
    altered: Feed
    sentence: Sentence
    lacks: int = 0
    """How far what it gives is from all that is wished: 0 if nothing is missing."""


def attributes(feed: Feed) -> Iterator[str]:
    if feed.fixed_by is not FixedBy.TOP_OF_BOUNCE:
        yield fixing(feed)
    if feed.contact_height is not None and fixing(feed) != "height":
        yield "height"
    if feed.depth:
        yield "depth"
    yield from ("spin", "side", "stance")


def fixing(feed: Feed) -> str:
    """The line that decides how the ball flies."""
    return SAID_IN.get(feed.fixed_by, "height")


def reaches(program: Program, feed: Feed, attribute: str) -> Iterator[int]:
    """By how many steps to either side a line is moved, near ones first; a stance also as far back as there is room.
    Between two bounds few values do, so none is left out of what decides the flight and of the spin; under a ceiling
    few heights over the net or at the top."""
    back = round((program.court.half_length + RUN_OFF - feed.stance) // STEPS["stance"])
    far = {back} if attribute == "stance" and back > 0 else set()
    narrow = (feed.bounds and attribute in ("spin", fixing(feed))) or (
        program.court.ceiling and attribute in (OVER_NET, AT_TOP)
    )
    every = set(range(1, FINEST)) if narrow else set()
    for steps in sorted({*COARSE, *far, *every}):
        yield from (steps, -steps)


def shifted(program: Program, feed: Feed, attribute: str, steps: int) -> Variant | None:
    """The feed with one line moved by this many steps; None if the line would make no sense."""
    if feed.same_as and attribute != "stance":  # it belongs to the other feed
        return None
    if attribute not in feed.said:  # a zone's side and depth belong to the zone
        return None
    by = steps * STEPS[attribute]
    found: Way | None
    if attribute == "depth":
        found = _depth(feed, feed.depth, program.court, by) if feed.depth else None
    elif attribute == "side":
        found = _side(feed, by)
    elif attribute == "stance":
        found = _stance(feed, program.court, by)
    elif attribute == "spin":
        topspin = round(feed.topspin / RPM / STEPS["spin"]) * STEPS["spin"] + by
        if round(feed.topspin / RPM) and topspin * feed.topspin <= 0:  # another ball than the coach asks for
            return None
        found = replace(feed, topspin=topspin * RPM), _spin(topspin * RPM, feed.sidespin)
    elif attribute == "height" and feed.contact_height is not None and feed.fixed_by is not FixedBy.AT_PLAYER:
        found = _on_the_full(program, feed, feed.contact_height, steps)
    else:
        found = _fixed(feed, attribute, steps)
        if attribute == "pace" and found and not program.feeder.throws(found[0].value):
            return None
    return Variant(feed.name, attribute, steps, *found) if found else None


def other_spins(feed: Feed) -> list[Variant]:
    """The feed without its spin, or with some of the other kind, near ones first: another ball than the coach asks for,
    for want of one of the same kind. In place of the most spin, that would be the opposite."""
    most = feed.best is not None and feed.best.what is FixedBy.SPIN
    if "spin" not in feed.said or not round(feed.topspin / RPM) or most:
        return []
    way, found = -math.copysign(1.0, feed.topspin), []
    for steps in (0, *COARSE):
        topspin = way * steps * STEPS["spin"] * RPM
        from_here = round(abs(topspin - feed.topspin) / RPM / STEPS["spin"])
        altered = replace(feed, topspin=topspin)
        found.append(Variant(feed.name, "spin", from_here, altered, _spin(topspin, feed.sidespin)))
    return found


def _fixed(feed: Feed, attribute: str, steps: int) -> Way | None:
    if feed.best and feed.best.what is not feed.fixed_by:
        return None  # the line that would say it says something else
    unit, step = UNITS_SHOWN[feed.fixed_by], STEPS[attribute]
    value = (round(units.from_si(feed.value, unit) / step) + steps) * step
    if value <= 0:
        return None
    said, moved = amount(value, 2, unit), valued(feed, units.to_si(value, unit))
    match attribute:
        case "height over net" | "height at the top":
            old, place = feed.said.get(attribute), keyword("OVER_NET" if attribute == OVER_NET else "AT_THE_TOP")
            way = old.phase if isinstance(old, Height) else None
            return moved, Height((said,), place, phase=way, after=_after(feed, attribute))
        case "time":
            return moved, Time((said,), keyword("TO_CONTACT"))
        case "pace":
            return moved, Pace((said,))
    phase = _phase(feed.phase) if feed.phase else None
    return moved, Height((said,), phase=phase, after=_after(feed, attribute))


def _on_the_full(program: Program, feed: Feed, asked: float, steps: int) -> Way | None:
    """Met higher or lower, at most as high as the player's head, and above the knee: no volley goes down to it."""
    player, court = program.seen_by(feed.player).player, program.court.name
    least = min(asked, player.height_on("knee", court) or player.lowest_on(court))
    value = (round(asked / STEPS["height"]) + steps) * STEPS["height"]
    if not least < value <= max(asked, player.head_on(court)):
        return None
    return replace(feed, contact_height=value), Height((amount(value, 2, "m"),), phase=_phase("on_the_full"))


def valued(feed: Feed, value: float) -> Feed:
    """The feed with another figure, SI, in the line that decides its flight."""
    return replace(feed, value=value, fixes=((feed.fixed_by, value), *feed.fixes[1:]) if feed.fixes else ())


def _after(feed: Feed, line: str) -> Word | None:
    """The bounces that a line says, for the one that replaces it."""
    old = feed.said.get(line)
    return old.after if isinstance(old, Height | Stance) else None


def _phase(phase: str) -> Phase:
    return Phase(keyword(phase.upper()))


def _even(metres: float) -> float:
    """On the grid of the steps, so a named zone becomes round numbers."""
    return round(metres / 0.25) * 0.25


def _depth(feed: Feed, depth: Range, court: Court, by: float) -> Way | None:
    """Moved by so much towards the net, in round numbers from the line from which it is said; a distance that stands
    alone goes on doing so."""
    origin = reference(feed, court)
    if depth.alone:
        y = round(_even(depth.aim - origin) - by, 2) + origin
        inside = 0.5 <= y <= court.half_length
        return (replace(feed, depth=wished(court, y)), Depth((said_from(feed, court, y),))) if inside else None
    low, high = (round(_even(edge - origin) - by, 2) + origin for edge in (depth.low, depth.high))
    if high > court.half_length + 1e-9 or low < 0.5:
        return None
    low = min(low, high - 0.25)
    return replace(feed, depth=Range(low, high, (low + high) / 2)), Depth((said_from(feed, court, low, high),))


def _side(feed: Feed, by: float) -> Way | None:
    low, high = round(_even(feed.side.low) + by, 2), round(_even(feed.side.high) + by, 2)
    high = max(high, low + 0.25)
    moved = replace(feed, side=Range(low, high, (low + high) / 2))
    if low * high < 0:
        middle = (low + high) / 2
        alone = abs(high - low - 1.5) < 0.01  # as wide as the zone that a single distance stands for
        if abs(middle) < 0.005:
            of = keyword("OF_CENTRE")
            return moved, Side((OnCentre(keyword("CENTRE")) if alone else Within(amount(high, 2, "m"), of),))
        if alone:
            return moved, Side((_from_centre(amount(abs(middle), 2, "m"), middle),))
        ends = (_from_centre(amount(abs(x), 2, "m"), x) for x in (high, low))
        return moved, Side((Across(*ends),))
    return moved, Side((_from_centre(_bounds(*sorted((abs(low), abs(high)))), high),))


def _from_centre(extent: Extent, x: float) -> FromCentre:
    return FromCentre(extent, named("left" if x > 0 else "right"), keyword("OF_CENTRE"))


def _bounds(low: float, high: float) -> Bounds:
    return Bounds(counted(low, 2), counted(high, 2), Word("UNIT", "m"))


def _stance(feed: Feed, court: Court, by: float) -> Way | None:
    said = feed.said.get("stance")
    if isinstance(said, Stance) and said.behind and feed.behind is not None:
        behind = _even(feed.behind) + by
        place = changed(said.behind, amount=amount(behind, 2, "m"))
        there = feed.stance if feed.depth is None or "depth" in feed.free else feed.depth.aim + behind
        return (replace(feed, behind=behind, stance=there), changed(said, choices=(place,))) if behind > 0 else None
    if not min(court.service, feed.stance) <= feed.stance + by <= max(court.half_length + RUN_OFF, feed.stance):
        return None  # not a volley, and not behind the fence
    origin = reference(feed, court, "stance")
    y = origin + round(_even(feed.stance - origin) + by, 2)
    return replace(feed, stance=y), changed(stood(feed, court, y), after=_after(feed, "stance"))


def shifted_stances(program: Program, feed: Feed) -> list[tuple[Feed, Remedy]]:
    """The feed met deeper and deeper, each with its changed line and a name of its own."""
    found = []
    for steps in range(1, 13):
        trial = shifted(program, feed, "stance", steps)
        remedy = placed(feed, "stance", trial.sentence) if trial else None
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
            moved = wider(program, feed, attribute, more) if attribute in feed.said else None
            if moved and (remedy := placed(feed, attribute, moved[1])):
                found.append((attribute, replace(moved[0], name=f"{feed.name}, {attribute} {steps} wider"), remedy))
    return found


def bounded(program: Program, feed: Feed, attribute: str, low: float, high: float) -> Way | None:
    """The zone with two edges moved: of `depth` the one near the net and the far one, m towards +y, of `side` the ones
    at -x and +x, m towards +x; None if no sentence says it."""
    if attribute == "side":
        return _side(replace(feed, side=Range(feed.side.low + low, feed.side.high + high, feed.side.aim)), 0.0)
    if feed.depth is None:
        return None
    moved = Range(feed.depth.low + low, feed.depth.high + high, feed.depth.aim)
    return _depth(feed, moved, program.court, 0.0)


def wider(program: Program, feed: Feed, attribute: str, more: float) -> Way | None:
    """Both edges moved out, at most to the lines; None if no sentence says it, or if it is wider than half of the
    player's half, which would be another wish."""
    court = program.court
    if attribute == "side":
        low, high = max(feed.side.low - more, -court.half_width), min(feed.side.high + more, court.half_width)
        if high - low > court.half_width:
            return None
        return _side(replace(feed, side=Range(low, high, feed.side.aim)), 0.0)
    if feed.depth is None:
        return None
    near, far = max(feed.depth.low - more, 0.5), min(feed.depth.high + more, court.half_length)
    if far - near > court.half_length / 2:
        return None
    return _depth(feed, Range(near, far, feed.depth.aim), court, 0.0)


def nearest(program: Program, feed: Feed, miss: Miss | None) -> list[Variant]:
    """What decides the flight, at the nearest value that the feeder can give and a few steps inside its limit."""
    if miss is None or miss.nearest is None or feed.fixed_by is FixedBy.TOP_OF_BOUNCE:
        return []
    attribute, unit = fixing(feed), UNITS_SHOWN[feed.fixed_by]
    by = (units.from_si(miss.nearest, unit) - units.from_si(feed.value, unit)) / STEPS[attribute]
    outward = 1 if by > 0 else -1
    first = math.ceil(abs(by))
    return [t for i in (0, *COARSE) if (t := shifted(program, feed, attribute, outward * (first + i)))]


def at_nearest(feed: Feed, message: NotTogether) -> tuple[Remedy, ...]:
    """Of lines that no ball keeps together the one that asks too much, at the nearest that was found, rounded away from
    what is asked, and a little farther. None is flown yet."""
    line = {ASKED[what]: line for what, line in SAID_IN.items()}.get(message.what, "")
    said = feed.said.get(line)
    if line in feed.elements or not isinstance(said, Height | Pace | Time):
        return ()
    unit, way = UNITS_SHOWN[next(what for what, of in SAID_IN.items() if of == line)], message.given - message.asked
    away = (math.floor if way < 0 else math.ceil)(units.from_si(message.given, unit) / STEPS[line])
    values = (away + math.copysign(more, way) for more in FARTHER_ON)
    lines = [changed(said, choices=(amount(value * STEPS[line], 2, unit),)) for value in values if value > 0]
    return tuple(remedy for one in lines if (remedy := placed(feed, line, one)))


def flipped(feed: Feed, miss: Miss | None) -> list[Variant]:
    """The other phase, if only the phase is at fault."""
    line = fixing(feed)
    said = feed.said.get(line)
    message = miss.message if miss else None
    if not isinstance(message, PhaseNotThere) or not isinstance(said, Height) or not said.phase:
        return []
    if line in feed.elements:
        return []
    other = message.other
    attribute = "phase" if line == "height" else line
    return [Variant(feed.name, attribute, 1, replace(feed, phase=other), changed(said, phase=_phase(other)))]


def clamped(program: Program, feed: Feed) -> Variant | None:
    """Spin brought within the feeder's range if it is outside."""

    def within(axis: object, value: float) -> float:
        low, high = (axis.low_si, axis.high_si) if axis else (0.0, 0.0)  # type: ignore[attr-defined]
        return float(min(max(value, low), high))

    topspin = within(program.feeder.topspin, feed.topspin)
    sidespin = within(program.feeder.sidespin, feed.sidespin)
    if (topspin, sidespin) == (feed.topspin, feed.sidespin):
        return None
    altered = replace(feed, topspin=topspin, sidespin=sidespin)
    less = abs(topspin - feed.topspin) + abs(sidespin - feed.sidespin)
    return Variant(feed.name, "spin", math.ceil(less / RPM / STEPS["spin"]), altered, _spin(topspin, sidespin))


def _spin(topspin: float, sidespin: float) -> Spin:
    turns: list[Turn] = []
    if round(topspin / RPM):
        turns.append((Topspin if topspin > 0 else Backspin)(amount(abs(topspin) / RPM, 0, "rpm")))
    if round(sidespin / RPM):
        way = keyword("TO_THE_RIGHT" if sidespin > 0 else "TO_THE_LEFT")
        turns.append(Sidespin(amount(abs(sidespin) / RPM, 0, "rpm"), way))
    return Spin((Spins(tuple(turns) or (Flat(),)),))


def placed(feed: Feed, attribute: str, sentence: Sentence) -> Remedy | None:
    """Replaces the feed's own line, or adds a line under its head if the line was inherited. In a list it replaces only
    the one element; a line that offers many steps has no single one to replace."""
    attribute = "height" if attribute == "phase" else attribute
    old = feed.said[attribute]
    if attribute in feed.elements:
        if isinstance(old, Sentence | Series | Row) or not isinstance(
            sentence, Side | Depth | Stance | Height | Spin | Pace | Time
        ):
            return None
        return instead(old, sentence.choices[0])
    own = any(line.sentence is old for line in feed.line.children)
    return instead(old, sentence) if own else below(feed.line, sentence)


def of_a_list(trial: Variant) -> bool:
    return ("height" if trial.attribute == "phase" else trial.attribute) in trial.altered.elements
