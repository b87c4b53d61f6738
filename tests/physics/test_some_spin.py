"""A spin of which a line says the kind alone: light where nothing asks for more, and as much as the other lines need,
flown by an integrator of its own."""

import numpy as np
import pytest

from feedwright.compiler.model.program import Feed, Program
from feedwright.compiler.model.shots import SolvedShot
from feedwright.compiler.resolve import resolve
from feedwright.compiler.solve import solve
from feedwright.grammar.parse import parse
from feedwright.grammar.source import Source
from feedwright.grammar.units import RPM
from feedwright.targets.machine.feeders import ProfileShelf

from .test_best import HEAD, Flown, launch_of

CLEARLY, LIGHT = 300 * RPM, 600 * RPM  # own choice


def found(machine: str, *lines: str) -> list[tuple[Program, Feed, SolvedShot, Flown]]:
    script = HEAD.format(machine=machine).replace("    spin      topspin 900 rpm\n", "").replace("deep", "9 m from net")
    script += "".join(f"    {line}\n" for line in lines)
    program, slips = resolve(parse(Source("spin.feed", script))[0], ProfileShelf(), {})
    assert program and not slips
    shots = solve(program, program.feeds)
    balls = [(shots.feeds.get(name, program.feeds[name]), shot) for name, shot in shots.shots.items()]
    return [(program, feed, shot, Flown(program, feed.stance, *launch_of(shot))) for feed, shot in balls]


def test_where_nothing_asks_for_more_it_is_light() -> None:
    topspin, backspin, flat = found("academy", "spin topspin, backspin, flat", "height 1 m over net")
    assert [ball[2].topspin for ball in (topspin, backspin, flat)] == pytest.approx([LIGHT, -LIGHT, 0.0])
    for _, _, _, flown in (topspin, backspin, flat):
        assert flown.clearance == pytest.approx(1.0, abs=0.1) and flown.landing[1] == pytest.approx(9.0, abs=0.2)


@pytest.mark.parametrize(("over_net", "pace"), [(1.4, 82), (1.25, 82), (1.4, 88)])
def test_where_other_lines_ask_for_more_it_has_as_much(over_net: float, pace: int) -> None:
    """Flat, no launch of that pace to that place passes so high over the net, at whatever elevation it leaves."""
    ((program, feed, shot, flown),) = found(
        "academy", "spin topspin", f"height {over_net} m over net", f"pace {pace} km/h"
    )
    assert shot.topspin >= CLEARLY
    assert flown.clearance == pytest.approx(over_net, abs=0.15) and flown.landing[1] == pytest.approx(9.0, abs=0.3)
    assert shot.speed * 3.6 == pytest.approx(pace, abs=1.5)
    ways = np.radians(np.linspace(0, 20, 81))
    flat = Flown(program, feed.stance, np.full(81, shot.speed), ways, np.full(81, shot.azimuth), np.zeros(81))
    there = abs(flat.landing[1] - 9.0) < 0.3
    assert there.any() and flat.clearance[there].max() < flown.clearance - 0.1


@pytest.mark.parametrize("machine", ["academy", "club"])
def test_it_is_of_its_kind_also_where_another_would_suit_better(machine: str) -> None:
    """A low contact asks for backspin."""
    ((_, _, shot, _),) = found(machine, "spin topspin", "pace 75 km/h", "height no higher than waist")
    assert shot.topspin >= CLEARLY - 1e-6
