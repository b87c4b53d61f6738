"""`measure today`: the correction of a day."""

import argparse
import re
import sys
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from ...compiler.printable import plural, say
from ...compiler.scripts import Refusal, write_new
from . import CLEAN, ERRORS

if TYPE_CHECKING:
    from ...compiler.calibration.readings import Read
    from ...compiler.model.feeder import Feeder
    from ...compiler.model.plan import Plan

_MEASURED = re.compile(r"\bmeasured\b.*? on (\d{4}-\d\d-\d\d)")


def run(options: argparse.Namespace, plan: "Plan", feeder: "Feeder", read: "Read", day: str) -> int:
    from ...compiler.calibration import law
    from ...compiler.calibration.day import correct, weeks_since
    from ...compiler.model.feeder import Feeder
    from ..machine.feeders.writing import written

    measured = _MEASURED.search(feeder.basis)
    if feeder.doubt.together is None or measured is None:
        raise Refusal(
            f"the profile {feeder.name} was never measured; feedwright measure balls {feeder.name} begins that"
        )
    weeks = weeks_since(date.fromisoformat(measured[1]), date.fromisoformat(day))
    if weeks < 0:
        raise Refusal(f"{day} lies before the day on which the profile was measured, {measured[1]}")
    shots = {shot.id: shot for shot in plan.shots}
    balls = law.balls_of(feeder, [dict(shots[ball].settings) for ball in read.balls], list(read.lines))
    found = correct(balls, read.readings, law.stand_of(plan, feeder), feeder, weeks)
    if found.refused:
        say(f"No profile is written: {found.refused}.", sys.stderr)
        return ERRORS
    say(f"{plural(len(read.balls), 'ball')}, measured {weeks:.0f} weeks ago")
    for words, (along, aside) in (("as read", found.read), ("taken", found.taken)):
        say(f"{words:8} {abs(along):.2f} m {'longer' if along > 0 else 'shorter'}, "
            f"{abs(aside):.2f} m further {'right' if aside > 0 else 'left'} than the profile says")  # fmt: skip
    if not options.output:
        return CLEAN
    place = Path(options.output)
    if place.suffix != ".toml":
        raise Refusal("a profile's file is called NAME.toml")
    given = {name: getattr(found.profile, name) for name in found.profile._fields}
    # The doubt stays the calibration's: a day's correction is for that day.
    given |= {"doubt": feeder.doubt, "repeatability": feeder.repeatability}
    given["basis"] = f"{feeder.basis}; corrected for {day} by {plural(len(read.balls), 'ball')}"[-300:]
    write_new(str(place), written(Feeder(**{**given, "name": place.stem}), f"For {day} alone."))
    if not options.no_log:
        _keep(options.db, day, feeder.name, len(read.balls), found.read)
    say(f"wrote {place}. Write machine {place.stem} in the script, build it again and arm it again, slow balls first")
    return CLEAN


def _keep(named: str | None, day: str, profile: str, balls: int, off: tuple[float, float]) -> None:
    """Into the practice log: by how much balls landed longer and more to the right on this day."""
    from ..log import LogRefused
    from ..log.corrections import DayRecord, keep
    from ..log.store import default_path

    try:
        keep(
            Path(named) if named else default_path(), DayRecord(day, profile, balls, round(off[0], 3), round(off[1], 3))
        )
    except LogRefused as refused:
        raise Refusal(f"the profile is written, but not the log: {refused}") from refused
