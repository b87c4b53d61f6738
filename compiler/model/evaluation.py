"""How sure the feeder is of a ball, and how many of the replies to it are good."""

from collections.abc import Container, Iterable, Mapping
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Scattering:
    """Shares of balls, and the ellipse of one standard deviation of the landing (on the full: of the contact): half
    axes in m, the angle of the longer one in rad from +x towards +y."""

    in_zone: float
    over_net: float
    half_axes: tuple[float, float]
    angle: float


@dataclass(frozen=True, slots=True)
class DriveWindow:
    """Of a reply whose pace is stated: the widest interval of elevations up to 40° that do what is asked, rad, and the
    width of the azimuths that do at its middle (Brody 1987)."""

    low: float
    high: float
    side: float


@dataclass(frozen=True, slots=True)
class GoodReplies:
    """The share of a player's replies that do what is asked, at the best aim, m/s and rad; azimuth π is straight back
    along -y. If none does, the share is 0 and the aim None."""

    share: float
    pace: float | None = None
    elevation: float | None = None
    azimuth: float | None = None
    window: DriveWindow | None = None


@dataclass(frozen=True, slots=True)
class Evaluation:
    """By the name of the ball. To a ball without a variation, or whose variation has no reply, there are no replies."""

    scatterings: Mapping[str, Scattering]
    replies: Mapping[str, GoodReplies]

    def of(self, names: Container[str]) -> "Evaluation":
        """The evaluation of some balls."""
        return Evaluation(
            {name: one for name, one in self.scatterings.items() if name in names},
            {name: one for name, one in self.replies.items() if name in names},
        )

    def with_(self, others: "Evaluation", names: Iterable[str]) -> "Evaluation":
        """This one and another together, in the order of `names`."""
        scatterings, replies = {**self.scatterings, **others.scatterings}, {**self.replies, **others.replies}
        order = list(names)
        return Evaluation(
            {name: scatterings[name] for name in order if name in scatterings},
            {name: replies[name] for name in order if name in replies},
        )
