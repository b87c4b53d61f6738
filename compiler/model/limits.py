"""What a script allows of a ball at most and at least, and how many of the balls keep it."""

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from . import bounds
from .conditions import Record


class LimitRecord(Record):
    """The bounds of one thing, of the feed and of the whole script together, and the shares of balls that keep them."""

    of: Literal["height over net", "height at the player", "pace", "time to contact", "spin"]
    unit: Literal["m", "m/s", "s", "rpm"]
    least: bounds.Setting | None
    most: bounds.Setting | None
    words: Annotated[tuple[bounds.Words, ...], Field(min_length=1, max_length=60)]
    """The lines of the script that say it."""
    share_kept: bounds.Share | None = None
    """As the feeder scatters its balls."""
    share_kept_least: bounds.Share | None = None
    """With the least or the most drag that balls may have, whichever is less."""

    @model_validator(mode="after")
    def _ordered(self) -> Self:
        if self.least is None and self.most is None:
            raise ValueError("a limit says what is most or least")
        if self.least is not None and self.most is not None and self.least > self.most:
            raise ValueError("the least of a limit is no more than its most")
        if (self.share_kept or 0.0) < (self.share_kept_least or 0.0):
            raise ValueError("with other drag no more balls keep a limit than at best")
        return self
