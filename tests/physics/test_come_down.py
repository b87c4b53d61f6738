"""Where a ball on the full would come down, flown from the plan by scipy.integrate.solve_ivp (tests/flown.py)."""

from typing import Any

import pytest

from feedwright.compiler.pipeline import compile_source
from feedwright.grammar.source import Source
from feedwright.targets.machine.feeders import ProfileShelf

from ..flown import Reference, launched

SERVICE = 6.4  # m from the net: ITF Rules of Tennis, rule 1
HEAD = """\
program "Lobs"
    surface   hard
    player    right-handed, 1.75 m tall
    feeder    machine academy, 1 m left of centre, on baseline, behind a screen

feed ball
    side      middle
    interval  9 s
"""


@pytest.mark.parametrize(("place", "lines"), [
    (0.8, ("height 2.4 m, on the full", "height 6 m at the top", "spin flat")),
    (2.0, ("height 2.2 m, on the full", "height 4 m over net", "spin flat")),
    (2.0, ("height 2.2 m, on the full", "height 4 m over net")),
    (1.5, ("height 1.2 m, on the full", "pace 70 km/h", "spin topspin 600 rpm")),
    (3.0, ("height shoulder, on the full", "time 1.2 s to contact", "spin backspin 400 rpm")),
    (1.0, ("height 2.4 m, on the full", "stance 5.5 m from net", "spin flat")),
    (1.5, ("height at least 2 m, on the full", "height at most 2.4 m", "height 5 m at the top", "spin flat")),
])  # fmt: skip
def test_it_would_come_down_where_the_depth_says(place: float, lines: tuple[str, ...]) -> None:
    written = "".join(f"    {line}\n" for line in (*lines, f"depth {place} m behind service line"))
    script = Source("down.feed", f'{HEAD}{written}session "x"\n    8 balls   ball\n')
    found = compile_source(script, ProfileShelf(), remedies=False)
    assert found.plan, found.findings
    plan: dict[str, Any] = found.plan.data()
    (shot,) = plan["shots"]
    reference = Reference(plan)
    flight = reference.fly(*launched(shot["launch"]), reference.radius)
    # As finely as that machine can be set: half a degree of elevation moves a lob so far.
    assert float(flight.y[1, -1]) == pytest.approx(SERVICE + place, abs=0.3)
    _, met = reference.plane(flight, shot["stance_y_m"])
    assert met[2] == pytest.approx(shot["predicted"]["contact_m"][2], abs=0.005)
    assert shot["stance_y_m"] < SERVICE + place
