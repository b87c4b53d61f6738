"""What landings say of a machine: the most likely unknowns, how sure they are, and how the machine scatters.

Priors are normal, a ball that is far off what the others say weighs little: Student's t (K. L. Lange, R. J. A. Little &
J. M. G. Taylor, J. Am. Stat. Assoc. 84, 881 (1989)), by reweighting each ball with (ν + k) / (ν + d²). How much more
or less than its profile the machine scatters is a variance component, by the EM algorithm (N. M. Laird & J. H. Ware,
Biometrics 38, 963 (1982)), with a prior worth a few balls.
"""

from typing import NamedTuple

import numpy as np

from ...grammar.frozen import Frozen
from ..model.feeder import Feeder
from ..physics.flight import Array
from . import law
from .law import DEPTH, HEIGHT, KINDS, SECOND, SIDE, Balls, Stand
from .solver import least_squares

TAILS = 5.0
"""Degrees of freedom ν of Student's t: tails that let one ball in twelve be anything. Own choice."""
ROUNDS, EM_STEPS = 3, 10
COMMON = np.array([0, 0, 1, 0])
"""Which of the two scales each thing that scatters has."""
FAR_OFF = 0.3
"""A ball that weighs less than this is reported as far off from what the others say."""
NEAR_ENOUGH = 1e-4
"""A step of the solver that lessens the misfit by a smaller share is the last of a round."""


class Readings(Frozen):
    """`value` and one standard deviation `doubt` of what was read, (6, n) each, in the order of `law.KINDS`; not a
    number where nothing was."""

    value: Array
    doubt: Array

    @property
    def given(self) -> np.ndarray:
        return np.isfinite(self.value)


class Learnt(Frozen):
    """`unknowns` (10,) and their `covariance`, `before` it the prior's; scatter as times the profile's, of speed,
    elevation and spin together and of azimuth, with a standard deviation each as a share; readings as predicted
    `first` and `now` (6, n); the weight (n,) of each ball; where each would land (2, n), x and y, by all the others."""

    unknowns: Array
    covariance: Array
    before: Array
    scatter: tuple[float, float]
    scatter_doubt: tuple[float, float]
    first: Array
    now: Array
    weight: Array
    left_out: Array
    cost: float

    @property
    def shares(self) -> Array:
        """What is left of the doubt about each unknown, (10,)."""
        return np.sqrt(np.diag(self.covariance) / np.maximum(np.diag(self.before), 1e-30))


def learn(balls: Balls, readings: Readings, stand: Stand, feeder: Feeder) -> Learnt:
    """The unknowns from what was read of n balls; `stand.roll` and the conditions are the profile's as it is."""
    before = law.prior(feeder.doubt)
    return learnt_from(
        balls, readings, stand, before, law.scatter(feeder.repeatability), feeder.doubt.scatter_percent / 100
    )


class _Heard(NamedTuple):
    """What n balls say, their readings decorrelated and in units of their doubt: how far off (n, 6), the slopes of
    that by the unknowns (n, 6, 10) and by what scatters (n, 6, 4), and the square roots of the covariances (n, 6, 6).
    What was not read is 0 off and has no slopes."""

    off: Array
    slopes: Array
    scattered: Array
    roots: Array

    @property
    def squared(self) -> Array:
        return np.asarray((self.off**2).sum(axis=1))


def learnt_from(
    balls: Balls, readings: Readings, stand: Stand, before: Array, deviations: Array, spread_doubt: float
) -> Learnt:
    """The same from a prior covariance (10, 10), the profile's scatter (4,) and the doubt about that, as a share."""
    given, unknown = readings.given, np.eye(len(before))
    onward, counts = bool(given[[HEIGHT, SECOND]].any()), given.sum(axis=0)
    root = np.asarray(np.linalg.cholesky(before + 1e-18 * unknown), np.float64)
    scale: Array = np.ones(2)
    weight: Array = np.ones(len(balls.speed))
    worth = 2 / (2 * spread_doubt) ** 2  # of a variance known to twice this share
    doubt = np.where(given, readings.doubt, 1.0).T

    def heard(flown: tuple[Array, Array, Array]) -> _Heard:
        """With the scatter as it is thought to be now."""
        now, by, scattered = flown
        off = np.where(given, readings.value - now, 0.0).T[:, :, None]
        slopes = np.where(given, by.transpose(1, 0, 2), 0.0).T @ root
        part = np.where(given, scattered.transpose(1, 0, 2), 0.0).T * (deviations * scale[COMMON])
        roots = np.linalg.cholesky(part @ part.transpose(0, 2, 1) + np.eye(len(KINDS)) * (doubt**2)[:, :, None])
        whole = np.linalg.solve(roots, np.concatenate([np.nan_to_num(off), slopes, part], axis=2))
        return _Heard(whole[:, :, 0], whole[:, :, 1:-4], whole[:, :, -4:], roots)

    def residuals(z: Array) -> tuple[Array, Array]:
        """Against one set of covariances and weights."""
        now, by, _ = law.slopes(balls, root @ z, stand, onward)
        off = np.where(given, now - readings.value, 0.0).T[:, :, None]
        slopes = np.where(given, by.transpose(1, 0, 2), 0.0).T @ root
        whole = np.linalg.solve(one.roots, np.concatenate([off, slopes], axis=2)) * np.sqrt(weight)[:, None, None]
        return np.concatenate([whole[:, :, 0].ravel(), z]), np.concatenate(
            [whole[:, :, 1:].reshape(-1, len(z)), unknown]
        )

    def trusted(one: _Heard) -> Array:
        return np.asarray(np.minimum((TAILS + counts) / (TAILS + one.squared), 1.0))

    def informed(one: _Heard) -> Array:
        return np.asarray(np.linalg.inv(np.einsum("n,nkp,nkq->pq", weight, one.slopes, one.slopes) + unknown))

    z = np.zeros(len(before))
    flown = law.slopes(balls, z, stand, onward)
    first = flown[0]
    for _ in range(ROUNDS):
        for _ in range(EM_STEPS):
            one = heard(flown)
            weight = trusted(one)
            scale = _scales(one, scale, weight, informed(one), worth)
        one = heard(flown)
        z = least_squares(residuals, z, NEAR_ENOUGH).at
        flown = law.slopes(balls, root @ z, stand, onward)
    one = heard(flown)
    weight = trusted(one)
    spread = informed(one)
    misfit = (TAILS + counts) / 2 * np.log1p(one.squared / TAILS)
    cost = z @ z / 2 + misfit.sum() + np.log(np.diagonal(one.roots, axis1=1, axis2=2)).sum()
    sides = given[SIDE].sum()
    known = worth + np.maximum(np.array([given.sum() - sides, sides]) - 4, 0)
    return Learnt(
        root @ z, root @ spread @ root.T, before, (float(scale[0]), float(scale[1])),
        (float(np.sqrt(0.5 / known[0])), float(np.sqrt(0.5 / known[1]))),
        first, flown[0], weight, _left_out(one, weight, spread, root, flown), float(cost),
    )  # fmt: skip


def _scales(one: _Heard, scale: Array, weight: Array, spread: Array, worth: float) -> Array:
    """One step of EM: the mean square of what scattered, given what is left over and how sure the unknowns are."""
    mean = np.einsum("nks,nk->ns", one.scattered, one.off)
    carried = np.einsum("nks,nkp->nsp", one.scattered, one.slopes)
    unsure = np.einsum("nsp,pq,nsq->ns", carried, spread, carried)
    squares = (weight[:, None] * mean**2 + unsure + 1 - (one.scattered**2).sum(axis=1)) * scale[COMMON] ** 2
    along, count = squares[:, [0, 1, 3]].sum(), len(weight)
    return np.sqrt(np.array([(worth + along) / (worth + 3 * count), (worth + squares[:, 2].sum()) / (worth + count)]))


def _left_out(one: _Heard, weight: Array, spread: Array, root: Array, flown: tuple[Array, Array, Array]) -> Array:
    """Where each ball would land, x and y (2, n), by what all the others say: to first order, the ball's information
    taken out again."""
    now, by, _ = flown
    told = weight[:, None, None] * np.einsum("nkp,nkq->npq", one.slopes, one.slopes)
    pull = weight[:, None] * np.einsum("nkp,nk->np", one.slopes, one.off)
    moved = np.linalg.solve(np.linalg.inv(spread) - told, pull[:, :, None])[:, :, 0] @ root.T
    return now[[SIDE, DEPTH]] - np.einsum("kpn,np->kn", by[[SIDE, DEPTH]], moved)
