"""A ball on the full of whose height bounds alone speak: met between them, flown by an integrator of its own.

Knee, waist and shoulder of an adult: Winter (2009), fig. 4.1. The chest half-way between the last two is our own
choice.
"""

import numpy as np
import pytest

from feedwright.compiler.resolve import resolve
from feedwright.compiler.solve import solve
from feedwright.grammar.parse import parse
from feedwright.grammar.source import Source
from feedwright.grammar.units import RPM
from feedwright.targets.machine.feeders import ProfileShelf

from . import runge_kutta as rk

STATURE, STANCE = 1.75, 3.0
KNEE, CHEST, HEAD = 0.285 * STATURE, (0.620 + 0.818) / 2 * STATURE, STATURE
SCRIPT = f"""\
program "Volleys"
    surface   hard
    player    right-handed, {STATURE} m tall
    feeder    machine academy, on centre, on service line, behind a screen

feed ball
    side      middle
    stance    {STANCE} m from net
    interval  4 s
"""


class Flown:
    """A launch of the shot, other values in place of some, flown by classic Runge-Kutta steps."""

    def __init__(self, program, shot, **other) -> None:
        at = {axis: other.get(axis, getattr(shot, axis)) for axis in ("speed", "elevation", "azimuth", "topspin")}
        level, aside = np.cos(at["elevation"]), at["azimuth"]
        way = np.array([level * np.sin(aside), level * np.cos(aside), np.sin(at["elevation"])])[:, None]
        start = np.array([[program.place.x], [program.place.y], [program.feeder.release_height_m]])
        spin = at["topspin"] * np.array([[-np.cos(aside)], [np.sin(aside)], [0.0]])
        path = rk.fly(start, at["speed"] * way, spin, program.ball, program.air, floor=program.ball.radius_m, step=0.02)
        net, met, court = rk.at_plane(path, 0.0), rk.at_plane(path, STANCE), program.court
        cord = court.net_centre + (court.net_post - court.net_centre) * abs(net.position[0, 0]) / court.post_x
        self.over_net = net.position[2, 0] - program.ball.radius_m - cord
        self.height, self.time = met.position[2, 0], met.time[0]
        self.pace = at["speed"] * 3.6


def found(*lines: str):
    script = SCRIPT + "".join(f"    {line}\n" for line in lines)
    program, slips = resolve(parse(Source("volley.feed", script))[0], ProfileShelf(), {})
    assert program and not slips
    shot = solve(program, program.feeds).shots["ball"]
    return program, shot, Flown(program, shot)


def deviation(program, shot, flown) -> float:
    """Of the height at which balls are met, by what the profile says of the scatter of a launch."""
    scatter = program.feeder.repeatability
    moved = (
        {"speed": shot.speed * (1 + scatter.speed_percent / 100)},
        {"elevation": shot.elevation + np.radians(scatter.elevation_deg)},
        {"azimuth": shot.azimuth + np.radians(scatter.azimuth_deg)},
        {"topspin": shot.topspin + scatter.spin_rpm * RPM},
    )
    return float(np.hypot.reduce([Flown(program, shot, **one).height - flown.height for one in moved]))


@pytest.mark.parametrize(
    ("line", "asked"),
    [
        ("pace      55 km/h", {"pace": (55, 1.0)}),
        ("time      0.9 s to contact", {"time": (0.9, 0.03)}),
        ("height    0.7 m over net", {"over_net": (0.7, 0.1)}),
    ],
)
def test_it_is_met_between_its_bounds_with_two_deviations_to_spare(line: str, asked: dict) -> None:
    program, shot, flown = found("height at least knee, on the full", "height at most chest", line)
    assert flown.height == pytest.approx(shot.predicted.contact[2], abs=0.003)
    spare = min(2 * deviation(program, shot, flown), (CHEST - KNEE) / 4) - 0.01
    assert KNEE + spare < flown.height < CHEST - spare
    for what, (value, held) in asked.items():
        assert getattr(flown, what) == pytest.approx(value, abs=held)


@pytest.mark.parametrize(
    ("bounds", "low", "high"),
    [
        (("at least knee, on the full", "at most chest"), KNEE, CHEST),
        (("no lower than 0.9 m, on the full",), 0.9, HEAD),
        (("at most waist, on the full",), KNEE, 0.620 * STATURE),
        (("at least 1.5 m, on the full",), 1.5, 2.0),
    ],
)
def test_of_all_heights_between_them_it_takes_the_middle(bounds: tuple[str, ...], low: float, high: float) -> None:
    """Where one side is free: from the knee to the top of the head, or half a metre. Our own choice."""
    *_, flown = found(*(f"height {bound}" for bound in bounds), "pace 55 km/h")
    assert flown.height == pytest.approx((low + high) / 2, abs=0.06)
