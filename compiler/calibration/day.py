"""The correction of a day: two or three balls at the head of a practice shift what a measured profile says.

What the last calibration left in doubt is the prior, wider by what a day may bring and for each week that is gone.
"""

from datetime import date

import numpy as np

from ...grammar.frozen import Frozen
from ...grammar.units import DEG
from ..model.feeder import Feeder
from ..physics.flight import Array
from . import law
from .law import DEPTH, SIDE, Balls, Stand
from .learn import Learnt, Readings, learnt_from
from .outcome import WILD, corrected

OF_A_DAY = np.array([0.015, 0.2, 0.2 * DEG, 0.2 * DEG, 0.03, 0.3 * DEG, 0.01, 0.03, 0.01, 0.03])
"""What battery, wheels, balls, warmth and setting the machine up may change from one day to the next, one standard
deviation of each unknown; its square grows with the weeks. Own choice, no source."""
FEWEST = 2


class DayCorrection(Frozen):
    """What was learnt, the profile for this day, and by how much balls land longer and more to the right, m, than the
    profile says: as read, and as it is taken to be. `refused`: why not, or ""."""

    learnt: Learnt
    profile: Feeder
    read: tuple[float, float]
    taken: tuple[float, float]
    refused: str


def correct(balls: Balls, readings: Readings, stand: Stand, feeder: Feeder, weeks: float) -> DayCorrection:
    """From n balls read by eye; `weeks` since the profile was measured."""
    prior = law.prior(feeder.doubt) + np.diag(OF_A_DAY**2) * (1 + max(weeks, 0.0))
    deviations = law.scatter(feeder.repeatability)
    learnt = learnt_from(balls, readings, stand, prior, deviations, feeder.doubt.scatter_percent / 100)
    whole = np.isfinite(readings.value[[SIDE, DEPTH]]).all(axis=0)
    read = _mean((readings.value - learnt.first)[[DEPTH, SIDE]][:, whole])
    taken = _mean((learnt.now - learnt.first)[[DEPTH, SIDE]][:, whole])
    refused = ""
    if whole.sum() < FEWEST:
        refused = f"{whole.sum()} of the balls have both distances; {FEWEST} are the least"
    elif max(learnt.scatter) > WILD:
        refused = "the balls lie too far apart for one correction: look at the machine, and measure it again"
    return DayCorrection(learnt, corrected(feeder, learnt), read, taken, refused)


def weeks_since(measured: date, day: date) -> float:
    return (day - measured).days / 7


def _mean(off: Array) -> tuple[float, float]:
    along, aside = off.mean(axis=1) if off.shape[1] else (0.0, 0.0)
    return float(along), float(aside)
