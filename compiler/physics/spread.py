"""How a feeder's repeatability scatters its balls: what share lands in the zone, passes the net and is met as high as
asked, and how far apart they land.

A ball's place is where it lands (x, y), its underside touching, or for a ball on the full where its centre passes the
stance (x, z). `sampled` flies a random sample of each shot, `linear` only the shot and its neighbours. Both also fly
the shot with the least and the most drag that balls may have (`flight.Drag.of`), and tell the share there: the scatter
of the feeder, moved as far as that flight is from the shot's own.
"""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from ...grammar.frozen import Frozen, replace
from .flight import Array, Drag, Index, fly, launch
from .heights import design, near, reached, share_between, surface
from .moments import at_plane, crossings, highest, instead_of_none
from .normal import normal_in_box, within
from .outcome import UNDER, Conditions, Release, after_bounce, merged

SAMPLE = 2000  # balls of a shot
LANES = 4000  # flown as one batch, so that the memory does not grow with the shots
NEIGHBOUR = np.array([2e-3, 2e-3, 2e-3, 2.0, 2.0])
"""How far to each side the neighbours of `linear` are flown: relative, rad, rad, rad/s, rad/s."""
ENDS = np.array([-1.0, 1.0])
"""The doubts of the least and of the most drag."""
CLEARANCE, TIME, ACROSS, HEIGHT, NEAR, TOP = 2, 4, 5, 6, slice(6, 9), 9
"""The rows of `_flown`."""


class Scatter(Frozen):
    """One standard deviation each, normal and independent: of the speed as a share of it, rad, rad, rad/s, rad/s.

    `sidespin` is for a feeder that drives sidespin apart from topspin; two wheels leave it at 0.
    """

    speed: float
    elevation: float
    azimuth: float
    topspin: float
    sidespin: float = 0.0

    def deviations(self) -> Array:
        return np.array([self.speed, self.elevation, self.azimuth, self.topspin, self.sidespin])


class ZoneEdges(Frozen):
    """Where the centres of n balls count, (n,) each, m, edges included. On the full `y_low` and `y_high` are heights.
    An edge that is a line of the court is moved out by one radius by the caller, a ball on the line being in."""

    x_low: Array
    x_high: Array
    y_low: Array
    y_high: Array
    height_low: Array
    height_high: Array
    """Heights of the contact that count as what is asked, (n,), m; NaN where no height is asked."""


class Bars(Frozen):
    """What n balls may be at least and at most, (7, n) SI, infinite where nothing is said: clearance, height of the
    contact, speed, time of the contact, spin about whatever axis, x of the contact, and the greatest height
    until then. A player moves up to `step` (n,), m, along the court to have the ball at a height that is allowed, or
    that is asked."""

    low: Array
    high: Array
    step: Array

    def at(self, index: NDArray[np.intp]) -> "Bars":
        return Bars(self.low[:, index], self.high[:, index], self.step[index])

    @property
    def asked(self) -> NDArray[np.bool_]:
        """Which of them say anything, (7, n)."""
        return np.isfinite(self.low) | np.isfinite(self.high)

    @property
    def met(self) -> NDArray[np.bool_]:
        """Of which balls they say something about the contact, (n,)."""
        return np.asarray(self.asked[[1, 3, 5]].any(axis=0))

    @staticmethod
    def none(n: int) -> "Bars":
        return Bars(np.full((7, n), -np.inf), np.full((7, n), np.inf), np.zeros(n))


class Landings(Frozen):
    """What becomes of n shots; NaN where no place is found.

    `share_in_zone` (n,): over the net, between the posts and in the zone. `share_over_net` (n,): over the cord and
    between the posts; 1 where no net is crossed. `mean` (2, n) m and `covariance` (2, 2, n) m² of the place, (x, y) or
    on the full (x, z), as if there were no net. `share_at_ends` (2, n): in the zone with the least and with the most
    drag; `ends` (2, 2, n) m: where the shot itself then comes to, first axis x and the other, second the end, and
    `heights_at_ends` (2, n) m: how high it is then met.
    `share_at_side` (n,): to the side of the zone; `share_at_height` (n,): met as high as asked, 1 where no height is
    asked. Both of all balls, as if there were no net. `share_within` (7, n) keeps each of `Bars`, `share_within_least`
    (7, n) with the least or the most drag, whichever breaks it more often; a ball that has none of it, such as one
    that is not met, keeps it.
    """

    share_in_zone: Array
    share_over_net: Array
    mean: Array
    covariance: Array
    share_at_ends: Array
    ends: Array
    heights_at_ends: Array
    share_at_side: Array
    share_at_height: Array
    share_within: Array
    share_within_least: Array

    @property
    def semi_axes(self) -> Array:
        """Long and short semi-axis (2, n), m, of the ellipse of one standard deviation; it holds 39 % of a normal
        scatter (1 - e^-1/2)."""
        middle = (self.covariance[0, 0] + self.covariance[1, 1]) / 2
        half = np.hypot((self.covariance[0, 0] - self.covariance[1, 1]) / 2, self.covariance[0, 1])
        return np.sqrt(np.maximum(np.array([middle + half, middle - half]), 0.0))

    @property
    def angle(self) -> Array:
        """Of the long semi-axis (n,), rad in ±π/2, from +x towards +y (on the full +z)."""
        across, along = self.covariance[0, 0], self.covariance[1, 1]
        return np.asarray(np.arctan2(2 * self.covariance[0, 1], across - along) / 2)


def sampled(
    release: Release,
    stance: Array,
    full: NDArray[np.bool_],
    conditions: Conditions,
    scatter: Scatter,
    zone: ZoneEdges,
    bars: Bars | None = None,
    *,
    flights: int = SAMPLE,
    seed: int = 0,
    flown: Callable[[int], None] = lambda shots: None,
) -> Landings:
    """Fly `flights` balls (8 or more) of each of n shots, those of `full` (n,) to the plane y = `stance` (n,); `flown`
    hears after how many more shots.

    The deviates come from `random.Random(seed).random()`, whose stream Python promises, through the inverse normal
    distribution; they are the same for every shot, so a shot's result depends neither on its neighbours in the batch
    nor on the machine. They are then scaled to exact zero means, unit variances and no correlation, which takes the
    error out of mean and ellipse as far as the flight is linear.
    """
    from random import Random  # slow to load, and an estimate does without
    from statistics import NormalDist

    n, count = len(stance), max(1, LANES // flights)
    chance, normal = Random(seed), NormalDist()
    deviates = np.array([normal.inv_cdf(chance.random() or 0.5) for _ in range(5 * flights)]).reshape(5, flights)
    deviates -= deviates.mean(axis=1, keepdims=True)
    deviates = np.linalg.solve(np.linalg.cholesky(deviates @ deviates.T / flights), deviates)
    shift = deviates * scatter.deviations()[:, None]
    crossing = _crossing(release, stance)
    bars = bars or Bars.none(n)
    asked, tops = np.isfinite(zone.height_low), bool(bars.asked[6].any())
    three = _flown(
        release,
        stance,
        full,
        conditions,
        np.tile(np.arange(n), 3),
        np.zeros((5, 3 * n)),
        bars.met,
        np.repeat([0.0, *ENDS], n),
        tops=tops,
    ).reshape(10, 3, n)
    moved = three - three[:, :1]

    def counted(found: Array, index: NDArray[np.intp], moved: Array) -> tuple[Array, Array]:
        """Which balls come over the net, and which of them into the zone, all of a shot moved (4, n) alike."""
        x, y, clearance, net_x = found[:4] + moved[:4, index]
        over = ~crossing[index] | ((clearance > 0) & (np.abs(net_x) <= conditions.post_x))
        hit = over & (x >= zone.x_low[index]) & (x <= zone.x_high[index])
        hit &= (y >= zone.y_low[index]) & (y <= zone.y_high[index])
        return over.reshape(-1, flights).mean(axis=1), hit.reshape(-1, flights).mean(axis=1)

    def kept(found: Array, index: NDArray[np.intp], shift: Array, moved: Array) -> Array:
        """What share of each shot keeps each bar, (7, m), all of it moved (10, n) alike."""
        found = found + moved[:, index]
        turn = np.hypot(release.topspin[index] + shift[3], release.sidespin[index] + shift[4])
        others = found[CLEARANCE], release.speed[index] * (1 + shift[0]), found[TIME], turn, found[ACROSS], found[TOP]
        least, most = (np.array([others[0], level, *others[1:]]) for level in reached(found[NEAR], bars.step[index]))
        outside = (most < bars.low[:, index]) | (least > bars.high[:, index])
        return 1 - outside.reshape(7, -1, flights).mean(axis=2)

    parts = []
    for start in range(0, n, count):
        index = np.repeat(np.arange(start, min(start + count, n)), flights)
        shifts = np.tile(shift, len(index) // flights)
        found = _flown(release, stance, full, conditions, index, shifts, asked | bars.met, tops=tops)
        lowest, highest = reached(found[NEAR], bars.step[index])
        over, hit = counted(found, index, np.zeros((10, n)))
        at_ends = np.array([counted(found, index, moved[:, end])[1] for end in (1, 2)])
        beside = (found[0] >= zone.x_low[index]) & (found[0] <= zone.x_high[index])
        high = ~asked[index] | ((highest >= zone.height_low[index]) & (lowest <= zone.height_high[index]))
        place = found[:2].reshape(2, -1, flights)
        there = np.isfinite(place[0]) & np.isfinite(place[1])
        total = np.count_nonzero(there, axis=1).astype(float)
        total[total == 0] = np.nan
        mean = np.where(there, place, 0.0).sum(axis=2) / total
        off = np.where(there, place - mean[..., None], 0.0)
        covariance = (off[:, None] * off).sum(axis=3) / total
        each = [kept(found, index, shifts, moved[:, end]) for end in (0, 1, 2)] if bars.asked[:, index].any() else None
        within = np.ones((2, 7, len(total))) if each is None else np.array([each[0], np.minimum.reduce(each)])
        flown(len(index) // flights)
        ends = three[:2, 1:, start : start + count], three[HEIGHT, 1:, start : start + count]
        apart = (share.reshape(-1, flights).mean(axis=1) for share in (beside, high))
        parts.append((hit, over, mean, covariance, at_ends, *ends, *apart, *within))
    if not parts:
        shapes = (0, 0, (2, 0), (2, 2, 0), (2, 0), (2, 2, 0), (2, 0), 0, 0, (7, 0), (7, 0))
        return Landings(*(np.empty(shape) for shape in shapes))
    return Landings(*(np.concatenate(arrays, axis=-1) for arrays in zip(*parts, strict=True)))


def linear(
    release: Release,
    stance: Array,
    full: NDArray[np.bool_],
    conditions: Conditions,
    scatter: Scatter,
    zone: ZoneEdges,
    bars: Bars | None = None,
) -> Landings:
    """The same from first derivatives: place, clearance and crossing point are taken as linear in what scatters, so
    they are jointly normal. Two neighbours are flown for each thing that scatters, all shots in one batch. The height
    of a contact is taken as bent, from a few flights more.

    Given the depth, the side and the clearance count as independent in `share_in_zone`; the posts only keep it from
    being more than `share_over_net`. Drag grows with spin of either sense, so that a flat ball whose spin scatters
    lands shorter in the mean, by up to 14 cm at 26 m/s and 100 rpm; `sampled` has that, `linear` has not.
    """
    n, deviations = len(stance), scatter.deviations()
    active = np.flatnonzero(deviations > 0)
    shift = np.zeros((5, 3 + 2 * len(active)))
    columns = np.arange(len(active))
    shift[active, 3 + columns] = NEIGHBOUR[active]
    shift[active, 3 + len(active) + columns] = -NEIGHBOUR[active]
    doubt = np.concatenate([[0.0], ENDS, np.zeros(2 * len(active))])
    bars = bars or Bars.none(n)
    asked = np.isfinite(zone.height_low)
    some, bent = np.flatnonzero(asked | bars.asked[1]), design(deviations)
    flown = _flown(
        release,
        stance,
        full,
        conditions,
        np.concatenate([np.tile(np.arange(n), shift.shape[1]), np.tile(some, bent.shape[1])]),
        np.concatenate([np.repeat(shift, n, axis=1), np.repeat(bent, len(some), axis=1)], axis=1),
        asked | bars.met,
        np.concatenate([np.repeat(doubt, n), np.zeros(bent.shape[1] * len(some))]),
        tops=bool(bars.asked[6].any()),
    )
    found, high = np.split(flown, [shift.shape[1] * n], axis=1)
    found = found.reshape(10, -1, n)
    ahead, behind = found[:, 3 : 3 + len(active)], found[:, 3 + len(active) :]
    slopes = (ahead - behind) * (deviations / (2 * NEIGHBOUR))[active, None]
    every = np.zeros((3, 5, n))
    every[:, active] = slopes[NEAR]
    asked_high = np.stack([zone.height_low, zone.height_high])
    high = high[NEAR].reshape(3, bent.shape[1], len(some))
    met, high = _met_between(found[NEAR, :3], every, some, high, bars, asked_high)
    bar = _kept(release, found[:, :3], slopes, high, scatter, bars)
    slopes = slopes[:4]
    own = (slopes[:, None] * slopes).sum(axis=2)  # einsum would round by the place in the batch

    # The shot itself and the two ends side by side, all with the shot's own scatter.
    three, covariance = found[:4, :3].reshape(4, -1), np.tile(own, 3)
    crossing = np.tile(_crossing(release, stance), 3)
    between = within(three[3], np.sqrt(covariance[3, 3]), -conditions.post_x, conditions.post_x)
    between = np.where(crossing, instead_of_none(between, 0.0), 1.0)
    cleared = instead_of_none(within(three[2], np.sqrt(covariance[2, 2]), 0.0, np.inf), 0.0)
    over = np.where(crossing, cleared * between, 1.0)

    # Where no net is crossed, or the crossing is not found, the clearance takes no part in the integral.
    kept = crossing & np.isfinite(three[2]) & np.isfinite(covariance[2, 2])
    order = np.array([1, 0, 2])
    joint = covariance[order[:, None], order]
    joint[2, :2] = joint[:2, 2] = np.where(kept, joint[2, :2], 0.0)
    joint[2, 2] = np.where(kept, joint[2, 2], 1.0)
    centre = np.array([three[1], three[0], np.where(kept, three[2], 0.0)])
    low = np.array([np.tile(zone.y_low, 3), np.tile(zone.x_low, 3), np.where(kept, 0.0, -np.inf)])
    high = np.array([np.tile(zone.y_high, 3), np.tile(zone.x_high, 3), np.full(3 * n, np.inf)])
    inside = np.minimum(normal_in_box(centre, joint, low, high), over)
    inside = np.where(crossing & ~kept, 0.0, inside).reshape(3, n)
    places = three[:2].reshape(2, 3, n)
    beside = instead_of_none(within(places[0, 0], np.sqrt(own[0, 0]), zone.x_low, zone.x_high), 0.0)
    ends = instead_of_none(inside[1:], 0.0), places[:, 1:], found[HEIGHT, 1:3]
    return Landings(inside[0], over[:n], places[:, 0], own[:2, :2], *ends, beside, np.where(asked, met, 1.0), *bar)


def _met_between(near: Array, slopes: Array, some: Index, bent: Array, bars: Bars, asked: Array) -> tuple[Array, Array]:
    """The shares of `linear` that are met as high as `asked` (2, n), with their own drag, (n,), and as the bars have
    it, also at the ends, (3, n); `near` (3, 3, n) are the shot and its ends, and `bent` (3, 14, m) the flights of
    `design` of the shots `some` (m,), of which a height is asked."""
    met, within_bars = np.zeros(near.shape[2]), np.ones(near.shape[1:])
    there = np.isfinite(near[0, 0, some])
    some, bent = some[there], bent[..., there]
    if len(some):
        found = surface(near[:, 0, some], bent, slopes[..., some]).scattered()
        step = bars.step[some]
        met[some] = share_between(found, step, *asked[:, some])
        for end in range(3):
            away = near[:, end, some] - near[:, 0, some]
            inside = share_between(found + away[..., None], step, bars.low[1, some], bars.high[1, some])
            within_bars[end, some] = np.where(np.isfinite(away[0]), inside, 1.0)
    return met, within_bars


def _kept(
    release: Release, found: Array, slopes: Array, high: Array, scatter: Scatter, bars: Bars
) -> tuple[Array, Array]:
    """The shares of `linear` that keep each bar, (7, n) each, with their own drag and with whatever; `found` (10, 3, n)
    are the shot and its ends, `slopes` (10, k, n) what a standard deviation of each thing makes of it, `high` (3, n)
    the shares that keep the bars of the height.

    The size of a spin is that of a normal distribution folded at zero: F. C. Leone and others, Technometrics 3, 543
    (1961), eq. 2; beside sidespin the deviation along the axis counts alone.
    """
    n = len(release.speed)
    if not bars.asked.any():
        return np.ones((7, n)), np.ones((7, n))
    rows = CLEARANCE, TIME, ACROSS, TOP
    clearance, time, across, top = (np.sqrt((slopes[row] * slopes[row]).sum(axis=0)) for row in rows)
    turn = np.hypot(release.topspin, release.sidespin)
    along = np.where(turn > 0, release.topspin / np.where(turn > 0, turn, 1.0), 1.0)
    spin = np.hypot(along * scatter.topspin, np.sqrt(np.maximum(1 - along**2, 0.0)) * scatter.sidespin)
    deviation = np.array([clearance, np.zeros(n), release.speed * scatter.speed, time, spin, across, top])
    least = bars.low.copy()
    least[4] = np.maximum(least[4], 0.0)
    shares = []
    for end in range(3):
        clear, level, late, aside, peak = found[[CLEARANCE, HEIGHT, TIME, ACROSS, TOP], end]
        mean = np.array([clear, level, release.speed, late, turn, aside, peak])
        inside = within(mean, deviation, least, bars.high)
        inside[1] = high[end]
        inside[4] += within(mean[4], deviation[4], -bars.high[4], -least[4])
        shares.append(np.where(bars.asked, instead_of_none(inside, 1.0), 1.0))
    return shares[0], np.minimum.reduce(shares)


def _crossing(release: Release, stance: Array) -> NDArray[np.bool_]:
    """Whether the net is between the release and the stance."""
    return (release.origin[1] < 0) & (stance > 0)


def _flown(
    release: Release,
    stance: Array,
    full: NDArray[np.bool_],
    conditions: Conditions,
    index: NDArray[np.intp],
    shift: Array,
    asked: NDArray[np.bool_],
    doubt: Array | float = 0.0,
    *,
    tops: bool,
) -> Array:
    """Place (2), clearance and x at the net, time and x of the contact, how high it is there and nearby
    (`heights.near`), and with `tops` the greatest height until then, (10, m), of the shots `index` (m,) changed by
    `shift` (5, m), their drag by a `doubt` (m,). With their own drag only balls on the full and those `asked` for a
    contact (n,) are followed to it."""
    lanes, ball = release.at(index), conditions.ball
    lanes = replace(
        lanes.with_(lanes.speed * (1 + shift[0]), lanes.elevation + shift[1], lanes.azimuth + shift[2]),
        topspin=lanes.topspin + shift[3],
        sidespin=lanes.sidespin + shift[4],
    )
    velocity, spin = launch(lanes.speed, lanes.elevation, lanes.azimuth, lanes.topspin, lanes.sidespin)
    volley = full[index]
    floor = np.where(volley, UNDER, ball.radius_m)
    drag = Drag.of(ball, doubt)
    path = fly(lanes.origin, velocity, spin, ball, conditions.air, floor=floor, drag=drag)
    landing, crossed = crossings(path, (ball.radius_m,), (0.0,))
    place, net = landing.position[:2], crossed.position
    followed = (asked[index] | (doubt != 0.0)) & ~volley
    contact, _, _ = after_bounce(landing, spin, stance[index], conditions, followed, drag)
    across, time, high, end = contact.position[0], contact.time, near(contact), landing
    if volley.any():
        full_at = at_plane(path, stance[index])
        met = full_at.position[[0, 2]]
        place, across = np.where(volley, met, place), np.where(volley, met[0], across)
        time, high = np.where(volley, full_at.time, time), np.where(volley, near(full_at), high)
        end = merged(volley, full_at, landing)
    top = highest(path, end) if tops else np.full(len(index), np.nan)
    clearance = net[2] - ball.radius_m - conditions.cord(net[0])
    return np.array([*place, clearance, net[0], time, across, *high, top])
