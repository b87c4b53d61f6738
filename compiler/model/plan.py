"""The checked plan: the document every target reads and another program can fly again.

Frame: right-handed, origin on the ground under the middle of the net, y along the court towards the player, x to the
feeder's right (the player's left), z up. Azimuth is positive towards +x, elevation above the horizontal. Topspin is
positive when the top of the ball moves forward; sidespin is positive about the upward normal to the launch velocity.
Seconds of launches, blocks and parts are on the session's clock, which starts at 0 and counts rests and collects.
"""

import hashlib
import json
from typing import Literal

from pydantic import BaseModel, ConfigDict

Pair = tuple[float, float]
Triple = tuple[float, float, float]


class Record(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)


class SourceRecord(Record):
    name: str
    sha256: str


class DeviceRecord(Record):
    """The machine on a line that the program was compiled for, as it states itself; replay compares (see device.py)."""

    id: str
    cap: int
    """Greatest speed it throws, mm/s."""
    gap: int
    """Least time between two launches, ms."""
    fit: str
    """CRC-32 of its limits."""


class FeederRecord(Record):
    kind: Literal["machine", "person"]
    name: str
    title: str
    fingerprint: str
    how: Literal["machine", "hand", "racket"]
    place_m: Pair
    """Where the feeder stands on the ground (x, y)."""
    place_words: str
    release_height_m: float
    players_side: bool
    screen: bool
    setting_units: dict[str, str]
    """Unit of each entry of a shot's settings."""
    hopper: int | None
    basis: str
    """Where the numbers come from, such as "invented for the demo"."""
    device: DeviceRecord | None = None
    """None where nothing can be said about a line."""


class CourtRecord(Record):
    name: str
    half_length_m: float
    half_width_m: float
    service_m: float
    net_centre_m: float
    net_post_m: float
    post_x_m: float
    doubles_half_width_m: float
    ceiling_m: float | None = None
    """The lowest height of anything over the court; None in the open."""


class BallRecord(Record):
    name: str
    mass_kg: float
    diameter_m: float
    drag_offset: float
    inertia_factor: float


class AirRecord(Record):
    density_kg_m3: float
    wind_mps: Triple
    temperature_c: float


class SurfaceRecord(Record):
    name: str
    friction: float
    restitution: float
    grip: float


class PlayerRecord(Record):
    hand: Literal["right", "left"]
    stature_m: float | None
    reach_m: float
    reply_limit_mps: float | None
    in_line: int
    rotate_every: int | None
    two_bounces: bool


class ReplyTarget(Record):
    """What the player is to do with the ball, in the feeder's half; None where the script leaves it open."""

    words: str
    zone_m: tuple[float, float, float, float] | None
    """x from, x to, y from, y to."""
    over_net_m: float | None
    topspin_rpm: float | None
    sidespin_rpm: float | None
    speed_mps: float | None


class VariationRecord(Record):
    id: str
    title: str
    when: str | None
    reply: ReplyTarget
    goal_in_a_row: int | None
    notes: tuple[str, ...]


class Launch(Record):
    origin_m: Triple
    speed_mps: float
    elevation_deg: float
    azimuth_deg: float
    topspin_rpm: float
    sidespin_rpm: float


class Predicted(Record):
    """The launch flown: landing is when the underside touches (centre at one radius), net clearance is from the cord
    at the crossing point straight up to the underside, contact is where the centre crosses the stance."""

    net_clearance_m: float | None
    net_x_m: float | None
    landing_m: Pair | None
    landing_s: float | None
    landing_speed_mps: float | None
    contact_m: Triple
    contact_s: float
    contact_speed_mps: float
    contact_phase: Literal["rising", "top", "falling", "on the full"]
    bounces: int
    """How many before the contact."""
    peak_m: float
    """Greatest height of the centre between launch and contact."""


class Spread(Record):
    """How the feeder's repeatability scatters the ball: shares of balls, and the ellipse of one standard deviation of
    the landing (on the full: of the contact) with its half axes and the angle of the longer one from +x towards +y."""

    share_in_zone: float
    share_over_net: float
    half_axes_m: Pair | None = None
    angle_deg: float | None = None


class ReplyWindow(Record):
    """How forgiving the reply is: the elevations that clear the net by what is asked and land in the target, at this
    speed, and the azimuths that do at the middle of them. Azimuth 180 is straight back along -y."""

    window_deg: float
    speed_mps: float
    low_deg: float | None = None
    high_deg: float | None = None
    azimuth_deg: float | None = None
    side_window_deg: float | None = None


class Shot(Record):
    id: str
    feed: str
    variation: str | None
    words: dict[str, str]
    """The coach's own words by attribute: side, depth, stance, height, spin, pace, time, interval."""
    interval_s: float
    zone_m: tuple[float, float, float, float] | None
    """Where the ball is asked to land: x from, x to, y from, y to; None on the full."""
    stance_y_m: float
    settings: dict[str, float]
    """What the device is set to, in its own units, after rounding; empty for a person."""
    launch: Launch
    predicted: Predicted
    spread: Spread | None
    reply: ReplyWindow | None
    notes: tuple[str, ...]


class LaunchTime(Record):
    """One launch: its shot, or in a ladder any of the rungs' shots."""

    at_s: float
    """On the session's clock; start_s <= at_s < end_s of its block."""
    shot: str | None
    block: int
    any_of: tuple[str, ...] = ()

    @property
    def first(self) -> str:
        """The shot, or the first rung's."""
        return self.shot if self.shot is not None else self.any_of[0]


class Ladder(Record):
    """Rungs from the easiest on, each a checked shot; the first ball is on the first rung. One rung up after so many
    hits in a row, one down after so many misses among the last so many balls on the rung."""

    quantity: str
    rungs: tuple[str, ...]
    labels: tuple[str, ...]
    """What each rung is, in the coach's words, such as "80 km/h"."""
    up_in_a_row: int
    down_misses: int | None
    down_in: int | None


class Block(Record):
    index: int
    kind: Literal["balls", "rest", "collect"]
    words: str
    """The line of the script."""
    part: int
    start_s: float
    end_s: float
    """The next block starts there."""
    balls: int
    order: Literal["same", "cycle", "mix", "ladder"] | None
    shots: tuple[str, ...]
    """The distinct shots of the block in the order the script names them."""
    round: tuple[int, int] | None
    """Which round of how many."""
    notes: tuple[str, ...]
    ladder: Ladder | None = None

    @property
    def duration_s(self) -> float:
        return round(self.end_s - self.start_s, 4)  # both are told to 0.1 ms


class PartRecord(Record):
    """What is armed as one: what lies between two collects, or rests long enough to end a part. It ends with the
    collect or rest that closes it, and the next part starts there."""

    index: int
    start_s: float
    end_s: float


class Totals(Record):
    balls: int
    duration_s: float
    parts: int
    distinct_shots: int
    variety: float
    """Share of consecutive balls of one block or of neighbouring blocks that differ."""


class Plan(Record):
    format: Literal["feedwright-plan"] = "feedwright-plan"
    version: Literal[2] = 2
    program: str
    notes: tuple[str, ...]
    session: str
    source: SourceRecord
    feeder: FeederRecord
    court: CourtRecord
    ball: BallRecord
    air: AirRecord
    surface: SurfaceRecord
    player: PlayerRecord
    variations: tuple[VariationRecord, ...]
    shots: tuple[Shot, ...]
    launches: tuple[LaunchTime, ...]
    blocks: tuple[Block, ...]
    parts: tuple[PartRecord, ...]
    totals: Totals
    digest: str = ""

    def sealed(self) -> "Plan":
        """This plan with its digest: SHA-256 over the canonical JSON (keys sorted, no blanks, UTF-8) without it."""
        return self.model_copy(update={"digest": self.fresh_digest()})

    def fresh_digest(self) -> str:
        body = self.model_dump(mode="json", exclude={"digest"})
        text = json.dumps(body, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False)
        return hashlib.sha256(text.encode()).hexdigest()
