"""How sure the feeder is of a ball, and how forgiving the reply to it is."""

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Scattering:
    """Shares of balls; the ellipse of one standard deviation of the landing, on the full of the contact: half axes
    in m, the angle of the longer one in rad from +x towards +y."""

    in_zone: float
    over_net: float
    half_axes: tuple[float, float]
    angle: float


@dataclass(frozen=True, slots=True)
class Window:
    """Of one reply: the widest interval of elevations that will do, m/s and rad; `width` 0 where none will, and the
    rest is None then. Azimuth π is straight back along -y; `side` is the width of the azimuths that will do."""

    width: float
    pace: float | None
    low: float | None
    high: float | None
    azimuth: float
    side: float


@dataclass(frozen=True, slots=True)
class Judgement:
    """By the name of the ball; a ball that aims at no variation, or at one without a reply, has no window."""

    scatterings: Mapping[str, Scattering]
    windows: Mapping[str, Window]
