"""Fans of strokes: what is read from them for a contact, against the same strokes flown from there one by one."""

import numpy as np
import pytest

from feedwright.compiler.physics.air import Air
from feedwright.compiler.physics.fans import ELEVATIONS, paces_of
from feedwright.compiler.physics.flight import fly, launch
from feedwright.compiler.physics.moments import at_height, at_plane
from feedwright.compiler.physics.outcome import Conditions
from feedwright.compiler.physics.struck import flown, landings, lanes, over_net

from .test_reply import RADIUS, conditions, replies

CONTACTS = np.array([[0.0, 3.0, -2.0, 1.0], [12.0, 3.0, 9.0, 13.5], [0.3, 1.9, 1.1, 2.6]])
AIMS = np.pi + np.array([0.0, 0.3, -0.4, 0.1])  # none of them a direction that is flown in wind, but the first
PACES = 11


def errors(under: Conditions) -> tuple[float, float]:
    """How far off, m, the strokes land that land within 35 m, and how far off those pass the net that pass it within
    a metre of its cord and no more steeply than one in one; the least of so many are looked at."""
    asked = replies(
        4, contact=CONTACTS, pace=np.nan, topspin=[0.0, 120.0, 120.0, 250.0], sidespin=[0.0, 0.0, 0.0, 40.0],
        over_net=[0.5, 0.0, 1.0, 2.0],
    )  # fmt: skip
    nowhere = np.zeros(4, np.intp)
    fans, some = flown(asked, paces_of(PACES)[[-1] * 4], 4, under), lanes(nowhere, PACES, nowhere, len(ELEVATIONS))
    ahead, aside = landings(asked, fans, some, AIMS[:, None], under)[:, :, 0]
    over = over_net(asked, fans, some, AIMS[:, None], under)[0][:, 0]
    pace, elevation = np.repeat(np.exp(paces_of(PACES)), len(ELEVATIONS)), np.tile(ELEVATIONS, PACES)
    grounds, nets, passing = [0.0], [0.0], 0
    for i, aim in enumerate(AIMS):
        velocity, spin = launch(pace, elevation, aim, asked.topspin[i], asked.sidespin[i])
        path = fly(CONTACTS[:, [i]] + np.zeros(velocity.shape), velocity, spin, under.ball, under.air, floor=RADIUS)
        landed, net = at_height(path, RADIUS).position, at_plane(path, 0.0)
        x = CONTACTS[0, i] + ahead[i] * np.sin(aim) + aside[i] * np.cos(aim)
        y = CONTACTS[1, i] + ahead[i] * np.cos(aim) - aside[i] * np.sin(aim)
        near = np.hypot(landed[0] - CONTACTS[0, i], landed[1] - CONTACTS[1, i]) < 35
        grounds.append(float(np.hypot(x - landed[0], y - landed[1])[near].max()))
        height = net.position[2] - RADIUS - under.cord(net.position[0]) - asked.over_net[i]
        level = np.isfinite(net.time) & (np.abs(height) < 1) & (np.abs(net.velocity[2]) < np.abs(net.velocity[1]))
        away = np.hypot(net.position[0] - CONTACTS[0, i], CONTACTS[1, i])[level]
        rise = net.position[2][level] - CONTACTS[2, i]
        angle = np.arctan2(rise, away) - np.arctan2(rise - height[level], away)
        nets.append(float((np.abs(over[i][level] - angle) * away).max()))
        passing += int(level.sum())
    assert passing > 60
    return max(grounds), max(nets)


def test_what_is_read_from_a_fan_is_where_the_stroke_flies() -> None:
    """Between two knots, a third of a second apart, cubics: 15 mm, of targets of metres."""
    assert max(errors(conditions(air=Air(1.2)))) < 0.015


@pytest.mark.parametrize("wind", [(1.0, 1.5, 0.0), (-2.0, 3.0, 0.0)])
def test_in_wind_directions_between_those_flown_are_read_as_well(wind: tuple[float, float, float]) -> None:
    """Exact to the second order of the wind; the third, of 3.6 m/s to 40 m/s, is 0.07 % of the way."""
    assert max(errors(conditions(air=Air(1.2, wind)))) < 0.03
