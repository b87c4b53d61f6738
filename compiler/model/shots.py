"""The result of each feed: a launch and what it does, or why there is none."""

from collections.abc import Iterable, Mapping
from functools import cached_property

from ...grammar.finding import Message
from ...grammar.frozen import Frozen, replace
from .program import Feed


class Prediction(Frozen):
    """A launch flown, in SI and the court's frame; None for what does not happen (see plan.py)."""

    clearance: float | None
    net_x: float | None
    landing: tuple[float, float] | None
    landing_time: float | None
    landing_speed: float | None
    contact: tuple[float, float, float]
    contact_time: float
    contact_speed: float
    phase: str
    bounces: int
    """How many before the contact."""
    peak: float


class SolvedShot(Frozen):
    """The result of a feed: device settings after rounding, the launch they give, and that launch flown.

    Speed m/s, angles rad, spins rad/s, settings in the device's own units.
    """

    feed: str
    settings: Mapping[str, float]
    origin: tuple[float, float, float]
    speed: float
    elevation: float
    azimuth: float
    topspin: float
    sidespin: float
    predicted: Prediction

    @cached_property
    def launch(self) -> tuple[float, ...]:
        """What leaves, to the digits of a plan: origin, speed, angles, spins."""
        figures = (*self.origin, self.speed, self.elevation, self.azimuth, self.topspin, self.sidespin)
        return tuple(round(one, 6) for one in figures)


class Miss(Frozen):
    """Why a feed became no shot, and the nearest value of what was asked that the feeder can give, in SI."""

    feed: str
    message: Message
    nearest: float | None = None


class Shots(Frozen):
    shots: Mapping[str, SolvedShot]
    misses: Mapping[str, Miss]
    feeds: Mapping[str, Feed] = {}
    """What came of feeds that ask for the best there is or leave something open."""
    binds: Mapping[str, tuple[str, ...]] = {}
    """What is in the way of more, for each of them."""
    bare: Mapping[str, float] = {}
    """What the best of some would be, SI, without the margin that they keep inside their bounds."""

    def and_(self, more: "Shots", order: Iterable[str]) -> "Shots":
        """These and others, in that order."""
        shots, misses = {**self.shots, **more.shots}, {**self.misses, **more.misses}
        return replace(
            self,
            shots={name: shots[name] for name in order if name in shots},
            misses={name: misses[name] for name in order if name in misses},
            feeds={**self.feeds, **more.feeds},
            binds={**self.binds, **more.binds},
            bare={**self.bare, **more.bare},
        )
