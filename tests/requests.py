"""What a coach could ask for, made from what the feeders can do: settings drawn at random and flown, and a feed that
asks for what the ball did. Each can be had, by these settings at least."""

from dataclasses import dataclass, replace
from math import inf

import numpy as np

from feedwright.compiler.model.feeder import AXES, Axis
from feedwright.compiler.model.program import Feed, FixedBy, Program, Range
from feedwright.compiler.physics.flight import Array
from feedwright.compiler.physics.outcome import Outcome, Release, outcome
from feedwright.compiler.pipeline import compile_source
from feedwright.compiler.solve import conditions_of
from feedwright.grammar.source import Source
from feedwright.targets.machine.feeders import ProfileShelf

PROFILES = ("club", "academy", "dials", "answering", "silent", "basket", "racket", "server")
COURTS = ("singles", "doubles", "green", "orange", "red")
SURFACES = ("hard", "clay", "grass", "pace slow", "pace fast")
KINDS = (FixedBy.OVER_NET, FixedBy.AT_PLAYER, FixedBy.PACE, FixedBy.TIME)
LOWEST = 0.15  # m, that anybody asks for at the stance
SURE = 0.005
"""A ball that passes anything by less than this, in m, is not drawn: rounding could go either way."""


def program_of(
    profile: str, court: str = "singles", surface: str = "hard", more: str = "", side: str = "middle"
) -> Program:
    sort = "person" if profile in ("basket", "racket", "server") else "machine"
    place = ", 3 m from net" if profile == "basket" else ", on baseline"
    text = (
        f'program "Asked"\n    court     {court}\n    surface   {surface}\n    player    right-handed{more}\n'
        f"    feeder    {sort} {profile}{place}, behind a screen\n\n"
        f"feed one\n    side      {side}\n    depth     deep\n    stance    on baseline\n    height    1 m over net\n"
        '    spin      flat\n    interval  6 s\n\nsession "All"\n    10 balls  one\n'
    )
    found = compile_source(Source("asked.feed", text), ProfileShelf(None), plan=False)
    assert found.program, found.findings
    return found.program


def settings(axis: Axis | None, n: int, rng: np.random.Generator) -> Array:
    """n values in SI that the axis can be set to."""
    if axis is None:
        return np.zeros(n)
    if axis.dial is not None:
        return np.array([axis.si(axis.dial[i]) for i in rng.integers(0, len(axis.dial), n)])
    if axis.step is None:
        return rng.uniform(axis.low_si, axis.high_si, n)
    steps = int((axis.high - axis.low) / axis.step + 1e-6)
    return np.array([axis.si(axis.low + axis.step * i) for i in rng.integers(0, steps + 1, n)])


def had(program: Program, flown: Outcome, full: np.ndarray) -> np.ndarray:
    """Which balls a coach can have: over the net between its posts, in the court, above the ground, under the roof."""
    court, radius = program.court, program.ball.radius_m
    x, y = flown.landing.position[:2]
    inside = (abs(x) <= court.half_width - SURE) & (y >= 0.3) & (y <= court.half_length - SURE)
    over = np.isnan(flown.clearance) | (flown.clearance >= SURE) & (abs(flown.net_x) <= court.post_x - SURE)
    height = flown.contact.position[2]
    under = flown.peak + radius <= (inf if court.ceiling is None else court.ceiling) - SURE
    contact_x = flown.contact.position[0]
    met = flown.met & (height >= radius + SURE) & (abs(contact_x) <= court.half_width + 2)
    return np.asarray(
        (inside | full) & over & met & under & (~full | (height >= 0.3) & (abs(contact_x) <= court.half_width - SURE))
    )


@dataclass(frozen=True)
class Drawn:
    """Feeds, each with the launch that gives it: speed, elevation, azimuth, topspin, sidespin in SI."""

    feeds: dict[str, Feed]
    launches: dict[str, tuple[float, ...]]


def drawn(program: Program, n: int, seed: int, full: float = 0.2, most: int = 60) -> Drawn:
    rng, feeder = np.random.default_rng(seed), program.feeder
    base = program.feeds["one"]
    feeds: dict[str, Feed] = {}
    launches: dict[str, tuple[float, ...]] = {}
    for _ in range(most):
        if len(feeds) >= n:
            break
        m = 40 * n
        axes = [settings(getattr(feeder, name), m, rng) for name in AXES]
        axes[4] *= rng.random(m) < 0.3
        if feeder.wheels:
            rim = np.hypot(axes[3], axes[4]) * program.ball.diameter_m / 2
            fits = (axes[0] - rim >= feeder.wheels.low_mps + 0.01) & (axes[0] + rim <= feeder.wheels.high_mps - 0.01)
            axes = [axis[fits] for axis in axes]
        if feeder.template and "topspin" in feeder.template.fixed:
            axes[3] *= 0.0
        m = len(axes[0])
        origin = np.tile(np.array([[program.place.x], [program.place.y], [feeder.release_height_m]]), m)
        volley = rng.random(m) < full
        half = program.court.half_length
        stance = np.where(volley, rng.uniform(0.15, 0.6, m), rng.uniform(0.4, 1.35, m)) * half
        flown = outcome(Release(origin, *axes), stance, volley, conditions_of(program))
        for i in np.flatnonzero(had(program, flown, volley)):
            if len(feeds) >= n:
                break
            name = f"r{len(feeds)}"
            feeds[name] = _asked(program, base, flown, axes, stance, volley, int(i), name, rng)
            launches[name] = tuple(float(axis[i]) for axis in axes)
    return Drawn(feeds, launches)


def _around(value: float, low: float, high: float, rng: np.random.Generator) -> Range:
    """A zone of half a metre to three around a place, anywhere in it, inside the lines."""
    width = rng.uniform(0.5, 3.0)
    first = value - rng.uniform(0.05, 0.95) * width
    zone = max(first, low), min(first + width, high)
    return Range(*zone, sum(zone) / 2)


def _asked(
    program: Program, base: Feed, flown: Outcome, axes: list[Array], stance: Array, volley: np.ndarray, i: int,
    name: str, rng: np.random.Generator,
) -> Feed:  # fmt: skip
    court, contact, landing = program.court, flown.contact, flown.landing
    kinds = [k for k in KINDS if (k is not FixedBy.OVER_NET or np.isfinite(flown.clearance[i]))
             and not (k is FixedBy.AT_PLAYER and (volley[i] or contact.position[2, i] < LOWEST))]  # fmt: skip
    kind = kinds[rng.integers(len(kinds))]
    value = {
        FixedBy.OVER_NET: flown.clearance[i], FixedBy.AT_PLAYER: contact.position[2, i],
        FixedBy.PACE: axes[0][i], FixedBy.TIME: contact.time[i],
    }[kind]  # fmt: skip
    rise = contact.velocity[2, i]
    way = "rising" if rise > 0 else "falling"
    phase = way if kind is FixedBy.AT_PLAYER and rng.random() < 0.5 and abs(rise) > 0.3 else None
    x = contact.position[0, i] if volley[i] else landing.position[0, i]
    return replace(
        base, name=name, family=name, side=_around(float(x), -court.half_width, court.half_width, rng),
        depth=None if volley[i] else _around(float(landing.position[1, i]), 0.3, court.half_length, rng),
        stance=float(stance[i]), fixed_by=kind, value=float(value), phase=phase,
        contact_height=float(contact.position[2, i]) if volley[i] else None,
        topspin=float(axes[3][i]), sidespin=float(axes[4][i]), arc=None,
    )  # fmt: skip
