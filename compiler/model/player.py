"""The player: hand, body heights, reach, limits."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

# Heights above the ground as a share of stature, adults without shoes. D. A. Winter, Biomechanics and Motor Control of
# Human Movement, 4th ed. (2009), fig. 4.1, after Drillis & Contini (1966); the waist (elbow level) is from memory.
BODY_SHARES = {
    "ankle": 0.039,
    "knee": 0.285,
    "hip": 0.530,
    "waist": 0.620,
    "elbow": 0.630,
    "shoulder": 0.818,
    "chin": 0.870,
    "eye": 0.936,
}
REACH_M = 0.7  # from body to ball at contact: common practice, no source


@dataclass(frozen=True, slots=True)
class ReplyScatter:
    """One standard deviation of a player's own strokes: of the elevation and the azimuth at which a reply leaves the
    racket, rad, and of its pace as a share of it."""

    angle: float
    direction: float
    pace: float


LEVELS = {
    "beginner": ReplyScatter(math.radians(5.0), math.radians(7.0), 0.14),
    "improver": ReplyScatter(math.radians(3.5), math.radians(5.0), 0.10),
    "club": ReplyScatter(math.radians(2.5), math.radians(3.75), 0.075),
    "tournament": ReplyScatter(math.radians(1.75), math.radians(2.75), 0.05),
}
"""By the level of the player, own choice. That of a tournament player puts 95 % of drives down the line, at 110 to
125 km/h, into an ellipse of 39 to 53 m²; two advanced players had 38.8 to 55.5 m² in 80 strokes (Delgado-García et al.,
Int. J. Racket Sports Sci. 1(2), 24 (2019), abstract)."""
USUAL_LEVEL = "club"


@dataclass(frozen=True, slots=True)
class Player:
    hand: str
    stature: float | None
    reach: float = REACH_M
    reply_limit: float | None = None
    in_line: int = 1
    rotate_every: int | None = None
    two_bounces: bool = False
    scatter: ReplyScatter = LEVELS[USUAL_LEVEL]
    level: str | None = USUAL_LEVEL
    """Whose scatter that is; None if the script states its own."""
    body: Mapping[str, float] = field(default_factory=dict)
    """Heights that the coach gave; they replace those from the stature."""

    def height_of(self, part: str) -> float | None:
        if part in self.body:
            return self.body[part]
        return self.stature * BODY_SHARES[part] if self.stature and part in BODY_SHARES else None

    @property
    def forehand_x(self) -> int:
        """Sign of x on the player's forehand side: the player's right is -x."""
        return -1 if self.hand == "right" else 1
