"""How sure the feeder is of a ball, and how many of the replies to it are good."""

from collections.abc import Mapping

from ...grammar.frozen import Frozen
from .program import FixedBy


class Scattering(Frozen):
    """Shares of balls, and the ellipse of one standard deviation of the landing (on the full: of the contact): half
    axes in m, the angle of the longer one in rad from +x towards +y. All for the ball as its figures say.

    `in_zone_band` is the least and the most of the share as far as the drag of balls is in doubt; `ends` is where the
    shot itself comes to with the least and with the most drag, (x, y) or on the full (x, z), m, None where it does not
    come there. `at_side` and `at_height` are the shares that come to the side of the zone and that are met about as
    high as asked, whether they pass the net or not; 1 where no height is asked. `kept` are the shares that keep what
    the bounds of the ball allow, with its own drag and with the least or the most, whichever is less."""

    in_zone: float
    over_net: float
    half_axes: tuple[float, float]
    angle: float
    in_zone_band: tuple[float, float]
    ends: tuple[tuple[float, float] | None, tuple[float, float] | None]
    at_side: float
    at_height: float
    heights: tuple[float | None, float | None] = (None, None)
    """Of the contact, m, with the least and with the most drag; None where the ball does not come there."""
    kept: Mapping[FixedBy, tuple[float, float]] = {}

    @property
    def kept_least(self) -> float:
        """Of the bound that is broken most often."""
        return min((least for _, least in self.kept.values()), default=1.0)


class DriveWindow(Frozen):
    """Of a reply whose pace is stated: the widest interval of elevations up to 40° that do what is asked, rad, and the
    width of the azimuths that do at its middle (Brody 1987)."""

    low: float
    high: float
    side: float


class GoodReplies(Frozen):
    """The share of a player's replies that do what is asked, at the best aim, m/s and rad; azimuth π is straight back
    along -y. If none does, the share is 0 and the aim None. A plan has the `window` too, where the pace is stated."""

    share: float
    pace: float | None = None
    elevation: float | None = None
    azimuth: float | None = None
    window: DriveWindow | None = None


class Evaluation(Frozen):
    """By the name of the ball. A ball without a variation, or whose variation has no reply, has no replies."""

    scatterings: Mapping[str, Scattering]
    replies: Mapping[str, GoodReplies]
