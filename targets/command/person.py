"""`measure person`: what ten landings say of somebody who feeds."""

import argparse
from math import hypot
from pathlib import Path
from typing import TYPE_CHECKING

from ...compiler.printable import plural, say
from ...compiler.scripts import Refusal, write_new
from . import CLEAN

if TYPE_CHECKING:
    from ...compiler.calibration.person import FedBalls
    from ...compiler.calibration.readings import Read
    from ...compiler.model.plan import Plan


def run(options: argparse.Namespace, plan: "Plan", read: "Read", day: str) -> int:
    import numpy as np

    from ...compiler.calibration.law import DEPTH, SIDE
    from ...compiler.calibration.person import FEWEST, fed

    found = []
    for shot in plan.shots:
        rows = [i for i, ball in enumerate(read.balls) if ball == shot.id]
        landings = read.readings.value[[SIDE, DEPTH]][:, rows]
        landings = landings[:, np.isfinite(landings).all(axis=0)]
        if not shot.zone_m or not shot.predicted.landing_m or not rows:
            continue
        if landings.shape[1] < FEWEST:
            raise Refusal(f"{shot.id} has {plural(landings.shape[1], 'landing')}; {FEWEST} are the least, ten are good")
        found.append(fed(shot.id, landings, shot.predicted.landing_m, shot.zone_m))
    if not found:
        raise Refusal("no landing is of a ball that has a zone to land in")
    stated = {shot.id: shot.spread.share_in_zone for shot in plan.shots if shot.spread}
    for one in found:
        (x, y), (dx, dy) = one.off, one.off_doubt
        say(f"{one.ball}: {plural(one.count, 'ball')}")
        say(f"    in the mean {abs(y):.2f} m (± {dy:.2f}) {'long' if y > 0 else 'short'}, "
            f"{abs(x):.2f} m (± {dx:.2f}) to the {'right' if x > 0 else 'left'}")  # fmt: skip
        (low_x, high_x), (low_y, high_y) = one.scatter_range
        say(f"    scatter {one.scatter[1]:.2f} m along the court ({low_y:.2f} to {high_y:.2f}), "
            f"{one.scatter[0]:.2f} m across ({low_x:.2f} to {high_x:.2f})")  # fmt: skip
        known = f"; the profile says {stated[one.ball]:.0%}" if one.ball in stated else ""
        say(f"    in the zone {one.share:.0%} of the balls{known}")
    if options.output:
        _write(options, plan, found, day)
    return CLEAN


def _write(options: argparse.Namespace, plan: "Plan", found: "list[FedBalls]", day: str) -> None:
    from ...compiler.calibration.person import times_stated
    from ...compiler.model.feeder import Feeder, ProfileProblem
    from ..machine.feeders import ProfileShelf
    from ..machine.feeders.writing import written

    place = Path(options.output)
    if place.suffix != ".toml":
        raise Refusal("a profile's file is called NAME.toml")
    try:
        feeder = ProfileShelf(Path(options.plan).parent).load(plan.feeder.name)
    except ProfileProblem as problem:
        raise Refusal(f"the feeder profile {plan.feeder.name} cannot be used: {problem}") from problem
    if feeder is None or feeder.fingerprint != plan.feeder.fingerprint:
        raise Refusal(f"the plan was made for another profile {plan.feeder.name} than the one that is there now")
    across, along = times_stated(found, _stated(plan))
    rep = feeder.repeatability
    given = {name: getattr(feeder, name) for name in feeder._fields}
    given["repeatability"] = {
        "speed_percent": round(min(rep.speed_percent * along, 30), 2),
        "elevation_deg": round(min(rep.elevation_deg * along, 20), 2),
        "azimuth_deg": round(min(rep.azimuth_deg * across, 20), 2),
        "spin_rpm": rep.spin_rpm,
    }
    who = f" of {options.who}" if options.who else ""
    balls = plural(sum(one.count for one in found), "landing")
    given["basis"] = f"scatter{who} from {balls} on {day}; the rest from {feeder.name}"[:300]
    profile = Feeder(**{**given, "name": place.stem})
    write_new(str(place), written(profile, "A person who feeds, with the scatter of this person's own landings."))
    say(f"wrote {place}; scripts use it as person {place.stem}")


def _stated(plan: "Plan") -> dict[str, tuple[float, float]]:
    """The profile's scatter of each ball across and along the court, m, from the ellipse in the plan."""
    from math import cos, radians, sin

    found = {}
    for shot in plan.shots:
        if shot.spread and shot.spread.half_axes_m:
            a, b = shot.spread.half_axes_m
            angle = radians(shot.spread.angle_deg or 0.0)
            found[shot.id] = hypot(a * cos(angle), b * sin(angle)), hypot(a * sin(angle), b * cos(angle))
    return found
