"""What a plan says of the player's replies to a ball."""

from . import bounds
from .conditions import Record


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
