"""Checked shots and schedule -> Plan, the document. Only this module and `shot_record` round, so a plan has the same
bytes on every machine."""

from pathlib import PurePath
from typing import Any

from ..grammar.finding import Finding
from ..grammar.source import Source
from ..grammar.units import DEG, RPM
from .broad_goals import CountedGoal, broad_goals
from .feeder_record import feeder_record, places_of
from .kept import Kept, latest, unchanged
from .model import plan as doc
from .model.conditions import AirRecord, BallRecord, CourtRecord, SurfaceRecord
from .model.court import Court
from .model.evaluation import Evaluation
from .model.player import Player
from .model.program import FeederPlace, Program, Variation
from .model.schedule import BlockTimes, Schedule
from .model.shots import Shots
from .model.timing import clock_faults
from .physics.ball import Ball
from .physics.bounce import Surface
from .shot_record import asked_zone, fine, maybe, short, shot_record

_AROUND: Kept[tuple[tuple[object, ...], dict[str, Any]]] = Kept(20)
"""By the script: what a plan says of feeder, court, conditions, players and variations."""
_PLAYED: Kept[tuple[object, dict[str, Any]]] = Kept(20)
"""By the script: what a plan says of its schedule."""


def assemble(
    program: Program, shots: Shots, schedule: Schedule, evaluation: Evaluation, accepted: tuple[Finding, ...] = ()
) -> doc.Plan:
    session = program.session
    assert session is not None
    played, places = {name for block in schedule.blocks for name in block.feeds}, places_of(program, schedule)
    index = list(places)
    around = (
        program.feeder, program.profile, *places.values(), program.court, program.ball, program.air, program.surface,
        program.player, *program.players.values(), *program.variations.values(),
    )  # fmt: skip
    plan = doc.Plan(
        program=program.title,
        notes=program.notes + session.notes,
        session=session.title,
        source=_source(program),
        **unchanged(_AROUND, program.source.name, around, lambda: _around(program, [*places.values()])),
        shots=tuple(
            shot_record(
                program,
                shots.shots[name],
                evaluation,
                accepted,
                index.index(program.place_of(program.feeds[name]).there),
            )
            for name in schedule.feeds
            if name in played
        ),
        goals=tuple(_goal(one) for one in broad_goals(program, schedule, evaluation)),
        **latest(_PLAYED, program.source.name, schedule.said, lambda: _played(schedule)),
    ).sealed()
    wrong = list(clock_faults(plan))
    assert not wrong, wrong
    return plan


def _around(program: Program, places: list[FeederPlace]) -> dict[str, Any]:
    return dict(
        feeder=feeder_record(program, places),
        court=court_record(program.court),
        ball=ball_record(program.ball),
        air=AirRecord(
            density_kg_m3=fine(program.air.density_kg_m3),
            wind_mps=tuple(fine(w) for w in program.air.wind_mps),  # type: ignore[arg-type]
            temperature_c=fine(program.air.temperature_c),
            altitude_m=fine(program.air.altitude_m),
            humidity=fine(program.air.humidity),
        ),
        surface=surface_record(program.surface),
        player=_player(program.player),
        others=tuple(map(_player, list(program.players.values())[1:])),
        variations=tuple(_variation(v, program.court) for v in program.variations.values()),
    )


def of_script(plan: doc.Plan, program: Program) -> doc.Plan:
    """The plan of a script that says the same in another text."""
    return plan.model_copy({"source": _source(program)}).sealed()


def _played(schedule: Schedule) -> dict[str, Any]:
    return dict(
        launches=_launches(schedule),
        blocks=_blocks(schedule),
        parts=tuple(
            doc.PartRecord(index=i, start_s=short(part.start), end_s=short(part.end))
            for i, part in enumerate(schedule.parts)
        ),
        totals=_totals(schedule),
    )


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


def court_record(court: Court) -> CourtRecord:
    return CourtRecord(
        name=court.name,
        half_length_m=court.half_length,
        half_width_m=court.half_width,
        service_m=fine(court.service),
        net_centre_m=court.net_centre,
        net_post_m=court.net_post,
        post_x_m=fine(court.post_x),
        doubles_half_width_m=court.doubles_half_width,
        ceiling_m=court.ceiling,
    )


def ball_record(ball: Ball) -> BallRecord:
    return BallRecord(
        name=ball.name,
        mass_kg=fine(ball.mass_kg),
        diameter_m=fine(ball.diameter_m),
        drag_offset=fine(ball.drag_offset),
        spin_drag=fine(ball.spin_drag),
        inertia_factor=ball.inertia_factor,
    )


def surface_record(surface: Surface) -> SurfaceRecord:
    return SurfaceRecord(
        name=surface.name,
        friction=fine(surface.friction),
        restitution=fine(surface.restitution),
        drop_restitution=fine(surface.drop),
        loss_growth=fine(surface.loss_growth),
        grip=fine(surface.grip),
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
        reply_limit_mps=maybe(player.reply_limit),
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
    target = doc.ReplyTarget(
        words=reply.words if reply else "",
        zone_m=asked_zone(reply, court) if reply else None,
        over_net_m=reply.over_net if reply else None,
        topspin_rpm=None if reply is None or reply.topspin is None else short(reply.topspin / RPM),
        sidespin_rpm=None if reply is None or reply.sidespin is None else short(reply.sidespin / RPM),
        speed_mps=maybe(reply.pace) if reply else None,
        most_over_net_m=reply.under if reply else None,
        least_speed_mps=maybe(reply.slowest) if reply else None,
        most_speed_mps=maybe(reply.fastest) if reply else None,
    )
    return doc.VariationRecord(
        id=variation.name, title=variation.title, when=variation.when, reply=target,
        goal=variation.goal and doc.GoalRecord(**variation.goal._asdict()), notes=variation.notes,
        hit_if=tuple(one.words for one in variation.hit_if),
    )  # fmt: skip


def _goal(one: CountedGoal) -> doc.BroadGoalRecord:
    goal, variation = one.goal, one.variation
    return doc.BroadGoalRecord(
        hits=goal.hits, among=goal.among, in_all=goal.in_all, each=goal.each, blocks=one.blocks,
        variation=variation.name if variation else None, whole=variation is None and one.over == "session",
    )  # fmt: skip


def _blocks(schedule: Schedule) -> tuple[doc.Block, ...]:
    return tuple(
        doc.Block(
            index=i,
            kind=block.kind,  # type: ignore[arg-type]
            words=block.words,
            part=block.part,
            start_s=short(block.start),
            end_s=short(block.end),
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
                    serve_s=maybe(point.serve),
                    after_miss=point.after_miss,  # type: ignore[arg-type]
                    won_with=point.won_with,
                )
                for point in block.points
            ),
            first_to=block.first_to,
            until=tuple(doc.HoldRecord(**vars(hold)) for hold in block.until),
            score=_score(block),
            rest=_rest(block),
            serves=_own_serves(block),
            record=block.record,
            hit_if=block.hit_if,
        )
        for i, block in enumerate(schedule.blocks)
    )


def _score(block: BlockTimes) -> doc.ScoreRecord | None:
    rules = block.score
    if rules is None:
        return None
    return doc.ScoreRecord(
        start=rules.start,
        worth=dict(rules.worth),
        miss=rules.miss,
        misses=dict(rules.misses),
        results=dict(rules.results),
        row=rules.row,
        bonus=rules.bonus,
        least=rules.least,
        most=rules.most,
        ends=rules.ends,
        goal=rules.goal,
        each=rules.each,
        goes_on=rules.goes_on,
    )


def _launches(schedule: Schedule) -> tuple[doc.LaunchTime, ...]:
    blocks, names = schedule.blocks, schedule.feeds
    rungs = {i: iter(block.climb.order) for i, block in enumerate(blocks) if block.climb}
    open_ = {i: block.feeds for i, block in enumerate(blocks) if block.even is not None}
    return tuple(
        doc.LaunchTime(at_s=short(at), shot=None, block=block, any_of=next(rungs[block]))
        if block in rungs
        else doc.LaunchTime(at_s=short(at), shot=names[feed], block=block, any_of=open_.get(block, ()))
        for at, feed, block in zip(schedule.at.tolist(), schedule.feed.tolist(), schedule.block.tolist(), strict=True)
    )


def _rest(block: BlockTimes) -> doc.BlockRestRecord | None:
    rest = block.rest
    return doc.BlockRestRecord(rest_s=short(rest.seconds), every=rest.every, notes=rest.notes) if rest else None


def _own_serves(block: BlockTimes) -> doc.OwnServesRecord | None:
    if block.serves is None:
        return None
    number, every, goal = block.serves
    asked = doc.GoalRecord(**goal._asdict()) if goal else None
    return doc.OwnServesRecord(number=number, every_s=short(every), goal=asked)


def _ladder(block: BlockTimes) -> doc.Ladder | None:
    rules, climb = block.ladder, block.climb
    if rules is None or climb is None:
        return None
    return doc.Ladder(
        quantity=rules.quantity,
        rungs=climb.rungs,
        labels=rules.labels,
        up=doc.GoalRecord(**rules.up._asdict()),
        down_misses=rules.down,
        down_in=rules.within,
        start=rules.start,
        in_sets=rules.in_sets,
        most_sets=rules.most_sets,
        down_sets=rules.down_sets,
        ends=rules.ends,
        intervals_s=tuple(map(short, climb.intervals)) if len(set(climb.intervals)) > 1 else (),
    )
