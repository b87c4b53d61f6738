"""Where the feeder stands."""

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
    height: float
    """Above the ground, m, at which the ball is released."""
    sentence: s.Feeder | s.Stands = aside()

    @property
    def span(self) -> Span:
        return self.sentence.span

    @property
    def spot(self) -> str:
        """Its words without the screen."""
        return self.words.removesuffix(", behind a screen")

    @property
    def there(self) -> tuple[object, ...]:
        """All that makes it another place, in whatever words it is said."""
        return self.x, self.y, self.height, self.players_side, self.screen
