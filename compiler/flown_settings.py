"""Settings of a feeder that were flown, found again where they are asked for anew: the windows of one search overlap,
and so do those of a ball with another line, or with a remedy on trial."""

from dataclasses import replace
from threading import Lock

import numpy as np

from .kept import Kept
from .physics.flight import GRAVITY, Array
from .physics.moments import Moment
from .physics.outcome import Outcome, Release
from .together import Search
from .worth import Flight, Worth

ROWS = 20  # of a flight
MOST = 30_000
"""Settings that are kept of one question, some 15 megabytes; then it begins anew."""
PULLED, SPARE_M = 3 * GRAVITY, 1e-3
"""m/s² and m. Weight, drag and lift together pull no ball down more strongly: with it at least so high a ball was that
falls, or will be that rises, with the speed that it has where it is met. And so much higher than asked is surely as
high. Own choice."""


class FlownSettings:
    """The settings that were flown of one feeder to where balls are met by one rule."""

    def __init__(self, plain: "FlownSettings | None" = None) -> None:
        """`plain` has flights to the same height by the rule that a ball which never comes so high is not met."""
        self._plain, self._lock = plain, Lock()
        self._at, self._rows = dict[tuple[float, ...], int](), np.empty((ROWS, 0))

    def flight(self, settings: list[tuple[float, ...]], release: Release, worth: Worth) -> Search[Flight]:
        """What comes of settings (n), which are these launches (n,)."""
        rows, known = self._known(settings)
        if self._plain and not known.all():
            left = np.flatnonzero(~known)
            plainly, some = self._plain._known([settings[i] for i in left])
            some &= _as_high(_flight(plainly), worth.height)
            rows[:, left[some]], known[left[some]] = plainly[:, some], True
        if not known.all():
            fresh = np.flatnonzero(~known)
            rows[:, fresh] = _rows((yield from worth.flight(release.at(fresh))))
            self._keep([settings[i] for i in fresh], rows[:, fresh])
        return _flight(rows)

    def _known(self, settings: list[tuple[float, ...]]) -> tuple[Array, np.ndarray]:
        """Flights (20, n), and which of them are known (n,)."""
        with self._lock:
            at = np.array([self._at.get(one, -1) for one in settings], np.intp)
            known = at >= 0
            if known.all():
                return self._rows.take(at, axis=1), known
            rows = np.full((ROWS, len(settings)), np.nan)
            rows[:, known] = self._rows[:, at[known]]
            return rows, known

    def _keep(self, settings: list[tuple[float, ...]], rows: Array) -> None:
        with self._lock:
            if len(self._at) + len(settings) > MOST:
                self._at, self._rows = {}, np.empty((ROWS, 0))
            first = len(self._at)
            new = {one: i for i, one in enumerate(settings) if one not in self._at}
            if first + len(new) > self._rows.shape[1]:
                more = np.empty((ROWS, 2 * (first + len(new))))
                more[:, :first] = self._rows[:, :first]
                self._rows = more
            self._rows[:, first : first + len(new)] = rows[:, list(new.values())]
            self._at |= {one: first + k for k, one in enumerate(new)}


_FLOWN: Kept[FlownSettings] = Kept(4)
"""By all that a flight depends on beside its settings."""


def flown_settings(worth: Worth) -> FlownSettings:
    """Those of the feeder and the rule of a feed."""
    feed = worth.feed
    if "stance" not in feed.free:
        rule: tuple[object, ...] = feed.stance, feed.depth is None
    elif feed.behind is not None:
        rule = feed.stance, "behind", feed.behind
    else:
        either = () if worth.one_way else tuple((bound.low, bound.high) for bound in feed.stands)
        rule = worth.height, feed.phase == "rising", feed.stance, feed.bounces == (2, 2), worth.topped, either
    key = worth.program.world, *rule
    known = _FLOWN.get(key)
    if known is None:
        plain = worth.topped and feed.bounces != (2, 2) and (feed.phase is not None or not feed.stands)
        known = FlownSettings(flown_settings(replace(worth, topped=False)) if plain else None)
        _FLOWN.put(key, known)
    return known


def _as_high(flight: Flight, height: float) -> np.ndarray:
    """Which of the balls surely come up to a height after their first bounce."""
    contact = flight.flown.contact
    top = contact.position[2] + contact.velocity[2] ** 2 / (2 * PULLED)
    return np.isfinite(flight.stance) & (flight.flown.bounces == 1) & (top >= height + SPARE_M)


def _rows(flight: Flight) -> Array:
    flown = flight.flown
    moments = [row for at in (flown.landing, flown.contact) for row in (at.time, *at.position, *at.velocity)]
    first = flight.stance, flown.clearance, flown.net_x
    return np.stack([*first, *moments, flown.met, flown.peak, flown.bounces])


def _flight(rows: Array) -> Flight:
    landing, contact = (Moment(rows[k], rows[k + 1 : k + 4], rows[k + 4 : k + 7]) for k in (3, 10))
    return Flight(rows[0], Outcome(rows[1], rows[2], landing, contact, rows[17] > 0, rows[18], rows[19]))
