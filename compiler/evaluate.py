"""Shots -> Evaluation: what share of each ball lands in its zone, and how many of the replies to it are good."""

import math
from collections.abc import Iterable
from dataclasses import fields

import numpy as np

from ..grammar.units import DEG, KMH, RPM
from .model.evaluation import DriveWindow, Evaluation, GoodReplies, Scattering
from .model.program import Feed, Program, Range, Reply
from .model.shots import Shots, SolvedShot
from .physics.outcome import Release
from .physics.reply import Replies, windows
from .physics.spread import Scatter, ZoneEdges, linear, sampled
from .physics.strokes import StrokeScatter, best_aims, estimated_shares
from .progress import ESTIMATING, REPLYING, SAMPLING, SILENT, Progress
from .solve import alike, conditions_of

SAMPLE = 2000  # flights a shot
TOGETHER = 500  # replies looked at as one batch: overhead is small, and so is the memory
FASTEST_REPLY = 160 * KMH
"""Where neither reply nor player says a pace: beyond a hard rally stroke, common practice, no source."""
REACHED = 0.35
"""On the full, height above and below the asked one within which a ball counts as where it was meant. Own choice."""


def evaluate(program: Program, shots: Shots, sample: bool, progress: Progress = SILENT) -> Evaluation:
    """For every shot its scatter, from a sample of flights or from first derivatives, and the share of good replies."""
    if not shots.shots:
        return Evaluation({}, {})
    names = list(shots.shots)
    replies = [
        (name, reply)
        for name in names
        if (variation := program.variations.get(program.feeds[name].variation or "")) and (reply := variation.reply)
    ]
    found = good_replies(program, [(shots.shots[name].predicted.contact, reply) for name, reply in replies], progress)
    pairs = [(program.feeds[name], shots.shots[name]) for name in names]
    return Evaluation(
        dict(zip(names, scatterings(program, pairs, sample, progress), strict=True)),
        {name: good for (name, _), good in zip(replies, found, strict=True)},
    )


def scatterings(
    program: Program, pairs: list[tuple[Feed, SolvedShot]], sample: bool, progress: Progress = SILENT
) -> Iterable[Scattering]:
    """How each shot scatters, and what share of it lands in its feed's zone and passes the net."""
    if not pairs:
        return
    release = Release(
        np.array([shot.origin for _, shot in pairs]).T,
        *(np.array([getattr(shot, axis) for _, shot in pairs])
          for axis in ("speed", "elevation", "azimuth", "topspin", "sidespin")),
    )  # fmt: skip
    stance = np.array([feed.stance for feed, _ in pairs])
    full = np.array([feed.depth is None for feed, _ in pairs])
    edges = np.array([_zone(program, feed) for feed, _ in pairs]).T
    release_of = [*release.origin, release.speed, release.elevation, release.azimuth, release.topspin, release.sidespin]
    first, which = alike(np.array([*release_of, stance, full, *edges], float))  # feeds that are the same fly once
    release, stance, full, zone = release.at(first), stance[first], full[first], ZoneEdges(*edges[:, first])
    spread = program.feeder.repeatability
    scatter = Scatter(
        spread.speed_percent / 100, spread.elevation_deg * DEG, spread.azimuth_deg * DEG, spread.spin_rpm * RPM,
        spread.spin_rpm * RPM if program.feeder.sidespin else 0.0,
    )  # fmt: skip
    conditions = conditions_of(program)
    each = (SAMPLING if sample else ESTIMATING) * len(pairs) / len(first)

    def flown(shots: int) -> None:
        progress.done(each * shots)

    if sample:
        found = sampled(
            release, stance, full, conditions, scatter, zone, flights=SAMPLE, seed=program.seed, flown=flown
        )
    else:
        found = linear(release, stance, full, conditions, scatter, zone)
        flown(len(first))
    axes = found.semi_axes
    for i in which:
        yield Scattering(
            float(found.share_in_zone[i]), float(found.share_over_net[i]),
            (float(axes[0, i]), float(axes[1, i])), float(found.angle[i]),
        )  # fmt: skip


def _zone(program: Program, feed: Feed) -> tuple[float, float, float, float]:
    """Where the ball counts: its zone, no farther than its footprint still touches the lines."""
    if feed.depth is None:
        height = feed.contact_height or 0.0
        return feed.side.low, feed.side.high, height - REACHED, height + REACHED
    radius, court = program.ball.radius_m, program.court
    return (
        max(feed.side.low, -court.half_width - radius),
        min(feed.side.high, court.half_width + radius),
        feed.depth.low,
        min(feed.depth.high, court.half_length + radius),
    )


def good_replies(
    program: Program, asked: list[tuple[tuple[float, float, float], Reply]], progress: Progress = SILENT
) -> list[GoodReplies]:
    """Of each reply from each point of contact, how many are good; and its window, if it states a pace."""
    if not asked:
        return []
    lanes, scatter, sizes = (
        _lanes(program, asked),
        _strokes(program),
        (program.court.half_width, program.court.half_length),
    )
    first, which = alike(np.vstack([getattr(lanes, field.name) for field in fields(lanes)]))
    told: list[GoodReplies] = []
    for start in range(0, len(first), TOGETHER):
        some = lanes.at(first[start : start + TOGETHER])
        found = best_aims(some, scatter, *sizes, conditions_of(program))
        stated = np.flatnonzero(~np.isnan(some.pace))
        drives = windows(some.at(stated), *sizes, conditions_of(program))
        at = {int(lane): DriveWindow(*map(float, (drives.low[i], drives.high[i], drives.direction[i])))
              for i, lane in enumerate(stated) if drives.total[i] > 0}  # fmt: skip
        for i in range(len(some.pace)):
            share, pace = float(found.share[i]), float(found.pace[i])
            elevation, azimuth = float(found.elevation[i]), float(found.azimuth[i])
            told.append(GoodReplies(share, pace, elevation, azimuth, at.get(i)) if share > 0 else GoodReplies(0.0))
        progress.done(REPLYING * len(asked) * len(some.pace) / len(first))
    return [told[i] for i in which]


def likely_replies(program: Program, asked: list[tuple[tuple[float, float, float], Reply]]) -> list[float]:
    """About the shares of `good_replies`, in a small part of the time."""
    if not asked:
        return []
    sizes = program.court.half_width, program.court.half_length
    return estimated_shares(_lanes(program, asked), _strokes(program), *sizes, conditions_of(program)).tolist()


def _strokes(program: Program) -> StrokeScatter:
    scatter = program.player.scatter
    return StrokeScatter(scatter.pace, scatter.angle, scatter.direction)


def _lanes(program: Program, asked: list[tuple[tuple[float, float, float], Reply]]) -> Replies:
    def edge(range_: Range | None, name: str) -> float:
        return math.nan if range_ is None else float(getattr(range_, name))

    return Replies(
        contact=np.array([contact for contact, _ in asked]).T,
        topspin=np.array([reply.topspin or 0.0 for _, reply in asked]),
        sidespin=np.array([reply.sidespin or 0.0 for _, reply in asked]),
        pace=np.array([math.nan if reply.pace is None else reply.pace for _, reply in asked]),
        limit=np.full(len(asked), program.player.reply_limit or FASTEST_REPLY),
        x_low=np.array([edge(reply.x, "low") for _, reply in asked]),
        x_high=np.array([edge(reply.x, "high") for _, reply in asked]),
        y_low=np.array([edge(reply.y, "low") for _, reply in asked]),
        y_high=np.array([edge(reply.y, "high") for _, reply in asked]),
        over_net=np.array([reply.over_net or 0.0 for _, reply in asked]),
    )
