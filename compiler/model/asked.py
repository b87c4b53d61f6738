"""What lines can ask of a ball: what decides its flight, the most and the least, and bounds."""

from enum import Enum

from ...grammar import syntax as s
from ...grammar.frozen import Frozen, aside


class FixedBy(Enum):
    """The one thing besides place and spin that decides a flight."""

    OVER_NET = "over net"
    AT_PLAYER = "at player"
    TOP_OF_BOUNCE = "top of bounce"
    PACE = "pace"
    TIME = "time"
    AT_TOP = "at the top"
    """Where it is highest on its way to the player."""
    SPIN = "spin"
    """Only of bounds, and of the most there is."""
    STANCE = "stance"
    """Only of bounds."""
    WAY = "way"
    """The same: from where the player waits to where the ball is in reach."""


SCATTERED = (
    FixedBy.OVER_NET, FixedBy.AT_PLAYER, FixedBy.PACE, FixedBy.TIME, FixedBy.SPIN, FixedBy.WAY, FixedBy.AT_TOP,
)  # fmt: skip
"""What differs between the balls of one feed, and can be bounded; its player stands at one place."""
FLOWN_HIGH = (FixedBy.OVER_NET, FixedBy.AT_TOP)
"""What says how high a ball flies on its way."""
BOUNDED = (*SCATTERED, FixedBy.STANCE)
"""What a bound can be of, in the order in which launches are measured for it."""


class Best(Frozen):
    """The most (`sign` 1) or the least (-1) of something; of spin also 0, the most of either kind."""

    what: FixedBy
    sign: int


class SomeSpin(Frozen):
    """Topspin (`sign` 1) or backspin (-1), however much."""

    sign: int


class Bound(Frozen):
    """What a ball may be at least and at most, SI; infinite on the side that is free."""

    what: FixedBy
    low: float
    high: float
    words: str
    sentence: s.Bound | s.Limit | s.Starts | s.Spins = aside()
    turn: int = 0
    """Of a bound of spin, 1 if the ball has topspin alone, -1 if backspin."""

    @property
    def estimated(self) -> bool:
        """Whether no line says how much: the time that a player needs, and how much spin is of a kind at least."""
        return isinstance(self.sentence, s.Starts | s.Spins)

    @property
    def everywhere(self) -> bool:
        """Whether it holds for the whole script."""
        return isinstance(self.sentence, s.Limit)


class Range(Frozen):
    """What counts as met, and the value aimed at."""

    low: float
    high: float
    aim: float
    part_low: float | None = None
    part_high: float | None = None
    """Of one step through a range, its part: its ball may come anywhere in that, and counts in all of the range. The
    same of a distance that stands alone: a ball may come as near to it as this, and counts in a wider zone."""
    alone: bool = False
    """Whether it is that of one distance for a ball that is fed, which nobody wrote as a zone."""

    @property
    def part(self) -> tuple[float, float]:
        """Between which values a ball may be looked for."""
        return (
            self.low if self.part_low is None else self.part_low,
            self.high if self.part_high is None else self.part_high,
        )
