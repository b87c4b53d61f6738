"""What was measured of a feeder beside its axes, and how far a profile may be off: parts of a profile."""

from math import cos, sin
from typing import TYPE_CHECKING, Annotated, TypeVar

from ...grammar.frozen import replace
from ...grammar.units import DEG
from .record import Record, Within

if TYPE_CHECKING:  # numpy is slow to load, and a simulated machine does without
    from ..physics.ball import Ball
    from ..physics.bounce import Surface
    from ..physics.flight import Array

Number = TypeVar("Number", float, "Array")
LEAST_DRAG, MOST_DRAG = 0.4, 0.7
"""No ball has a drag coefficient beyond these: what is measured is cut there (a plan's bounds)."""


class MeasuredFeeder(Record):
    """What landings said of the machine, the balls and the court; 0 and 1 are what a script says of them.

    `roll_deg`: the head leans by so much, positive to the right as seen from behind the machine, as on a stand with one
    leg too short. It turns the axis of the spin about the line of the launch, so that topspin, which bends the ball
    down, bends it to the left as well. `drag` and `spin_drag` are added to those of the ball that a script names,
    `restitution` and `friction` multiply those of its surface.
    """

    roll_deg: Annotated[float, Within(ge=-20, le=20)] = 0.0
    drag: Annotated[float, Within(ge=-0.15, le=0.15)] = 0.0
    spin_drag: Annotated[float, Within(ge=-1, le=1)] = 0.0
    restitution: Annotated[float, Within(ge=0.5, le=1.5)] = 1.0
    friction: Annotated[float, Within(ge=0.3, le=2)] = 1.0

    def ball(self, ball: "Ball") -> "Ball":
        """The ball as it flew."""
        drag = min(max(ball.drag_offset + self.drag, LEAST_DRAG), MOST_DRAG)
        return replace(ball, drag_offset=drag, spin_drag=min(max(ball.spin_drag + self.spin_drag, 0.0), 1.0))

    def surface(self, surface: "Surface") -> "Surface":
        """The surface, in play, as it bounced."""
        return replace(
            surface,
            friction=min(max(surface.friction * self.friction, 0.1), 1.5),
            restitution=min(surface.restitution * self.restitution, 1.0),
            drop=min(surface.drop * self.restitution, 1.0),
        )

    def rolled(self, topspin: Number, sidespin: Number) -> tuple[Number, Number]:
        """Topspin and sidespin of the ball, rad/s, from those about the axes of the head (signs: `flight.launch`)."""
        return _turned(topspin, sidespin, self.roll_deg * DEG)

    def unrolled(self, topspin: Number, sidespin: Number) -> tuple[Number, Number]:
        """The other way."""
        return _turned(topspin, sidespin, -self.roll_deg * DEG)


def _turned(topspin: Number, sidespin: Number, angle: float) -> tuple[Number, Number]:
    if not angle:
        return topspin, sidespin
    c, s = cos(angle), sin(angle)
    return c * topspin - s * sidespin, c * sidespin + s * topspin


AS_STATED = MeasuredFeeder()


class Doubt(Record):
    """How far the profile may be off, one standard deviation each: the speed by a share of it and by an amount, the
    direction, the topspin by a share of it, the roll of the head, the ball's drag and how it grows with spin, the
    bounce, and the scatter by a share of it.

    The defaults are for a profile that nobody measured: common practice, no source. `together` holds the correlations
    of the first eight, row by row below the diagonal, as a calibration leaves them; without it there are none.
    `unexplained_along` and `unexplained_aside` are shares of the repeatability, of speed, elevation and spin and of
    azimuth, that may be no scatter but what no correction explains: the same each time at one setting.
    """

    speed_percent: Annotated[float, Within(ge=0, le=30)] = 5.0
    speed_mps: Annotated[float, Within(ge=0, le=5)] = 0.7
    elevation_deg: Annotated[float, Within(ge=0, le=10)] = 1.0
    azimuth_deg: Annotated[float, Within(ge=0, le=10)] = 0.7
    topspin_percent: Annotated[float, Within(ge=0, le=100)] = 20.0
    roll_deg: Annotated[float, Within(ge=0, le=10)] = 2.0
    drag: Annotated[float, Within(ge=0, le=0.2)] = 0.04
    spin_drag: Annotated[float, Within(ge=0, le=1)] = 0.3
    restitution_percent: Annotated[float, Within(ge=0, le=30)] = 4.0
    friction_percent: Annotated[float, Within(ge=0, le=60)] = 15.0
    scatter_percent: Annotated[float, Within(ge=1, le=100)] = 40.0
    unexplained_along: Annotated[float, Within(ge=0, le=1)] = 0.0
    unexplained_aside: Annotated[float, Within(ge=0, le=1)] = 0.0
    together: tuple[float, ...] | None = None

    def check(self) -> None:
        if self.together is not None and (len(self.together) != 28 or any(abs(r) > 1 for r in self.together)):
            raise ValueError("together holds 28 correlations, each from -1 to 1")
