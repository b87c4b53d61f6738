"""One shot of a plan, with all that is known of its ball; found again while nothing of that changes. It rounds: metres
and seconds to 0.1 mm and 0.1 ms, angles to 1e-4 degrees."""

from collections.abc import Iterator, Mapping
from math import isinf

from ..grammar.finding import Finding
from ..grammar.units import DEG, RPM, from_si
from .evaluate import heights_met
from .kept import Kept, exactly, latest
from .model import plan as doc
from .model.court import Court
from .model.evaluation import Evaluation, GoodReplies, Scattering
from .model.feeder import Feeder
from .model.program import Feed, FixedBy, Program, Range, Reply
from .model.shots import SolvedShot
from .model.way import gone

BOUND_WORDS = {
    FixedBy.OVER_NET: ("height over net", "m"),
    FixedBy.AT_TOP: ("height at the top", "m"),
    FixedBy.AT_PLAYER: ("height at the player", "m"),
    FixedBy.PACE: ("pace", "m/s"),
    FixedBy.TIME: ("time to contact", "s"),
    FixedBy.SPIN: ("spin", "rpm"),
    FixedBy.WAY: ("way", "m"),
}
_SHOTS: Kept[tuple[object, doc.Shot]] = Kept(1000)
"""By the script and the ball."""


def fine(value: float) -> float:
    return round(value, 6)


def short(value: float) -> float:
    return round(value, 4) + 0.0


def maybe(value: float | None) -> float | None:
    return None if value is None else short(value)


def zone(x: Range, y: Range) -> tuple[float, float, float, float]:
    return short(x.low), short(x.high), short(y.low), short(y.high)


def asked_zone(reply: Reply, court: Court) -> tuple[float, float, float, float] | None:
    """Where a reply is to land; what the script leaves open is the whole width or the whole half."""
    width, half = court.half_width, court.half_length
    if not (reply.x or reply.y):
        return None
    return zone(reply.x or Range(-width, width, 0.0), reply.y or Range(-half, 0.0, -half / 2))


def shot_record(
    program: Program, shot: SolvedShot, evaluation: Evaluation, accepted: tuple[Finding, ...], fed_from: int
) -> doc.Shot:
    """`fed_from` is the place of the feeder, in the order of the plan."""
    feed, feeder = program.feeds[shot.feed], program.feeder
    about = {f.code: f.message.title for f in accepted if feed.name in f.about}
    spread, reply = evaluation.scatterings.get(feed.name), evaluation.replies.get(feed.name)
    leaves = shot.speed, shot.elevation, shot.azimuth, shot.topspin, shot.sidespin
    asked, own = program.reply_to(feed), tuple[tuple[float, float, float, float], ...]()
    if asked and (asked.places or feed.goes):
        own = tuple(place for one in asked.each if (place := asked_zone(one, program.court)))
    to_the_bit = exactly(*leaves, *shot.settings.values())  # a plan tells a negative zero, which equals the other
    return latest(
        _SHOTS, (program.source.name, feed.name),
        (feed, shot, spread, reply, feeder.key, fed_from, to_the_bit, *feed.words, own, *about.items()),
        lambda: _shot(feed, shot, feeder, spread, reply, about, own, fed_from),
    )  # fmt: skip


def _shot(
    feed: Feed, shot: SolvedShot, feeder: Feeder, spread: Scattering | None, reply: GoodReplies | None,
    about: Mapping[str, str], own: tuple[tuple[float, float, float, float], ...], fed_from: int,
) -> doc.Shot:  # fmt: skip
    flown = shot.predicted
    launch = doc.Launch(
        origin_m=tuple(short(c) for c in shot.origin),  # type: ignore[arg-type]
        speed_mps=fine(shot.speed),
        elevation_deg=fine(shot.elevation / DEG),
        azimuth_deg=fine(shot.azimuth / DEG),
        topspin_rpm=fine(shot.topspin / RPM),
        sidespin_rpm=fine(shot.sidespin / RPM),
    )
    order = _order(feeder, shot.settings)
    return doc.Shot(
        id=feed.name,
        feed=feed.family,
        variation=feed.variation,
        words=dict(feed.words),
        interval_s=short(feed.interval),
        zone_m=zone(feed.side, feed.depth) if feed.depth else None,
        place_m=None if feed.depth else zone(feed.side, heights_met(feed)),
        stance_y_m=short(feed.stance),
        settings={name: fine(value) for name, value in shot.settings.items()},
        launch=launch,
        order=None if order == _figures(launch) else order,
        predicted=doc.Predicted(
            net_clearance_m=maybe(flown.clearance),
            net_x_m=maybe(flown.net_x),
            landing_m=None if flown.landing is None else (short(flown.landing[0]), short(flown.landing[1])),
            landing_s=maybe(flown.landing_time),
            landing_speed_mps=maybe(flown.landing_speed),
            contact_m=tuple(short(c) for c in flown.contact),  # type: ignore[arg-type]
            contact_s=short(flown.contact_time),
            contact_speed_mps=short(flown.contact_speed),
            contact_phase=flown.phase,  # type: ignore[arg-type]
            bounces=flown.bounces,
            peak_m=short(flown.peak),
        ),
        spread=_spread(spread),
        reply=_reply(reply),
        notes=feed.notes,
        player=feed.player or None,
        limits=tuple(_limits(feed, spread)),
        accepted=about,
        fed_from=fed_from,
        waits_m=feed.wait and (short(feed.wait.x), short(flown.contact[1] if feed.wait.y is None else feed.wait.y)),
        way_m=maybe(gone(feed.wait, flown.contact)),
        targets_m=own,
    )


def _limits(feed: Feed, found: Scattering | None) -> Iterator[doc.LimitRecord]:
    """One for each thing that is bounded, with its shares."""
    for what, (of, unit) in BOUND_WORDS.items():
        mine = [bound for bound in feed.bounded if bound.what is what]
        if mine:
            low, high = max(bound.low for bound in mine), min(bound.high for bound in mine)
            share, least = found.kept[what] if found else (None, None)
            yield doc.LimitRecord(
                of=of,  # type: ignore[arg-type]
                unit=unit,  # type: ignore[arg-type]
                least=None if isinf(low) else short(from_si(low, unit)),
                most=None if isinf(high) else short(from_si(high, unit)),
                words=tuple(bound.words for bound in mine),
                share_kept=None if share is None else round(share, 4),
                share_kept_least=None if least is None else round(least, 4),
            )


def _figures(launch: doc.Launch) -> doc.Order:
    return doc.Order(**{name: getattr(launch, name) for name in doc.Order._fields})


def _order(feeder: Feeder, settings: Mapping[str, float]) -> doc.Order | None:
    if feeder.kind == "person":
        return None
    si = {name: axis.si(axis.stated(settings[name])) for name, axis in feeder.axes().items()}
    return doc.Order(
        speed_mps=fine(si["speed"]),
        elevation_deg=fine(si["elevation"] / DEG),
        azimuth_deg=fine(si["azimuth"] / DEG),
        topspin_rpm=fine(si["topspin"] / RPM),
        sidespin_rpm=fine(si.get("sidespin", 0.0) / RPM),
    )


def _spread(found: Scattering | None) -> doc.Spread | None:
    if found is None:
        return None
    return doc.Spread(
        share_in_zone=round(found.in_zone, 4),
        share_in_zone_least=round(found.in_zone_band[0], 4),
        share_in_zone_most=round(found.in_zone_band[1], 4),
        share_over_net=round(found.over_net, 4),
        least_drag_m=_pair(found.ends[0]),
        most_drag_m=_pair(found.ends[1]),
        least_drag_contact_m=None if found.heights[0] is None else short(found.heights[0]),
        most_drag_contact_m=None if found.heights[1] is None else short(found.heights[1]),
        half_axes_m=(short(found.half_axes[0]), short(found.half_axes[1])),
        angle_deg=round(found.angle / DEG, 2),
    )


def _pair(place: tuple[float, float] | None) -> tuple[float, float] | None:
    return None if place is None else (short(place[0]), short(place[1]))


def _reply(found: GoodReplies | None) -> doc.ReplyRecord | None:
    if found is None:
        return None
    low, high, side = found.window.values() if found.window else (None, None, None)

    def degrees(angle: float | None) -> float | None:
        return None if angle is None else round(angle / DEG, 2)

    return doc.ReplyRecord(
        share_good=round(found.share, 3),
        speed_mps=None if found.pace is None else round(found.pace, 2),
        elevation_deg=degrees(found.elevation),
        azimuth_deg=degrees(found.azimuth),
        low_deg=degrees(low),
        high_deg=degrees(high),
        side_window_deg=degrees(side),
    )
