"""What a script allows of a ball at most and at least, and how many of the balls keep it."""

from typing import Annotated, Literal

from . import bounds
from .record import Listed, Record


class LimitRecord(Record):
    """The bounds of one thing, of the feed and of the whole script together, and the shares of balls that keep them."""

    of: Literal[
        "height over net", "height at the top", "height at the player", "pace", "time to contact", "spin", "way"
    ]
    unit: Literal["m", "m/s", "s", "rpm"]
    least: bounds.Setting | None
    most: bounds.Setting | None
    words: Annotated[tuple[bounds.Words, ...], Listed(1, 60)]
    """The lines of the script that say it."""
    share_kept: bounds.Share | None = None
    """As the feeder scatters its balls."""
    share_kept_least: bounds.Share | None = None
    """With the least or the most drag that balls may have, whichever is less."""

    def check(self) -> None:
        if self.least is None and self.most is None:
            raise ValueError("a limit says what is most or least")
        if self.least is not None and self.most is not None and self.least > self.most:
            raise ValueError("the least of a limit is no more than its most")
        if (self.share_kept or 0.0) < (self.share_kept_least or 0.0):
            raise ValueError("with other drag no more balls keep a limit than at best")
