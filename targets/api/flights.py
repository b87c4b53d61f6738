"""Fly one launch or many without a script, by the same laws as a script's balls."""

from typing import TypeVar

import numpy as np
from numpy.typing import ArrayLike

from .compiler.model.court import Court, courts
from .compiler.physics.air import Air, density
from .compiler.physics.ball import BALLS, Ball
from .compiler.physics.bounce import SURFACES, Surface, in_play
from .compiler.physics.flight import Array
from .compiler.physics.outcome import Conditions, Outcome, Release, outcome

_Kept = TypeVar("_Kept")


def fly(
    origin: ArrayLike,
    speed: ArrayLike,
    elevation: ArrayLike,
    azimuth: ArrayLike = 0.0,
    topspin: ArrayLike = 0.0,
    sidespin: ArrayLike = 0.0,
    *,
    ball: Ball | str = "type 2",
    air: Air | None = None,
    surface: Surface | str = "hard",
    court: Court | str = "singles",
    stance: ArrayLike | None = None,
    full: ArrayLike = False,
    bounces: int = 1,
) -> Outcome:
    """Fly n launches over the net, onto the court and up to the player.

    The frame: origin on the ground under the middle of the net, y along the court towards the player, x to the
    feeder's right, z up. `origin` is the centre of the ball as it leaves, (3,) or (3, n), m. The others are one
    number or (n,): `speed` m/s; `elevation` above the horizontal and `azimuth`, positive towards +x, rad;
    `topspin`, positive when the top of the ball moves forward, and `sidespin`, positive about the upward normal to
    the launch velocity (curves the ball towards -x), rad/s.

    `ball`, `surface` and `court` are names or records. A surface's restitutions, `restitution` in the laboratory test
    and `drop` in the drop test, are those at 23 °C with a type 2 ball; they are converted to this ball and this air.
    `air` is by default 20 °C, half saturated, at sea level, still. The player meets the ball where its centre crosses
    the plane y = `stance`, m, by default the baseline: a ball of `full` before it bounces, any other after at most
    `bounces` bounces.

    The outcome holds arrays, (n,) or (3, n), in the same frame and units, also for a single launch; a value is NaN if
    its event does not happen within 8 s. ValueError: a name is unknown, a number is not finite, a speed is
    negative, a ball starts in the ground, or the shapes do not match.
    """
    ball, court = _known("ball", ball, BALLS), _known("court", court, courts(False))
    surface = _known("surface", surface, SURFACES)
    air = air or Air(density(20.0, 0.0))
    if bounces not in (1, 2):
        raise ValueError(f"a player lets the ball bounce once or twice, not {bounces} times")
    where = np.asarray(origin, float)
    if where.ndim not in (1, 2) or len(where) != 3:
        raise ValueError(f"the origin needs three numbers, or three rows of them; its shape is {where.shape}")
    plane = court.half_length if stance is None else stance
    given = {"speed": speed, "elevation": elevation, "azimuth": azimuth, "topspin": topspin, "sidespin": sidespin}
    lanes = _lanes(where, given | {"stance": plane, "full": full})
    if not (lanes["speed"] >= 0).all():
        raise ValueError("a speed is negative")
    start = np.broadcast_to(where.reshape(3, -1), (3, len(lanes["speed"])))
    if not (start[2] >= ball.radius_m).all():
        raise ValueError(f"a ball starts in the ground: its centre is less than its radius, {ball.radius_m:.3f} m, up")
    conditions = Conditions(
        ball, air, in_play(surface, ball, air), court.net_centre, court.net_post, court.post_x, bounces
    )
    release = Release(start, *(lanes[name] for name in given))
    return outcome(release, lanes["stance"], lanes["full"] != 0, conditions)


def _lanes(where: Array, given: dict[str, ArrayLike]) -> dict[str, Array]:
    """Every quantity as a finite array (n,)."""
    arrays = {name: np.atleast_1d(np.asarray(value, float)) for name, value in given.items()}
    for name, value in (("origin", where), *arrays.items()):
        if not np.isfinite(value).all():
            raise ValueError(f"a number of the {name} is not finite")
    count = where.reshape(3, -1)[0]
    try:
        _, *lanes = np.broadcast_arrays(count, *arrays.values())
    except ValueError as error:
        sizes = ", ".join(f"{name} {value.shape}" for name, value in arrays.items())
        raise ValueError(f"the shapes do not match: origin {where.shape}, {sizes}") from error
    if lanes[0].ndim != 1:
        raise ValueError("speed, angles, spins, stance and full are single values or rows of them, not tables")
    return dict(zip(given, lanes, strict=True))


def _known(what: str, given: _Kept | str, known: dict[str, _Kept]) -> _Kept:
    if not isinstance(given, str):
        return given
    if given not in known:
        raise ValueError(f"there is no {what} {given}; there are {', '.join(known)}")
    return known[given]
