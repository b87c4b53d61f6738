"""What comes nearest to a wish that nothing grants often enough."""

from ...grammar.facts import BallName, Portion
from ...grammar.finding import Hint
from ...grammar.frozen import Frozen


class BestTried(Frozen):
    """A line, or a place of the feeder, and the share of balls that then do what is asked."""

    words: str
    share: Portion


class Nearest(Hint):
    """What comes nearest where nothing lets enough balls do what is asked."""

    ball: BallName
    here: Portion
    line: BestTried | None
    place: BestTried | None
    lob: bool = False
    """Whether it was to stay as high as it is."""
    odds: tuple[str, ...] = ()
    """The bound that balls break, and the line that decides how they fly."""
    says = "{told}{apart}"

    @property
    def apart(self) -> str:
        lines = " and ".join(f"`{line}`" for line in self.odds)
        return f"; from this feeder {lines} do not go together" if lines else ""

    @property
    def told(self) -> str:
        best = [f"{self.line.share} with `{self.line.words}`"] if self.line else []
        best += [f"{self.place.share} with the feeder {self.place.words}"] if self.place else []
        if best:
            return f"the best that was tried for {self.ball}: {', '.join(best)}"
        as_high = ", as high as it is," if self.lob else ""
        return f"no line and no nearer place of the feeder gives {self.ball}{as_high} much more than {self.here}"


class HadAtHeight(Hint):
    """On the full, the height at which a ball that is out of the feeder's reach can be met, where too many of its balls
    break a bound to propose it."""

    ball: BallName
    best: BestTried
    says = "the feeder has {ball} with `{best.words}`, where {best.share} keep their bounds"
