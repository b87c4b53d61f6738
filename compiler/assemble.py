"""Checked shots and schedule -> Plan, the document. Only this module rounds, so a plan has the same bytes on every
machine: metres and seconds to 0.1 mm and 0.1 ms, angles to 1e-4 degrees."""

from collections.abc import Iterator, Mapping
from math import isinf
from pathlib import PurePath
from typing import Any

from ..grammar.finding import Finding
from ..grammar.source import Source
from ..grammar.units import DEG, RPM, from_si
from .evaluate import heights_met
from .model import plan as doc
from .model.conditions import AirRecord, BallRecord, CourtRecord, SurfaceRecord
from .model.court import Court
from .model.evaluation import Evaluation, GoodReplies, Scattering
from .model.feeder import Feeder
from .model.player import Player
from .model.program import Feed, FixedBy, Program, Range, Variation
from .model.schedule import BlockTimes, Schedule
from .model.shots import Shots, SolvedShot
from .model.timing import clock_faults
from .physics.ball import Ball
from .physics.bounce import Surface

BOUND_WORDS = {
    FixedBy.OVER_NET: ("height over net", "m"),
    FixedBy.AT_PLAYER: ("height at the player", "m"),
    FixedBy.PACE: ("pace", "m/s"),
    FixedBy.TIME: ("time to contact", "s"),
    FixedBy.SPIN: ("spin", "rpm"),
}


def assemble(
    program: Program, shots: Shots, schedule: Schedule, evaluation: Evaluation, accepted: tuple[Finding, ...] = ()
) -> doc.Plan:
    session = program.session
    assert session is not None
    played = {name for block in schedule.blocks for name in block.feeds}
    plan = doc.Plan(
        program=program.title,
        notes=program.notes + session.notes,
        session=session.title,
        source=_source(program),
        feeder=_feeder(program),
        court=court_record(program.court),
        ball=ball_record(program.ball),
        air=AirRecord(
            density_kg_m3=_fine(program.air.density_kg_m3),
            wind_mps=tuple(_fine(w) for w in program.air.wind_mps),  # type: ignore[arg-type]
            temperature_c=_fine(program.air.temperature_c),
            altitude_m=_fine(program.air.altitude_m),
            humidity=_fine(program.air.humidity),
        ),
        surface=surface_record(program.surface),
        player=_player(program.player),
        others=tuple(map(_player, list(program.players.values())[1:])),
        variations=tuple(_variation(v, program.court) for v in program.variations.values()),
        shots=tuple(
            _shot(program, shots.shots[name], evaluation, accepted) for name in schedule.feeds if name in played
        ),
        launches=_launches(schedule),
        blocks=_blocks(schedule),
        parts=tuple(
            doc.PartRecord(index=i, start_s=_short(part.start), end_s=_short(part.end))
            for i, part in enumerate(schedule.parts)
        ),
        totals=_totals(schedule),
    ).sealed()
    wrong = list(clock_faults(plan))
    assert not wrong, wrong
    return plan


def _fine(value: float) -> float:
    return round(value, 6)


def _short(value: float) -> float:
    return round(value, 4) + 0.0


def _maybe(value: float | None) -> float | None:
    return None if value is None else _short(value)


def _source(program: Program) -> doc.SourceRecord:
    own = _script(program.source)
    return doc.SourceRecord(
        name=own.name,
        sha256=own.sha256,
        uses=tuple(map(_script, program.uses)),
        given={name: amount.words for name, amount in program.given.items()},
        set=tuple(name for name, amount in program.given.items() if amount.set),
    )


def _script(source: Source) -> doc.ScriptRecord:
    """Without the folder: the same script gives the same plan wherever it lies."""
    return doc.ScriptRecord(name=PurePath(source.name).name, sha256=source.sha256)


def _feeder(program: Program) -> doc.FeederRecord:
    place = program.place
    return doc.FeederRecord(
        **of_profile(program.feeder),
        place_m=(_short(place.x), _short(place.y)),
        place_words=place.words,
        players_side=place.players_side,
        screen=place.screen,
    )


def of_profile(feeder: Feeder) -> dict[str, Any]:
    """Those entries of a plan's feeder that follow from the profile alone."""
    machine = feeder.kind == "machine"
    return dict(
        kind=feeder.kind,
        name=feeder.name,
        title=feeder.title,
        fingerprint=feeder.fingerprint,
        how=feeder.how,
        release_height_m=feeder.release_height_m,
        setting_units={n: "position" if a.dial else a.unit for n, a in feeder.axes().items()} if machine else {},
        hopper=feeder.hopper,
        basis=feeder.basis,
        device=_device(feeder),
    )


def _device(feeder: Feeder) -> doc.DeviceRecord | None:
    limits = feeder.limits
    if limits is None:
        return None
    return doc.DeviceRecord(id=limits.id, cap=limits.cap, gap=limits.gap, limits=limits.checksum)


def court_record(court: Court) -> CourtRecord:
    return CourtRecord(
        name=court.name,
        half_length_m=court.half_length,
        half_width_m=court.half_width,
        service_m=_fine(court.service),
        net_centre_m=court.net_centre,
        net_post_m=court.net_post,
        post_x_m=_fine(court.post_x),
        doubles_half_width_m=court.doubles_half_width,
        ceiling_m=court.ceiling,
    )


def ball_record(ball: Ball) -> BallRecord:
    return BallRecord(
        name=ball.name,
        mass_kg=_fine(ball.mass_kg),
        diameter_m=_fine(ball.diameter_m),
        drag_offset=_fine(ball.drag_offset),
        spin_drag=_fine(ball.spin_drag),
        inertia_factor=ball.inertia_factor,
    )


def surface_record(surface: Surface) -> SurfaceRecord:
    return SurfaceRecord(
        name=surface.name,
        friction=_fine(surface.friction),
        restitution=_fine(surface.restitution),
        drop_restitution=_fine(surface.drop),
        loss_growth=_fine(surface.loss_growth),
        grip=_fine(surface.grip),
    )


def _totals(schedule: Schedule) -> doc.Totals:
    loads = tuple(doc.LoadRecord(**load._asdict()) for load in schedule.loads())
    told = {name: value for name, value in vars(schedule.totals()).items() if name != "ladders"}  # its blocks say it
    return doc.Totals(**{**told, "loads": loads})


def _player(player: Player) -> doc.PlayerRecord:
    return doc.PlayerRecord(
        name=player.name or None,
        hand="right" if player.hand == "right" else "left",
        stature_m=player.stature,
        reach_m=player.reach,
        reply_limit_mps=_maybe(player.reply_limit),
        in_line=player.in_line,
        rotate_every=player.rotate_every,
        two_bounces=player.two_bounces,
        two_hands=player.two_hands,
        level=player.level,
        scatter_angle_deg=round(player.scatter.angle / DEG, 3),
        scatter_direction_deg=round(player.scatter.direction / DEG, 3),
        scatter_pace=round(player.scatter.pace, 4),
    )


def _variation(variation: Variation, court: Court) -> doc.VariationRecord:
    reply = variation.reply
    zone = None
    if reply and (reply.x or reply.y):
        # What the script leaves open is the whole width or the whole half.
        width, half = court.half_width, court.half_length
        zone = _zone(reply.x or Range(-width, width, 0.0), reply.y or Range(-half, 0.0, -half / 2))
    target = doc.ReplyTarget(
        words=reply.words if reply else "",
        zone_m=zone,
        over_net_m=reply.over_net if reply else None,
        topspin_rpm=None if reply is None or reply.topspin is None else _short(reply.topspin / RPM),
        sidespin_rpm=None if reply is None or reply.sidespin is None else _short(reply.sidespin / RPM),
        speed_mps=_maybe(reply.pace) if reply else None,
        most_over_net_m=reply.under if reply else None,
        least_speed_mps=_maybe(reply.slowest) if reply else None,
        most_speed_mps=_maybe(reply.fastest) if reply else None,
    )
    return doc.VariationRecord(
        id=variation.name, title=variation.title, when=variation.when, reply=target, goal_in_a_row=variation.goal,
        notes=variation.notes,
    )  # fmt: skip


def _zone(x: Range, y: Range) -> tuple[float, float, float, float]:
    return _short(x.low), _short(x.high), _short(y.low), _short(y.high)


def _shot(program: Program, shot: SolvedShot, evaluation: Evaluation, accepted: tuple[Finding, ...]) -> doc.Shot:
    feed, flown = program.feeds[shot.feed], shot.predicted
    launch = doc.Launch(
        origin_m=tuple(_short(c) for c in shot.origin),  # type: ignore[arg-type]
        speed_mps=_fine(shot.speed), elevation_deg=_fine(shot.elevation / DEG), azimuth_deg=_fine(shot.azimuth / DEG),
        topspin_rpm=_fine(shot.topspin / RPM), sidespin_rpm=_fine(shot.sidespin / RPM),
    )  # fmt: skip
    order = _order(program.feeder, shot.settings)
    return doc.Shot(
        id=feed.name,
        feed=feed.family,
        variation=feed.variation,
        words=dict(feed.words),
        interval_s=_short(feed.interval),
        zone_m=_zone(feed.side, feed.depth) if feed.depth else None,
        place_m=None if feed.depth else _zone(feed.side, heights_met(feed)),
        stance_y_m=_short(feed.stance),
        settings={name: round(value, 6) for name, value in shot.settings.items()},
        launch=launch,
        order=None if order == _figures(launch) else order,
        predicted=doc.Predicted(
            net_clearance_m=_maybe(flown.clearance),
            net_x_m=_maybe(flown.net_x),
            landing_m=None if flown.landing is None else (_short(flown.landing[0]), _short(flown.landing[1])),
            landing_s=_maybe(flown.landing_time),
            landing_speed_mps=_maybe(flown.landing_speed),
            contact_m=tuple(_short(c) for c in flown.contact),  # type: ignore[arg-type]
            contact_s=_short(flown.contact_time),
            contact_speed_mps=_short(flown.contact_speed),
            contact_phase=flown.phase,  # type: ignore[arg-type]
            bounces=flown.bounces,
            peak_m=_short(flown.peak),
        ),
        spread=_spread(evaluation.scatterings.get(feed.name)),
        reply=_reply(evaluation.replies.get(feed.name)),
        notes=feed.notes,
        player=feed.player or None,
        limits=tuple(_limits(feed, evaluation.scatterings.get(feed.name))),
        accepted={f.code: f.message.title for f in accepted if feed.name in f.about},
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
                least=None if isinf(low) else _short(from_si(low, unit)),
                most=None if isinf(high) else _short(from_si(high, unit)),
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
        speed_mps=_fine(si["speed"]),
        elevation_deg=_fine(si["elevation"] / DEG),
        azimuth_deg=_fine(si["azimuth"] / DEG),
        topspin_rpm=_fine(si["topspin"] / RPM),
        sidespin_rpm=_fine(si.get("sidespin", 0.0) / RPM),
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
        least_drag_contact_m=None if found.heights[0] is None else _short(found.heights[0]),
        most_drag_contact_m=None if found.heights[1] is None else _short(found.heights[1]),
        half_axes_m=(_short(found.half_axes[0]), _short(found.half_axes[1])),
        angle_deg=round(found.angle / DEG, 2),
    )


def _pair(place: tuple[float, float] | None) -> tuple[float, float] | None:
    return None if place is None else (_short(place[0]), _short(place[1]))


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


def _blocks(schedule: Schedule) -> tuple[doc.Block, ...]:
    return tuple(
        doc.Block(
            index=i,
            kind=block.kind,  # type: ignore[arg-type]
            words=block.words,
            part=block.part,
            start_s=_short(block.start),
            end_s=_short(block.end),
            balls=block.balls,
            order=block.order,  # type: ignore[arg-type]
            shots=block.feeds,
            round=(block.round.number, block.round.of) if block.round else None,
            notes=block.notes,
            ladder=_ladder(block),
            points=tuple(
                doc.PointRecord(
                    name=point.name,
                    shots=point.feeds,
                    serve_s=_maybe(point.serve),
                    after_miss=point.after_miss,  # type: ignore[arg-type]
                )
                for point in block.points
            ),
            first_to=block.first_to,
            until=tuple(doc.HoldRecord(**vars(hold)) for hold in block.until),
        )
        for i, block in enumerate(schedule.blocks)
    )


def _launches(schedule: Schedule) -> tuple[doc.LaunchTime, ...]:
    blocks, names = schedule.blocks, schedule.feeds
    rungs = {i: block.feeds for i, block in enumerate(blocks) if block.ladder}
    open_ = {i: block.feeds for i, block in enumerate(blocks) if block.even is not None}
    return tuple(
        doc.LaunchTime(at_s=_short(at), shot=None, block=block, any_of=rungs[block])
        if block in rungs
        else doc.LaunchTime(at_s=_short(at), shot=names[feed], block=block, any_of=open_.get(block, ()))
        for at, feed, block in zip(schedule.at.tolist(), schedule.feed.tolist(), schedule.block.tolist(), strict=True)
    )


def _ladder(block: BlockTimes) -> doc.Ladder | None:
    rules = block.ladder
    if rules is None:
        return None
    return doc.Ladder(
        quantity=rules.quantity,
        rungs=block.feeds,
        labels=rules.labels,
        up_in_a_row=rules.up,
        down_misses=rules.down,
        down_in=rules.within,
        start=rules.start,
    )
