"""The best ball there is: nothing better among settings drawn at random and around it, flown by an integrator of its
own, that keeps all that is asked.

The independent flight is `runge_kutta.py`: classic steps of fourth order on Štěpánek's force law, with none of the
code that looked for the ball.
"""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from feedwright.compiler import best, kept, together
from feedwright.compiler.evaluate import scatterings
from feedwright.compiler.fit import beyond
from feedwright.compiler.model.program import Feed, FixedBy, Program
from feedwright.compiler.model.shots import Shots, SolvedShot
from feedwright.compiler.physics.bounce import rebound
from feedwright.compiler.physics.flight import DRAG_SPREAD
from feedwright.compiler.physics.outcome import Release
from feedwright.compiler.resolve import resolve
from feedwright.compiler.solve import solve
from feedwright.compiler.worth import AIMED_M
from feedwright.grammar.parse import parse
from feedwright.grammar.source import Source
from feedwright.grammar.units import RPM
from feedwright.targets.machine.feeders import ProfileShelf

from ..whole import WHOLE
from . import runge_kutta as rk

HEAD = """\
program "Best"
    surface   hard
    player    right-handed, 1.75 m tall
    feeder    machine {machine}, on centre, 0.5 m behind baseline, behind a screen

feed ball
    side      backhand wing
    depth     deep
    stance    2.5 m behind baseline
    spin      topspin 900 rpm
    interval  5 s
"""
BEST = {
    "fastest below a height": "height at most 1 m over net\npace fastest",
    "slowest not above the shoulder": "pace slowest\nheight no higher than shoulder",
    "lowest over the net": "height lowest over net\npace at most 95 km/h",
    "shortest time": "time shortest\npace at most 100 km/h",
    "longest time": "time longest\nheight at most 4 m over net",
    "highest at the player": "height highest, falling\nheight at most 6 m over net",
    "most topspin": "spin most topspin\npace at most 90 km/h\nheight at most 2.5 m over net",
}
MACHINES = ("academy", "club", "dials")

NEAR = {FixedBy.PACE: 1e-6, FixedBy.OVER_NET: 0.003, FixedBy.AT_PLAYER: 0.003, FixedBy.TIME: 0.003, FixedBy.SPIN: 1e-6}
"""Two integrators differ by less, SI."""
DRAWN = 100_000 if WHOLE else 2_000


@cache
def found(machine: str, lines: str) -> tuple[Program, Feed, SolvedShot, Shots]:
    script = HEAD.format(machine=machine)
    if "spin most" in lines:
        script = script.replace("    spin      topspin 900 rpm\n", "")
    script += "".join(f"    {line}\n" for line in lines.splitlines())
    program, slips = resolve(parse(Source("best.feed", script))[0], ProfileShelf(), {})
    assert program and not slips
    shots = solve(program, program.feeds)
    return program, shots.feeds["ball"], shots.shots["ball"], shots


def launch_of(shot: SolvedShot) -> list[np.ndarray]:
    return [np.array([getattr(shot, axis)]) for axis in ("speed", "elevation", "azimuth", "topspin")]


class Flown:
    """Launches, (n,) each in SI, flown by classic Runge-Kutta steps."""

    def __init__(self, program: Program, stance: float, speed, elevation, azimuth, topspin, ball=None) -> None:
        ball, air, level = ball or program.ball, program.air, np.cos(elevation)
        self.speed, self.topspin, n = speed, topspin, len(speed)
        place, feeder = program.place, program.feeder
        start = np.repeat(np.array([[place.x], [place.y], [feeder.release_height_m]]), n, axis=1)
        velocity = speed * np.stack([level * np.sin(azimuth), level * np.cos(azimuth), np.sin(elevation)])
        spin = topspin * np.stack([-np.cos(azimuth), np.sin(azimuth), np.zeros(n)])
        path = rk.fly(start, velocity, spin, ball, air, floor=ball.radius_m, step=0.02)
        court, net = program.court, rk.at_plane(path, 0.0)
        cord = court.net_centre + (court.net_post - court.net_centre) * abs(net.position[0]) / court.post_x
        self.clearance = net.position[2] - ball.radius_m - cord
        landing = rk.at_height(path, ball.radius_m)
        self.landing = landing.position
        after, turned = rebound(landing.velocity, spin, ball, program.surface)
        path = rk.fly(landing.position, after, turned, ball, air, floor=ball.radius_m, step=0.02)
        contact = rk.at_plane(path, stance)
        self.across = contact.position[0]
        low = ~(contact.position[2] >= ball.radius_m)  # a second bounce comes first
        self.height = np.where(low, np.nan, contact.position[2])
        self.rise = contact.velocity[2]
        self.time = landing.time + contact.time

    def of(self, what: FixedBy):
        return {
            FixedBy.PACE: self.speed, FixedBy.OVER_NET: self.clearance, FixedBy.AT_PLAYER: self.height,
            FixedBy.TIME: self.time, FixedBy.SPIN: abs(self.topspin),
        }[what]  # fmt: skip


def scattered(program: Program, feed: Feed, launch: list[np.ndarray]) -> list[Flown]:
    """The launches with one standard deviation of each thing that scatters."""
    scatter = program.feeder.repeatability
    speed, elevation, azimuth, topspin = launch
    return [
        Flown(program, feed.stance, *one)
        for one in (
            (speed * (1 + scatter.speed_percent / 100), elevation, azimuth, topspin),
            (speed, elevation + np.radians(scatter.elevation_deg), azimuth, topspin),
            (speed, elevation, azimuth + np.radians(scatter.azimuth_deg), topspin),
            (speed, elevation, azimuth, topspin + scatter.spin_rpm * RPM),
        )
    ]


def inside(program: Program, feed: Feed, launch: list[np.ndarray], flown: Flown, more: float) -> np.ndarray:
    """Whether balls land at the middle of their zone, or two standard deviations and what another make of ball takes
    inside it, times `more`. A ball may have more or less drag by the spread of published coefficients, and either
    published growth of it with spin (PHYSICS.md)."""
    y, ball = flown.landing[1], program.ball
    moved = scattered(program, feed, launch)
    deviation = np.sqrt(sum((one.landing[1] - y) ** 2 for one in moved))
    makes = [
        replace(ball, drag_offset=ball.drag_offset + way * DRAG_SPREAD, spin_drag=growth)
        for way, growth in ((-1, 0.0), (1, 1.0))
    ]
    ends = [Flown(program, feed.stance, *launch, ball=make).landing[1] - y for make in makes]
    near = more * np.maximum(2 * deviation, 0.25 * deviation - np.minimum(*ends))
    far = more * np.maximum(2 * deviation, 0.25 * deviation + np.maximum(*ends))
    sure = (y - feed.depth.low >= near) & (feed.depth.high - y >= far)
    return sure | (abs(y - feed.depth.aim) <= AIMED_M + 0.05 * (1.0 - more))


def sure(program: Program, feed: Feed, launch: list[np.ndarray], flown: Flown) -> np.ndarray:
    """Whether balls pass two standard deviations above the cord and keep them inside each bound, a tenth more because
    the compiler takes a parabola's drop and the scatter of a ball near by; or half of what they may pass at most."""
    moved = scattered(program, feed, launch)

    def deviation(what: FixedBy) -> np.ndarray:
        return np.sqrt(sum((one.of(what) - flown.of(what)) ** 2 for one in moved))

    most = min((bound.high / 2 for bound in feed.bounds if bound.what is FixedBy.OVER_NET), default=np.inf)
    good = flown.clearance >= np.minimum(2.2 * deviation(FixedBy.OVER_NET), most)
    for bound in feed.bounds:
        spare = 2.2 * deviation(bound.what)
        good &= (flown.of(bound.what) >= bound.low + spare) & (flown.of(bound.what) <= bound.high - spare)
    return good


def keeps(program: Program, feed: Feed, launch: list[np.ndarray], slack: float) -> tuple[np.ndarray, Flown]:
    """Which launches do all that is asked, `slack` metres or SI inside of it."""
    flown = Flown(program, feed.stance, *launch)
    n = len(flown.speed)
    good = abs(flown.landing[0] - feed.side.aim) <= AIMED_M - slack
    good &= (flown.landing[1] >= feed.depth.low + slack) & (flown.landing[1] <= feed.depth.high - slack)
    # Half way up to the knee, which Winter (2009), fig. 4.1, has at 0.285 of the stature; lower balls are dug out.
    good &= np.isfinite(flown.height) & (flown.height >= 0.285 / 2 * program.player.stature)
    if feed.phase == "falling":
        good &= flown.rise <= -slack
    for bound in feed.bounds:
        good &= (flown.of(bound.what) >= bound.low + slack) & (flown.of(bound.what) <= bound.high - slack)
    release = Release(np.zeros((3, n)), *launch, np.zeros(n))
    good &= sum(beyond(program.feeder, release, program.ball.diameter_m).values()) == 0
    good &= flown.speed <= program.feeder.device.cap_mps
    return good, flown


def settings(program: Program, feed: Feed, shot: SolvedShot, rng: np.random.Generator) -> list[np.ndarray]:
    """Launches that the machine can be set to: drawn from all of its ranges, towards the aim, and every one around the
    ball that was found."""
    axes = program.feeder.axes()

    def values(name: str) -> np.ndarray:
        axis = axes[name]
        count = len(axis.dial) if axis.dial else round((axis.high - axis.low) / axis.step) + 1
        return np.array([axis.value(i + 1 if axis.dial else axis.low + i * axis.step) for i in range(count)])

    straight = np.arctan2(feed.side.aim - program.place.x, feed.depth.aim - program.place.y)
    drawn, around = [], []
    for name in ("speed", "elevation", "azimuth", "topspin"):
        every, mine = values(name), getattr(shot, name)
        near = every[np.argsort(abs(every - mine))]
        free = name != "topspin" or "spin" in feed.free
        some = every[np.argsort(abs(every - straight))][:6] if name == "azimuth" else every if free else near[:1]
        drawn.append(rng.choice(some, DRAWN))
        around.append(near[: {"speed": 15, "elevation": 11, "azimuth": 2, "topspin": 5 if free else 1}[name]])
    grid = [line.ravel() for line in np.meshgrid(*around, indexing="ij")]
    return [np.concatenate(pair) for pair in zip(drawn, grid, strict=True)]


CASES = [(m, name) for i, name in enumerate(BEST) for m in (MACHINES if WHOLE else [MACHINES[i % 2]])]


@pytest.mark.parametrize(("machine", "name"), CASES)
def test_no_setting_of_the_machine_is_better(machine: str, name: str) -> None:
    program, feed, shot, _ = found(machine, BEST[name])
    ours = launch_of(shot)
    kept, flown = keeps(program, feed, ours, -0.004)
    best = feed.best
    launch = settings(program, feed, shot, np.random.default_rng(5))
    there = inside(program, feed, ours, flown, 0.9)[0]
    if machine != "dials":  # whose steps are so wide that it may have no ball within reach of the aim
        assert kept.all(), "the ball itself does what is asked"
    sign = best.sign
    reached = sign * flown.of(best.what)[0]
    good, flown = keeps(program, feed, launch, 0.002)
    some = [line[good] for line in launch]
    few = Flown(program, feed.stance, *some)
    good[good] &= sure(program, feed, some, few) & inside(program, feed, some, few, 1.1)
    if not there:  # no setting does what is asked so far inside the zone: then none does
        assert (kept.all() or machine == "dials") and not good.any(), [line[good][:3] for line in launch]
        return
    if machine != "dials":
        assert good.any(), "some of the others would do"
    better = good & (sign * flown.of(best.what) > reached + NEAR[best.what])
    assert not better.any(), [line[better][:3] for line in launch]


def test_what_binds_is_named() -> None:
    """A slow ball flies high and bounces high: the shoulder stops it. The lower a ball passes the net the faster it is,
    up to the bound of its pace; with none, the machine's speed ends first."""
    binds = {name: found("academy", BEST[name])[3].binds["ball"] for name in BEST}
    assert "height no higher than shoulder" in binds["slowest not above the shoulder"]
    assert "pace at most 95 km/h" in binds["lowest over the net"]
    assert binds["fastest below a height"] == ("the range of the feeder's speed",)
    assert "height at most 4 m over net" in binds["longest time"]


def test_a_ball_keeps_two_standard_deviations_inside_its_bound() -> None:
    """Of a normal distribution 97.7 % lie above two standard deviations under its mean: any table of it. A few of the
    machine's steps more are not better."""
    program, feed, shot, shots = found("academy", "height at least 0.4 m over net\npace fastest")
    (scattering,) = scatterings(program, [(feed, shot)], sample=True)
    share, _ = scattering.kept[FixedBy.OVER_NET]
    assert 0.97 <= share < 0.995
    (bare,) = shots.bare.values()
    assert bare > shot.speed, "what that costs is known"


def test_a_wider_bound_gives_more() -> None:
    parts = ("waist", "elbow", "shoulder")
    paces = [found("academy", f"height no higher than {part}\npace slowest")[2].speed for part in parts]
    assert paces[0] > paces[1] > paces[2]


def without_stance(lines: str, spin: str = "topspin 900 rpm") -> tuple[Program, Feed, SolvedShot]:
    """The ball that is found for a feed with these lines in place of its stance."""
    script = HEAD.format(machine="academy").replace("    stance    2.5 m behind baseline\n", "")
    script = script.replace("topspin 900 rpm", spin) + "".join(f"    {line}\n" for line in lines.splitlines())
    program, slips = resolve(parse(Source("best.feed", script))[0], ProfileShelf(), {})
    assert program and not slips
    shots = solve(program, program.feeds)
    return program, shots.feeds["ball"], shots.shots["ball"]


@pytest.mark.parametrize("phase", ["falling", "rising"])
def test_the_stance_is_where_the_ball_is_at_the_height(phase: str) -> None:
    lines = f"stance where it is 1 m above ground, {phase}\nheight 1.5 m over net"
    program, feed, shot = without_stance(lines)
    flown = Flown(
        program, feed.stance, *(np.array([getattr(shot, a)]) for a in ("speed", "elevation", "azimuth", "topspin"))
    )
    assert flown.height[0] == pytest.approx(1.0, abs=0.02)  # a centimetre of stance
    assert (flown.rise[0] < 0) == (phase == "falling")
    assert flown.clearance[0] == pytest.approx(1.5, abs=0.12)  # held within 0.1 m


def test_without_a_stance_a_ball_passes_a_metre_over_the_net_and_is_met_where_it_has_the_height() -> None:
    program, feed, shot = without_stance("height waist, falling")
    flown = Flown(program, feed.stance, *launch_of(shot))
    assert flown.height[0] == pytest.approx(program.player.height_of("waist"), abs=0.02) and flown.rise[0] < 0
    assert flown.clearance[0] == pytest.approx(1.0, abs=0.12)  # held within 0.1 m


@pytest.mark.parametrize(
    ("lines", "nearest", "farthest", "phase"),
    [
        ("stance at most 1 m behind baseline\nheight waist", 0.0, 1.0, "rising"),
        ("stance at least 3.5 m behind baseline\nheight waist, falling", 3.5, 5.5, "falling"),
        ("stance at most 1 m inside baseline\nstance at most 1 m behind baseline\nheight waist", -1.0, 1.0, "rising"),
        ("stance at least 1 m inside baseline\nstance at most 2 m inside baseline\nheight waist", -2.0, -1.0, "rising"),
    ],
)
def test_a_bound_of_the_stance_is_kept(lines: str, nearest: float, farthest: float, phase: str) -> None:
    """The place is within the bounds, in metres behind the baseline, and there an independent flight has the height."""
    program, feed, shot = without_stance(lines)
    assert nearest <= round(feed.stance - program.court.half_length, 2) <= farthest
    flown = Flown(program, feed.stance, *launch_of(shot))
    assert flown.height[0] == pytest.approx(program.player.height_of("waist"), abs=0.02)  # a centimetre of stance
    assert (flown.rise[0] < 0) == (phase == "falling")


def test_where_no_such_ball_comes_to_the_height_it_passes_as_little_higher_as_it_may() -> None:
    """Backspin bounces low. Of settings that land at the aim none nearer to a metre over the net reaches the waist."""
    program, feed, shot = without_stance("height waist, falling", "backspin 1000 rpm")
    mine, waist = Flown(program, feed.stance, *launch_of(shot)), program.player.height_of("waist")
    assert mine.height[0] == pytest.approx(waist, abs=0.02) and mine.clearance[0] > 1.2
    speed, elevation = (program.feeder.axes()[name] for name in ("speed", "elevation"))
    lines = (np.linspace(axis.low_si, axis.high_si, 80) for axis in (speed, elevation))
    grid = np.meshgrid(*lines, [shot.azimuth], [shot.topspin], indexing="ij")
    launch = [line.ravel() for line in grid]
    flown = Flown(program, feed.stance, *launch)
    rival = abs(flown.landing[1] - feed.depth.aim) <= AIMED_M
    rival &= (flown.clearance > 0) & (flown.clearance < mine.clearance[0] - 0.1)
    some = [line[rival] for line in launch]
    assert len(some[0]) > 10
    stances = np.arange(feed.depth.aim + 0.5, program.court.half_length + 5.5, 0.5)
    highest = np.nanmax([Flown(program, stance, *some).height for stance in stances], axis=0)
    assert highest.max() < waist


def test_two_lines_fix_the_depth() -> None:
    program, slips = resolve(
        parse(Source("best.feed", HEAD.format(machine="academy").replace("    depth     deep\n", "")
              + "    pace 80 km/h\n    height waist, falling\n"))[0], ProfileShelf(), {},
    )  # fmt: skip
    assert program and not slips
    shots = solve(program, program.feeds)
    feed, shot = shots.feeds["ball"], shots.shots["ball"]
    flown = Flown(
        program, feed.stance, *(np.array([getattr(shot, a)]) for a in ("speed", "elevation", "azimuth", "topspin"))
    )
    assert flown.height[0] == pytest.approx(program.player.height_of("waist"), abs=0.06)
    assert shot.speed * 3.6 == pytest.approx(80, abs=1.01)
    assert feed.depth.aim == pytest.approx(flown.landing[1, 0], abs=0.01)


def test_a_spin_that_no_line_says_lets_a_pace_a_height_and_a_place_go_together() -> None:
    """An independent flight with the spin that was found has all three."""
    script = HEAD.format(machine="academy").replace("    spin      topspin 900 rpm\n", "")
    program, slips = resolve(
        parse(Source("best.feed", script + "    pace      90 km/h\n    height    1.6 m over net\n"))[0],
        ProfileShelf(), {},
    )  # fmt: skip
    assert program and not slips
    shots = solve(program, program.feeds)
    feed, shot = shots.feeds["ball"], shots.shots["ball"]
    flown = Flown(program, feed.stance, *launch_of(shot))
    assert shot.speed * 3.6 == pytest.approx(90, abs=0.51) and shot.topspin > 0
    assert flown.clearance[0] == pytest.approx(1.6, abs=0.05)
    assert abs(flown.landing[1, 0] - feed.depth.aim) <= AIMED_M


THIN = "    surface   clay\n    ball      high altitude\n    air       12 C, altitude 1800 m, wind 3 m/s from ahead"


def test_a_ball_that_is_far_from_possible_is_not_looked_for_far_away(monkeypatch: pytest.MonkeyPatch) -> None:
    """The same ball, at the top of its bounce, as from all settings of the wide window, with many of them not flown."""
    script = HEAD.format(machine="academy").replace("2.5 m behind baseline\n    spin", "{}\n    spin")
    text = script.format("where it is shoulder high, falling")
    text = text.replace("    interval", "    pace      88 km/h\n    interval")
    text = text.replace("    surface   hard", THIN).replace("topspin 900", "topspin 1800")
    text = text.replace("depth     deep", "depth     1 to 4 m inside baseline")
    program, slips = resolve(parse(Source("best.feed", text))[0], ProfileShelf(), {})
    assert program and not slips
    flown = []
    done = together._done

    def counted(requests: list[tuple[int, together.Unflown]], conditions: object) -> object:
        flown[-1] += sum(request.count for _, request in requests)
        return done(requests, conditions)  # type: ignore[arg-type]

    monkeypatch.setattr(together, "_done", counted)
    shots = []
    for least in (best.HOPELESS, np.inf):
        monkeypatch.setattr(best, "HOPELESS", least)
        kept.forget()
        flown.append(0)
        shots.append(solve(program, program.feeds).shots["ball"])
    kept.forget()
    assert shots[0] == shots[1] and shots[0].predicted.contact[2] < 0.818 * 1.75 - 0.1
    assert 0 < flown[0] < flown[1] * 2 / 3


def test_on_the_full_the_height_goes_before_a_margin_inside_a_bound() -> None:
    """At 50 km/h a racket on the baseline hardly reaches a player at the net: with two deviations less the ball would
    be on the ground there. An independent flight has it at the waist."""
    script = HEAD.format(machine="x").replace("machine x, on centre, 0.5 m behind", "person racket, on centre, on")
    script = script.replace("    depth     deep\n    stance    2.5 m behind baseline", "    stance    3 m from net")
    script = script.replace("topspin 900 rpm", "flat") + "    height    waist, on the full\n    pace      fastest\n"
    script += "    pace      at most 50 km/h\n"
    program, slips = resolve(parse(Source("best.feed", script))[0], ProfileShelf(), {})
    assert program and not slips
    shot = solve(program, program.feeds).shots["ball"]
    speed, elevation, azimuth, _ = launch_of(shot)
    place, level = np.array(shot.origin)[:, None], np.cos(elevation)
    velocity = speed * np.stack([level * np.sin(azimuth), level * np.cos(azimuth), np.sin(elevation)])
    path = rk.fly(place, velocity, np.zeros((3, 1)), program.ball, program.air, floor=0.0, step=0.02)
    met = rk.at_plane(path, 3.0).position[2, 0]
    assert met == pytest.approx(program.player.height_of("waist"), abs=0.15)
    assert shot.speed * 3.6 <= 50.001
