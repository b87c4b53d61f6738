"""One feed flown whole: over the net, onto the court, up from the bounce, through the plane where it is met."""

from collections.abc import Sequence
from functools import cached_property
from math import inf

import numpy as np
from numpy.typing import NDArray

from ...grammar.frozen import Frozen, replace
from .air import Air
from .ball import Ball
from .bounce import Surface, rebound
from .flight import Array, Drag, Index, Path, fly, launch
from .moments import Moment, at_height, at_plane, crossings, highest, nowhere, rising_to

UNDER = -3.0
"""How far below the ground a flight is followed, so that what is asked stays smooth where the ball falls short."""

BELOW_TOP = 1e-4  # m; there a ball surely still rises, or falls already


class Conditions(Frozen):
    """What all balls of a batch share. Net cord: `net_centre` at x = 0, straight to `net_post` at |x| = `post_x`."""

    ball: Ball
    air: Air
    surface: Surface
    net_centre: float
    net_post: float
    post_x: float
    bounces: int = 1
    """How many bounces the player may let the ball have."""
    ceiling: float = inf
    """Lowest height of anything over the court, m; it bounds replies."""

    @cached_property
    def key(self) -> str:
        """All of it, as a part of the key of what depends on it."""
        return repr(self)

    def cord(self, x: Array) -> Array:
        return np.asarray(self.net_centre + (self.net_post - self.net_centre) * np.abs(x) / self.post_x)


class Release(Frozen):
    """Launches of n balls: `origin` (3, n) m; (n,) each m/s, rad, rad/s."""

    origin: Array
    speed: Array
    elevation: Array
    azimuth: Array
    topspin: Array
    sidespin: Array

    def at(self, index: NDArray[np.intp]) -> "Release":
        """The launches at the given places."""
        return Release(
            self.origin[:, index], self.speed[index], self.elevation[index], self.azimuth[index],
            self.topspin[index], self.sidespin[index],
        )  # fmt: skip

    def and_(self, more: "Release") -> "Release":
        """These and others."""
        pairs = zip(self.values(), more.values(), strict=True)
        return Release(*(np.concatenate(pair, axis=-1) for pair in pairs))

    def with_(self, speed: Array, elevation: Array, azimuth: Array) -> "Release":
        return replace(self, speed=speed, elevation=elevation, azimuth=azimuth)


class Outcome(Frozen):
    """What n balls do; (n,) each, m and s, NaN where it does not happen.

    `clearance`: straight up from the cord to the underside where the centre crosses the net's plane, negative in the
    net; NaN of a ball that comes down before it. `landing`: the first time the underside touches. `contact`: the centre
    crosses the stance after the bounce, or on the full; `met` says whether it does so above the ground and after no
    more bounces than allowed. `peak`: highest point of the centre on the way. `bounces`: how many there are before the
    contact.
    """

    clearance: Array
    net_x: Array
    landing: Moment
    contact: Moment
    met: NDArray[np.bool_]
    peak: Array
    bounces: Array

    def at(self, index: NDArray[np.intp]) -> "Outcome":
        """What the balls at the given places do."""
        return Outcome(
            self.clearance[index], self.net_x[index], self.landing.at(index), self.contact.at(index),
            self.met[index], self.peak[index], self.bounces[index],
        )  # fmt: skip


def outcome(
    release: Release,
    stance: Array,
    full: NDArray[np.bool_],
    conditions: Conditions,
    onward: NDArray[np.bool_] | None = None,
    peaks: bool = True,
) -> Outcome:
    """Fly n balls to the plane y = `stance` (n,), those of `full` (n,) without a bounce. With `onward` (n,) only those
    balls are followed past the bounce: the others have no contact. Without `peaks` no highest point is looked for."""
    ball, air = conditions.ball, conditions.air
    velocity, spin = launch(release.speed, release.elevation, release.azimuth, release.topspin, release.sidespin)
    floor = np.where(full, UNDER, ball.radius_m)
    path = fly(release.origin, velocity, spin, ball, air, floor=floor)
    landing, net = crossings(path, (ball.radius_m,), (0.0,))
    followed = ~full if onward is None else onward & ~full
    contact, top, bounces = after_bounce(landing, spin, stance, conditions, followed, peaks=peaks)
    end = landing
    if full.any():
        contact = merged(full, _above(at_plane(path, stance)), contact)
        landing = merged(full, nowhere(len(stance)), landing)
        top, end = np.where(full, -np.inf, top), merged(full, contact, landing)
    peak = np.fmax(highest(path, end), top) if peaks else top
    return _outcome(release, stance, net, landing, contact, peak, bounces, conditions)


def landed(release: Release, doubt: Array, conditions: Conditions) -> Array:
    """Where along the court n balls come down whose drag has this doubt (n,), m."""
    ball = conditions.ball
    velocity, spin = launch(release.speed, release.elevation, release.azimuth, release.topspin, release.sidespin)
    path = fly(release.origin, velocity, spin, ball, conditions.air, floor=ball.radius_m, drag=Drag.of(ball, doubt))
    (landing,) = crossings(path, (ball.radius_m,), ())
    return landing.position[1]


def met_behind(
    release: Release, behind: Array, instead: Array, full: NDArray[np.bool_], conditions: Conditions
) -> tuple[Array, Outcome]:
    """Fly n balls to so far behind where each bounces, `behind` (n,): where that is along the court (n,), m, to the
    centimetre, and the outcome there; of one that never lands NaN, with the outcome at the plane `instead` (n,)."""
    stance = np.round(landed(release, np.zeros(len(behind)), conditions) + behind, 2)
    return stance, outcome(release, np.where(np.isfinite(stance), stance, instead), full, conditions)


def met_where(
    release: Release,
    height: Array,
    rising: NDArray[np.bool_],
    instead: Array,
    twice: NDArray[np.bool_],
    topped: NDArray[np.bool_],
    conditions: Conditions,
) -> tuple[Array, Outcome]:
    """Fly n balls to where each is at its `height` (n,) after its bounce, the second where `twice` (n,), on the way up
    where `rising` (n,), else down: where that is along the court (n,), m, to the centimetre, since nobody stands more
    exactly, and the outcome there. A ball that never comes so high is met at the top of its bounce where `topped`
    (n,); else it is NaN, with the outcome at the plane `instead` (n,)."""
    return _met_where(release, height, (rising,), instead, twice, topped, conditions)[0]


def met_either_way(
    release: Release,
    height: Array,
    rising: NDArray[np.bool_],
    instead: Array,
    twice: NDArray[np.bool_],
    conditions: Conditions,
) -> tuple[tuple[Array, Outcome], tuple[Array, Outcome]]:
    """The same of balls that are not topped, and then for the other way through that height."""
    never = np.zeros(len(rising), bool)
    first, second = _met_where(release, height, (rising, ~rising), instead, twice, never, conditions)
    return first, second


def _met_where(
    release: Release,
    height: Array,
    ways: Sequence[NDArray[np.bool_]],
    instead: Array,
    twice: NDArray[np.bool_],
    topped: NDArray[np.bool_],
    conditions: Conditions,
) -> list[tuple[Array, Outcome]]:
    ball, n = conditions.ball, len(release.speed)
    velocity, spin = launch(release.speed, release.elevation, release.azimuth, release.topspin, release.sidespin)
    path = fly(release.origin, velocity, spin, ball, conditions.air, floor=ball.radius_m)
    landing, net = crossings(path, (ball.radius_m,), (0.0,))
    lands, peak = np.isfinite(landing.time), highest(path, landing)
    onward = _bounced(landing, spin, np.flatnonzero(lands), conditions)
    places = np.full((2, n), np.nan)
    falls, rises = (any((way == rising).any() for way in ways) for rising in (False, True))
    for flight in (onward, *([_bounced_again(onward, conditions)] if twice.any() else [])):
        level = height[flight.lanes]
        if topped.any():
            level = np.where(topped[flight.lanes], np.minimum(level, highest(flight.path) - BELOW_TOP), level)
        mine = twice[flight.lanes] == (flight is not onward)
        for place, find, any_so in zip(places, (at_height, rising_to), (falls, rises), strict=True):
            if any_so:
                place[flight.lanes[mine]] = find(flight.path, level).position[1][mine]
    found = []
    for way in ways:
        stance = np.where(way, places[1], places[0]).round(2)
        where = np.where(np.isfinite(stance), stance, instead)
        followed = lands & (landing.position[1] < where)
        contact, top, bounces = _met(onward, landing, where, conditions, followed, peaks=True)
        found.append((stance, _outcome(release, where, net, landing, contact, np.fmax(peak, top), bounces, conditions)))
    return found


def _outcome(
    release: Release,
    stance: Array,
    net: Moment,
    landing: Moment,
    contact: Moment,
    peak: Array,
    bounces: Array,
    conditions: Conditions,
) -> Outcome:
    radius, crossing = conditions.ball.radius_m, (release.origin[1] < 0) & (stance > 0)
    clearance = np.where(crossing, net.position[2] - radius - conditions.cord(net.position[0]), np.nan)
    met = np.isfinite(contact.time) & (contact.position[2] >= radius - 1e-9)
    return Outcome(clearance, np.where(crossing, net.position[0], np.nan), landing, contact, met, peak, bounces)


class _Bounced(Frozen):
    """Flights from the bounce on, of the balls `lanes` (m,): `turn` (3, m) is their spin then."""

    lanes: Index
    turn: Array
    path: Path


def _bounced(landing: Moment, spin: Array, lanes: Index, conditions: Conditions, drag: Drag | None = None) -> _Bounced:
    ball, air = conditions.ball, conditions.air
    velocity, turn = rebound(landing.velocity[:, lanes], spin[:, lanes], ball, conditions.surface)
    return _Bounced(lanes, turn, fly(landing.position[:, lanes], velocity, turn, ball, air, floor=UNDER, drag=drag))


def _bounced_again(bounced: _Bounced, conditions: Conditions) -> _Bounced:
    """The flights from the second bounce on, of those balls that have one."""
    second = at_height(bounced.path, conditions.ball.radius_m)
    again = _bounced(second, bounced.turn, np.flatnonzero(np.isfinite(second.time)), conditions)
    return replace(again, lanes=bounced.lanes[again.lanes])


def after_bounce(
    landing: Moment,
    spin: Array,
    stance: Array,
    conditions: Conditions,
    onward: NDArray[np.bool_],
    drag: Drag | None = None,
    peaks: bool = False,
) -> tuple[Moment, Array, Array]:
    """The contact after a bounce, with `peaks` the highest point between bounce and contact, and the bounces; NaN and
    no bounce where there is no contact, where it lies before the bounce, and where not `onward`. `drag` (n,) if it is
    not that of the ball."""
    n = len(stance)
    onward = onward & np.isfinite(landing.time) & (landing.position[1] < stance)
    lanes = np.flatnonzero(onward)
    if not len(lanes):
        return nowhere(n), np.full(n, np.nan), np.zeros(n)
    drag = None if drag is None else Drag(*((np.zeros(n) + part)[lanes] for part in drag.values()))
    return _met(_bounced(landing, spin, lanes, conditions, drag), landing, stance, conditions, onward, peaks, drag)


def _met(
    bounced: _Bounced,
    landing: Moment,
    stance: Array,
    conditions: Conditions,
    onward: NDArray[np.bool_],
    peaks: bool,
    drag: Drag | None = None,
) -> tuple[Moment, Array, Array]:
    """The same of balls whose flights after the bounce are known; `drag` is that of those."""
    n, lanes, path = len(stance), bounced.lanes, bounced.path
    contact, top, bounces = nowhere(n), np.full(n, np.nan), np.zeros(n)
    stance, start, onward = stance[lanes], landing.time[lanes], onward[lanes]
    reached = _above(at_plane(path, stance))
    if peaks:
        top[lanes] = np.where(onward, highest(path, reached), np.nan)
    reached = Moment(reached.time + start, reached.position, reached.velocity)
    count = np.ones(len(lanes))
    if conditions.bounces > 1:
        second = at_height(path, conditions.ball.radius_m)
        again = onward & np.isfinite(second.time) & ~(reached.time <= second.time + start)
        if again.any():
            once = replace(conditions, bounces=conditions.bounces - 1)
            later = Moment(second.time + start, second.position, second.velocity)
            second_reached, _, more = after_bounce(later, bounced.turn, stance, once, again, drag)
            reached = merged(again, second_reached, reached)
            count += more
    if not onward.all():
        reached = merged(onward, reached, nowhere(len(lanes)))
    bounces[lanes] = np.where(onward, count, 0.0)
    contact.time[lanes] = reached.time
    contact.position[:, lanes], contact.velocity[:, lanes] = reached.position, reached.velocity
    return contact, top, bounces


def _above(contact: Moment) -> Moment:
    """Without those further below the ground than a ball is followed: how much of them a path has is left to chance."""
    below = contact.position[2] < UNDER
    return merged(below, nowhere(len(below)), contact) if below.any() else contact


def merged(mask: NDArray[np.bool_], yes: Moment, no: Moment) -> Moment:
    return Moment(
        np.where(mask, yes.time, no.time),
        np.where(mask, yes.position, no.position),
        np.where(mask, yes.velocity, no.velocity),
    )
