"""Many flights at once against one at a time in scipy: how much faster, and how far apart they land."""

from functools import partial

import numpy as np
import pytest

from feedwright.compiler.physics.flight import Array, at_height, fly, launch

from .launches import conditions, court_of, releases
from .scalar import flight, launched
from .timing import best

BATCH, SAMPLE = 2000, 200


@pytest.mark.benchmark
def test_flights_to_the_ground() -> None:
    c = conditions()
    court, radius = court_of(c), c.ball.radius_m
    r = releases(np.random.default_rng(41), BATCH)

    def batched(step: float) -> Array:
        velocity, spin = launch(r.speed, r.elevation, r.azimuth, r.topspin, r.sidespin)
        return at_height(fly(r.origin, velocity, spin, c.ball, c.air, floor=radius, step=step), radius).position

    def one_at_a_time(**options: object) -> Array:
        landings = []
        for i in range(SAMPLE):
            start, spin = launched(
                r.origin[:, i].tolist(), r.speed[i], r.elevation[i], r.azimuth[i], r.topspin[i], r.sidespin[i]
            )
            landings.append(flight(court, start, spin, (), radius, max_step=np.inf, **options).y_events[0][0][:3])
        return np.array(landings).T

    truth = one_at_a_time(rtol=1e-11, atol=1e-11)
    theirs = []
    print()
    for method, tolerances in (("RK45", (1e-5, 1e-6, 1e-7, 1e-8)), ("DOP853", (1e-5, 1e-6, 1e-7))):
        for tolerance in tolerances:
            run = partial(one_at_a_time, method=method, rtol=tolerance, atol=tolerance)
            off, taken = float(np.abs(run() - truth).max()), best(run, 2) / SAMPLE
            theirs.append((taken, off))
            print(f"scipy {method:6} tolerance {tolerance:.0e}: {taken * 1e3:.2f} ms a flight, off by {off:.1e} m")
    for step in (0.04, 0.08):
        off = float(np.abs(batched(step)[:, :SAMPLE] - truth).max())
        taken = best(partial(batched, step)) / BATCH
        # Like is held against like: scipy's fastest way to come as close, or within the 0.1 mm that is enough.
        for what, limit in (("as close", off), ("within 0.1 mm", 1e-4)):
            ratio = min(t for t, o in theirs if o <= limit) / taken
            print(f"{BATCH} in steps of {step} s: {taken * 1e6:.1f} µs, off by {off:.1e} m; {ratio:.0f} x scipy {what}")
        assert off < 1e-4  # a twentieth of the 2 mm that matters to a landing
