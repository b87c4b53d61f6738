"""Whether the feeder will really hit its zone, whether the reply exists, and whether the player can get there."""

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from ...grammar.edits import Remedy, appended
from ...grammar.facts import BallName, Metres, Portion, Seconds, Speed
from ...grammar.finding import Finding, OfBall
from ...grammar.syntax import Screen
from ..findings.practice import (
    CeilingCounts,
    FarToRun,
    FeederInTheWay,
    MachineInTheWay,
    NoTimeToSee,
    ReplyNone,
    ReplyTooFast,
    ReplyUnlikely,
    ZoneSmall,
)
from ..model.evaluation import Evaluation
from ..model.program import Program, Reply
from ..model.schedule import Schedule
from ..model.shots import Shots
from ..remedy_reply import reply_remedies
from ..remedy_zone import zone_remedies
from .ball import place

HALF = 0.5
SELDOM = 0.1
"""A reply that is good more seldom is no practice. Common practice, no source: a miss every third ball asks for an
easier ball already."""
RECOGNISED_S = 0.38
"""Recognition reaction time: D. Laming, Information Theory of Choice-Reaction Times (1968), as quoted in reviews."""
RUN_M = 3.0
"""Run in one stroke: about 3 m, four strokes in five within 2.5 m of the ready position (Fernandez, Mendez-Villanueva
& Pluim, Br. J. Sports Med. 40, 387 (2006))."""
RUN_MPS = 2.5  # mean speed over a run with start and stop: common practice, no source
MOST_MENDED = 6
CORRIDOR_M = 2.0
"""A reply that passes the feeder closer than this needs a screen. Own choice."""


def spread(program: Program, shots: Shots, schedule: Schedule | None, evaluation: Evaluation) -> list[Finding]:
    """Does the feeder hit its zone at least every other time?"""
    found = []
    for name, scattering in evaluation.scatterings.items():
        if scattering.in_zone < HALF:
            feed = program.feeds[name]
            wide, narrow = scattering.half_axes
            shares = Portion(scattering.in_zone), Portion(scattering.over_net)
            message = ZoneSmall(BallName(name), shares[0], Metres(wide), Metres(narrow), shares[1])
            found.append(Finding(message, place(feed, "depth", "into", "side")))
    return found


def wider(program: Program, shots: Shots, found: list[Finding]) -> list[Finding]:
    """With zones that the feeder would hit."""
    few = [finding.message.ball for finding in found if isinstance(finding.message, ZoneSmall)]
    return _with(found, (ZoneSmall,), zone_remedies(program, list(few[:MOST_MENDED]), HALF))


def reply(program: Program, shots: Shots, schedule: Schedule | None, evaluation: Evaluation) -> list[Finding]:
    """Is there a reply that does what the variation asks, and is it good often enough?"""
    found = []
    for name, good in evaluation.replies.items():
        feed = program.feeds[name]
        variation = program.variations[feed.variation or ""]
        asked = variation.reply
        assert asked
        limit = program.player.reply_limit
        ball, ceiling = BallName(name), program.court.ceiling
        hint = None if ceiling is None else CeilingCounts(Metres(ceiling))
        also = (("the reply that is asked", asked.span),)
        if asked.pace is not None and limit is not None and asked.pace > limit:
            message = ReplyTooFast(ball, variation.name, Speed(asked.pace), Speed(limit))
            found.append(Finding(message, asked.wishes["pace"].span, hint=hint))
        elif good.share < SELDOM:
            none = ReplyNone(ball, variation.name) if good.share <= 0 else None
            seldom = ReplyUnlikely(ball, variation.name, Portion(good.share))
            found.append(Finding(none or seldom, place(feed), also, hint=hint))
    return found


def forgiving(program: Program, shots: Shots, found: list[Finding]) -> list[Finding]:
    """With replies that would do."""
    seldom = [finding.message.ball for finding in found if isinstance(finding.message, ReplyNone | ReplyUnlikely)]
    remedies = reply_remedies(program, shots, list(seldom[:MOST_MENDED]), SELDOM)
    return _with(found, (ReplyNone, ReplyUnlikely), remedies)


def _with(
    found: list[Finding], kinds: tuple[type[OfBall], ...], mended: Mapping[str, tuple[Remedy, ...]]
) -> list[Finding]:
    """The findings, those of some kinds with what mends their ball."""
    return [replace(f, remedies=mended.get(f.message.ball, ())) if isinstance(f.message, kinds) else f for f in found]


def reaction(program: Program, shots: Shots, schedule: Schedule | None, evaluation: Evaluation) -> list[Finding]:
    """Is there time to see what comes?"""
    return [
        Finding(
            NoTimeToSee(BallName(name), Seconds(shot.predicted.contact_time), Seconds(RECOGNISED_S)),
            place(program.feeds[name], "stance"),
        )
        for name, shot in shots.shots.items()
        if shot.predicted.contact_time < RECOGNISED_S
    ]


def running(program: Program, shots: Shots, schedule: Schedule | None, evaluation: Evaluation) -> list[Finding]:
    """Can one player get from each ball to the next, by way of the middle, in the time between the contacts?"""
    if schedule is None or shots.misses or schedule.balls < 2 or program.player.in_line > 1:
        return []
    flown = [shots.shots[name].predicted for name in schedule.feeds]
    contact = np.array([p.contact_time for p in flown])
    x = np.array([_body(program, p.contact[0]) for p in flown])
    first, then = schedule.feed[:-1], schedule.feed[1:]
    time = np.diff(schedule.at) + contact[then] - contact[first]
    # The ready position is on the centre, as deep as the ball before was met.
    back, out = np.abs(x[first]), np.abs(x[then])
    along = np.abs(np.array([p.contact[1] for p in flown])[then] - np.array([p.contact[1] for p in flown])[first])
    way = back + np.hypot(out, along)
    late = np.flatnonzero((way > RUN_M) & (way > RUN_MPS * time) & (first != then))
    found, seen = [], set()
    for i in late:
        pair = (int(first[i]), int(then[i]))
        if pair not in seen:
            seen.add(pair)
            before, after = (schedule.feeds[k] for k in pair)
            message = FarToRun(BallName(before), BallName(after), Metres(way[i]), Seconds(time[i]))
            block = schedule.blocks[schedule.block[i + 1]].span
            feed = program.feeds[after]
            found.append(Finding(message, place(feed, "interval"), (("in this block", block),)))
    return found


def _body(program: Program, x: float) -> float:
    """Where the body stands beside the ball: a right-hander's forehand has the body on the ball's left, which is +x.
    The stroke is the one on whose side of the middle the ball is met."""
    forehand = x * program.player.forehand_x > 0
    return x - program.player.reach * program.player.forehand_x * (1 if forehand else -1)


def corridor(program: Program, shots: Shots, schedule: Schedule | None, evaluation: Evaluation) -> list[Finding]:
    """Does a reply pass the feeder too closely?"""
    if program.place.screen:
        return []
    found = []
    for name, shot in shots.shots.items():
        variation = program.variations.get(program.feeds[name].variation or "")
        if variation is None or variation.reply is None:
            continue
        distance = _distance(program, shot.predicted.contact, variation.reply)
        if distance < CORRIDOR_M:
            kind = FeederInTheWay if program.feeder.kind == "person" else MachineInTheWay
            message = kind(BallName(name), Metres(distance), Metres(CORRIDOR_M))
            also = (("the reply that is asked", variation.reply.span),)
            screen = appended(program.place.sentence, Screen())
            found.append(Finding(message, program.place.span, also, (screen,)))
    return found


def _distance(program: Program, contact: tuple[float, float, float], asked: Reply) -> float:
    """From the feeder's place to the ground that replies cover: from the contact to any point of the target."""
    court = program.court
    xs = (asked.x.low, asked.x.high) if asked.x else (-court.half_width, court.half_width)
    ys = (asked.y.low, asked.y.high) if asked.y else (-court.half_length, 0.0)
    here = np.array([program.place.x, program.place.y])
    start = np.array(contact[:2])
    # Straight lines to a grid of the target's points: fine enough for a figure of two metres.
    targets = np.stack(np.meshgrid(np.linspace(*xs, 13), np.linspace(*ys, 13)), axis=-1).reshape(-1, 2)
    ways = targets - start
    share = np.clip(((here - start) * ways).sum(axis=1) / (ways**2).sum(axis=1), 0, 1)
    return float(np.hypot(*(start + share[:, None] * ways - here).T).min())
