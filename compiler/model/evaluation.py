"""How sure the feeder is of a ball, and the margin for error of the reply."""

from collections.abc import Mapping

from ...grammar.frozen import Frozen


class Scattering(Frozen):
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


class Window(Frozen):
    """Margin of one reply: the widest interval of elevations that work, m/s and rad. If none works, `width` is 0 and
    the rest None. Azimuth π is straight back along -y; `side` is the width of the azimuths that work."""

    width: float
    pace: float | None
    low: float | None
    high: float | None
    azimuth: float
    side: float


class Evaluation(Frozen):
    """By the name of the ball. A ball without a variation, or whose variation has no reply, has no window."""

    scatterings: Mapping[str, Scattering]
    windows: Mapping[str, Window]
