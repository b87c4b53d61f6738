"""Is each figure that a feed writes played as it is written, and which line writes it?"""

import math
import re

from ...grammar import syntax as s
from ...grammar import units
from ...grammar.edits import Remedy, amount, changed
from ...grammar.facts import BallName, Metres, read_in
from ...grammar.finding import Finding
from ...grammar.source import Span
from ..findings.figures import ASIDE, AtTheLimit, CoarseSettings, PlayedFarOff, PlayedOtherwise
from ..fit import COARSE, let_pass
from ..model.program import FLOWN_HIGH, Feed, FixedBy, Program
from ..model.shots import SolvedShot
from ..reach import ASKED, UNITS_SHOWN
from ..variants import placed

LINES = {
    FixedBy.OVER_NET: "height over net", FixedBy.AT_TOP: "height at the top", FixedBy.AT_PLAYER: "height",
    FixedBy.PACE: "pace", FixedBy.TIME: "time",
}  # fmt: skip
FIGURE = re.compile(r"\d+(?:\.(\d+))?\s*([^\s,]+)")
FINE = 1e-6  # SI, what computing leaves
AT_LIMIT = 0.2
"""This share of what counts as too coarse is reported if a limit of the feeder is the cause. Own choice."""
NEAR_END = 0.02
"""So close to the end of its range, in widths of it, a launch is at the limit, which was met in steps. Own choice."""
BRISK_S = 2.0  # own choice
FAR_OFF_M = 0.1  # so much lower than the stance asks for, a ball that never comes so high warns. Own choice
FIGURE_OFF_M, FAR_OFF = 0.15, 0.1
"""A height that is played so far from the one asked, or another figure off by such a share, warns. Own choice."""


def rounded_up(seconds: float) -> float:
    """A time of at least `seconds` that a coach would write: in half seconds, below `BRISK_S` in tenths, where half a
    second makes another exercise."""
    parts = 10 if seconds < BRISK_S else 2
    return math.ceil(seconds * parts - 1e-9) / parts


def place(feed: Feed, *attributes: str) -> Span:
    """The line of the first of these attributes that the feed has; else its first line."""
    return next((feed.said[a].span for a in (*attributes, "ball") if a in feed.said), feed.span)


def fixing_line(feed: Feed) -> Span:
    """The line that decides how the ball flies."""
    return place(feed, LINES.get(feed.fixed_by, "height"))


def measured(shot: SolvedShot) -> dict[FixedBy, float | None]:
    """What a ball is of all that can be asked, SI."""
    flown = shot.predicted
    return {
        FixedBy.OVER_NET: flown.clearance,
        FixedBy.AT_TOP: flown.peak,
        FixedBy.AT_PLAYER: flown.contact[2],
        FixedBy.PACE: shot.speed,
        FixedBy.TIME: flown.contact_time,
        FixedBy.SPIN: math.hypot(shot.topspin, shot.sidespin),
        FixedBy.STANCE: flown.contact[1],
    }


def rounding(program: Program, feed: Feed, shot: SolvedShot) -> Finding | None:
    """Do the settings that the device can take give what was asked?"""
    flown = shot.predicted
    if feed.depth is None and feed.contact_height is not None:
        higher = flown.contact[2] - feed.contact_height
        if abs(higher) > COARSE[FixedBy.AT_PLAYER]:
            heights = Metres(feed.contact_height), Metres(flown.contact[2])
            coarse = CoarseSettings(BallName(feed.name), ASKED[FixedBy.AT_PLAYER], *heights, program.feeder.title)
            return Finding(coarse, place(feed, "height"))
    given = measured(shot).get(feed.fixed_by)
    if given is None or abs(given - feed.value) <= let_pass(feed, feed.fixed_by, feed.value):
        return None
    unit = UNITS_SHOWN[feed.fixed_by]
    asked, had = read_in(feed.value, unit), read_in(given, unit)
    message = CoarseSettings(BallName(feed.name), ASKED[feed.fixed_by], asked, had, program.feeder.title)
    return Finding(message, fixing_line(feed))


def bent(program: Program, feed: Feed, shot: SolvedShot) -> Finding | None:
    """Is each figure played as it is written, but for its own rounding and what half a step of the feeder makes?"""
    given, ordinary = measured(shot), "height over net" in feed.free
    for what, asked in feed.fixes or ((feed.fixed_by, feed.value),):
        value = given.get(what)
        found = what is FixedBy.AT_PLAYER and feed.met_at_height  # the stance is where it has this height
        if value is None or what not in LINES or found or ordinary or (feed.best and feed.best.what is what):
            continue
        off = abs(value - asked)
        fine = max(_last_digit(feed.words.get(LINES[what], "")), _half_a_step(program, shot, what))
        if fine < off <= let_pass(feed, what, asked):
            unit = UNITS_SHOWN[what]
            length = what in (FixedBy.OVER_NET, FixedBy.AT_PLAYER)
            far = round(off, 2) >= (FIGURE_OFF_M if length else FAR_OFF * asked)
            kind = PlayedFarOff if far else PlayedOtherwise
            message = kind(BallName(feed.name), ASKED[what], read_in(asked, unit), read_in(value, unit))
            played = _written(feed, LINES[what], value, unit) if far or off > COARSE[what] else ()
            return Finding(message, place(feed, LINES[what], "stance"), remedies=played)
    return None


def _written(feed: Feed, line: str, value: float, unit: str) -> tuple[Remedy, ...]:
    """The line with the figure that is played."""
    said = feed.said.get(line)
    if not isinstance(said, s.Height | s.Pace | s.Time):
        return ()
    figure = amount(float(units.from_si(value, unit)), 0 if unit == "km/h" else 1, unit)
    remedy = placed(feed, line, changed(said, choices=(figure,)))
    return (remedy,) if remedy else ()


def _last_digit(words: str) -> float:
    """Half of the last digit that is written of a figure, SI; of a length at most half a decimetre, which nobody means
    more coarsely."""
    found = FIGURE.search(words)
    if found is None or found[2] not in units.UNITS:
        return 0.0
    decimals = max(len(found[1] or ""), 1 if found[2] == "m" else 0)
    return float(units.to_si(0.5 * 10.0**-decimals, found[2])) + FINE


def _half_a_step(program: Program, shot: SolvedShot, what: FixedBy) -> float:
    """What half a step of the feeder's speed and elevation makes of a figure, SI: over the net by the drop of a
    parabola, which falls with the square of the speed; at the top by its rise, which grows with the square of the speed
    upwards."""
    if what not in (FixedBy.PACE, *FLOWN_HIGH):
        return COARSE[what] / 2
    axes = program.feeder.axes()
    speed, steep = (axes[name].step_si(getattr(shot, name)) / 2 for name in ("speed", "elevation"))
    if what is FixedBy.PACE:
        return speed
    if what is FixedBy.AT_TOP:
        rise, slope = shot.predicted.peak - shot.origin[2], max(math.tan(shot.elevation), 0.01)
        return 2 * rise * (speed / shot.speed + steep / slope)
    ahead = abs(shot.origin[1]) / max(math.cos(shot.azimuth), 0.1)
    drop = shot.origin[2] + ahead * math.tan(shot.elevation) - (shot.predicted.clearance or 0.0)
    return ahead / math.cos(shot.elevation) ** 2 * steep + 2 * abs(drop) * speed / shot.speed


def limited(program: Program, feed: Feed, shot: SolvedShot) -> Finding | None:
    """Does a limit of the feeder, without being far beyond it, make another ball of the one that is asked?"""
    given, unit = measured(shot).get(feed.fixed_by), UNITS_SHOWN[feed.fixed_by]
    if given is None or feed.open or feed.depth is None or shot.predicted.landing is None:
        return None
    x, y = shot.predicted.landing
    aside = math.hypot(x - feed.side.aim, y - feed.depth.aim)
    off = abs(given - feed.value)
    # Spins are asked as they are, so a limit of theirs changes nothing else.
    launch = {"speed": shot.speed, "elevation": shot.elevation, "azimuth": shot.azimuth}
    if off > COARSE[feed.fixed_by] or max(off / (AT_LIMIT * COARSE[feed.fixed_by]), aside / ASIDE) < 1:
        return None
    for name, axis in program.feeder.axes().items():
        launched = launch.get(name)  # a person has no settings
        if launched is None or axis.dial is not None or axis.low == axis.high:
            continue
        low, high = axis.low_si, axis.high_si
        near = NEAR_END * (high - low)
        if low + near < launched < high - near:
            continue
        asked, had = read_in(feed.value, unit), read_in(given, unit)
        most = launched >= high - near
        told = name, read_in(high if most else low, axis.unit), most, ASKED[feed.fixed_by], asked, had, Metres(aside)
        if had.figure() != asked.figure() or aside >= ASIDE:
            return Finding(AtTheLimit(BallName(feed.name), *told), fixing_line(feed))
    return None
