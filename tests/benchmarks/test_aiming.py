"""Aiming distinct feeds: the time for one of 5 to 500, and how many plain flights that comes to."""

from functools import partial

import numpy as np
import pytest

from feedwright.compiler.physics.flight import fly, launch
from feedwright.compiler.physics.launches import solve

from .launches import conditions, reachable, releases
from .timing import best

FEEDS = (5, 20, 100, 500)


@pytest.mark.benchmark
def test_aiming_takes_time_in_proportion() -> None:
    c = conditions()
    r = releases(np.random.default_rng(42), 2000)
    velocity, spin = launch(r.speed, r.elevation, r.azimuth, r.topspin, r.sidespin)
    a_flight = best(lambda: fly(r.origin, velocity, spin, c.ball, c.air, floor=c.ball.radius_m)) / 2000
    wanted = reachable(max(FEEDS), 43, c, full=0.0).wanted
    a_feed = {}
    print()
    for n in FEEDS:
        some = wanted.at(np.arange(n))
        taken = best(partial(solve, some, c), 3)
        a_feed[n] = taken / n
        print(
            f"{n:4d} feeds that bounce: {taken:.3f} s, {a_feed[n] * 1e3:.2f} ms a feed, as {a_feed[n] / a_flight:.0f}"
            f" of 2000 flights to the ground in one batch ({a_flight * 1e6:.1f} µs each)"
        )
    # In proportion or better: what is spent once for a batch only weighs on few feeds.
    assert a_feed[500] < 1.3 * a_feed[100] < 1.3**2 * a_feed[20]
