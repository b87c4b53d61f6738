"""Traces against the plan they are flown from, and against what any flight must do."""

import itertools
import math
from pathlib import Path

import pytest

from feedwright.compiler.trace import STEP, replies, trajectories

from .shipped import plan as planned

FOLDER = Path(__file__).parent.parent / "programs"
# A machine, hands, volleys, fast and spun balls, a small court, two bounces, everything.
PROGRAMS = [next(FOLDER.glob(f"{number}-*.feed")) for number in ("01", "03", "04", "14", "19", "23", "99")]


@pytest.mark.parametrize("path", PROGRAMS, ids=lambda path: path.stem)
def test_traces_pass_through_launch_landing_and_contact(path: Path) -> None:
    plan = planned(path)
    traces = trajectories(plan)
    assert list(traces) == [shot.id for shot in plan.shots]
    for shot in plan.shots:
        points, seen = traces[shot.id], shot.predicted
        assert points[0] == (0.0, *shot.launch.origin_m)
        # The plan is rounded to 0.1 mm and 0.1 ms, its launch too: together under a millimetre and a millisecond.
        assert points[-1] == pytest.approx((seen.contact_s, *seen.contact_m), abs=1e-3)
        if seen.landing_m is not None:
            low = min(points, key=lambda point: abs(point[0] - (seen.landing_s or 0.0)))
            assert low == pytest.approx((seen.landing_s, *seen.landing_m, plan.ball.diameter_m / 2), abs=1e-3)
        # The highest sample is at most half a step from the top, and the lift of topspin adds at most a ball's weight.
        sag = 2 * 9.81 * (STEP * 1.13 / 2) ** 2 / 2
        assert max(z for *_, z in points) == pytest.approx(seen.peak_m, abs=sag + 1e-3)


def test_time_runs_and_no_step_is_longer_than_a_ball_can_go() -> None:
    plan = planned(PROGRAMS[2])
    traces = trajectories(plan)
    for shot in plan.shots:
        points = traces[shot.id]
        for (t1, *a), (t2, *b) in itertools.pairwise(points):
            assert 0 < t2 - t1 <= STEP * 1.13
            # Air and court only slow a ball that falls by no more than its peak: sqrt(v² + 2 g h) bounds the speed.
            fastest = math.sqrt(shot.launch.speed_mps**2 + 2 * 9.81 * shot.predicted.peak_m)
            assert math.dist(a, b) <= fastest * (t2 - t1) + 1e-6


def test_a_ball_that_never_comes_to_its_contact_is_drawn_from_its_launch() -> None:
    """A plan that is read is not yet flown: whoever draws it draws what there is."""
    plan = planned(PROGRAMS[3])
    shot = plan.shots[0]
    seen = shot.predicted.model_copy(update={"landing_m": None, "contact_m": (0.0, 40.0, 1.0)})
    far = plan.model_copy(update={"shots": (shot.model_copy(update={"predicted": seen}),)})
    assert trajectories(far)[shot.id][0] == (0.0, *shot.launch.origin_m)


def test_the_best_reply_lands_where_the_script_asks() -> None:
    """The compiler chose the aim with its own flights of the reply; this is flown from the plan alone."""
    plan = planned(PROGRAMS[0])
    zones = {variation.id: variation.reply.zone_m for variation in plan.variations}
    found = replies(plan)
    assert found.keys() == {shot.id for shot in plan.shots if shot.reply and shot.reply.speed_mps is not None}
    for shot in plan.shots:
        best, low, high, *_ = found[shot.id]
        assert best[0][1:] == pytest.approx(shot.predicted.contact_m, abs=1e-9)
        left, right, near, far = zones[shot.variation or ""]  # type: ignore[misc]
        x, y = best[-1][1:3]
        assert left - 0.05 <= x <= right + 0.05 and near - 0.05 <= y <= far + 0.05  # the aim is rounded in the plan
        assert low[1][3] < best[1][3] < high[1][3]
