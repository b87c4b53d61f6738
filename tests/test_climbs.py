"""How likely a ladder's last rung is won: against closed forms of others, and against every way in which the marks may
fall, taken through the rules by which a replay and the log step a ladder."""

from itertools import product
from math import prod
from typing import Any

import pytest
from scipy.stats import binom

from feedwright.compiler.climbs import chance_of_last
from feedwright.compiler.model.chance import Goal
from feedwright.compiler.model.session import LadderRules
from feedwright.targets.log.progress import Rules, Standing, Verdict, step

from .test_points import compiled, plan_of

HARDER = (0.8, 0.65, 0.5)
AIMED = """\
variation go "deep"
    reply     0 to 5 m inside baseline
feed easy aims go, like slow
    pace      70 km/h
session "s"
    1 ball easy
"""
CLIMB = """\
    ladder    easy, up to 24 balls, pace 66, 72, 78 km/h
        up        3 of every 4
        until     the last rung is won
"""


def rules_of(rungs: int, up: Goal, down: tuple[int | None, int | None] = (None, None), **more: Any) -> LadderRules:
    return LadderRules("pace", tuple(map(str, range(rungs))), up, *down, ends=True, **more)


@pytest.mark.parametrize("rungs", [2, 3, 5])
def test_sets_that_only_lead_up_are_so_many_good_sets_of_all(rungs: int) -> None:
    """scipy.stats.binom: a set is good or not, and each rung needs one."""
    share, each, sets = 0.62, 8, 9
    good = binom.sf(5, each, share)
    found = chance_of_last(rules_of(rungs, Goal(6, each), in_sets=True), [[share] * rungs] * (sets * each))
    assert found == pytest.approx(binom.sf(rungs - 1, sets, good), abs=1e-12)


@pytest.mark.parametrize(("share", "balls"), [(0.3, 12), (0.5, 30), (0.7, 41)])
def test_one_up_and_one_down_is_a_walk_with_a_floor(share: float, balls: int) -> None:
    """W. Feller, An Introduction to Probability Theory and Its Applications, vol. 1, 3rd ed., XVI.3: a walk with a
    barrier that reflects and one that absorbs; here by the powers of its matrix (XV.3)."""
    import numpy as np

    rungs = 4
    matrix = np.zeros((rungs + 1, rungs + 1))
    for rung in range(rungs):
        matrix[rung, rung + 1] += share
        matrix[rung, max(rung - 1, 0)] += 1 - share
    matrix[rungs, rungs] = 1.0
    wanted = np.linalg.matrix_power(matrix, balls)[0, rungs]
    assert chance_of_last(rules_of(rungs, Goal(1, 1), (1, 1)), [[share] * rungs] * balls) == pytest.approx(wanted)


@pytest.mark.parametrize(
    ("up", "down", "more"),
    [
        (Goal(2, 2), (None, None), {}),
        (Goal(2, 3), (2, 4), {}),
        (Goal(2, 2), (1, 2), {"start": 1}),
        (Goal(1, 3), (3, 3), {"start": 2}),
        (Goal(2, 3), (3, 3), {"in_sets": True}),
        (Goal(3, 3), (None, None), {"in_sets": True, "most_sets": 2}),
        (Goal(2, 3), (None, None), {"in_sets": True, "down_sets": 2, "start": 1}),
        (Goal(3, 3), (3, 3), {"in_sets": True, "down_sets": 2}),
    ],
)
def test_every_way_in_which_the_marks_may_fall(up: Goal, down: tuple[int | None, int | None], more: Any) -> None:
    balls = 12
    rules = rules_of(3, up, down, **more)
    played = Rules(3, up.hits, *down, up.among, rules.in_sets, rules.most_sets, rules.down_sets, ends=True)
    wanted = 0.0
    for marks in product((True, False), repeat=balls):
        standing, chances = Standing(rules.start), []
        for hit in marks:
            if not standing.won:
                chances.append(HARDER[standing.rung] if hit else 1 - HARDER[standing.rung])
            else:  # the ladder is over: all ways to go on together are one
                chances.append(0.5)
            standing = step(played, standing, Verdict.HIT if hit else Verdict.MISS)
        wanted += prod(chances) * standing.won
    assert 0.02 < wanted < 0.999
    assert chance_of_last(rules, [HARDER] * balls) == pytest.approx(wanted, abs=1e-12)


def test_a_rule_over_too_many_last_balls_is_not_counted() -> None:
    assert chance_of_last(rules_of(2, Goal(10, 16)), [[0.5, 0.5]] * 40) is None


def test_check_tells_how_likely_the_ladder_is_over_before_its_last_ball() -> None:
    (end,) = compiled(AIMED + CLIMB).early
    assert end.balls == 24 and end.words.endswith("72, 78 km/h") and end.chance is not None and 0.05 < end.chance < 1
    assert not compiled(AIMED + CLIMB.replace("        until     the last rung is won\n", "")).early
    (block,) = [block for block in plan_of(AIMED + CLIMB).blocks if block.ladder]
    assert block.ends_early and block.ladder and block.ladder.ends
