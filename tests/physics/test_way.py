"""The bound of the way: every setting of the machine flown by an integrator of its own (runge_kutta.py), none of which
does better what is asked within that way."""

from dataclasses import replace
from math import radians

import numpy as np
import pytest

from feedwright.compiler import choose, kept
from feedwright.compiler.check import check
from feedwright.compiler.evaluate import evaluate
from feedwright.compiler.model.program import FixedBy, Program
from feedwright.compiler.model.shots import SolvedShot
from feedwright.compiler.resolve import resolve
from feedwright.compiler.solve import solve
from feedwright.grammar.parse import parse
from feedwright.grammar.source import Source
from feedwright.targets.machine.feeders import ProfileShelf

from .test_best import Flown, keeps, launch_of, settings

HEAD = """\
program "Way"
    surface   hard
    player    right-handed, 1.75 m tall, two-handed backhand
    feeder    machine academy, 1 m left of centre, 0.5 m behind baseline, behind a screen

feed ball
    side      {side}
    depth     1 to 4 m inside baseline
    stance    2.5 m behind baseline
    spin      topspin 900 rpm
    interval  5 s
"""
REACH = {"right": 0.7, "left": 0.5}
"""Of a right-handed player with two hands on the backhand, as LANGUAGE.md gives it."""


def found(side: str, *lines: str, head: str = HEAD) -> tuple[Program, SolvedShot]:
    script = head.format(side=side) + "".join(f"    {line}\n" for line in lines)
    program, slips = resolve(parse(Source("way.feed", script))[0], ProfileShelf(), {})
    assert program and not slips, slips
    shots = solve(program, program.feeds)
    return replace(program, feeds={**program.feeds, **shots.feeds}), shots.shots["ball"]


def gone(across: np.ndarray, start: float, back: float = 0.0) -> np.ndarray:
    """How far a player goes from `start`, m; the player's right is at less x."""
    reach = np.where(across < start, REACH["right"], REACH["left"])
    return np.hypot(np.maximum(abs(across - start) - reach, 0.0), back)


SURE = 2.0
CASES = [
    ("0.5 to 3.5 m right of centre", 0.0, 1.2, None),
    ("0.5 to 3.5 m left of centre", 0.0, 1.2, None),
    ("0.5 to 3.5 m left of centre", 0.5, 1.0, None),
    ("0.5 to 3.5 m right of centre", 0.0, None, 2.2),
    ("0.5 to 3.5 m left of centre", 0.0, 1.9, 1.2),
    ("0.5 to 3.5 m right of centre", 0.0, 3.0, None),
]


@pytest.mark.parametrize(("side", "start", "most", "least"), CASES)
def test_no_other_angle_comes_nearer_to_the_middle_of_the_zone_within_the_way(
    side: str, start: float, most: float | None, least: float | None
) -> None:
    """Two tenths of a metre are what half a step of the machine and the straight line of the compiler's aim take."""
    bounds = [f"way at {word} {bar} m" for word, bar in (("most", most), ("least", least)) if bar is not None]
    place = f"{start} m left of centre" if start else "on centre"
    program, shot = found(side, "height 1 m over net", f"starts {place}", *bounds)
    feed, axis = program.feeds["ball"], program.feeder.axes()["azimuth"]
    speed, elevation, azimuth, topspin = launch_of(shot)
    every = np.array(
        [axis.value(axis.low + i * axis.step) for i in range(round((axis.high - axis.low) / axis.step) + 1)]
    )

    def within(angles: np.ndarray, sure: float) -> tuple[np.ndarray, np.ndarray]:
        off = radians(program.feeder.repeatability.azimuth_deg) * sure
        n = len(angles)
        lands = Flown(
            program, feed.stance, *(np.repeat(one, n) for one in (speed, elevation)), angles, np.repeat(topspin, n)
        )
        good = (lands.landing[0] >= feed.side.low) & (lands.landing[0] <= feed.side.high)
        for moved in (angles - off, angles + off):
            flown = Flown(
                program, feed.stance, *(np.repeat(one, n) for one in (speed, elevation)), moved, np.repeat(topspin, n)
            )
            far = gone(flown.across, start)
            good &= (far <= (most or np.inf) + 0.01) & (far >= (least or 0.0) - 0.01)
        return good, abs(lands.landing[0] - feed.side.aim)

    mine, off = within(azimuth, SURE * 0.9)
    good, others = within(every, SURE)
    assert mine.all() and good.any()
    assert off[0] <= others[good].min() + 0.2


def test_no_setting_is_faster_within_the_way() -> None:
    program, shot = found(
        "0.5 to 3.5 m right of centre", "pace fastest", "height at most 1 m over net", "way at most 1 m"
    )
    feed = program.feeds["ball"]
    aimed = replace(feed, side=replace(feed.side, aim=shot.predicted.landing[0]))
    aimed = replace(aimed, bounds=tuple(bound for bound in feed.bounds if bound.what is not FixedBy.WAY))
    launch = settings(program, aimed, shot, np.random.default_rng(3))
    good, flown = keeps(program, aimed, launch, 0.002)
    spread = SURE * radians(program.feeder.repeatability.azimuth_deg) * (feed.stance - program.place.y)
    good &= gone(flown.across - spread, 0.0) <= 1.0
    own = Flown(program, feed.stance, *launch_of(shot))
    assert gone(own.across - 0.9 * spread, 0.0) <= 1.0
    assert good.any() and flown.speed[good].max() <= own.speed[0] / 0.99  # a margin inside the height may cost so much


def test_a_ball_is_aimed_anew_until_its_aim_stays(monkeypatch: pytest.MonkeyPatch) -> None:
    """A person has no steps: where the second aim is where the first one was, no third ball is looked for."""
    kept.forget()
    aims, quest = list[float](), choose._quest
    monkeypatch.setattr(choose, "_quest", lambda feed, *more: aims.append(feed.side.aim) or quest(feed, *more))
    head = HEAD.replace("machine academy, 1 m left of centre, 0.5 m behind", "person racket, on centre, on")
    program, shot = found(
        "0.5 to 3.5 m right of centre", "pace fastest", "height at most 1.5 m over net", "way at most 1 m", head=head
    )
    assert len(aims) == 2 and abs(aims[1] - aims[0]) > choose.SAME_M
    assert gone(Flown(program, program.feeds["ball"].stance, *launch_of(shot)).across, 0.0) <= 1.0


def test_a_way_along_the_court_moves_the_stance_and_binds() -> None:
    """From a metre behind the baseline, so far that no more is left: the slowest ball is met at the end of it, and a
    longer way gives a slower one. The independent place is where the flown ball has fallen to the waist."""
    ends = []
    for most in (3.0, 4.0):
        script = HEAD.format(side="1 m left of centre").replace("    stance    2.5 m behind baseline\n", "")
        script += "    stance    where it is waist high, falling\n    pace slowest\n    starts on centre, on baseline\n"
        script += f"    height at most 5 m over net\n    way at most {most} m\n"
        program, slips = resolve(parse(Source("way.feed", script))[0], ProfileShelf(), {})
        assert program and not slips
        shots = solve(program, program.feeds)
        shot, feed = shots.shots["ball"], shots.feeds["ball"]
        flown = Flown(program, feed.stance, *launch_of(shot))
        back = feed.stance - program.court.half_length
        assert gone(flown.across, 0.0, back)[0] <= most + 0.01
        assert flown.height[0] == pytest.approx(shot.predicted.contact[2], abs=0.01)
        ends.append((shot.speed, shots.binds["ball"]))
    (fast, first), (slow, _) = ends
    assert "way at most 3.0 m" in first and slow < fast - 0.2


def test_a_way_that_no_ball_has_is_told() -> None:
    program, _ = found("2 to 3 m right of centre", "height 1 m over net", "way at most 0.5 m")
    shots = solve(program, program.feeds)
    told = check(program, shots, None, evaluate(program, shots, sample=False), propose=False)
    assert "bound-broken" in {finding.code for finding in told}, told
