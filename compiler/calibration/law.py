"""What a ball does if its machine, its felt and the court are not quite as the profile says.

Ten unknowns, all 0 where the profile is right: of the speed a share and an amount (m/s), elevation and azimuth (rad),
of the topspin a share, the roll of the head (rad), the ball's drag and its growth with spin, and of the surface's
restitution and friction a share. The frame, units and signs are those of `physics.flight`.
"""

from typing import TYPE_CHECKING

import numpy as np

from ...grammar.frozen import Frozen, replace
from ...grammar.units import DEG
from ..model.court import courts
from ..model.feeder import Feeder, Repeatability
from ..model.measured import Doubt
from ..physics.air import Air, density
from ..physics.ball import BALLS
from ..physics.bounce import SURFACES, bounce, in_play
from ..physics.flight import Array, Drag, fly, launch
from ..physics.moments import Moment, at_height, at_plane
from ..physics.outcome import UNDER, Conditions
from ..trace import world_of

if TYPE_CHECKING:
    from ..model.plan import Plan

UNKNOWNS = (
    "speed, by a share", "speed, by an amount", "elevation", "azimuth", "topspin, by a share", "roll of the head",
    "drag of the ball", "growth of drag with spin", "restitution of the court", "friction of the court",
)  # fmt: skip
STEPS = np.array([5e-3, 0.1, 3e-3, 3e-3, 0.03, 0.02, 8e-3, 0.05, 0.01, 0.03])
"""How far to each side the slopes of a flight by its unknowns are taken."""
TURNED = 5.0  # rad/s, the same for the spin that scatters
KINDS = ("depth", "side", "time", "over-net", "height", "second")
"""What can be read of a ball: where it lands along (from the net, m) and across the court (m, to the feeder's right);
the time from launch to bounce, s; how far its underside passes over the cord, m; how high its underside is at a line
after the bounce, m; how far from the net it bounces again, m."""
DEPTH, SIDE, TIME, OVER_NET, HEIGHT, SECOND = range(6)


class Balls(Frozen):
    """n balls as the profile says that they leave, about the axes of the head: (n,) each, m/s, rad, rad/s; `line`: at
    which y the height after the bounce is read, m, not a number where it is not."""

    speed: Array
    elevation: Array
    azimuth: Array
    topspin: Array
    sidespin: Array
    line: Array

    def at(self, index: Array) -> "Balls":
        return Balls(*(column[index] for column in self.values()))


class Stand(Frozen):
    """Where the balls leave, (3,) m, over which court, and by how much the head is known to lean, rad."""

    origin: tuple[float, float, float]
    conditions: Conditions
    roll: float = 0.0


def prior(doubt: Doubt) -> Array:
    """The covariance (10, 10) of the unknowns before anything is read."""
    deviations = np.array([
        doubt.speed_percent / 100, doubt.speed_mps, doubt.elevation_deg * DEG, doubt.azimuth_deg * DEG,
        doubt.topspin_percent / 100, doubt.roll_deg * DEG, doubt.drag, doubt.spin_drag,
        doubt.restitution_percent / 100, doubt.friction_percent / 100,
    ])  # fmt: skip
    together = np.eye(10)
    if doubt.together is not None:
        low = np.tril_indices(8, -1)
        together[low] = doubt.together
        together.T[low] = doubt.together
        values, vectors = np.linalg.eigh(together)  # what was rounded need not be a covariance any more
        together = (vectors * np.maximum(values, 1e-9)) @ vectors.T
    return np.asarray(together * np.outer(deviations, deviations))


def scatter(repeatability: Repeatability) -> Array:
    """One standard deviation (4,) of the speed as a share of it, elevation, azimuth and spin."""
    r = repeatability
    return np.array([r.speed_percent / 100, r.elevation_deg * DEG, r.azimuth_deg * DEG, r.spin_rpm * DEG * 6])


def unexplained(feeder: Feeder) -> Array:
    """The part of the scatter (4,) that may be the same each time at one setting, so that no number of balls evens it
    out."""
    along, aside = feeder.doubt.unexplained_along, feeder.doubt.unexplained_aside
    return scatter(feeder.repeatability) * np.array([along, along, aside, along])


def read(balls: Balls, unknowns: Array, stand: Stand, onward: bool = True) -> Array:
    """All that can be read (6, n) of n balls, by unknowns (10, n) or (10, 1); what comes after the bounce only if
    `onward`. Not a number where it does not happen."""
    a, b, c, d, e, r, f, g, h, k = np.broadcast_to(unknowns, (10, len(balls.speed)))
    conditions, n = stand.conditions, len(balls.speed)
    ball, roll = conditions.ball, stand.roll + r
    turn, aside = balls.topspin * (1 + e), balls.sidespin
    topspin = np.cos(roll) * turn - np.sin(roll) * aside
    sidespin = np.cos(roll) * aside + np.sin(roll) * turn
    velocity, spin = launch(
        balls.speed * (1 + a) + b, balls.elevation + c, balls.azimuth + d, topspin, sidespin
    )  # fmt: skip
    origin = np.repeat(np.array(stand.origin, float)[:, None], n, axis=1)
    drag = Drag(ball.drag_offset + f, np.clip(ball.spin_drag + g, 0.0, 1.0))
    path = fly(origin, velocity, spin, ball, conditions.air, floor=ball.radius_m, drag=drag)
    net, landing = at_plane(path, 0.0).position, at_height(path, ball.radius_m)
    found = np.full((len(KINDS), n), np.nan)
    found[DEPTH], found[SIDE], found[TIME] = landing.position[1], landing.position[0], landing.time
    found[OVER_NET] = net[2] - ball.radius_m - conditions.cord(net[0])
    if onward:
        found[HEIGHT], found[SECOND] = _onward(landing, spin, balls.line, drag, h, k, conditions)
    return found


def _onward(
    landing: Moment, spin: Array, line: Array, drag: Drag, livelier: Array, rougher: Array, conditions: Conditions
) -> tuple[Array, Array]:
    """How high the underside is at a line, and how far the ball goes to its second bounce."""
    ball, surface = conditions.ball, conditions.surface
    restitution = np.clip(surface.restitution_of(landing.velocity) * (1 + livelier), 0.05, 1.0)
    friction = surface.friction * np.maximum(1 + rougher, 0.1)
    velocity, turn = bounce(
        landing.velocity, spin, ball=ball, friction=friction, restitution=restitution, grip=surface.grip
    )
    path = fly(landing.position, velocity, turn, ball, conditions.air, floor=UNDER, drag=drag)
    return at_plane(path, line).position[2] - ball.radius_m, at_height(path, ball.radius_m).position[1]


def slopes(balls: Balls, unknowns: Array, stand: Stand, onward: bool = True) -> tuple[Array, Array, Array]:
    """All that can be read (6, n), how it changes with each unknown (6, 10, n), and with each thing that scatters: the
    speed by a share, elevation, azimuth, spin by rad/s (6, 4, n). One batch of flights."""
    n, count = len(balls.speed), len(STEPS)
    flown = count if onward else count - 2  # the bounce changes nothing before it
    step = np.diag(STEPS)[:, :flown]
    moves = np.concatenate([np.zeros((count, 1)), step, -step, np.zeros((count, 2))], axis=1)
    lanes = moves.shape[1]
    many = balls.at(np.tile(np.arange(n), lanes))
    turned = np.repeat(np.concatenate([np.zeros(lanes - 2), [TURNED, -TURNED]]), n)
    many = replace(many, topspin=many.topspin + turned)
    x = np.asarray(unknowns, float).reshape(count, -1)
    all_x = np.tile(np.broadcast_to(x, (count, n)), lanes) + np.repeat(moves, n, axis=1)
    found = read(many, all_x, stand, onward).reshape(len(KINDS), lanes, n)
    by = np.zeros((len(KINDS), count, n))
    by[:, :flown] = (found[:, 1 : flown + 1] - found[:, flown + 1 : 2 * flown + 1]) / (2 * STEPS[:flown, None])
    spin = (found[:, -2] - found[:, -1]) / (2 * TURNED)
    return found[:, 0], by, np.stack([by[:, 0], by[:, 2], by[:, 3], spin], axis=1)


def balls_of(feeder: Feeder, settings: list[dict[str, float]], lines: list[float] | None = None) -> Balls:
    """The balls that a feeder gives at these settings, by its profile as it is."""
    axes = feeder.axes()

    def column(name: str) -> Array:
        return np.array([axes[name].value(one[name]) if name in axes else 0.0 for one in settings])

    line = np.full(len(settings), np.nan) if lines is None else np.array(lines)
    return Balls(
        column("speed"), column("elevation"), column("azimuth"), column("topspin"), column("sidespin"), line
    )  # fmt: skip


def usual_stand(feeder: Feeder, surface: str = "hard") -> Stand:
    """From the middle of the baseline of a singles court, type 2 balls at 20 °C at sea level in still air. KeyError for
    a surface that is not known."""
    court, air = courts(False)["singles"], Air(density(20.0, 0.0))
    ball = feeder.measured.ball(BALLS["type 2"])
    ground = feeder.measured.surface(in_play(SURFACES[surface], BALLS["type 2"], air))
    conditions = Conditions(ball, air, ground, court.net_centre, court.net_post, court.post_x)
    return Stand((0.0, -court.half_length, feeder.release_height_m), conditions, feeder.measured.roll_deg * DEG)


def stand_of(plan: "Plan", feeder: Feeder) -> Stand:
    """Where a plan's feeder stands, with the court, the balls and the air that it says."""
    court = plan.court
    conditions = Conditions(*world_of(plan), court.net_centre_m, court.net_post_m, court.post_x_m)
    return Stand((*plan.feeder.place_m, plan.feeder.release_height_m), conditions, feeder.measured.roll_deg * DEG)
