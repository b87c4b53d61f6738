"""How sure the feeder is of a ball, and how forgiving its reply is."""

from collections.abc import Container, Iterable, Mapping
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Scattering:
    """Shares of balls, and the ellipse of one standard deviation of the landing (on the full: of the contact): half
    axes in m, the angle of the longer one in rad from +x towards +y. All for the ball as its figures say.

    `in_zone_band` is the least and the most of the share as far as the drag of balls is in doubt; `ends` is where the
    shot itself comes to with the least and with the most drag, (x, y) or on the full (x, z), m, None where it does not
    come there."""

    in_zone: float
    over_net: float
    half_axes: tuple[float, float]
    angle: float
    in_zone_band: tuple[float, float]
    ends: tuple[tuple[float, float] | None, tuple[float, float] | None]


@dataclass(frozen=True, slots=True)
class Window:
    """Margin of one reply: the widest interval of elevations that work, m/s and rad. If none works, `width` is 0 and
    the rest None. Azimuth π is straight back along -y; `side` is the width of the azimuths that work."""

    width: float
    pace: float | None
    low: float | None
    high: float | None
    azimuth: float
    side: float


@dataclass(frozen=True, slots=True)
class Evaluation:
    """By the name of the ball. A ball without a variation, or whose variation has no reply, has no window."""

    scatterings: Mapping[str, Scattering]
    windows: Mapping[str, Window]

    def of(self, names: Container[str]) -> "Evaluation":
        """The evaluation of some balls."""
        return Evaluation(
            {name: one for name, one in self.scatterings.items() if name in names},
            {name: one for name, one in self.windows.items() if name in names},
        )

    def with_(self, others: "Evaluation", names: Iterable[str]) -> "Evaluation":
        """This one and another together, in the order of `names`."""
        scatterings, windows = {**self.scatterings, **others.scatterings}, {**self.windows, **others.windows}
        order = list(names)
        return Evaluation(
            {name: scatterings[name] for name in order if name in scatterings},
            {name: windows[name] for name in order if name in windows},
        )
