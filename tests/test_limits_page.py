"""The figures of LIMITS.md and of the measuring advice in FEEDERS.md, flown or worked out here."""

import math
import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from feedwright.compiler.physics.ball import BALLS, DRAG_OFFSET, DRAG_SPREAD, Ball
from feedwright.compiler.physics.outcome import Release, outcome

from .benchmarks.launches import conditions, court_of
from .benchmarks.scalar import feed, launched

ROOT = Path(__file__).parent.parent
LIMITS = (ROOT / "compiler" / "LIMITS.md").read_text("utf-8")
FEEDERS = (ROOT / "targets" / "machine" / "feeders" / "FEEDERS.md").read_text("utf-8")
ROWS = re.findall(
    r"^\| (?:flat|topspin (\d+) rpm), ([\d.]+) km/h at ([\d.]+) deg \| ([\d.]+) m \| ([\d.]+) m \| ([\d.]+) m"
    r" \| ([\d.]+) m shorter \| ([\d.]+) m \| ([\d.]+) m \|$",
    LIMITS, re.M,
)  # fmt: skip
BASELINE, RELEASE = 11.885, 0.6  # ITF rule 1; the profile club


USUAL = BALLS["type 2"]
BEHIND = BASELINE + 2.0


def flown(rpm: float, kmh: float, deg: float, ball: Ball = USUAL, more: float = 0.0) -> tuple[float, float]:
    """Metres beyond the net, and the height where it is met, for a ball from the far baseline; by scipy, with the
    physics written a second time, and held against the program. `more` restitution than the court has."""
    one = np.ones(1)
    speed, up, spin = kmh / 3.6, math.radians(deg), rpm * math.pi / 30
    origin = [0.0, -BASELINE, RELEASE]
    release = Release(np.array(origin)[:, None], speed * one, up * one, 0 * one, spin * one, 0 * one)
    court = conditions((0.0, 0.0, 0.0))
    hard = replace(court.surface, restitution=court.surface.restitution + more, drop=court.surface.drop + more)
    here = replace(court, ball=ball, surface=hard)
    start, vector = launched(origin, speed, up, 0.0, spin, 0.0)
    theirs = feed(court_of(here), start, vector, BEHIND, False, 1)
    assert theirs.landing and theirs.contact
    ours = outcome(release, np.array([BEHIND]), np.array([False]), here)
    found = float(ours.landing.position[1, 0]), float(ours.contact.position[2, 0])
    assert found == pytest.approx((theirs.landing[2], theirs.contact[3]), abs=1e-4)  # of the two integrators
    return found


def test_what_drag_and_restitution_do_is_what_the_page_says() -> None:
    assert len(ROWS) == 3
    for rpm, kmh, deg, *told in ROWS:
        launch = float(rpm or 0), float(kmh), float(deg)
        lands, met = flown(*launch)
        none, growth = (flown(*launch, replace(USUAL, spin_drag=share))[0] for share in (0.0, 1.0))
        more, much = (flown(*launch, replace(USUAL, drag_offset=drag))[0] for drag in (DRAG_OFFSET + DRAG_SPREAD, 0.60))
        livelier = flown(*launch, more=0.03)[1]
        figures = (lands, lands - more, none - growth, lands - much, met, livelier - met)
        # Half of the last figure printed.
        assert [float(t) for t in told] == [pytest.approx(figure, abs=0.0051) for figure in figures]


def test_drag_is_told_as_published() -> None:
    # R. Cross & C. Lindsey, Sports Eng. 17, 89 (2014): 0.507 ± 0.024; the figure is about a twentieth.
    assert "0.507 ± 0.024" in LIMITS and DRAG_SPREAD == 0.024 and abs(DRAG_SPREAD / 0.507 - 1 / 20) < 0.003
    assert f"takes {DRAG_OFFSET} for a ball\nwithout spin" in LIMITS


def test_speed_lost_between_two_cones_is_as_told() -> None:
    # Brody, Cross & Lindsey, The Physics and Technology of Tennis (2002), ch. 42: v = v0 exp(-k x) with
    # k = rho C_D A / 2 m; the mean over x is k x / 2 lower to first order. Told to a tenth of a percent for each metre.
    k = 1.21 * 0.508 * math.pi * 0.0335**2 / (2 * 0.0577)
    assert 100 * k / 2 == pytest.approx(0.9, abs=0.06) and "0.9 percent for each metre" in FEEDERS


def test_other_figures_for_measuring_are_as_told() -> None:
    pictures = 3 / (100 / 3.6) * 240
    assert 100 / pictures == pytest.approx(4, abs=0.5) and "at 100 km/h is 4 percent" in FEEDERS
    drop = 9.81 * 0.5**2 / (2 * 20**2)  # level throw: z = g x² / 2 v²
    assert drop == pytest.approx(0.003, abs=0.0002) and "by\n3 mm there at 20 m/s".replace("\n", " ") in FEEDERS
    assert math.degrees(drop / 0.5) == pytest.approx(0.35, abs=0.01) and "add 140 / v² deg, v in m/s" in FEEDERS
    # The drop g x² / 2 v² cos² over x turns the line of sight by cos² of it over x: g x / 2 v², at any elevation.
    told = re.search(r"v in m/s: ([\d.]+) at (\d+) km/h, ([\d.]+) at (\d+), ([\d.]+) at (\d+)", FEEDERS)
    assert told
    assert 9.81 * 0.5 / 2 * 180 / math.pi == pytest.approx(140, abs=1)  # told to three figures
    for deg, kmh in zip(told.groups()[::2], told.groups()[1::2], strict=True):
        # Half of the last figure printed.
        half = 0.5 * 10.0 ** -len(deg.partition(".")[2])
        assert math.degrees(9.81 * 0.5 / (2 * (float(kmh) / 3.6) ** 2)) == pytest.approx(float(deg), abs=half)
    assert 1 / math.sqrt(2 * 19) == pytest.approx(0.16, abs=0.005) and "about 16 percent" in FEEDERS
