"""Does the feeder pass the net and hit what is asked, is the reply possible, and does it pass the feeder closely?"""

import math
from collections.abc import Mapping

import numpy as np

from ...grammar.edits import Remedy, appended
from ...grammar.edits import name as named
from ...grammar.facts import BallName, Metres, Portion, Speed
from ...grammar.finding import Finding, OfBall, Severity
from ...grammar.frozen import replace
from ...grammar.print import text
from ...grammar.syntax import HeightBound, Name, Screen, Sentence, keyword
from ..evaluate import REACHED, keeps_bounds, lands, scatterings
from ..findings.bounds import BoundOften, KeptAtItsBest
from ..findings.practice import (
    MISSED,
    MOVED,
    AimMoved,
    CeilingCounts,
    FeederInTheWay,
    MachineInTheWay,
    NetOften,
    NoScreen,
    ReplyNone,
    ReplyTooFast,
    ReplyUnlikely,
)
from ..findings.scatter import HeightVaries, OrdinaryDepth, OrdinaryHeight, ZoneSmall
from ..model.enough import SELDOM, enough
from ..model.evaluation import Evaluation, Scattering
from ..model.player import YOUNGEST_ADULT_STATURE
from ..model.program import Bound, Feed, FeederPlace, FixedBy, Program, Reply
from ..model.schedule import Schedule
from ..model.shots import Shots, SolvedShot
from ..reach import ASKED
from ..remedy_reply import reply_remedies
from ..remedy_zone import zone_remedies
from ..variants import SAID_IN
from .ball import LOB_M, roomier
from .best import WORDS
from .bounced import bounce_moved
from .figures import fixing_line, place
from .met import part_of

MOST_MENDED = 6
ORDINARY = 0.75  # of a person's balls to a distance so many come to the side that is asked. Own choice
SELDOM_BROKEN = 0.98  # where more keep a bound, it is not told beside the one that is broken more often. Own choice
ROOM = 0.995  # a bound that more balls keep has room to spare. Own choice
CORRIDOR_M = 2.0
"""A reply that passes closer to the feeder than this needs a screen. Own choice."""


def net_often(program: Program, shots: Shots, schedule: Schedule | None, evaluation: Evaluation) -> list[Finding]:
    """Do the balls pass the net, but for one in ten?"""
    found = []
    for name, scattering in evaluation.scatterings.items():
        clearance = shots.shots[name].predicted.clearance
        if not enough(scattering.over_net) and clearance is not None:
            message = NetOften(BallName(name), Portion(1 - scattering.over_net), Metres(clearance))
            found.append(Finding(message, fixing_line(program.feeds[name])))
    return found


def bounds_often(program: Program, shots: Shots, schedule: Schedule | None, evaluation: Evaluation) -> list[Finding]:
    """Do the balls keep each bound of their feed and of the script, but for one in ten? Where one thing has a bound at
    either end, each end is told by itself."""
    found = []
    for name, scattering in evaluation.scatterings.items():
        feed, shot = program.feeds[name], shots.shots[name]
        if keeps_bounds(scattering):
            continue
        what, (share, least) = min(scattering.kept.items(), key=lambda of: of[1])
        mine = [bound for bound in feed.bounded if bound.what is what]
        low, high = max(mine, key=lambda bound: bound.low), min(mine, key=lambda bound: bound.high)
        near, other = (low if math.isfinite(low.low) else high), None
        if math.isfinite(low.low) and math.isfinite(high.high) and low is not high:
            alone = [(replace(feed, bounds=(bound,)), shot) for bound in (low, high)]
            shares = [one.kept[what] for one in scatterings(program, alone, sample=False)]
            (share, least), (rest, _) = sorted(shares)
            near, far = (low, high) if shares[0] == min(shares) else (high, low)
            other = (far.words, Portion(1 - rest)) if rest < SELDOM_BROKEN else None
        at_best = feed.best and near.words in shots.binds.get(name, ()) and enough(share)
        kind = KeptAtItsBest if at_best else BoundOften
        message = kind(BallName(name), Portion(1 - share), Portion(1 - least), near.words, *(other or ()))
        place = near.sentence.span
        also = (("bound here", place),) if near.everywhere else ()
        found.append(Finding(message, fixing_line(feed) if near.everywhere else place, also))
    return found


def spread(program: Program, shots: Shots, schedule: Schedule | None, evaluation: Evaluation) -> list[Finding]:
    """Do the balls that pass the net land in their zone, on the full at their side, but for one in ten? And at least
    every other one, whatever the drag of the balls in use? A single distance is only where a person aims."""
    found = []
    for name, scattering in evaluation.scatterings.items():
        feed = program.feeds[name]
        share, least = scattering.in_zone, scattering.in_zone_band[0]
        if feed.depth is None:
            share = least = scattering.at_side
        if not lands(scattering, feed.depth is None):
            wide, narrow = (Metres(axis) for axis in scattering.half_axes)
            alone = feed.depth is not None and feed.depth.alone and program.feeder.kind == "person"
            kind = OrdinaryDepth if alone and scattering.at_side >= ORDINARY else ZoneSmall
            message = kind(
                BallName(name),
                Portion(share),
                Portion(least),
                wide,
                narrow,
                Portion(scattering.over_net),
                *_off_middle(feed, shots.shots[name]),
                step=bool(feed.depth and feed.depth.part_low is not None and not feed.depth.alone),
                around=Metres(feed.depth.aim - feed.depth.low) if feed.depth and feed.depth.alone else None,
                as_high=None if feed.depth else Portion(scattering.in_zone),
            )
            found.append(Finding(message, place(feed, "depth", "into", "side")))
        elif "depth" not in feed.free:
            off, where = _off_aim(feed, shots.shots[name])
            alone = bool(feed.depth and feed.depth.alone) and not where.startswith("to")
            if off >= (MISSED if alone else MOVED) and not bounce_moved(program, feed, shots.shots[name]):
                because = _asked(feed, where.startswith("to"), alone, scattering)
                moved = AimMoved(BallName(name), off, where, because, alone)
                found.append(Finding(moved, place(feed, "depth", "into", "side")))
    return found


def _asked(feed: Feed, aside: bool, alone: bool, scattering: Scattering) -> str:
    """Why a ball is not aimed at the middle, or at a distance that stands `alone`: what decides its flight, with the
    way it goes where it is met."""
    if aside and feed.ways:
        return f"because of `{' and '.join(bound.words for bound in feed.ways)}`"
    if feed.best:
        line, least, greatest = WORDS[feed.best.what]
        return f"where the {line} is {greatest if feed.best.sign > 0 else least}"
    there = "it" if alone else "the middle"
    if feed.open:
        return f"because the feeder has no ball to {there} with {_tight(feed, scattering)}"
    ways = {"rising": ", on its way up", "falling": ", on its way down"}
    way = ways.get(feed.phase or "", "")
    return f"because the feeder has no ball to {there} with the {ASKED[feed.fixed_by]} that is asked{way}"


def _tight(feed: Feed, scattering: Scattering) -> str:
    """The lines that fix how a ball flies that leaves something open, and its bounds that are not kept with room to
    spare."""
    wheres = "stance" if feed.where else "height"
    fixed = [feed.said.get(wheres if what is FixedBy.AT_PLAYER else SAID_IN.get(what, "")) for what, _ in feed.fixes]
    lines = [text(said) for said in fixed if isinstance(said, Sentence)]
    tight = [bound.words for bound in feed.bounds if scattering.kept.get(bound.what, (1.0, 1.0))[0] < ROOM]
    *most, last = [f"`{line}`" for line in dict.fromkeys((*lines, *tight))] or ["all that is asked"]
    return f"{', '.join(most)} and {last} together" if most else last


def _off_middle(feed: Feed, shot: SolvedShot) -> tuple[Metres, str]:
    """How far, and to which side, from the middle of its whole zone a ball is meant to land; aside, where it may land
    at any depth."""
    depth, open_ = feed.depth, "depth" in feed.free
    along = None if depth is None else depth.aim if open_ or depth.alone else (depth.low + depth.high) / 2
    return _off(shot, (feed.side.low + feed.side.high) / 2, along)


def _off_aim(feed: Feed, shot: SolvedShot) -> tuple[Metres, str]:
    """The same from the middle of its part of a zone."""
    return _off(shot, feed.side.aim, feed.depth.aim if feed.depth else None)


def _off(shot: SolvedShot, x: float, y: float | None) -> tuple[Metres, str]:
    """How far from a place, and to which side as the player sees it, a ball is meant to land, or without y, on the
    full, to come beside it; of depth and side, the one that is farther."""
    flown = shot.predicted
    aside = (flown.contact if y is None or flown.landing is None else flown.landing)[0] - x
    along = flown.landing[1] - y if y is not None and flown.landing is not None else 0.0
    if abs(along) >= abs(aside):
        return Metres(abs(along)), "beyond" if along > 0 else "short of"
    return Metres(abs(aside)), f"to the {'left' if aside > 0 else 'right'} of"


def heights(program: Program, shots: Shots, schedule: Schedule | None, evaluation: Evaluation) -> list[Finding]:
    """Is the ball met about as high as asked, but for one in ten?"""
    found = []
    for name, scattering in evaluation.scatterings.items():
        feed = program.feeds[name]
        if not enough(scattering.at_height) and not feed.between:  # bound-often tells of its bounds
            asked = feed.value if feed.fixed_by is FixedBy.AT_PLAYER else feed.contact_height or 0.0
            seen, shot = program.seen_by(feed.player), shots.shots[name]
            head = seen.player.head_on(program.court.name)
            lob = feed.depth is None and max(asked - head, shot.predicted.peak - LOB_M) > 0
            told = BallName(name), Portion(scattering.at_height), Metres(asked), Metres(REACHED)
            person, lob = program.feeder.kind == "person", lob or feed.arc == "looped"
            at_eyes = _as_high_as(seen, "eye", feed, shot) if person and asked <= head else 0.0
            eyes = None if enough(1 - at_eyes) else Portion(at_eyes)
            child = seen.player.stature_on(program.court.name) < YOUNGEST_ADULT_STATURE
            kind = OrdinaryHeight if person and not (eyes and child) else HeightVaries
            message = kind(*told, lob, eyes)
            found.append(Finding(message, place(feed, "height")))
    return found


def _as_high_as(program: Program, part: str, feed: Feed, shot: SolvedShot) -> float:
    """What share of the balls comes as high as a part of the player's body, with the drag with which most do."""
    said = HeightBound(keyword("NO_HIGHER_THAN"), Name(named(part)))
    below = Bound(FixedBy.AT_PLAYER, -math.inf, part_of(program, part), text(said), said)
    (found,) = scatterings(program, [(replace(feed, bounds=(below,)), shot)], sample=False)
    return 1 - found.kept[FixedBy.AT_PLAYER][1]


def wider(program: Program, shots: Shots, found: list[Finding]) -> list[Finding]:
    """The findings, with zones that the feeder would hit."""
    few = [f.message.ball for f in found if isinstance(f.message, ZoneSmall) and f.severity is Severity.WARNING]
    mended = zone_remedies(program, list(few[:MOST_MENDED]))
    for feed in (program.feeds[name] for name in few[:MOST_MENDED]):
        if feed.placed_anew:
            mended[feed.name] = (*mended.get(feed.name, ()), *roomier(program, feed))
    return _with(found, (ZoneSmall,), mended)


def reply(program: Program, shots: Shots, schedule: Schedule | None, evaluation: Evaluation) -> list[Finding]:
    """Is there a reply that does what the variation asks, and is it good often enough?"""
    found = []
    for name, good in evaluation.replies.items():
        feed = program.feeds[name]
        variation = program.variations[feed.variation or ""]
        asked = variation.reply
        assert asked
        limit = program.seen_by(feed.player).player.reply_limit
        ball, ceiling = BallName(name), program.court.ceiling
        hint = None if ceiling is None else CeilingCounts(Metres(ceiling))
        also = (("the reply that is asked", asked.span),)
        stated = "slowest" if asked.pace is None else "pace"
        pace = asked.slowest if asked.pace is None else asked.pace
        if pace is not None and limit is not None and pace > limit:
            message = ReplyTooFast(ball, variation.name, Speed(pace), Speed(limit))
            found.append(Finding(message, asked.wishes[stated].span, hint=hint))
        elif good.share < SELDOM:
            none = ReplyNone(ball, variation.name) if good.share <= 0 else None
            seldom = ReplyUnlikely(ball, variation.name, Portion(good.share))
            found.append(Finding(none or seldom, place(feed), also, hint=hint))
    return found


def forgiving(program: Program, shots: Shots, found: list[Finding]) -> list[Finding]:
    """The findings, with replies that are good often enough."""
    seldom = [finding.message.ball for finding in found if isinstance(finding.message, ReplyNone | ReplyUnlikely)]
    remedies = reply_remedies(program, shots, list(seldom[:MOST_MENDED]), SELDOM)
    return _with(found, (ReplyNone, ReplyUnlikely), remedies)


def _with(
    found: list[Finding], kinds: tuple[type[OfBall], ...], mended: Mapping[str, tuple[Remedy, ...]]
) -> list[Finding]:
    """The findings; those of these kinds get the remedies of their ball."""
    return [replace(f, remedies=mended.get(f.message.ball, ())) if isinstance(f.message, kinds) else f for f in found]


def corridor(program: Program, shots: Shots, schedule: Schedule | None, evaluation: Evaluation) -> list[Finding]:
    """Does a reply pass the feeder too closely? A person who feeds in front of a player is cautioned once, by a warning
    where a reply is aimed at that person or close past, else by a note."""
    found, person = list[Finding](), program.feeder.kind == "person"
    for name, shot in shots.shots.items():
        asked, here = program.reply_to(program.feeds[name]), program.place_of(program.feeds[name])
        if asked is None or here.screen or (person and asked.x is None):
            continue
        distance = min(_distance(program, here, shot.predicted.contact, one, aimed=person) for one in asked.each)
        if distance < CORRIDOR_M:
            kind = FeederInTheWay if person else MachineInTheWay
            message = kind(BallName(name), Metres(distance), Metres(CORRIDOR_M))
            also = (("the reply that is asked", asked.span),)
            found.append(Finding(message, here.span, also, (appended(here.sentence, Screen()),)))
    if not person or (found and FeederInTheWay.code not in program.accepted):
        return found
    return [*found, *_unscreened(program, shots, schedule)]


def _unscreened(program: Program, shots: Shots, schedule: Schedule | None) -> list[Finding]:
    """Does a person feed in front of a player without a screen?"""
    found, played = {}, {name for block in schedule.blocks for name in block.feeds} if schedule else {*shots.shots}
    for name, shot in shots.shots.items():
        place = program.place_of(program.feeds[name])
        if name in played and not place.screen and shot.predicted.contact[1] > place.y:
            other = "across the net from the player"
            where = "on the player's side, in front of the player" if place.players_side else other
            screen = appended(place.sentence, Screen())
            found[place.span] = Finding(NoScreen(where), place.span, remedies=(screen,))
    return [*found.values()]


def _distance(
    program: Program, place: FeederPlace, contact: tuple[float, float, float], asked: Reply, aimed: bool
) -> float:
    """The shortest distance, m, from the feeder to a line of reply: from the contact to any point of the target, or
    where it is `aimed`, to those halfway between its sides."""
    court = program.court
    xs = (asked.x.low, asked.x.high) if asked.x else (-court.half_width, court.half_width)
    ys = (asked.y.low, asked.y.high) if asked.y else (-court.half_length, 0.0)
    if aimed:
        xs = ((xs[0] + xs[1]) / 2,) * 2
    here = np.array([place.x, place.y])
    start = np.array(contact[:2])
    # Straight lines to a grid of the target's points: fine enough for a figure of two metres.
    targets = np.stack(np.meshgrid(np.linspace(*xs, 13), np.linspace(*ys, 13)), axis=-1).reshape(-1, 2)
    ways = targets - start
    share = np.clip(((here - start) * ways).sum(axis=1) / (ways**2).sum(axis=1), 0, 1)
    return float(np.hypot(*(start + share[:, None] * ways - here).T).min())
