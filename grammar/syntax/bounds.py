"""What a ball may be at most and at least, for one feed and for the whole script."""

from __future__ import annotations

from .node import Node, Word
from .parts import Amount, Distance, FromLine, Name
from .sentences import Sentence


class Bound(Sentence):
    """What a ball may be at most or at least, beside what decides its flight."""

    way: Word
    """AT_MOST, AT_LEAST, NO_HIGHER_THAN or NO_LOWER_THAN."""
    bar: Name | Amount | Distance
    end: Word | None = None
    """OVER_NET, AT_THE_TOP, TO_CONTACT, ON_THE_FULL, RISING or FALLING."""

    @property
    def upper(self) -> bool:
        """Whether it bounds from above."""
        return self.way.kind in ("AT_MOST", "NO_HIGHER_THAN")


class HeightBound(Bound):
    kind = "height"

    @property
    def on_the_full(self) -> bool:
        """Whether it also says that the ball does not bounce; where else no line says how high it is then met, that is
        left open."""
        return self.end is not None and self.end.kind == "ON_THE_FULL"

    @property
    def met(self) -> Word | None:
        """RISING or FALLING, if it says which way the ball goes where it is met."""
        return self.end if self.end is not None and self.end.kind in ("RISING", "FALLING") else None


class PaceBound(Bound):
    kind = "pace"


class SpinBound(Bound):
    kind = "spin"
    turn: Word | None = None
    """TOPSPIN or BACKSPIN: then the ball has no other."""


class TimeBound(Bound):
    kind = "time"


class StanceBound(Bound):
    kind = "stance"

    @property
    def upper(self) -> bool:
        """Whether it bounds how far from the net the player stands; else it bounds how near."""
        inside = isinstance(self.bar, FromLine) and self.bar.way.kind == "INSIDE"
        return (self.way.kind == "AT_MOST") != inside


class WayBound(Bound):
    """Of the way from where the player waits to where the ball is in reach."""

    kind = "way"


class Nothing(Node):
    """No ball is met above or below a height."""

    way: Word
    """ABOVE or BELOW."""
    bar: Name | Amount


class Limit(Sentence):
    """A bound for every ball of the script."""

    kind = "limit"
    bound: Bound | Nothing
