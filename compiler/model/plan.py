"""The checked plan: the document every target reads and another program can fly again.

Frame: right-handed, origin on the ground under the middle of the net, y along the court towards the player, x to the
feeder's right (the player's left), z up. Azimuth is positive towards +x, elevation above the horizontal. Topspin is
positive when the top of the ball moves forward; sidespin is positive about the upward normal to the launch velocity.
Seconds of launches, blocks and parts are on the session's clock, which starts at 0 and counts rests and collects.
"""

import hashlib
import json
from collections import defaultdict
from collections.abc import Iterator, Mapping
from itertools import pairwise
from typing import Literal

from . import bounds
from .blocks import Block as Block
from .blocks import BlockRestRecord as BlockRestRecord
from .blocks import OwnServesRecord as OwnServesRecord
from .broad_goal import BroadGoalRecord as BroadGoalRecord
from .broad_goal import loose_goals
from .by_marks import GoalRecord as GoalRecord
from .by_marks import HoldRecord as HoldRecord
from .by_marks import Ladder as Ladder
from .by_marks import LaunchTime as LaunchTime
from .by_marks import PointRecord as PointRecord
from .by_marks import ScoreRecord as ScoreRecord
from .conditions import AirRecord, BallRecord, CourtRecord, SurfaceRecord
from .limits import LimitRecord as LimitRecord
from .record import Record
from .replies import ReplyRecord as ReplyRecord
from .replies import ReplyTarget as ReplyTarget
from .replies import VariationRecord as VariationRecord
from .who_plays import LoadRecord as LoadRecord
from .who_plays import PlayerRecord as PlayerRecord
from .who_plays import loose_players

VERSION = 4


class ScriptRecord(Record):
    name: bounds.FileName
    sha256: bounds.Sha256


class SourceRecord(ScriptRecord):
    uses: tuple[ScriptRecord, ...] = ()
    """The scripts that it uses, and those that they use."""
    given: Mapping[bounds.Name, bounds.Words] = {}
    """Amounts with a name, as the balls were computed with them, such as {"rhythm": "5 s"}."""
    set: tuple[bounds.Name, ...] = ()
    """Those of them that were set for this plan to another amount than the script's."""

    @property
    def given_words(self) -> str:
        """Every amount with a name in one line; "" if there is none."""
        return ", ".join(f"{name} {amount}{' (set)' * (name in self.set)}" for name, amount in self.given.items())

    def check(self) -> None:
        if not self.given.keys() >= set(self.set):
            raise ValueError("an amount was set that the script does not give")


class DeviceRecord(Record):
    """The machine on a line that the program was compiled for, as it states itself; replay compares (see device.py)."""

    id: bounds.Name
    cap: bounds.Cap
    """Greatest speed it throws, mm/s."""
    gap: bounds.Gap
    """Least time between two launches, ms."""
    limits: bounds.Checksum


class PlaceRecord(Record):
    place_m: bounds.Pair
    """Where the feeder stands on the ground (x, y)."""
    place_words: bounds.Words
    release_height_m: bounds.ReleaseHeight
    players_side: bool
    screen: bool


class FeederRecord(PlaceRecord):
    """The feeder where it stands for the first block of balls."""

    kind: Literal["machine", "person"]
    name: bounds.Name
    title: bounds.Words
    fingerprint: bounds.Fingerprint
    how: Literal["machine", "hand", "racket"]
    setting_units: Mapping[bounds.Name, bounds.Words]
    """Unit of each entry of a shot's settings."""
    hopper: bounds.Hopper | None
    basis: bounds.Words
    """Where the numbers come from, such as "invented example"."""
    device: DeviceRecord | None = None
    """None if the profile has no device."""
    elsewhere: tuple[PlaceRecord, ...] = ()
    """Where else it stands, in the order in which blocks are fed from there."""

    def at(self, place: int) -> "FeederRecord":
        """The feeder as it stands there: 0 for its first place, then those elsewhere."""
        there = self.elsewhere[place - 1] if place else self
        return self.model_copy({name: getattr(there, name) for name in PlaceRecord._fields})

    @property
    def raised(self) -> bool:
        """Whether the script says that it stands on something."""
        return "raised to" in self.place_words


class Launch(Record):
    origin_m: bounds.Triple
    speed_mps: bounds.Speed
    elevation_deg: bounds.Elevation
    azimuth_deg: bounds.Azimuth
    topspin_rpm: bounds.Spin
    sidespin_rpm: bounds.Spin


class Order(Record):
    """What the machine is told for a launch, about the axes of its head, corrected by what was measured of it."""

    speed_mps: bounds.Speed
    elevation_deg: bounds.Elevation
    azimuth_deg: bounds.Azimuth
    topspin_rpm: bounds.Spin
    sidespin_rpm: bounds.Spin


class Predicted(Record):
    """The launch flown: landing is when the underside touches (centre at one radius), net clearance is from the cord
    at the crossing point straight up to the underside, contact is where the centre crosses the stance."""

    net_clearance_m: bounds.Clearance | None
    net_x_m: bounds.Coordinate | None
    landing_m: bounds.Pair | None
    landing_s: bounds.Flight | None
    landing_speed_mps: bounds.Speed | None
    contact_m: bounds.Triple
    contact_s: bounds.Flight
    contact_speed_mps: bounds.Speed
    contact_phase: Literal["rising", "top", "falling", "on the full"]
    bounces: bounds.Bounces
    peak_m: bounds.Height
    """Greatest height of the centre between launch and contact."""


class Spread(Record):
    """How the feeder's repeatability scatters the ball: shares of balls, and the ellipse of one standard deviation of
    the landing (on the full: of the contact) with its half axes and the angle of the longer one from +x towards +y.

    `share_in_zone_least` to `_most`: as far as the drag of balls is in doubt. `least_drag_m`, `most_drag_m`: where the
    launch then lands, (x, y), or on the full is met, (x, z); None where it does not come there. `least_drag_contact_m`,
    `most_drag_contact_m`: how high it is then met."""

    share_in_zone: bounds.Share
    share_in_zone_least: bounds.Share
    share_in_zone_most: bounds.Share
    share_over_net: bounds.Share
    least_drag_m: bounds.Pair | None = None
    most_drag_m: bounds.Pair | None = None
    least_drag_contact_m: bounds.Coordinate | None = None
    most_drag_contact_m: bounds.Coordinate | None = None
    half_axes_m: tuple[bounds.HalfAxis, bounds.HalfAxis] | None = None
    angle_deg: bounds.Elevation | None = None

    def check(self) -> None:
        if not self.share_in_zone_least <= self.share_in_zone <= self.share_in_zone_most:
            raise ValueError("the share in the zone lies between its least and its most")


class Shot(Record):
    id: bounds.Name
    feed: bounds.Name
    variation: bounds.Name | None
    words: Mapping[bounds.Name, bounds.Words]
    """The coach's own words by attribute: side, depth, stance, height, spin, pace, time, interval, starts, stroke."""
    interval_s: bounds.Interval
    zone_m: bounds.Area | None
    """Where the ball is asked to land; None on the full."""
    stance_y_m: bounds.Coordinate
    settings: Mapping[bounds.Name, bounds.Setting]
    """What the device is set to, in its own units, after rounding; empty for a person."""
    launch: Launch
    """What leaves."""
    order: Order | None = None
    """None where the machine is told the launch itself, and for a person."""
    predicted: Predicted
    spread: Spread | None
    reply: ReplyRecord | None
    notes: tuple[bounds.Words, ...]
    player: bounds.Name | None = None
    """Who plays it, of players with names."""
    limits: tuple[LimitRecord, ...] = ()
    accepted: Mapping[bounds.Name, bounds.Words] = {}
    """The warnings about it that the script accepts: the code of each, with what it is."""
    waits_m: bounds.Pair | None = None
    """Where the player waits for it, where a line says that or bounds the way."""
    way_m: bounds.Height | None = None
    """How far the player then goes until the ball is in reach."""
    targets_m: tuple[bounds.Area, ...] = ()
    """Where the reply to it is asked to land, in any of them, if that is not the zone of its variation."""
    fed_from: bounds.Count = 0
    """From which of the feeder's places: 0 for its first, then those elsewhere."""
    place_m: bounds.Area | None = None
    """Where the ball is asked to be met on the full, x from, x to, height from, height to; None if it bounces."""

    @property
    def told(self) -> Launch | Order:
        """What a machine is told."""
        return self.order or self.launch

    def check(self) -> None:
        bounds.in_order(self.zone_m)
        bounds.in_order(self.place_m)
        for target in self.targets_m:
            bounds.in_order(target)
        if (self.way_m is None) != (self.waits_m is None):
            raise ValueError("a way begins where the player waits")


class PartRecord(Record):
    """What a person arms at once. It ends with a collect or a rest long enough, or where a machine is moved; there the
    next part starts."""

    index: bounds.Count
    start_s: bounds.Clock
    end_s: bounds.Clock


class Totals(Record):
    balls: bounds.Count
    duration_s: bounds.Clock
    parts: bounds.Count
    distinct_shots: bounds.Count
    variety: bounds.Share
    """Share of consecutive balls of one block or of neighbouring blocks that differ."""
    points: bounds.Count = 0
    loads: tuple[LoadRecord, ...] = ()
    """Of several players with names, in their order."""


class Plan(Record):
    format: Literal["feedwright-plan"] = "feedwright-plan"
    version: Literal[4] = 4
    program: bounds.Words
    notes: tuple[bounds.Words, ...]
    session: bounds.Words
    source: SourceRecord
    feeder: FeederRecord
    court: CourtRecord
    ball: BallRecord
    air: AirRecord
    surface: SurfaceRecord
    player: PlayerRecord
    """The one who plays, or the first of several."""
    others: tuple[PlayerRecord, ...] = ()
    """The other players, each with a name."""
    variations: tuple[VariationRecord, ...]
    shots: tuple[Shot, ...]
    launches: tuple[LaunchTime, ...]
    blocks: tuple[Block, ...]
    goals: tuple[BroadGoalRecord, ...] = ()
    """Beyond one variation in one block: those of variations, then those of the session in its order."""
    parts: tuple[PartRecord, ...]
    totals: Totals
    digest: str = ""

    def check(self) -> None:
        """Every name and number refers to something in the plan; a reader need not check."""
        for sentence in _loose(self):
            raise ValueError(sentence)

    @property
    def players(self) -> tuple[PlayerRecord, ...]:
        return (self.player, *self.others)

    def place_of(self, block: int) -> int:
        """From which of the feeder's places a block of balls is fed."""
        return next(shot.fed_from for shot in self.shots if shot.id in self.blocks[block].shots)

    def player_of(self, shot: Shot) -> PlayerRecord:
        """Who plays a ball."""
        return next((player for player in self.players if player.name == shot.player), self.player)

    def targets(self, shot: Shot) -> tuple[bounds.Area, ...]:
        """Where the reply to a ball is asked to land: in any of these."""
        whole = (one.reply.zone_m for one in self.variations if one.id == shot.variation and one.reply.zone_m)
        return shot.targets_m or tuple(whole)

    def serves(self) -> "list[tuple[int, float]]":
        """Each serve of the player while no ball is missed: the index of the launch after it, and its second."""
        found, launch = [], 0
        for block in self.blocks:
            at = launch
            for point in block.points:
                if point.serve_s is not None:
                    found.append((at, round(self.launches[at].at_s - point.serve_s, 4)))
                at += len(point.shots)
            launch += block.balls
        return found

    def sealed(self) -> "Plan":
        """This plan with its digest: SHA-256 over the canonical JSON (keys sorted, no spaces, UTF-8) without it."""
        return self.model_copy(update={"digest": self.fresh_digest()})

    def fresh_digest(self) -> str:
        parts = [f'"{name}":{_written(getattr(self, name))}' for name in sorted(self._fields) if name != "digest"]
        return hashlib.sha256(f"{{{','.join(parts)}}}".encode()).hexdigest()


_CANONICAL = json.JSONEncoder(sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False).encode


def _written(value: object) -> str:
    """As canonical JSON, which a record keeps: shots and launches of one plan are those of the next, mostly."""
    if isinstance(value, Record):
        held = vars(value)
        return held.get("_written") or held.setdefault("_written", _CANONICAL(value.data()))
    return f"[{','.join(map(_written, value))}]" if isinstance(value, tuple) else _CANONICAL(value)


def _fits(ball: LaunchTime, block: Block) -> bool:
    """Whether a launch names the shots that its block may throw there: in a ladder one of each rung."""
    if block.ladder:
        rungs = block.ladder.rungs
        return len(ball.any_of) == len(rungs) and all(one in of for one, of in zip(ball.any_of, rungs, strict=True))
    return ball.any_of == (block.shots if block.begins_again else ())


def _within(target: bounds.Area, zone: bounds.Area | None) -> bool:
    """Whether a place of a reply lies in the zone of its variation; one that leaves its place open is anywhere."""
    if zone is None:
        return True
    return zone[0] <= target[0] and target[1] <= zone[1] and zone[2] <= target[2] and target[3] <= zone[3]


def _loose(plan: Plan) -> Iterator[str]:
    """The names and numbers of a plan that refer to nothing in it."""
    variations, shots = [v.id for v in plan.variations], {shot.id: shot for shot in plan.shots}
    zones: dict[str | None, bounds.Area | None] = {v.id: v.reply.zone_m for v in plan.variations}
    if len(set(variations)) < len(variations) or len(shots) < len(plan.shots):
        yield "two shots or two variations have one name"
    players = [player.name for player in plan.players]
    yield from loose_players(players, plan.totals.loads, plan.totals.balls)
    for shot in plan.shots:
        if shot.player not in players:
            yield f"shot {shot.id} is for a player that the plan does not hold"
        if shot.variation is not None and shot.variation not in variations:
            yield f"shot {shot.id} is for a variation that the plan does not hold"
        if not all(_within(target, zones.get(shot.variation)) for target in shot.targets_m):
            yield f"the reply to shot {shot.id} is to land outside the zone of its variation"
        if shot.settings.keys() != plan.feeder.setting_units.keys():
            yield f"shot {shot.id} does not set what the feeder has: {', '.join(plan.feeder.setting_units)}"
        if shot.fed_from > len(plan.feeder.elsewhere):
            yield f"shot {shot.id} is fed from a place that the plan does not hold"
    if [block.index for block in plan.blocks] != list(range(len(plan.blocks))):
        yield "the blocks are not numbered in order"
    for block in plan.blocks:
        if not shots.keys() >= set(block.shots):
            yield f"block {block.index} names a shot that the plan does not hold"
        elif len({shots[name].fed_from for name in block.shots}) > 1:
            yield f"block {block.index} is fed from several places"
        elif not {hold.variation for hold in block.until} <= {None, *(shots[name].variation for name in block.shots)}:
            yield f"block {block.index} waits for hits of a variation that it does not play"
    fed = {block.index: block for block in plan.blocks if block.kind == "balls"}
    for index, block in fed.items():
        if block.score and block.score.goes_on and not any(fed[one].score for one in fed if one < index):
            yield f"block {index} goes on with a score, and no block before it has one"
    aims = {(ball.block, shots[ball.first].variation) for ball in plan.launches if ball.first in shots}
    yield from loose_goals(plan.goals, fed.keys(), aims)
    shown = defaultdict[int, list[str]](list)
    for number, ball in enumerate(plan.launches, start=1):
        shown[ball.block].append(ball.first)
        named = ball.any_of or (ball.first,)
        if ball.block not in fed or not shots.keys() >= set(named):
            yield f"ball {number} names a shot or a block that the plan does not hold"
        elif (
            not _fits(ball, fed[ball.block])
            or (ball.shot is None) != bool(fed[ball.block].ladder)
            or ball.first not in fed[ball.block].shots
        ):
            yield f"ball {number} names a shot that its block does not"
    if any(one.block > two.block for one, two in pairwise(plan.launches)):
        yield "the balls do not come in the order of the blocks"
    if {index: len(balls) for index, balls in shown.items()} != {index: block.balls for index, block in fed.items()}:
        yield "a block does not have as many balls as it says"
    for index, block in fed.items():
        if block.points and shown.get(index) != [shot for point in block.points for shot in point.shots]:
            yield f"the balls of block {index} are not those of its points"
    if any(one.part > two.part for one, two in pairwise(plan.blocks)):
        yield "the parts do not come in order"
