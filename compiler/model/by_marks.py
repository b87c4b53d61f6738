"""What the marks of a practice decide: the rungs of a ladder, and the points of a block."""

from typing import Annotated, Self

from pydantic import Field, model_validator

from . import bounds
from .conditions import Record


class Ladder(Record):
    """Rungs in their order, each a checked shot; the first ball is on the rung `start`. One rung up after a number of
    hits in a row, one down after a number of misses among the last balls on the rung."""

    quantity: bounds.Words
    rungs: Annotated[tuple[bounds.Name, ...], Field(min_length=2, max_length=60)]
    labels: Annotated[tuple[bounds.Words, ...], Field(min_length=2, max_length=60)]
    """What each rung is, in the coach's words, such as "80 km/h"."""
    up_in_a_row: bounds.Goal
    down_misses: bounds.Misses | None
    down_in: bounds.Misses | None
    start: bounds.Count = 0
    """The rung of the first ball, from zero, if no practice before ended on another."""

    @model_validator(mode="after")
    def _whole(self) -> Self:
        if len(self.labels) != len(self.rungs) or len(set(self.rungs)) != len(self.rungs):
            raise ValueError("a ladder has a label for each rung, and no rung twice")
        if (self.down_misses is None) != (self.down_in is None) or (self.down_misses or 0) > (self.down_in or 0):
            raise ValueError("a ladder goes down after a number of misses among at least as many balls")
        if self.start >= len(self.rungs):
            raise ValueError("a ladder starts on one of its rungs")
        return self


class PointRecord(Record):
    """Some balls that are played as one and count as one; a single ball beside points is one, too."""

    name: bounds.Name
    shots: Annotated[tuple[bounds.Name, ...], Field(min_length=1, max_length=100)]
    """In their order."""
    serve_s: bounds.AfterServe | None
    """Seconds from the player's serve to the launch of the first ball."""
    again: bool
    """Whether it begins again after a missed ball."""
