"""How sure it is where the balls of scripts land: those for which a machine is measured."""

from collections.abc import Sequence

import numpy as np

from ...grammar.frozen import Frozen
from ..model.feeder import Feeder
from ..model.program import Program
from ..model.shots import Shots
from ..physics.flight import Array
from . import law
from .law import DEPTH, SIDE, Stand
from .place import stand_of_program

NINE_OF_TEN = 0.9
ANGLES = 256
"""Directions over which a normal scatter is added up; periodic, so that few are enough."""


class ScriptBalls(Frozen):
    """The settings of a script's balls, and where they are thrown."""

    settings: tuple[dict[str, float], ...]
    stand: Stand


def balls_of_script(program: Program, shots: Shots) -> ScriptBalls:
    return ScriptBalls(tuple(dict(shot.settings) for shot in shots.shots.values()), stand_of_program(program))


def slopes_of(feeder: Feeder, scripts: Sequence[ScriptBalls]) -> tuple[Array, Array]:
    """How the landings x and y of all balls change with the unknowns (2, 10, n), and with what scatters (2, 4, n)."""
    flown = [
        law.slopes(law.balls_of(feeder, list(one.settings)), np.zeros(len(law.UNKNOWNS)), one.stand, False)
        for one in scripts
    ]
    return tuple(np.concatenate([one[k][[SIDE, DEPTH]] for one in flown], axis=2) for k in (1, 2))  # type: ignore[return-value]


def doubts_of(feeder: Feeder, scripts: Sequence[ScriptBalls], covariance: Array) -> tuple[Array, Array]:
    """The covariances (2, 2, n) of where the middle of many balls of one kind lands, given that of the unknowns and
    with what no unknown explains, and of where one ball does, with its scatter by the profile."""
    by, scattered = slopes_of(feeder, scripts)
    known = np.einsum("kpn,pq,lqn->kln", by, covariance, by)
    same, each = (scattered * part[:, None] for part in (law.unexplained(feeder), law.scatter(feeder.repeatability)))
    return tuple(known + np.einsum("kpn,lpn->kln", part, part) for part in (same, each))


def within(covariances: Array, share: float = NINE_OF_TEN) -> float:
    """The distance, m, within which this share of all balls land of where they are expected: normal offsets without a
    mean, one covariance (2, 2, n) each, all balls alike often.

    In polar coordinates the share beyond r is the mean over all directions u of |S|^-1/2 exp(-r²p/2) / p, with
    p = u·S⁻¹u.
    """
    angles = 2 * np.pi * np.arange(ANGLES) / ANGLES
    u = np.array([np.cos(angles), np.sin(angles)])
    whole = covariances.transpose(2, 0, 1) + 1e-12 * np.eye(2)
    p = np.einsum("kt,nkl,lt->nt", u, np.linalg.inv(whole), u)
    weight = 1 / (np.sqrt(np.linalg.det(whole))[:, None] * p)
    low, high = 0.0, 10 * float(np.sqrt(np.trace(whole, axis1=1, axis2=2).max()))
    for _ in range(60):
        r = (low + high) / 2
        beyond = float((weight * np.exp(-(r**2) * p / 2)).mean())
        low, high = (r, high) if beyond > 1 - share else (low, r)
    return high
