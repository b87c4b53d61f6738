"""What came of the search for the best ball of a feed."""

from math import inf

from ..grammar.frozen import Frozen
from .fit import COARSE, REFUSED
from .kept import Kept
from .model.program import Feed, FixedBy
from .rounding import Rounded

LOBBED_M = 2.5  # higher over the net than this flies no ordinary ball, only one that a line asks for. Own choice
CLOSE = 2.0  # widths of `COARSE` from what is fixed, that another place of the zone may make up for. Own choice


class Chosen(Frozen):
    """What came of a feed: with all that its lines left open, its settings flown, and what is in the way of more."""

    feed: Feed
    rounded: Rounded | None
    binds: tuple[str, ...] = ()
    lacking: tuple[FixedBy, float, float] | None = None
    """What its lines fix that no ball has beside the rest: asked and given, SI."""
    bare: float | None = None
    """What the best would be, SI, if it kept no margin inside its bounds; None where that is the same."""
    lacks: float = 0.0
    """What it lacks of all that is asked, two deviations inside its bounds among that."""
    beyond: float = 0.0
    """What of that it lacks inside its bounds."""
    topped: "Chosen | None" = None
    """Where no ball comes as high as the player stands for: the best that is met at the top of its bounce."""

    @property
    def failed(self) -> bool:
        """Whether no ball has all that its lines fix."""
        return self.rounded is None or self.lacking is not None

    @property
    def short(self) -> float:
        """What it lacks of all that is asked; infinite where it is no ball that could be fed."""
        refused = self.failed or self.rounded is None or bool(self.rounded.faults & REFUSED)
        return inf if refused else self.lacks

    @property
    def top(self) -> float | None:
        """How high it then comes, m, where it has all else that is asked."""
        one = self.topped
        if one is None or one.rounded is None or one.lacking:
            return None
        return float(one.rounded.flown.contact.position[2, 0])

    def played(self, low: float, high: float) -> "Chosen":
        """It, or the one at the top of its bounce, if nothing speaks against that and it is met between these."""
        one, top = self.topped, self.top
        if one is None or top is None or not low <= top <= high or (one.rounded and one.rounded.faults & REFUSED):
            return self
        return one

    @property
    def lobbed(self) -> bool:
        """Whether it flies higher than any ordinary ball."""
        return self.rounded is not None and float(self.rounded.flown.clearance[0]) > LOBBED_M

    @property
    def close(self) -> bool:
        """Whether it is no ball at its aim, and may be one beside it."""
        if self.lacking is None:
            return self.rounded is None
        what, asked, given = self.lacking
        return abs(asked - given) <= CLOSE * COARSE[what]


CHOSEN: Kept[Chosen] = Kept(1000)
"""By the conditions and all that is asked: the best ball."""
