"""Traces against the plan they are flown from, and against what any flight must do."""

import itertools
import math
from pathlib import Path

import pytest

from feedwright.compiler.model.plan import Plan
from feedwright.compiler.pipeline import compile_source
from feedwright.compiler.trace import STEP, trajectories
from feedwright.grammar.source import Source
from feedwright.programs import ScriptShelf
from feedwright.targets.feeders import ProfileShelf

FOLDER = Path(__file__).parent.parent / "programs"
# A machine, hands, volleys, fast and spun balls, a small court, two bounces, everything.
PROGRAMS = [next(FOLDER.glob(f"{number}-*.feed")) for number in ("01", "03", "04", "14", "19", "23", "99")]


def planned(path: Path) -> Plan:
    plan = compile_source(Source(path.name, path.read_text("utf-8")), ProfileShelf(None), ScriptShelf(None)).plan
    assert plan is not None
    return plan


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
