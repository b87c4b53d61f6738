"""What a plan says of the player's replies to a ball."""

from . import bounds
from .by_marks import GoalRecord
from .record import Record


class ReplyRecord(Record):
    """How many replies are good at the best aim, None where none is; azimuth 180 is straight back along -y. Where the
    script states the pace also the elevations up to 40 that do at that pace, and the width of the azimuths."""

    share_good: bounds.Share
    speed_mps: bounds.Speed | None = None
    elevation_deg: bounds.Elevation | None = None
    azimuth_deg: bounds.ReplyAzimuth | None = None
    low_deg: bounds.Elevation | None = None
    high_deg: bounds.Elevation | None = None
    side_window_deg: bounds.Window | None = None


class ReplyTarget(Record):
    """What the player does with the ball, in the feeder's half; None if the script leaves it open."""

    words: bounds.Words
    zone_m: bounds.Area | None
    over_net_m: bounds.Height | None
    topspin_rpm: bounds.Spin | None
    sidespin_rpm: bounds.Spin | None
    speed_mps: bounds.Speed | None
    most_over_net_m: bounds.Height | None = None
    least_speed_mps: bounds.Speed | None = None
    most_speed_mps: bounds.Speed | None = None

    def check(self) -> None:
        bounds.in_order(self.zone_m)


class VariationRecord(Record):
    id: bounds.Name
    title: bounds.Words
    when: bounds.Words | None
    reply: ReplyTarget
    goal: GoalRecord | None
    notes: tuple[bounds.Words, ...]
    hit_if: tuple[bounds.Words, ...] = ()
    """What else decides a hit, which no figure counts."""
