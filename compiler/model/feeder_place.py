"""Where the feeder stands, as its line in the script has it."""

from ...grammar import syntax as s
from ...grammar.frozen import Frozen, aside
from ...grammar.source import Span


class FeederPlace(Frozen):
    """Where the feeder stands: the point on the ground above which the ball is released."""

    x: float
    y: float
    players_side: bool
    screen: bool
    words: str
    sentence: s.Feeder = aside()

    @property
    def span(self) -> Span:
        return self.sentence.span
