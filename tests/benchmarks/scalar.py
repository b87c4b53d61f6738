"""A feed flown by scipy, one ball at a time in plain scalars: what the batched physics is held to and timed against.

Shares no code with the compiler. scipy.integrate.solve_ivp with its own search of events; force law of A. Štěpánek, Am.
J. Phys. 56, 138 (1988); bounce of R. Cross, Am. J. Phys. 70, 1093 (2002). Frame as everywhere: y along the court, x to
the feeder's right, z up; SI.
"""

from collections.abc import Callable
from dataclasses import dataclass
from math import cos, hypot, nan, pi, sin, sqrt
from typing import Any

from scipy.integrate import solve_ivp

State = list[float]
GRAVITY = 9.81


@dataclass(frozen=True)
class Court:
    """Ball, air, surface and net as plain numbers."""

    mass: float
    radius: float
    drag: float
    spin_drag: float
    inertia: float
    density: float
    wind: tuple[float, float, float]
    friction: float
    restitution: float
    drop: float
    growth: float
    grip: float
    net_centre: float
    net_post: float
    post_x: float


@dataclass(frozen=True)
class Flown:
    """Clearance over the cord, and time and state (x, y, z, vx, vy, vz) at the landing and where the ball is met."""

    clearance: float
    landing: State | None
    contact: State | None
    bounces: int


def launched(origin: State, speed: float, elevation: float, azimuth: float, topspin: float, sidespin: float) -> Any:
    """State (6,) and spin (3,): topspin about the horizontal to the left of the flight, sidespin about the upward
    normal to the launch."""
    forward = (cos(elevation) * sin(azimuth), cos(elevation) * cos(azimuth), sin(elevation))
    left = (-cos(azimuth), sin(azimuth), 0.0)
    rx, ry, rz = -left[0], -left[1], 0.0
    fx, fy, fz = forward
    normal = (ry * fz - rz * fy, rz * fx - rx * fz, rx * fy - ry * fx)
    spin = [topspin * a + sidespin * b for a, b in zip(left, normal, strict=True)]
    return [*origin, *(speed * part for part in forward)], spin


def _event(coordinate: int, level: float, direction: float, terminal: bool) -> Callable[[float, Any], float]:
    def event(_: float, state: Any) -> float:
        return float(state[coordinate] - level)

    event.direction, event.terminal = direction, terminal  # type: ignore[attr-defined]
    return event


def flight(court: Court, start: State, spin: State, planes: tuple[float, ...], floor: float, **options: Any) -> Any:
    """The flight until the centre falls through `floor`; its events: that fall, and the planes y crossed forwards."""
    sx, sy, sz = spin
    turning = sqrt(sx * sx + sy * sy + sz * sz)
    push = court.density * pi * court.radius**2 / (2 * court.mass)
    wx, wy, wz = court.wind
    radius, offset = court.radius, court.drag

    def motion(_: float, state: Any) -> State:
        vx, vy, vz = state[3:].tolist()
        ux, uy, uz = vx - wx, vy - wy, vz - wz
        v = sqrt(ux * ux + uy * uy + uz * uz)
        drag, lift = push * offset * v, 0.0
        if turning:
            q = v / (radius * turning)
            drag += push * v * court.spin_drag / (22.503 + 4.196 * q**2.5) ** 0.4
            lift = push * v / (2.022 + 0.981 * q) / turning
        return [
            vx,
            vy,
            vz,
            lift * (sy * uz - sz * uy) - drag * ux,
            lift * (sz * ux - sx * uz) - drag * uy,
            lift * (sx * uy - sy * ux) - drag * uz - GRAVITY,
        ]

    events = [_event(2, floor, -1.0, True), *(_event(1, y, 1.0, False) for y in planes)]
    # A bounce starts on the floor, where scipy sees no crossing; the cap on the step is for the search of events.
    options = {"method": "DOP853", "rtol": 1e-9, "atol": 1e-9, "max_step": 0.3} | options
    return solve_ivp(motion, (0.0, 20.0), start, events=events, **options)


def restitution(court: Court, velocity: State) -> float:
    """A surface keeps `drop` straight down at 6.9 m/s and `restitution` at 30 m/s and 16 degrees; the loss grows with
    the speed of the fall, the rest with the share of the energy along the ground."""
    vx, vy, vz = velocity
    lost, lab = ((1 - court.drop) * (v / 6.9) ** court.growth for v in (abs(vz), 30 * sin(16 * pi / 180)))
    share = (vx * vx + vy * vy) / (vx * vx + vy * vy + vz * vz) / cos(16 * pi / 180) ** 2
    return min((1 - lost) * (1 + (court.restitution / (1 - lab) - 1) * share), 1.0)


def bounced(court: Court, velocity: State, spin: State) -> tuple[State, State]:
    """Velocity and spin after a bounce: friction against the slip of the lowest point, sliding or gripping."""
    vx, vy, vz = velocity
    slip_x, slip_y = vx - court.radius * spin[1], vy + court.radius * spin[0]
    slip = hypot(slip_x, slip_y)
    gripped = slip * (1 + court.grip) * court.inertia / (1 + court.inertia)
    e = restitution(court, velocity)
    slid = court.friction * (1 + e) * abs(vz)
    share = min(gripped, slid) / slip if slip else 0.0
    jx, jy = -share * slip_x, -share * slip_y
    turn = court.inertia * court.radius
    return [vx + jx, vy + jy, -e * vz], [spin[0] + jy / turn, spin[1] - jx / turn, spin[2]]


def feed(court: Court, start: State, spin: State, stance: float, full: bool, bounces: int = 1) -> Flown:
    """A feed to the plane y = `stance`, on the full or after at most so many bounces; for a feeder behind the net."""
    first = flight(court, start, spin, (0.0, stance), -3.0 if full else court.radius)
    clearance = nan
    if len(first.t_events[1]):
        x, _, z = first.y_events[1][0][:3]
        cord = court.net_centre + (court.net_post - court.net_centre) * abs(x) / court.post_x
        clearance = float(z - court.radius - cord)
    if full:
        return Flown(clearance, None, _seen(first, 2, 0.0), 0)
    landing, leg, since, count = _seen(first, 0, 0.0), first, 0.0, 0
    while len(leg.t_events[0]) and leg.y_events[0][0][1] < stance and count < bounces:
        since += float(leg.t_events[0][0])
        here = leg.y_events[0][0].tolist()
        velocity, spin = bounced(court, here[3:], spin)
        count += 1
        level = court.radius if count < bounces else -3.0
        leg = flight(court, here[:3] + velocity, spin, (stance,), level)
        met = _seen(leg, 1, since)
        if met:
            return Flown(clearance, landing, met, count)
    return Flown(clearance, landing, None, count)


def _seen(solution: Any, event: int, since: float) -> State | None:
    times = solution.t_events[event]
    return [since + float(times[0]), *solution.y_events[event][0].tolist()] if len(times) else None
