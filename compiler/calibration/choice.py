"""Which test balls tell most about the balls of some scripts, out of those that are safe.

Each next ball is the one that, by the linear model at hand, leaves the least doubt about where the balls of the scripts
land: I-optimality (V. V. Fedorov, Theory of Optimal Experiments (1972); A. C. Atkinson, A. N. Donev & R. D. Tobias,
Optimum Experimental Designs, with SAS (2007)).
"""

from collections.abc import Sequence
from itertools import product

import numpy as np
from numpy.typing import NDArray

from ...grammar.frozen import Frozen
from ...grammar.units import DEG
from ..model.court import Court
from ..model.feeder import Axis, Feeder
from ..physics.flight import Array
from . import law
from .law import DEPTH, OVER_NET, SIDE, Balls, Stand
from .scripts import ScriptBalls, slopes_of

Settings = dict[str, float]
Flags = NDArray[np.bool_]
SURE = 2.0
"""Within so many standard deviations, of the profile's doubt and of the scatter together, a test ball has to be safe.
"""
PAST_NET, OVER_CORD = 0.5, 0.1
"""m, at that end of its doubt: how far past the net a test ball lands, and how far over the cord it passes."""
SLOW_BALLS = 3
"""So many balls come first, no faster than the middle of the machine's speeds. Common practice, no source."""
TRIED = {"speed": 12, "elevation": 15, "topspin": 5}
ASIDE = 5 * DEG
"""How far to each side test balls are tried."""
MOST = 500
ALIKE = 1e-9
"""Balls whose gains differ by no larger share tell as much, such as the same ball to either side: the one to the side
that was tried least is thrown, whatever a processor makes of the last digits."""
TAPE_M = 0.05


class NoSafeBalls(Exception):
    """No setting is safe with all that is in doubt about the profile; one sentence says why."""


class Choice(Frozen):
    """Settings in the order in which they are thrown, slow ones first; what they are predicted to do (6, n) and one
    standard deviation of that (6, n), doubt and scatter together; the doubt about the scripts' landings, root mean
    square in m, before and after."""

    settings: tuple[Settings, ...]
    predicted: Array
    doubt: Array
    before: float
    after: float


def safe(feeder: Feeder, stand: Stand, court: Court) -> tuple[list[Settings], Array, Array, Array]:
    """Settings that are safe whatever the profile may be off, and of each what is predicted (6, n), its slopes by the
    unknowns (6, 10, n) and the covariance of what scatters in it (6, 6, n). NoSafeBalls if there are none."""
    axes = feeder.axes()
    fixed = feeder.template.fixed if feeder.template else {}
    tried = {name: [fixed[name]] if name in fixed else _tried(name, axis) for name, axis in axes.items()}
    every = [dict(zip(tried, one, strict=True)) for one in product(*tried.values())]
    if feeder.template:
        every = [one for one in every if not feeder.template.inexpressible(one)]
    if not every:
        raise NoSafeBalls("The machine has no command for any test ball.")
    balls = law.balls_of(feeder, every)
    flown = law.read(balls, np.zeros((10, 1)), stand, False)
    cap = feeder.device.cap_mps if feeder.device else np.inf
    doubt = feeder.doubt
    fastest = balls.speed * (1 + SURE * doubt.speed_percent / 100) + SURE * doubt.speed_mps
    likely = np.flatnonzero(
        _inside(flown, np.zeros_like(flown), court) & (fastest <= cap) & _driven(feeder, balls, stand)
    )
    if not len(likely):
        raise NoSafeBalls("By its profile the machine throws no ball over the net and into the court from this place.")
    likely = likely[np.unique(np.linspace(0, len(likely) - 1, MOST).astype(int))]
    few = balls.at(likely)
    now, by, scattered = law.slopes(few, np.zeros(10), stand, False)
    spread = _scattered(scattered, feeder)
    unsure = np.einsum("kpn,pq,lqn->kln", by, law.prior(feeder.doubt), by) + spread
    deviation = np.sqrt(np.diagonal(unsure).T)
    some = np.flatnonzero(_inside(now, deviation, court))
    if not len(some):
        raise NoSafeBalls(
            "No ball is sure to pass the net and to land in the court if the profile is as far off as it says it may "
            "be. Measure its speed and elevation by film first, and write the smaller doubt into [doubt]."
        )
    chosen = [every[likely[i]] for i in some]
    return chosen, now[:, some], by[:, :, some], spread[:, :, some]


def choose(count: int, feeder: Feeder, stand: Stand, court: Court, wanted: Sequence[ScriptBalls] = ()) -> Choice:
    """So many test balls for the balls that scripts want, each from its own place, or for all that are safe."""
    settings, now, by, spread = safe(feeder, stand, court)
    asked = slopes_of(feeder, wanted)[0] if wanted else by[[SIDE, DEPTH]]
    aims = asked.transpose(1, 0, 2).reshape(10, -1)
    before = law.prior(feeder.doubt)
    axis = feeder.speed
    half = (axis.low + axis.high) / 2
    slow = np.array([axis.stated(one["speed"]) <= half for one in settings])
    if not slow.any():  # the slowest that there are
        stated = np.array([axis.stated(one["speed"]) for one in settings])
        slow = stated <= stated.min() + 1e-9
    info, taken = _information(by, spread), list[int]()
    covariance = before
    for number in range(count):
        gain = _gain(covariance, info, aims)
        if number < SLOW_BALLS:
            gain[~slow] = -np.inf
        sides = [settings[i].get("azimuth") for i in taken]
        alike = np.flatnonzero(gain >= gain.max() * (1 - ALIKE))
        best = int(min(alike, key=lambda i: sides.count(settings[i].get("azimuth"))))
        covariance = _after(covariance, info[best])
        taken.append(best)
    taken.sort(key=lambda i: axis.stated(settings[i]["speed"]))
    unsure = np.einsum("kpn,pq,kqn->kn", by, before, by) + np.diagonal(spread).T
    return Choice(
        tuple(settings[i] for i in taken), now[:, taken], np.sqrt(unsure[:, taken]),
        doubt_of(before, aims), doubt_of(covariance, aims),
    )  # fmt: skip


def doubt_of(covariance: Array, aims: Array) -> float:
    """Root mean square of the distance, m, by which balls are off, from slopes (10, 2 n) of x and y."""
    return float(np.sqrt(np.einsum("pm,pq,qm->", aims, covariance, aims) / (aims.shape[1] / 2)))


def left_by(some: list[int], covariance: Array, by: Array, spread: Array, aims: Array) -> float:
    """The doubt that these balls would leave."""
    info = _information(by, spread)
    for i in some:
        covariance = _after(covariance, info[i])
    return doubt_of(covariance, aims)


def _information(by: Array, spread: Array) -> Array:
    """The slopes of each ball's landing in units of its scatter and of the tape (n, 2, 10)."""
    rows = [SIDE, DEPTH]
    noise = spread[np.ix_(rows, rows)].transpose(2, 0, 1) + TAPE_M**2 * np.eye(2)
    return np.linalg.solve(np.linalg.cholesky(noise), by[rows].transpose(2, 0, 1))


def _after(covariance: Array, ball: Array) -> Array:
    """The covariance once a ball (2, 10) is read."""
    carried = covariance @ ball.T
    return covariance - carried @ np.linalg.solve(np.eye(len(ball)) + ball @ carried, carried.T)


def _gain(covariance: Array, info: Array, aims: Array) -> Array:
    """By how much each ball lessens the sum of squares of the aims' doubt (n,)."""
    carried = info @ covariance
    noise = np.eye(info.shape[1]) + carried @ info.transpose(0, 2, 1)
    shown = carried @ aims
    return np.asarray(np.einsum("nkm,nkm->n", shown, np.linalg.solve(noise, shown)))


def _tried(name: str, axis: Axis) -> list[float]:
    if name == "azimuth":
        return sorted({axis.settings_near(value)[0] for value in (-ASIDE, 0.0, ASIDE)})
    if name == "sidespin":
        return [min(axis.settings_near(0.0), key=lambda one: abs(axis.value(one)))]
    return sorted(axis.settings_between(axis.low_si, axis.high_si, TRIED[name]))


def _inside(now: Array, deviation: Array, court: Court) -> Flags:
    """Whether balls pass the net and land in the court at either end of what is in doubt."""
    with np.errstate(invalid="ignore"):
        off = SURE * deviation
        fine = (now[DEPTH] - off[DEPTH] >= PAST_NET) & (now[DEPTH] + off[DEPTH] <= court.half_length)
        fine &= np.abs(now[SIDE]) + off[SIDE] <= court.half_width
        return np.asarray(fine & (now[OVER_NET] - off[OVER_NET] >= OVER_CORD))


def _driven(feeder: Feeder, balls: Balls, stand: Stand) -> Flags:
    """Whether the wheels can run so."""
    if feeder.wheels is None:
        return np.ones(len(balls.speed), bool)
    rims = feeder.rims(balls.speed, balls.topspin, balls.sidespin, stand.conditions.ball.diameter_m)
    low, high = feeder.wheels.low_mps, feeder.wheels.high_mps
    return np.asarray((np.minimum(*rims) >= low) & (np.maximum(*rims) <= high))


def _scattered(scattered: Array, feeder: Feeder) -> Array:
    """The covariance (6, 6, n) of what the machine's scatter makes of each ball."""
    part = scattered * law.scatter(feeder.repeatability)[:, None]
    return np.einsum("kpn,lpn->kln", part, part)
