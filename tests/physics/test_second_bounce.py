"""A player with two bounces, of whom nothing says behind which one the ball is met: behind the second where the first
keeps no bound, flown by an integrator of its own."""

import numpy as np
import pytest

from feedwright.compiler.physics.bounce import rebound
from feedwright.compiler.resolve import resolve
from feedwright.compiler.solve import solve
from feedwright.grammar.parse import parse
from feedwright.grammar.source import Source
from feedwright.targets.machine.feeders import ProfileShelf

from . import runge_kutta as rk

BASELINE = 11.885  # m from the net: ITF Rules of Tennis, rule 1
SCRIPT = """\
program "Chair"
    surface   hard
    player    right-handed{bounces}
    body      hip 0.58 m, waist 0.73 m
    feeder    machine club, on centre, on baseline, behind a screen

feed ball
    side      middle
    depth     {depth}
    stance    where it is {part} high, falling
    {bound}
    height    {over_net} m over net
    spin      flat
    interval  8 s
"""


def paths(program, shot):
    """The flight and those after the first and the second bounce, by classic Runge-Kutta steps."""
    level = np.cos(shot.elevation)
    way = np.array([level * np.sin(shot.azimuth), level * np.cos(shot.azimuth), np.sin(shot.elevation)])[:, None]
    start = np.array([[program.place.x], [program.place.y], [program.feeder.release_height_m]])
    ball, spin = program.ball, shot.topspin * np.array([[-np.cos(shot.azimuth)], [np.sin(shot.azimuth)], [0.0]])
    path = rk.fly(start, shot.speed * way, spin, ball, program.air, floor=ball.radius_m, step=0.02)
    yield path
    for _ in range(2):
        landing = rk.at_height(path, ball.radius_m)
        velocity, spin = rebound(landing.velocity, spin, ball, program.surface)
        path = rk.fly(landing.position, velocity, spin, ball, program.air, floor=ball.radius_m, step=0.02)
        yield path


def found(bounces: str = ", two bounces", **ball):
    text = SCRIPT.format(bounces=bounces, **ball)
    program, slips = resolve(parse(Source("chair.feed", text))[0], ProfileShelf(), {})
    assert program and not slips
    shots = solve(program, program.feeds)
    return program, shots.feeds.get("ball"), shots.shots.get("ball")


@pytest.mark.parametrize(
    ("ball", "height"),
    [
        ({"depth": "7 m from net", "part": "waist", "over_net": 1.5}, 0.73),
        ({"depth": "6.5 m from net", "part": "hip", "over_net": 1.6}, 0.58),
    ],
)
def test_the_player_goes_behind_the_second_where_a_bound_asks_for_it(ball: dict, height: float) -> None:
    bound = "stance    at least 4 m behind baseline"
    program, feed, shot = found(bound=bound, **ball)
    _, once, twice = paths(program, shot)
    met = rk.at_plane(twice, feed.stance)
    assert feed.stance >= BASELINE + 4 - 0.01 and feed.bounces == (2, 2)
    assert met.position[2, 0] == pytest.approx(height, abs=0.02) and met.velocity[2, 0] < 0
    assert not rk.at_plane(once, BASELINE + 4).position[2, 0] >= height  # it has come down before
    *_, alone = found("", bound=bound, **ball)
    assert alone is None or abs(alone.predicted.clearance - ball["over_net"]) > 0.1


def test_behind_the_first_where_that_keeps_all_bounds() -> None:
    ball = {"depth": "7 m from net", "part": "waist", "over_net": 1.5}
    program, feed, shot = found(bound="stance    at most 1 m behind baseline", **ball)
    met = rk.at_plane(list(paths(program, shot))[1], feed.stance)
    assert met.position[2, 0] == pytest.approx(0.73, abs=0.02) and feed.bounces == (1, 2)
