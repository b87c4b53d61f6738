"""Invented machines for the tests: how far off they are before and after test balls, by their own law."""

from functools import cache
from typing import NamedTuple

import numpy as np

from feedwright.compiler.calibration import choice, law
from feedwright.compiler.calibration.invented import InventedMachine
from feedwright.compiler.calibration.law import DEPTH, KINDS, SIDE, Balls, Stand, usual_stand
from feedwright.compiler.calibration.learn import Learnt, Readings, learn
from feedwright.compiler.calibration.outcome import corrected
from feedwright.compiler.calibration.scripts import within
from feedwright.compiler.model.court import courts
from feedwright.compiler.model.feeder import Feeder
from feedwright.targets.machine.feeders import SHIPPED, read

TAPE_M = 0.05


@cache
def feeder() -> Feeder:
    """The machine of the figures: it scatters by 1.2 % and 0.35 degrees."""
    text = (SHIPPED / "club.toml").read_text("utf-8")
    for old, new in (("speed_percent = 1.5", "speed_percent = 1.2"), ("_deg = 0.5\n", "_deg = 0.35\n")):
        text = text.replace(old, new)
    return read(text.encode(), "ours")


@cache
def stand() -> Stand:
    return usual_stand(feeder())


@cache
def chosen(count: int) -> Balls:
    return law.balls_of(feeder(), list(choice.choose(count, feeder(), stand(), courts(False)["singles"]).settings))


@cache
def everywhere(seed: int = 5, count: int = 25) -> Balls:
    """Balls all over the court, at random, that the fit has not seen."""
    settings = choice.safe(feeder(), stand(), courts(False)["singles"])[0]
    some = np.random.default_rng(seed).choice(len(settings), count, replace=False)
    return law.balls_of(feeder(), [settings[i] for i in some])


def read_of(machine: InventedMachine, balls: Balls, chance: np.random.Generator, time_s: float = 0.0) -> Readings:
    """With a tape; with a watch too, where it says how exact that is."""
    value = np.full((len(KINDS), len(balls.speed)), np.nan)
    doubt = np.full(value.shape, TAPE_M)
    thrown = machine.thrown(balls, stand(), chance)
    value[:2] = thrown[:2] + TAPE_M * chance.normal(size=(2, len(balls.speed)))
    if time_s:
        value[2], doubt[2] = thrown[2] + time_s * chance.normal(size=len(balls.speed)), time_s
    return Readings(value, doubt)


class Trial(NamedTuple):
    """Mean miss before and after, m; by how many of its standard deviations each landing is off (2, n); the truth's
    distance from each unknown's estimate in standard deviations (10,); `told`: the distance, m, within
    which nine of ten balls are told to land of where they are expected, and `inside` how many do."""

    before: float
    after: float
    landings: np.ndarray
    told: float
    inside: float
    unknowns: np.ndarray
    learnt: Learnt


def tried(machine: InventedMachine, balls: Balls, chance: np.random.Generator) -> Trial:
    learnt = learn(balls, read_of(machine, balls, chance), stand(), feeder())
    unseen = everywhere()
    true = machine.thrown(unseen, stand())[[SIDE, DEPTH]]
    claimed = law.read(unseen, np.zeros((10, 1)), stand(), False)[[SIDE, DEPTH]]
    now, by, scattered = law.slopes(unseen, learnt.unknowns, stand(), False)
    rows = by[[SIDE, DEPTH]]
    profile = corrected(feeder(), learnt)
    part = scattered[[SIDE, DEPTH]] * law.unexplained(profile)[:, None]
    known = np.einsum("kpn,pq,lqn->kln", rows, learnt.covariance, rows)
    covariance = known + np.einsum("kpn,lpn->kln", part, part)
    off, deviation = true - now[[SIDE, DEPTH]], np.sqrt(covariance[[0, 1], [0, 1]])
    return Trial(
        float(np.hypot(*(true - claimed)).mean()), float(np.hypot(*off).mean()), off / deviation,
        within(covariance), float((np.hypot(*off) <= within(covariance)).mean()),
        (machine.unknowns - learnt.unknowns) / np.sqrt(np.diag(learnt.covariance)), learnt,
    )  # fmt: skip
