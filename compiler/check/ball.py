"""Each ball alone: does it clear the net, land in its zone and inside the lines, and reach the player?"""

import math
from collections.abc import Callable

from ...grammar import syntax as s
from ...grammar import units
from ...grammar.edits import Edit, Remedy, amount, below, changed, instead, left_out
from ...grammar.edits import name as named
from ...grammar.facts import BallName, Metres, read_in
from ...grammar.finding import Finding
from ..findings.bounds import BoundBroken, NearlySoHigh, NeverSoHigh
from ..findings.flight import (
    AroundThePost,
    CeilingHit,
    ComesDownElsewhere,
    HighArc,
    MetLow,
    NetHit,
    NoStature,
    OutOfCourt,
    OverTheHead,
    PhaseNotThere,
    ZoneMissed,
)
from ..fit import BESIDE_M, CLEAR_M, kept
from ..model.player import HEAD_PARTS
from ..model.program import FLOWN_HIGH, Best, Bound, Feed, FixedBy, Program, Range
from ..model.shots import SolvedShot
from ..model.way import gone
from ..reach import ASKED, UNITS_SHOWN, comes_up, not_met
from ..variants import STEPS, placed, shifted
from .figures import FAR_OFF_M, bent, fixing_line, limited, measured, place, rounding

LOOSENED = {
    FixedBy.OVER_NET: 0.1, FixedBy.AT_TOP: 0.1, FixedBy.AT_PLAYER: 0.05, FixedBy.PACE: 1.0, FixedBy.TIME: 0.05,
    FixedBy.SPIN: 50.0, FixedBy.STANCE: 0.1, FixedBy.WAY: 0.1,
}  # fmt: skip
"""The steps in which a wider bound is proposed, in the unit it is written in."""
OVER_HEAD_M = 0.1  # own choice
FLATTER_M = (2.5, 2.0, 1.5)
"""Heights over the net, m, that are proposed as the most of a ball that would be a lob. Own choice."""
ROOMIER_M = (1.0, 2.0)
"""How much farther out a bound of the stance, or a zone, is tried for a feed that needs room, m. Own choice."""
HIGH_M = 2.0  # so high over the net no ordinary ball flies that only has a pace. Own choice
LOB_M = 4.0
"""A ball that rises higher is a lob: more than a racket's length above the reach of a tall player. Own choice."""


def check_ball(program: Program, feed: Feed, shot: SolvedShot) -> list[Finding]:
    """The answers to every question about one ball, also those that the script accepts."""
    return [finding for question in QUESTIONS if (finding := question(program, feed, shot))]


def net(program: Program, feed: Feed, shot: SolvedShot) -> Finding | None:
    """Does it cross between the posts, and clear the net there?"""
    clearance, x = shot.predicted.clearance, shot.predicted.net_x
    if clearance is None or x is None:
        return None
    if abs(x) > program.court.post_x:
        message = AroundThePost(BallName(feed.name), Metres(abs(x)), Metres(program.court.post_x))
        return Finding(message, place(feed, "side", "into"))
    if clearance < CLEAR_M:
        hit = NetHit(BallName(feed.name), Metres(max(-clearance, 0.0)), Metres(program.court.cord(x)))
        return Finding(hit, fixing_line(feed))
    return None


def ceiling(program: Program, feed: Feed, shot: SolvedShot) -> Finding | None:
    """Does it stay under the ceiling?"""
    top, limit = shot.predicted.peak + program.ball.radius_m, program.court.ceiling
    if limit is None or top <= limit:
        return None
    return Finding(CeilingHit(BallName(feed.name), Metres(top), Metres(limit)), fixing_line(feed))


def zone(program: Program, feed: Feed, shot: SolvedShot) -> Finding | None:
    """Does the ball land in the zone and inside the lines, with the settings that the device can take?"""
    landing = shot.predicted.landing
    if feed.depth is None:
        across = shot.predicted.contact[0]
        missed = ZoneMissed(BallName(feed.name), Metres(off := _outside(across, feed.side)), "side")
        more = _in_line(program, feed, across)
        return Finding(missed, place(feed, "side"), remedies=more) if off > BESIDE_M else None
    if landing is None:
        return None
    x, y = landing
    # In when the footprint touches the line, which is taken as one radius: our assumption.
    out = program.ball.radius_m - CLEAR_M
    if abs(x) > program.court.half_width + out or not CLEAR_M <= y <= program.court.half_length + out:
        over = max(abs(x) - program.court.half_width, y - program.court.half_length)
        line = "sideline" if abs(x) - program.court.half_width >= over - 1e-9 else "baseline"
        message = OutOfCourt(BallName(feed.name), Metres(over), line)
        return Finding(message, place(feed, "side" if line == "sideline" else "depth", "into"))
    for what, value, range_ in (("depth", y, feed.depth), ("side", x, feed.side)):
        off = _outside(value, range_)
        if off > BESIDE_M:
            more = _in_line(program, feed, x) if what == "side" else ()
            return Finding(ZoneMissed(BallName(feed.name), Metres(off), what), place(feed, what, "into"), remedies=more)
    return None


def comes_down(program: Program, feed: Feed, shot: SolvedShot) -> Finding | None:
    """Would a ball on the full come down where a line says?"""
    if feed.down is None:
        return None
    from ..come_down import comes_down as down_at  # few scripts ask for it

    there, (low, high) = down_at(program, shot), feed.down.part
    if low - BESIDE_M <= there <= high + BESIDE_M:
        return None
    lines = [feed.said[line] for line in ("stance", "depth") if line in feed.said and line not in feed.elements]
    remedies = tuple(left_out(line) for line in lines if isinstance(line, s.Sentence))
    message = ComesDownElsewhere(BallName(feed.name), Metres(there), Metres(low), Metres(high))
    return Finding(message, place(feed, "depth"), remedies=remedies)


def _in_line(program: Program, feed: Feed, across: float) -> tuple[Edit, ...]:
    """For a head that never turns the feeder's place in line with the side of a ball that comes down `across`."""
    axis, sentence = program.feeder.axes().get("azimuth"), program.place.sentence
    if axis is None or axis.low != axis.high:
        return ()
    x = round(program.place.x + feed.side.aim - across, 1)
    left = s.FromCentre(amount(abs(x), 1, "m"), named("left" if x > 0 else "right"), s.keyword("OF_CENTRE"))
    spot = left if x else s.OnCentre(s.keyword("CENTRE"))
    others = (one for one in sentence.spots if not isinstance(one, s.FromSideline | s.FromCentre | s.OnCentre))
    return (instead(sentence, changed(sentence, spots=(spot, *others))),)


def met(program: Program, feed: Feed, shot: SolvedShot) -> Finding | None:
    """Does the ball reach the stance before it bounces once too often?"""
    if shot.predicted.contact[2] >= program.ball.radius_m + CLEAR_M:
        return None
    return Finding(not_met(feed), place(feed, "stance"))


def phase(program: Program, feed: Feed, shot: SolvedShot) -> Finding | None:
    """Is it met on the way that is asked, up or down?"""
    if feed.phase is None or shot.predicted.phase == feed.phase:
        return None
    other = "falling" if feed.phase == "rising" else "rising"
    return Finding(PhaseNotThere(BallName(feed.name), feed.phase, other), fixing_line(feed))


def bounds(program: Program, feed: Feed, shot: SolvedShot) -> Finding | None:
    """Does it keep the bounds of its feed and of the script?"""
    given = {**measured(shot), FixedBy.WAY: gone(feed.wait, shot.predicted.contact)}
    for bound in feed.bounds:
        value, slack = given[bound.what], kept(feed, bound)
        if value is None or math.isnan(value) or bound.low - slack <= value <= bound.high + slack:
            continue  # of one that never gets there, `met` tells
        unit, upper = UNITS_SHOWN[bound.what], value > bound.high
        bar = read_in(bound.high if upper else bound.low, unit)
        message = BoundBroken(BallName(feed.name), ASKED[bound.what], read_in(value, unit), bar, bound.words, upper)
        place = bound.sentence.span
        if not isinstance(bound.sentence, s.Bound):
            return Finding(message, fixing_line(feed), (("bound here", place),))
        return Finding(message, place, remedies=(loosened(program, feed, bound, value),))
    return None


def loosened(program: Program, feed: Feed, bound: Bound, value: float, spare: int = 0) -> Edit:
    """The bound as wide as the ball needs it, or so many steps wider; a limit of the whole script is there for a
    reason, and stays."""
    said, unit = bound.sentence, UNITS_SHOWN[bound.what]
    assert isinstance(said, s.Bound)
    fine, upper = LOOSENED[bound.what], value > bound.high
    base = program.court.half_length if bound.what is FixedBy.STANCE else 0.0  # places are told from the baseline
    steps = units.from_si(value - base, unit) / fine
    bar = (math.ceil(steps - 1e-6) + spare if upper else math.floor(steps + 1e-6) - spare) * fine
    if bound.what is not FixedBy.STANCE:
        return instead(said, changed(said, bar=amount(bar, 2, unit)))
    behind = bar > 0
    way, most = s.keyword("BEHIND" if behind else "INSIDE"), s.keyword("AT_MOST" if behind == upper else "AT_LEAST")
    return instead(said, changed(said, way=most, bar=s.FromLine(amount(abs(bar), 2, unit), way, s.keyword("BASELINE"))))


def roomier(program: Program, feed: Feed) -> tuple[Remedy, ...]:
    """What leaves a feed more room that has something open: a bound of its stance farther out, its zone nearer the net
    or farther from it. None is flown yet: such a ball is looked for anew with each of them."""
    steps = (round(more / STEPS["depth"]) for more in (*ROOMIER_M, *(-more for more in ROOMIER_M)))
    zones = (shifted(program, feed, "depth", by) for by in steps)
    farther = (
        loosened(program, feed, bound, bound.high + more if math.isfinite(bound.high) else bound.low - more)
        for bound in feed.stands
        for more in ROOMIER_M
    )
    return (*farther, *(remedy for zone in zones if zone and (remedy := placed(feed, "depth", zone.sentence))))


def head(program: Program, feed: Feed, shot: SolvedShot) -> Finding | None:
    """Does the player meet a ball that has bounced above the head, though no line asks for that?"""
    if feed.depth is None or not over_head(program, feed, shot):
        return None
    player, court = program.player, program.court.name
    message = OverTheHead(BallName(feed.name), Metres(shot.predicted.contact[2]), Metres(player.head_on(court)))
    known = player.stature is not None or any(part in player.body for part in HEAD_PARTS)
    hint = None if known else NoStature(Metres(player.stature_on(court)))
    highest = feed.best is not None and feed.best.what is FixedBy.AT_PLAYER and feed.best.sign > 0
    return Finding(message, place(feed, "stance"), hint=hint, remedies=_lower(feed) if highest else ())


def _lower(feed: Feed) -> tuple[Edit, ...]:
    """Bounds that keep the highest ball there is from being a lob."""
    net = s.keyword("OVER_NET")
    return tuple(below(feed.line, s.HeightBound(s.keyword("AT_MOST"), amount(most, 1, "m"), net)) for most in FLATTER_M)


def topped(program: Program, feed: Feed, shot: SolvedShot) -> Finding | None:
    """Does it come as high as the line says by which the player stands?"""
    comes = comes_up(feed, shot.predicted.contact[2]) if feed.topped else None
    if not comes:
        return None
    kind = NearlySoHigh if comes.asked - comes.top < FAR_OFF_M else NeverSoHigh
    return Finding(kind(BallName(feed.name), comes), place(feed, "stance"))


def lobbed(program: Program, feed: Feed, shot: SolvedShot) -> Finding | None:
    """Is it a lob only because no flatter ball comes to the height that is asked, or at the pace; or because the lowest
    contact is one that comes from high up?"""
    if _high_unasked(program, feed, shot):
        met, over = Metres(shot.predicted.contact[2]), Metres(shot.predicted.clearance or 0.0)
        several = "pace" in feed.elements
        message = HighArc(BallName(feed.name), Metres(shot.predicted.peak), met, "", over_net=over, of_several=several)
        return Finding(message, fixing_line(feed))
    if feed.fixed_by is not FixedBy.AT_PLAYER or feed.depth is None or feed.arc:
        return None
    lowest = feed.best is not None and feed.best.what is FixedBy.AT_PLAYER and feed.best.sign < 0
    if ((feed.best or feed.free) and not lowest) or shot.predicted.peak <= LOB_M:
        return None
    asked = shot.predicted.contact[2] if lowest else feed.value
    said = feed.said.get("height")
    length = isinstance(said, s.Height) and not any(isinstance(level, s.Name) for level in said.choices)
    arc = Metres(shot.predicted.peak), Metres(asked), "lowest" if lowest else ""
    return Finding(HighArc(BallName(feed.name), *arc, length), fixing_line(feed))


def _high_unasked(program: Program, feed: Feed, shot: SolvedShot) -> bool:
    """Whether a line says its pace, or that it is the slowest, none how high it flies, and it flies higher than an
    ordinary ball. A long time asks for a lob, and so does a height over the head on the full."""
    said = {feed.fixed_by, *(what for what, _ in feed.fixes)}
    slowest = feed.best == Best(FixedBy.PACE, -1)
    high = bool((feed.best and not slowest) or "arc" in feed.said or feed.arc or feed.same_as or said & set(FLOWN_HIGH))
    full = feed.depth is None or feed.down is not None
    high = high or (full and shot.predicted.contact[2] > program.player.head_on(program.court.name))
    high = high or any(bound.what in FLOWN_HIGH and bound.low > 0 for bound in feed.bounds)
    return FixedBy.PACE in said and not high and (shot.predicted.clearance or 0.0) > HIGH_M


def low(program: Program, feed: Feed, shot: SolvedShot) -> Finding | None:
    """Is it met so low that a player can only dig it out?"""
    height = shot.predicted.contact[2]
    least = program.player.lowest_on(program.court.name)
    if not program.ball.radius_m + CLEAR_M <= height < least:
        return None
    line = "height" if feed.fixed_by is FixedBy.AT_PLAYER else "stance"
    return Finding(MetLow(BallName(feed.name), Metres(height), Metres(least)), place(feed, line))


def asked_height(feed: Feed) -> float:
    """The height of the contact that a line says, m; 0 if none does."""
    if feed.contact_height is not None:
        return feed.contact_height
    if feed.best and feed.best.what is FixedBy.AT_PLAYER:
        return 0.0
    fixes = feed.fixes or ((feed.fixed_by, feed.value),)
    return dict(fixes).get(FixedBy.AT_PLAYER, 0.0)


def over_head(program: Program, feed: Feed, shot: SolvedShot, allowed_m: float = OVER_HEAD_M) -> bool:
    """Whether the contact is that far above the player's head, and above the height that a line asks for."""
    limit = max(asked_height(feed), program.player.head_on(program.court.name)) + allowed_m
    return shot.predicted.contact[2] > limit


def _outside(value: float, range_: Range) -> float:
    return max(range_.low - value, value - range_.high, 0.0)


QUESTIONS: tuple[Callable[[Program, Feed, SolvedShot], Finding | None], ...] = (
    net,
    ceiling,
    zone,
    comes_down,
    met,
    phase,
    bounds,
    rounding,
    bent,
    limited,
    head,
    low,
    topped,
    lobbed,
)
