"""How sure the feeder is of a ball, and how forgiving the reply to it is."""

from collections.abc import Container, Iterable, Mapping
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
class Evaluation:
    """By the name of the ball; a ball that aims at no variation, or at one without a reply, has no window."""

    scatterings: Mapping[str, Scattering]
    windows: Mapping[str, Window]

    def of(self, names: Container[str]) -> "Evaluation":
        """That on some balls."""
        return Evaluation(
            {name: one for name, one in self.scatterings.items() if name in names},
            {name: one for name, one in self.windows.items() if name in names},
        )

    def with_(self, others: "Evaluation", names: Iterable[str]) -> "Evaluation":
        """These and others, in the order of `names`."""
        scatterings, windows = {**self.scatterings, **others.scatterings}, {**self.windows, **others.windows}
        order = list(names)
        return Evaluation(
            {name: scatterings[name] for name in order if name in scatterings},
            {name: windows[name] for name in order if name in windows},
        )
