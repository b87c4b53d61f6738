"""What comes of readings: a profile with what was learnt, the misses before and after, and why it may be refused."""

from typing import Any

import numpy as np

from ...grammar.frozen import Frozen, replace
from ...grammar.units import DEG, UNITS
from ..model.feeder import Axis, Feeder
from ..model.measured import Doubt, MeasuredFeeder
from ..physics.flight import Array
from . import law
from .law import DEPTH, SIDE, UNKNOWNS, Balls, Stand
from .learn import FAR_OFF, Learnt, Readings, learn

CLEARLY = 8.0
"""Another way to read the same figures is named if it fits by so much in the logarithm of its likelihood. Own choice:
odds of about 3000 to 1, because readings of good faith are the rule."""
WILD = 3.0
"""More than so many times the profile's scatter is something else than scatter. Own choice."""
BETTER = 0.95
"""A new profile has to miss the balls that it was not told of by less than this share of what the old one misses by:
the rest is chance. Own choice."""
LEARNT, PARTLY = 0.5, 0.85
"""An unknown counts as learnt where less than this share of its doubt is left, as learnt in part below the other."""


MOST_SCATTER = {"speed_percent": 30.0, "elevation_deg": 20.0, "azimuth_deg": 20.0, "spin_rpm": 2000.0}
"""The most that a profile may say."""


class Calibration(Frozen):
    """`misses` in m, root mean square over the balls whose landing was read whole: by the profile before, by the new
    one, and of each ball by what all others say. `refused`: why the new profile is none, "" if it is one. `odd`: balls
    far off what the others say. `mistaken`: a slip that explains the readings far better, in words, or ""."""

    learnt: Learnt
    profile: Feeder
    before: Array
    after: Array
    left_out: Array
    odd: tuple[int, ...]
    mistaken: str
    refused: str

    @property
    def misses(self) -> tuple[float, float, float]:
        few = np.isfinite(self.before)
        weight = self.learnt.weight[few]
        one, two, three = (float(np.sqrt((weight * m[few] ** 2).sum() / max(weight.sum(), 1e-9)))
                           for m in (self.before, self.after, self.left_out))  # fmt: skip
        return one, two, three

    def told(self) -> list[tuple[str, str]]:
        """Each unknown, and whether it was learnt: yes, in part or no."""
        words = ["yes" if s < LEARNT else "in part" if s < PARTLY else "no" for s in self.learnt.shares]
        return list(zip(UNKNOWNS, words, strict=True))


def judge(balls: Balls, readings: Readings, stand: Stand, feeder: Feeder, half_length: float) -> Calibration:
    """What n balls and their readings come to."""
    learnt = learn(balls, readings, stand, feeder)
    before, after = (_apart(readings.value, predicted) for predicted in (learnt.first, learnt.now))
    left_out = np.hypot(*(readings.value[[SIDE, DEPTH]] - learnt.left_out))
    found = Calibration(
        learnt, corrected(feeder, learnt), before, after, left_out,
        tuple(np.flatnonzero((learnt.weight < FAR_OFF) & readings.given.any(axis=0)).tolist()),
        _mistaken(balls, readings, stand, feeder, half_length, learnt), "",
    )  # fmt: skip
    return replace(found, refused=_why_not(found, readings))


def _apart(value: Array, predicted: Array) -> Array:
    return np.asarray(np.hypot(*(value[[SIDE, DEPTH]] - predicted[[SIDE, DEPTH]])))


def _why_not(found: Calibration, readings: Readings) -> str:
    whole = np.isfinite(found.before).sum()
    if whole < 3:
        return f"{whole} of the balls have both landing distances; three are the least that tell anything"
    if found.mistaken:
        return found.mistaken
    wild = max(found.learnt.scatter)
    if wild > WILD:
        return (
            f"the balls scatter {wild:.1f} times as much as the profile says, and no correction explains that: other "
            "balls, another setting, a slip in the table, or a machine that really scatters so much"
        )
    before, _, left_out = found.misses
    if left_out >= BETTER * before:
        return (
            f"it would be no better: the profile as it is misses the balls by {before:.2f} m, and the new one would "
            f"miss each ball that it was not told of by {left_out:.2f} m"
        )
    return ""


def _mistaken(
    balls: Balls, readings: Readings, stand: Stand, feeder: Feeder, half_length: float, learnt: Learnt
) -> str:
    """Is there a slip that would make the same figures far more likely?"""
    value = readings.value

    def other(rows: dict[int, Array]) -> Readings:
        changed = value.copy()
        for row, figures in rows.items():
            changed[row] = figures
        return Readings(changed, readings.doubt)

    slips = {
        "left and right seem to be swapped": other({SIDE: -value[SIDE]}),
        "the distances seem to be in feet, not in metres": other(
            {DEPTH: 0.3048 * value[DEPTH], SIDE: 0.3048 * value[SIDE]}
        ),
        "the distances along the court seem to be from the baseline, not from the net": other(
            {DEPTH: half_length - value[DEPTH]}
        ),
    }
    best, said = learnt.cost - CLEARLY, ""
    for words, changed in slips.items():
        if np.array_equal(changed.value, value, equal_nan=True) or not _possible(changed):
            continue
        cost = learn(balls, changed, stand, feeder).cost
        if cost < best:
            best, said = cost, f"{words}: read so, the same figures fit far better"
    return said


def _possible(readings: Readings) -> bool:
    depth = readings.value[DEPTH]
    return bool((depth[np.isfinite(depth)] > 0).all())


def corrected(feeder: Feeder, learnt: Learnt) -> Feeder:
    """The profile with what was learnt in it, and with the doubt that is left."""
    a, b, c, d, e, r, f, g, h, k = learnt.unknowns.tolist()
    old = feeder.measured

    def axis(old: Axis, share: float, amount: float) -> Axis:
        offset = old.true_offset * (1 + share) + amount / UNITS[old.unit].factor
        return Axis(
            **{**_given(old), "true_scale": round(old.true_scale * (1 + share), 6), "true_offset": round(offset, 5)}
        )

    measured = MeasuredFeeder(
        roll_deg=_within(old.roll_deg + r / DEG, 20), drag=_within(old.drag + f, 0.15),
        spin_drag=_within(old.spin_drag + g, 1), restitution=round(min(max(old.restitution * (1 + h), 0.5), 1.5), 4),
        friction=round(min(max(old.friction * (1 + k), 0.3), 2), 4),
    )  # fmt: skip
    along, aside = learnt.scatter
    rep = feeder.repeatability
    scatter = {
        "speed_percent": rep.speed_percent * along, "elevation_deg": rep.elevation_deg * along,
        "azimuth_deg": rep.azimuth_deg * aside, "spin_rpm": rep.spin_rpm * along,
    }  # fmt: skip
    return Feeder(**{
        **_given(feeder),
        "speed": axis(feeder.speed, a, b), "elevation": axis(feeder.elevation, 0.0, c),
        "azimuth": axis(feeder.azimuth, 0.0, d), "topspin": axis(feeder.topspin, e, 0.0),
        "measured": measured, "doubt": doubt_left(learnt),
        "repeatability": {name: round(min(value, MOST_SCATTER[name]), 3) for name, value in scatter.items()},
    })  # fmt: skip


def doubt_left(learnt: Learnt, wider: float = 1.0) -> Doubt:
    """The doubt in a profile's own units; `wider` times its variance.

    Where balls scatter more than the profile said, that may be scatter, or a law that no unknown describes: tilted,
    slipping, coupled. One throw of each setting cannot tell them apart, so all of it counts as the latter.
    """
    covariance = learnt.covariance * wider
    deviation = np.sqrt(np.diag(covariance))
    together = covariance / np.maximum(np.outer(deviation, deviation), 1e-30)
    keys = (
        ("speed_percent", 0.01), ("speed_mps", 1.0), ("elevation_deg", DEG), ("azimuth_deg", DEG),
        ("topspin_percent", 0.01), ("roll_deg", DEG), ("drag", 1.0), ("spin_drag", 1.0),
        ("restitution_percent", 0.01), ("friction_percent", 0.01),
    )  # fmt: skip
    said = {key: round(float(deviation[i] / unit), 5) for i, (key, unit) in enumerate(keys)}
    low = tuple(round(float(v), 6) for v in np.clip(together[:8, :8][np.tril_indices(8, -1)], -1, 1))
    scatter = round(100 * max(max(learnt.scatter_doubt), 0.05), 1)
    along, aside = (round(max(1 - 1 / max(s, 1e-9) ** 2, 0.0) ** 0.5, 3) for s in learnt.scatter)
    return Doubt(
        **said, scatter_percent=scatter, unexplained_along=along, unexplained_aside=aside, together=low
    )  # fmt: skip


def landing_doubt(balls: Balls, stand: Stand, covariance: Array) -> tuple[Array, Array]:
    """Where n balls land, x and y (2, n), m, and the covariance (2, 2, n) of that."""
    now, by, _ = law.slopes(balls, np.zeros(len(UNKNOWNS)), stand, False)
    rows = by[[SIDE, DEPTH]]
    return now[[SIDE, DEPTH]], np.einsum("kpn,pq,lqn->kln", rows, covariance, rows)


def _within(value: float, most: float) -> float:
    return round(min(max(value, -most), most), 5)


def _given(record: Any) -> dict[str, Any]:
    return {name: getattr(record, name) for name in record._fields}
