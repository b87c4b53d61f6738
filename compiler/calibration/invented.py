"""Machines that are not what their profile says, invented: to try out what measuring is worth, and for `device`."""

import math

import numpy as np

from ...grammar.frozen import Frozen
from ...grammar.units import DEG, RPM
from ..model.feeder import Feeder
from ..physics.flight import Array, Drag, fly, launch
from ..physics.moments import at_height, at_plane
from . import law
from .law import DEPTH, KINDS, OVER_NET, SIDE, TIME, Balls, Stand

OTHER_LAWS = ("slip", "coupled", "tilted", "gyro", "worn")
"""What no unknown of the fit describes: a slip that grows with speed, spin that slows the ball, a stand that tilts, a
spin about the line of flight, a worn ball of another make. How much of each is our own choice."""
SLIP_PER_MPS = 0.003
COUPLED_PER_RPM = 0.00002
TILT = 2.0 * DEG
GYRO = 300.0 * RPM
WORN = 0.03


class InventedMachine(Frozen):
    """`unknowns` (10,) as in `law`, `scatter` (4,) one standard deviation each, and which other laws hold."""

    unknowns: Array
    scatter: Array
    other: tuple[str, ...] = ()

    @staticmethod
    def drawn(feeder: Feeder, chance: np.random.Generator, other: tuple[str, ...] = ()) -> "InventedMachine":
        """As far from its profile as that says that it may be."""
        prior = law.prior(feeder.doubt)
        return InventedMachine(
            np.linalg.cholesky(prior + 1e-18 * np.eye(10)) @ chance.normal(size=10),
            law.scatter(feeder.repeatability),
            other,
        )

    def thrown(self, balls: Balls, stand: Stand, chance: np.random.Generator | None = None) -> Array:
        """What n balls do (6, n), each with its own scatter; without `chance` as they do in the middle."""
        n = len(balls.speed)
        off = np.zeros((4, n)) if chance is None else chance.normal(size=(4, n)) * self.scatter[:, None]
        a, b, c, d, e, r, f, g, _, _ = self.unknowns
        speed = balls.speed * (1 + a) + b
        turn = balls.topspin * (1 + e) + off[3]
        if "slip" in self.other:
            speed = speed * (1 - SLIP_PER_MPS * (balls.speed - 20))
        if "coupled" in self.other:
            speed = speed * (1 - COUPLED_PER_RPM * np.abs(turn) / RPM)
        speed, elevation, azimuth = speed * (1 + off[0]), balls.elevation + c + off[1], balls.azimuth + d + off[2]
        if "tilted" in self.other:  # all of the head turned about the line to the net: what points up also points aside
            azimuth = azimuth + np.sin(TILT) * np.tan(elevation)
            r = r + TILT
        roll = stand.roll + r
        topspin = np.cos(roll) * turn - np.sin(roll) * balls.sidespin
        sidespin = np.cos(roll) * balls.sidespin + np.sin(roll) * turn
        velocity, spin = launch(speed, elevation, azimuth, topspin, sidespin)
        if "gyro" in self.other:
            spin = spin + GYRO * velocity / np.linalg.norm(velocity, axis=0)
        ball = stand.conditions.ball
        worn = WORN if "worn" in self.other else 0.0
        drag = Drag(np.full(n, ball.drag_offset + f + worn), np.full(n, float(np.clip(ball.spin_drag + g, 0, 1))))
        origin = np.repeat(np.array(stand.origin, float)[:, None], n, axis=1)
        path = fly(origin, velocity, spin, ball, stand.conditions.air, floor=ball.radius_m, drag=drag)
        net, landing = at_plane(path, 0.0).position, at_height(path, ball.radius_m)
        found = np.full((len(KINDS), n), np.nan)
        found[DEPTH], found[SIDE], found[TIME] = landing.position[1], landing.position[0], landing.time
        found[OVER_NET] = net[2] - ball.radius_m - stand.conditions.cord(net[0])
        return found


class ThrownReports:
    """Says of each ball of a simulated machine where it lands, as somebody with a tape would: from the middle of the
    baseline, in still air at sea level, with type 2 balls on a hard court."""

    def __init__(self, feeder: Feeder, stand: Stand, seed: int, other: tuple[str, ...]) -> None:
        self._chance = np.random.default_rng(seed)
        self._feeder, self._stand = feeder, stand
        self._machine = InventedMachine.drawn(feeder, self._chance, other)

    def __call__(self, told: tuple[int, int, int, int, int]) -> str:
        """From the settings on the line."""
        axes = self._feeder.axes()
        si = (told[0] / 1000, told[1] / 1000 * DEG, told[2] / 1000 * DEG, told[3] / 10 * RPM, told[4] / 10 * RPM)
        named = dict(zip(("speed", "elevation", "azimuth", "topspin", "sidespin"), si, strict=True))
        speed, elevation, azimuth, topspin, sidespin = (
            np.array([axes[name].leaving(value) if name in axes else 0.0]) for name, value in named.items()
        )
        balls = Balls(speed, elevation, azimuth, topspin, sidespin, np.array([math.nan]))
        found = self._machine.thrown(balls, self._stand, self._chance)[:, 0]
        if not np.isfinite(found[DEPTH]):
            return "it did not land"
        side = f"{abs(found[SIDE]):.2f} m to the {'right' if found[SIDE] > 0 else 'left'}"
        return f"landed {found[DEPTH]:.2f} m past the net, {side}, after {found[TIME]:.2f} s"
