"""Shots -> Evaluation: what share of each ball will land in its zone, and the margin for error of the reply to it."""

import math
from collections.abc import Iterable, Iterator

import numpy as np

from ..grammar.units import DEG, KMH, RPM
from .kept import Kept, each
from .model.evaluation import Evaluation, Scattering, Window
from .model.program import Feed, Program, Range, Reply
from .model.shots import Shots, SolvedShot
from .physics.flight import Index
from .physics.outcome import Release
from .physics.reply import Replies, Windows, windows
from .physics.spread import Landings, Scatter, ZoneEdges, linear, sampled
from .progress import ESTIMATING, REPLYING, SAMPLING, SILENT, Progress
from .solve import conditions_of

SAMPLE = 2000  # flights a shot
TOGETHER = 500  # replies looked at as one batch: overhead is small, and so is the memory
FASTEST_REPLY = 160 * KMH
"""Where neither reply nor player says a pace: beyond a hard rally stroke, common practice, no source."""
REACHED = 0.35
"""On the full, height above and below the asked one within which a ball counts as where it was meant. Own choice."""
_SCATTERINGS: Kept[Scattering] = Kept()
_WINDOWS: Kept[Window] = Kept()


def evaluate(program: Program, shots: Shots, sample: bool, progress: Progress = SILENT) -> Evaluation:
    """For every shot its scatter, from a sample of flights or from first derivatives, and its reply's window."""
    if not shots.shots:
        return Evaluation({}, {})
    names = list(shots.shots)
    replies = [
        (name, reply)
        for name in names
        if (variation := program.variations.get(program.feeds[name].variation or "")) and (reply := variation.reply)
    ]
    found = reply_windows(program, [(shots.shots[name].predicted.contact, reply) for name, reply in replies], progress)
    pairs = [(program.feeds[name], shots.shots[name]) for name in names]
    return Evaluation(
        dict(zip(names, scatterings(program, pairs, sample, progress), strict=True)),
        {name: window for (name, _), window in zip(replies, found, strict=True)},
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
    repeatability = program.feeder.repeatability
    scatter = Scatter(
        repeatability.speed_percent / 100, repeatability.elevation_deg * DEG, repeatability.azimuth_deg * DEG,
        repeatability.spin_rpm * RPM, repeatability.spin_rpm * RPM if program.feeder.sidespin else 0.0,
    )  # fmt: skip
    conditions, work = conditions_of(program), (SAMPLING if sample else ESTIMATING) * len(pairs)

    def worked_out(some: Index) -> Iterator[Scattering]:
        def flown(shots: int) -> None:
            progress.done(work * shots / len(some))

        balls = release.at(some), stance[some], full[some], conditions, scatter, ZoneEdges(*edges[:, some])
        if sample:
            found = sampled(*balls, flights=SAMPLE, seed=program.seed, flown=flown)
        else:
            found = linear(*balls)
            flown(len(some))
        axes = found.semi_axes
        shares = np.concatenate([found.share_in_zone[None], found.share_at_ends])
        for i in range(len(some)):
            yield Scattering(
                float(found.share_in_zone[i]), float(found.share_over_net[i]),
                (float(axes[0, i]), float(axes[1, i])), float(found.angle[i]),
                (float(shares[:, i].min()), float(shares[:, i].max())), (_place(found, 0, i), _place(found, 1, i)),
            )  # fmt: skip

    columns = np.array([*release_of, stance, full, *edges], float)
    found, fresh = each(_SCATTERINGS, repr((conditions, scatter, sample and program.seed)), columns, worked_out)
    if not fresh:
        progress.done(work)
    yield from found


def _place(found: Landings, end: int, i: int) -> tuple[float, float] | None:
    x, y = (float(value) for value in found.ends[:, end, i])
    return (x, y) if math.isfinite(x) and math.isfinite(y) else None


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


def reply_windows(
    program: Program, asked: list[tuple[tuple[float, float, float], Reply]], progress: Progress = SILENT
) -> list[Window]:
    """The window of each reply from each point of contact."""
    if not asked:
        return []
    limit = program.player.reply_limit or FASTEST_REPLY

    def edge(range_: Range | None, name: str) -> float:
        return math.nan if range_ is None else float(getattr(range_, name))

    lanes = Replies(
        contact=np.array([contact for contact, _ in asked]).T,
        topspin=np.array([reply.topspin or 0.0 for _, reply in asked]),
        sidespin=np.array([reply.sidespin or 0.0 for _, reply in asked]),
        pace=np.array([math.nan if reply.pace is None else reply.pace for _, reply in asked]),
        limit=np.full(len(asked), limit),
        x_low=np.array([edge(reply.x, "low") for _, reply in asked]),
        x_high=np.array([edge(reply.x, "high") for _, reply in asked]),
        y_low=np.array([edge(reply.y, "low") for _, reply in asked]),
        y_high=np.array([edge(reply.y, "high") for _, reply in asked]),
        over_net=np.array([reply.over_net or 0.0 for _, reply in asked]),
    )
    court, conditions = program.court, conditions_of(program)

    def worked_out(some: Index) -> Iterator[Window]:
        for start in range(0, len(some), TOGETHER):
            few = some[start : start + TOGETHER]
            found = windows(lanes.at(few), court.half_width, court.half_length, conditions)
            progress.done(REPLYING * len(asked) * len(few) / len(some))
            yield from (_window(found, i) for i in range(len(few)))

    sizes = conditions, court.half_width, court.half_length
    told, fresh = each(_WINDOWS, repr(sizes), np.vstack(lanes.values()), worked_out)
    if not fresh:
        progress.done(REPLYING * len(asked))
    return told


def _window(found: Windows, i: int) -> Window:
    width = float(found.vertical[i])
    if width <= 0:
        return Window(0.0, None, None, None, float(found.azimuth[i]), 0.0)
    return Window(
        width, float(found.pace[i]), float(found.low[i]), float(found.high[i]), float(found.azimuth[i]),
        float(found.direction[i]),
    )  # fmt: skip
