"""The player: hand, body heights, reach, limits."""

from collections.abc import Mapping

from ...grammar.frozen import Frozen

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


class Player(Frozen):
    hand: str
    stature: float | None
    reach: float = REACH_M
    reply_limit: float | None = None
    in_line: int = 1
    rotate_every: int | None = None
    two_bounces: bool = False
    body: Mapping[str, float] = {}
    """Heights that the coach gave; they replace those from the stature."""

    def height_of(self, part: str) -> float | None:
        if part in self.body:
            return self.body[part]
        return self.stature * BODY_SHARES[part] if self.stature and part in BODY_SHARES else None

    @property
    def forehand_x(self) -> int:
        """Sign of x on the player's forehand side: the player's right is -x."""
        return -1 if self.hand == "right" else 1
