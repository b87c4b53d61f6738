"""The player: hand, body heights, reach, limits."""

import math
from collections.abc import Mapping

from ...grammar import syntax as s
from ...grammar.frozen import Frozen, aside

# Heights above the ground as a share of stature, adults without shoes. D. A. Winter, Biomechanics and Motor Control of
# Human Movement, 4th ed. (2009), fig. 4.1, after Drillis & Contini (1966); the waist (elbow level) is from memory. The
# chest is half-way from waist to shoulder: own choice.
BODY_SHARES = {
    "ankle": 0.039,
    "knee": 0.285,
    "hip": 0.530,
    "waist": 0.620,
    "elbow": 0.630,
    "chest": 0.719,
    "shoulder": 0.818,
    "chin": 0.870,
    "eye": 0.936,
    "head": 1.0,
}
SITTING = 0.520
"""How high the head of a seated person is over the seat, as a share of stature: Drillis & Contini (1966), from memory.
What is above the hip is as far below the head as in one who stands."""
SEAT_M = 0.5
"""Over the ground, in a chair for sport, where the knees are as high: common practice, no source."""
REACH_M = 0.7  # from body to ball at contact: common practice, no source
BACKWARD = 0.7
"""So much of the speed forward has a run backwards, on foot: a review, A. Uthoff and others, Sports Med. 48, 1083
(2018), from memory."""
TWO_HANDS_M = 0.2
"""By how much less two hands on the racket reach. Own choice."""
EITHER_M = 0.3
"""A ball met so near beside where the player waits may be either stroke. Own choice."""
STATURES = {"red": 1.27, "orange": 1.33, "green": 1.38}
"""Taken where no stature is written, by court: the median of 8, 9 and 10 year olds, girls or boys, whichever is less.
WHO growth reference 2007, height for age, from memory. The ages are those of the stages in the ITF's rules."""
ADULT_STATURE = 1.63  # of 19 year old women in the same reference, from memory: a taller player is in no more danger
YOUNGEST_ADULT_STATURE = 1.45  # below it the shares of adults mislead; own choice
HEAD_PARTS = ("head", "eye", "chin", "shoulder")
LOW = BODY_SHARES["knee"] / 2
"""As a share of stature; that half of the knee's height is too low for a stroke is our own choice."""


STROKES = ("forehand", "backhand")


def stroke(hand: str, stature: float | None, waits_x: float, met: tuple[float, float, float]) -> str:
    """By which side of a player who waits there the ball comes: "forehand", "backhand", or "" where either can be, or
    an overhead."""
    aside = waits_x - met[0] if hand == "right" else met[0] - waits_x
    if abs(aside) < EITHER_M or met[2] > (stature or ADULT_STATURE):
        return ""
    return "forehand" if aside > 0 else "backhand"


class ReplyScatter(Frozen):
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
USUAL_PACES = {"beginner": 90 / 3.6, "improver": 110 / 3.6, "club": 130 / 3.6}
"""The fastest ball that players of a level usually meet, as it leaves, m/s. Own choice."""


class Rotation(Frozen):
    """How players with names take turns."""

    every: int | None
    """Balls, or points in a block that has some, of one turn; None if nobody says how they take turns."""
    changeover: float
    """From the last ball of one player to the first of the next, at least, s."""
    sentence: s.Rotation | None = aside(default=None)


NO_ROTATION = Rotation(None, 0.0)


class Player(Frozen):
    hand: str
    stature: float | None
    reach: float = REACH_M
    reply_limit: float | None = None
    in_line: int = 1
    rotate_every: int | None = None
    """Balls, or points in a block that has some, of one turn of players in line."""
    changeover: float = 0.0
    """From the last ball of one player to the first of the next, at least, s."""
    two_bounces: bool = False
    """Whether the ball may bounce twice, as in wheelchair tennis: then the player moves in a chair."""
    two_hands: bool = False
    """Whether the backhand is played with both hands."""
    scatter: ReplyScatter = LEVELS[USUAL_LEVEL]
    level: str | None = USUAL_LEVEL
    """Whose scatter that is; None if the script states its own."""
    body: Mapping[str, float] = {}
    """Heights that the coach gave; they replace those from the stature."""
    sentence: s.Player | None = aside(default=None)
    name: str = ""
    """What the script calls the player; "" where only one plays and has no name."""

    def height_of(self, part: str) -> float | None:
        if part in self.body:
            return self.body[part]
        if part == "chest":
            below, above = self.height_of("waist"), self.height_of("shoulder")
            return (below + above) / 2 if below is not None and above is not None else None
        if part == "head" and (measured := self._measured_head()) is not None:
            return measured
        return self._at(part, self.stature) if self.stature and part in BODY_SHARES else None

    def height_on(self, part: str, court: str) -> float | None:
        """As `height_of`; where nothing is said of the body, from the stature that is taken on such a court. None where
        other parts were measured, which says that the player is not like most."""
        known = self.height_of(part)
        return known if known is not None or self.body else self._at(part, self.stature_on(court))

    def _at(self, part: str, stature: float) -> float:
        if not self.two_bounces:
            return BODY_SHARES[part] * stature
        return SEAT_M + max(BODY_SHARES[part] - (1 - SITTING), 0.0) * stature

    def stature_on(self, court: str) -> float:
        """The stature, or the one that is taken for players on such a court."""
        return self.stature if self.stature is not None else STATURES.get(court, ADULT_STATURE)

    def lowest_on(self, court: str) -> float:
        """Below this height of the contact a player can only dig a ball out."""
        return LOW * self.stature_on(court)

    def head_on(self, court: str) -> float:
        """Height of the top of the head, of one of whom nothing is measured by the stature."""
        if (measured := self._measured_head()) is not None:
            return measured
        stature = self.stature_on(court)
        return SEAT_M + SITTING * stature if self.two_bounces else stature

    def _measured_head(self) -> float | None:
        """Over the measured eye, chin or shoulder the head rises as far as in an adult: a seated player's head is where
        the eyes are, not where the stature would put it."""
        part = next((part for part in HEAD_PARTS if part in self.body), None)
        if part is None:
            return None
        measured, share = self.body[part], BODY_SHARES[part]
        return measured / share if self.stature is None else measured + (1 - share) * self.stature

    def reach_at(self, x: float) -> float:
        """From body to ball for a stroke on that side of the middle: two hands reach less far."""
        backhand = x * self.forehand_x < 0
        return self.reach - TWO_HANDS_M if backhand and self.two_hands else self.reach

    def reaches(self, asked: str = "") -> tuple[float, float]:
        """How far the player reaches towards -x and towards +x. For a stroke that is asked the ball has to be on that
        side of the body, and not so near that it may be either: the other way that is less than none."""
        less, more = self.reach_at(-1), self.reach_at(1)
        if not asked:
            return less, more
        return (less, -EITHER_M) if (asked == "forehand") == (self.forehand_x < 0) else (-EITHER_M, more)

    def beside(self, aside: float, asked: str = "") -> float:
        """How far sideways the player goes until a ball so far beside is in reach, m."""
        less, more = self.reaches(asked)
        return max(-aside - less, aside - more, 0.0)

    @property
    def forehand_x(self) -> int:
        """Sign of x on the player's forehand side: the player's right is -x."""
        return -1 if self.hand == "right" else 1
