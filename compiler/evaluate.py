"""Shots -> Evaluation: what share of each ball will land in its zone, and how many of the replies to it are good."""

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from ..grammar.frozen import replace
from ..grammar.units import DEG, KMH, RPM
from .conditions import conditions_of
from .kept import Kept, each
from .model.enough import HALF, MOST, enough, enough_in_zone
from .model.evaluation import DriveWindow, Evaluation, GoodReplies, Scattering
from .model.program import SCATTERED, Feed, FixedBy, Program, Range, Reply
from .model.shots import Shots, SolvedShot
from .nearer import across
from .physics.air import Air
from .physics.arcs import estimated_shares
from .physics.ball import Ball
from .physics.fans import Fans, fans
from .physics.flight import Array, Index
from .physics.outcome import Conditions, Release
from .physics.reply import Replies, windows
from .physics.spread import Bars, Landings, Scatter, ZoneEdges, linear, sampled
from .physics.strokes import best_aims
from .physics.struck import StrokeScatter
from .progress import ESTIMATING, REPLYING, SAMPLING, SILENT, Progress

T = TypeVar("T")
Asked = tuple[tuple[float, float, float], Reply]
"""A point of contact, and the reply from there."""
TOGETHER = 500  # replies looked at as one batch: overhead is small, and so is the memory
FASTEST_REPLY = 160 * KMH
"""Where neither reply nor player says a pace: beyond a hard rally stroke, common practice, no source."""
REACHED = 0.35
"""Height above and below the asked one within which a ball counts as met where it was meant, about from hip to chest.
Own choice."""
STEP = 0.5
"""A player who stands where the ball is so high moves so far, m, along the court to one that comes longer or shorter.
Common practice, no source."""
_SCATTERINGS: Kept[Scattering] = Kept()
_REPLIES: Kept[GoodReplies] = Kept()
_FANS: Kept[Fans] = Kept(24)  # some half a megabyte each
_WINDOWS: Kept[tuple[DriveWindow, bool]] = Kept()
"""By the same as the replies, of those with a pace: the window, and whether any elevation will do."""


def evaluate(program: Program, shots: Shots, sample: bool, progress: Progress = SILENT) -> Evaluation:
    """For every shot its scatter, from a sample of flights or from first derivatives, and the share of good replies."""
    if not shots.shots:
        return Evaluation({}, {})
    names, good = list(shots.shots), dict[str, GoodReplies]()
    for mine, player, asked in _by_player(program, shots):
        good |= zip(mine, good_replies(program.seen_by(player), asked, progress), strict=True)
    pairs = [(program.feeds[name], shots.shots[name]) for name in names]
    return Evaluation(
        dict(zip(names, scatterings(program, pairs, sample, progress), strict=True)),
        {name: good[name] for name in names if name in good},
    )


def with_windows(program: Program, shots: Shots, evaluation: Evaluation) -> Evaluation:
    """The same with the windows of replies that state a pace, which a plan has and no finding asks for."""
    replies = dict(evaluation.replies)
    for mine, player, asked in _by_player(program, shots):
        for name, window in zip(mine, drive_windows(program.seen_by(player), asked), strict=True):
            if window and replies[name].share > 0:
                replies[name] = replace(replies[name], window=window)
    return replace(evaluation, replies=replies)


def _by_player(program: Program, shots: Shots) -> Iterator[tuple[list[str], str, list[Asked]]]:
    """The balls to whose variation a reply belongs, those of each player, with their contacts and replies."""
    replies = [(name, reply) for name in shots.shots if (reply := program.reply_to(program.feeds[name]))]
    for player in dict.fromkeys(program.feeds[name].player for name, _ in replies):
        mine = [(name, reply) for name, reply in replies if program.feeds[name].player == player]
        yield (
            [name for name, _ in mine],
            player,
            [(shots.shots[name].predicted.contact, reply) for name, reply in mine],
        )


def release_of(shots: Sequence[SolvedShot]) -> Release:
    """The launches of shots."""
    origin = np.array([shot.origin for shot in shots]).T
    axes = ("speed", "elevation", "azimuth", "topspin", "sidespin")
    return Release(origin, *(np.array([getattr(shot, axis) for shot in shots]) for axis in axes))


def scatterings(
    program: Program, pairs: list[tuple[Feed, SolvedShot]], sample: bool, progress: Progress = SILENT
) -> Iterable[Scattering]:
    """How each shot scatters, and what share of it lands in its feed's zone and passes the net."""
    if not pairs:
        return
    release = release_of([shot for _, shot in pairs])
    stance = np.array([feed.stance for feed, _ in pairs])
    full = np.array([feed.depth is None for feed, _ in pairs])
    edges = np.array([_zone(program, feed) for feed, _ in pairs]).T
    limits = np.array([_limits(feed, shot) for feed, shot in pairs]).transpose(1, 2, 0)
    bars = Bars(limits[0], limits[1], np.array([STEP if feed.follows else 0.0 for feed, _ in pairs]))
    launch_of = [*release.origin, release.speed, release.elevation, release.azimuth, release.topspin, release.sidespin]
    repeatability = program.feeder.repeatability
    scatter = Scatter(
        repeatability.speed_percent / 100, repeatability.elevation_deg * DEG, repeatability.azimuth_deg * DEG,
        *(turn * RPM for turn in program.feeder.spin_scatter_rpm),
    )  # fmt: skip
    conditions, work = conditions_of(program), (SAMPLING if sample else ESTIMATING) * len(pairs)

    def worked_out(some: Index) -> Iterator[Scattering]:
        def flown(shots: int) -> None:
            progress.done(work * shots / len(some))

        balls = (
            release.at(some),
            stance[some],
            full[some],
            conditions,
            scatter,
            ZoneEdges(*edges[:, some]),
            bars.at(some),
        )
        if sample:
            found = sampled(*balls, seed=program.seed, flown=flown)
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
                float(found.share_at_side[i]), float(found.share_at_height[i]),
                (_height(found, 0, i), _height(found, 1, i)), _kept(found, bars.asked[:, some[i]], i),
            )  # fmt: skip

    columns = np.array([*launch_of, stance, full, *edges, *limits[0], *limits[1], bars.step], float)
    key = f"{conditions.key} {scatter} {sample and program.seed}"
    found, fresh = each(_SCATTERINGS, key, columns, worked_out)
    if not fresh:
        progress.done(work)
    yield from found


def _limits(feed: Feed, shot: SolvedShot) -> tuple[list[float], list[float]]:
    """What a ball of the feed may be at least and at most of each of `SCATTERED`, SI; of the way, where it is met."""
    if not feed.bounds:
        return [-math.inf] * len(SCATTERED), [math.inf] * len(SCATTERED)
    mine = [[bound for bound in feed.bounded if bound.what is what] for what in SCATTERED]
    low = [max((bound.low for bound in some), default=-math.inf) for some in mine]
    high = [min((bound.high for bound in some), default=math.inf) for some in mine]
    if feed.wait and feed.ways:
        k = SCATTERED.index(FixedBy.WAY)
        low[k], high[k], able = across(feed.wait, feed.ways, shot.predicted.contact[:2])
        high[k] = high[k] if able else low[k]
    return low, high


def _kept(found: Landings, asked: NDArray[np.bool_], i: int) -> dict[FixedBy, tuple[float, float]]:
    return {
        what: (float(found.share_within[k, i]), float(found.share_within_least[k, i]))
        for k, what in enumerate(SCATTERED)
        if asked[k]
    }


def lands(found: Scattering, full: bool) -> bool:
    """Whether enough of the balls that pass the net land in the zone, or on the full come to its side."""
    if full:
        return enough(found.at_side)
    return enough_in_zone(found.in_zone, found.in_zone_band[0], found.over_net)


def keeps_bounds(found: Scattering, most: float = MOST) -> bool:
    """Whether enough of the balls keep each bound, and half of them with whatever drag."""
    return all(enough(share, most) and least >= HALF for share, least in found.kept.values())


def _place(found: Landings, end: int, i: int) -> tuple[float, float] | None:
    x, y = (float(value) for value in found.ends[:, end, i])
    return (x, y) if math.isfinite(x) and math.isfinite(y) else None


def _height(found: Landings, end: int, i: int) -> float | None:
    height = float(found.heights_at_ends[end, i])
    return height if height > 0 else None  # under the ground it has bounced once more, or is not met


def _zone(program: Program, feed: Feed) -> tuple[float, ...]:
    """Where the ball counts: its zone, no farther than its footprint still touches the lines; and the heights of the
    contact that do."""
    met = heights_met(feed)
    heights = met.low, met.high
    if feed.depth is None:
        return feed.side.low, feed.side.high, *heights, *heights
    radius, court = program.ball.radius_m, program.court
    return (
        max(feed.side.low, -court.half_width - radius),
        min(feed.side.high, court.half_width + radius),
        feed.depth.low,
        min(feed.depth.high, court.half_length + radius),
        *heights,
    )


def heights_met(feed: Feed) -> Range:
    """The heights of the contact at which a ball counts as met where it was meant."""
    if feed.between:
        return feed.between
    height = feed.value if feed.fixed_by is FixedBy.AT_PLAYER else feed.contact_height or math.nan
    return Range(height - REACHED, height + REACHED, height)


def good_replies(program: Program, asked: list[Asked], progress: Progress = SILENT) -> list[GoodReplies]:
    """Of each reply from each point of contact, how many are good."""
    if not asked:
        return []
    lanes, scatter, conditions = _lanes(program, _apart(asked)), _strokes(program), conditions_of(program)
    sizes = program.court.half_width, program.court.half_length

    def worked_out(some: Index) -> Iterator[GoodReplies]:
        for start in range(0, len(some), TOGETHER):
            few = lanes.at(some[start : start + TOGETHER])
            yield from _good(few, scatter, sizes, conditions)
            progress.done(REPLYING * len(asked) * len(few.pace) / len(some))

    told, fresh = each(_REPLIES, f"{conditions.key} {sizes} {scatter}", np.vstack(lanes.values()), worked_out)
    if not fresh:
        progress.done(REPLYING * len(asked))
    return _best(asked, told, lambda one: one.share)


def _apart(asked: list[Asked]) -> list[Asked]:
    """Each place of the replies by itself: a player aims at one of them."""
    return [(contact, one) for contact, reply in asked for one in reply.each]


def _best(asked: list[Asked], told: Iterable[T], worth: Callable[[T], Any]) -> list[T]:
    """Of each reply what came of the best of its places."""
    each_ = iter(told)
    return [max((next(each_) for _ in reply.each), key=worth) for _, reply in asked]


def _good(
    lanes: Replies, scatter: StrokeScatter, sizes: tuple[float, float], conditions: Conditions
) -> Iterator[GoodReplies]:
    found = best_aims(lanes, scatter, *sizes, conditions, _fans)
    for i in range(len(lanes.pace)):
        share = float(found.share[i])
        aim = float(found.pace[i]), float(found.elevation[i]), float(found.azimuth[i])
        yield GoodReplies(share, *aim) if share > 0 else GoodReplies(0.0)


def _fans(topspin: Array, sidespin: Array, azimuth: Array, count: int, ball: Ball, air: Air) -> Fans:
    """Those of strokes, found again where they were flown before."""

    def worked_out(some: Index) -> Iterator[Fans]:
        yield from fans(topspin[some], sidespin[some], azimuth[some], count, ball, air).apart()

    told, _ = each(_FANS, repr((count, ball, air)), np.stack([topspin, sidespin, azimuth]), worked_out)
    return Fans.together(told)


def drive_windows(program: Program, asked: list[Asked]) -> list[DriveWindow | None]:
    """Of each reply from each point of contact its window; None without a pace, and where no elevation will do."""
    found: list[DriveWindow | None] = [None] * len(asked)
    stated = [i for i, (_, reply) in enumerate(asked) if reply.pace is not None]
    if not stated:
        return found
    mine = [asked[i] for i in stated]
    lanes, conditions = _lanes(program, _apart(mine)), conditions_of(program)
    sizes = program.court.half_width, program.court.half_length

    def worked_out(some: Index) -> Iterator[tuple[DriveWindow, bool]]:
        drives = windows(lanes.at(some), *sizes, conditions)
        for low, high, side, total in zip(drives.low, drives.high, drives.direction, drives.total, strict=True):
            yield DriveWindow(float(low), float(high), float(side)), bool(total > 0)

    told, _ = each(_WINDOWS, f"{conditions.key} {sizes}", np.vstack(lanes.values()), worked_out)
    widest = _best(mine, told, lambda one: (one[1], one[0].high - one[0].low))
    for i, (window, some) in zip(stated, widest, strict=True):
        found[i] = window if some else None
    return found


def likely_replies(program: Program, asked: list[Asked]) -> list[float]:
    """About the shares of `good_replies`, in a small part of the time."""
    if not asked:
        return []
    sizes = program.court.half_width, program.court.half_length
    lanes = _lanes(program, _apart(asked))
    shares = estimated_shares(lanes, _strokes(program), *sizes, conditions_of(program), _fans).tolist()
    return _best(asked, shares, lambda share: share)


def _strokes(program: Program) -> StrokeScatter:
    scatter = program.player.scatter
    return StrokeScatter(scatter.pace, scatter.angle, scatter.direction)


def _lanes(program: Program, asked: list[Asked]) -> Replies:
    def edge(range_: Range | None, name: str) -> float:
        return math.nan if range_ is None else float(getattr(range_, name))

    limit = program.player.reply_limit or FASTEST_REPLY
    return Replies(
        contact=np.array([contact for contact, _ in asked]).T,
        topspin=np.array([reply.topspin or 0.0 for _, reply in asked]),
        sidespin=np.array([reply.sidespin or 0.0 for _, reply in asked]),
        pace=np.array([math.nan if reply.pace is None else reply.pace for _, reply in asked]),
        limit=np.minimum(limit, [math.inf if reply.fastest is None else reply.fastest for _, reply in asked]),
        x_low=np.array([edge(reply.x, "low") for _, reply in asked]),
        x_high=np.array([edge(reply.x, "high") for _, reply in asked]),
        y_low=np.array([edge(reply.y, "low") for _, reply in asked]),
        y_high=np.array([edge(reply.y, "high") for _, reply in asked]),
        over_net=np.array([reply.over_net or 0.0 for _, reply in asked]),
        under=np.array([math.inf if reply.under is None else reply.under for _, reply in asked]),
        slowest=np.array([reply.slowest or 0.0 for _, reply in asked]),
    )
