"""`measure`: from a profile as it is claimed to one that was measured with a tape."""

import argparse
import sys
from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from ...compiler.printable import plural, say
from ...compiler.scripts import Refusal, read_bytes, read_script, write_new
from . import CLEAN, ERRORS, Commands, command
from .waiting import Waiting

if TYPE_CHECKING:
    from ...compiler.calibration.outcome import Calibration
    from ...compiler.calibration.readings import Read
    from ...compiler.model.feeder import Feeder
    from ...compiler.model.plan import Plan

CAUTIONS = (
    "Nobody stands in front of the machine, not even to collect balls: switch it off first.",
    "A second person stands at the machine's own switch. Everybody wears eye protection (ASTM F3164 is one standard).",
    "The maker's manual and local rules come first. The slow balls come first; stop if one goes where it should not.",
)


def add(commands: Commands) -> None:
    parser = command(
        commands,
        "measure",
        "measure a machine with test balls and a tape",
        (
            ("feedwright measure balls ours --for mine.feed", "which test balls to throw: a plan, a sheet, a table"),
            ("feedwright measure type ours-test.plan.json", "type in where they landed, ball by ball"),
            ("feedwright measure fit ours-test.plan.json ours-test.csv -o ours-measured.toml", "a measured profile"),
        ),
    )
    work = parser.add_subparsers(title="steps", metavar="STEP", required=True, dest="step")
    balls = work.add_parser("balls", help="choose test balls and write their plan, their sheet and an empty table")
    balls.add_argument("machine", metavar="MACHINE", help="a profile, such as club")
    balls.add_argument(
        "--for", dest="scripts", metavar="SCRIPT", action="append", default=[],
        help="a script that it shall serve, as often as there are; the first says where to throw",
    )  # fmt: skip
    balls.add_argument("--count", type=int, default=12, metavar="BALLS", help="how many (12)")
    balls.add_argument("-o", "--output", metavar="DIR", default=".", help="where to write (made if missing)")
    balls.set_defaults(run=_balls)
    typed = work.add_parser("type", help="type in what was read of the balls; undo goes one back")
    typed.add_argument("plan", metavar="PLAN", help="the plan of the test balls")
    typed.add_argument("-o", "--output", metavar="FILE", help="the table (default: the plan's name with .csv)")
    typed.set_defaults(run=_type)
    fit = work.add_parser("fit", help="work out a measured profile from a table of landings")
    fit.add_argument("plan", metavar="PLAN", help="the plan of the test balls")
    fit.add_argument("readings", metavar="TABLE", help="CSV: ball, past_net_m, right_m, and more")
    fit.add_argument(
        "--for", dest="scripts", metavar="SCRIPT", action="append", default=[],
        help="a script: tell how near its balls will land, as often as there are",
    )  # fmt: skip
    fit.add_argument("-o", "--output", metavar="FILE", help="the new profile, NAME.toml; without it nothing is written")
    fit.add_argument("--who", default="", metavar="NAME", help="who measured, for the profile's basis")
    fit.add_argument("--when", default="", metavar="DAY", help="the day, such as 2026-05-31 (today)")
    fit.set_defaults(run=_fit)
    today = work.add_parser(
        "today", help="correct a measured profile for this day, from two or three balls read by eye"
    )
    today.add_argument("plan", metavar="PLAN", help="the plan of the practice, made with the measured profile")
    today.add_argument("readings", metavar="TABLE", help="CSV: ball, past_net_m, right_m, by (eye)")
    today.add_argument("-o", "--output", metavar="FILE", help="the profile of this day, NAME.toml")
    today.add_argument("--when", default="", metavar="DAY", help="the day, such as 2026-05-31 (today)")
    today.add_argument("--db", metavar="FILE", help="the practice log (default: FEEDWRIGHT_DB or your own)")
    today.add_argument("--no-log", dest="no_log", action="store_true", help="keep nothing in the practice log")
    today.set_defaults(run=_today)
    person = work.add_parser("person", help="how a person who feeds places and scatters balls, from ten landings each")
    person.add_argument("plan", metavar="PLAN", help="the plan of a script for a person")
    person.add_argument("readings", metavar="TABLE", help="CSV: ball, past_net_m, right_m; a row for each landing")
    person.add_argument("-o", "--output", metavar="FILE", help="a profile with this person's scatter, NAME.toml")
    person.add_argument("--who", default="", metavar="NAME", help="who fed, for the profile's basis")
    person.add_argument("--when", default="", metavar="DAY", help="the day, such as 2026-05-31 (today)")
    person.set_defaults(run=_person)


def _balls(options: argparse.Namespace) -> int:
    from ...compiler.calibration import choice, law
    from ...compiler.calibration.place import NoPlace, place_of
    from ...compiler.calibration.script import plain_head, script_of
    from ...compiler.pipeline import compile_source
    from ...grammar.source import Source
    from ..files import write_outputs
    from ..machine.feeders import ProfileShelf
    from .scripts import balls_of, head_of

    if not 3 <= options.count <= 60:
        raise Refusal(f"--count takes 3 to 60 balls, not {options.count}")
    sources = [read_script(name) for name in options.scripts]
    folder = Path(options.scripts[0]).parent if sources else Path.cwd()
    feeder = machine(options.machine, folder)
    head = head_of(sources[0], feeder) if sources else plain_head(feeder)
    with Waiting() as waiting:
        wanted = balls_of(sources, {feeder.name: feeder}, waiting)
        try:
            place = place_of(head, ProfileShelf(folder))
        except NoPlace as none:
            raise Refusal(f"the head of {sources[0].name if sources else 'the test script'}: {none}") from none
        try:
            chosen = choice.choose(options.count, feeder, place.stand, place.court, wanted)
        except choice.NoSafeBalls as none:
            raise Refusal(str(none)) from none
        text = script_of(feeder, chosen, head)
        made = compile_source(Source(f"{feeder.name}-test.feed", text), ProfileShelf(folder), progress=waiting)
    if made.plan is None:
        raise Refusal("these test balls cannot be aimed as a script; try another --count")
    from ...compiler.calibration.readings import table
    from .. import TARGETS
    from ..outputs import boxes

    name = f"{feeder.name}-test"
    built = [t for t in TARGETS.values() if t.built and made.plan.feeder.kind in t.kinds]
    outputs = {t.suffix: t.render(made.plan) for t in built}
    outputs |= {
        "feed": text.encode(),
        "csv": table([{"ball": shot.id, "by": "tape"} for shot in made.plan.shots]).encode(),
    }
    outputs["boxes.html"] = boxes.render(made.plan, CAUTIONS)
    written = Path(options.output)
    if (written / f"{name}.csv").exists():
        raise Refusal(f"{written / name}.csv already exists and may hold landings; move it away first")
    try:
        written.mkdir(parents=True, exist_ok=True)
        files = write_outputs(written, name, outputs)
    except OSError as error:
        raise Refusal(f"cannot write to {written}: {error.strerror or error}") from error
    for line in CAUTIONS:
        say(line)
    say("")
    say(f"{plural(len(made.plan.shots), 'test ball')}; where the profile expects them, with two standard deviations:")
    doubts = dict(zip((f"t{i + 1}" for i in range(options.count)), chosen.doubt.T, strict=True))
    for shot in made.plan.shots:
        landing = shot.predicted.landing_m or (0.0, 0.0)
        doubt = doubts[shot.id]
        side = (
            f"{abs(landing[0]):.1f} m {'right' if landing[0] > 0 else 'left'}" if abs(landing[0]) >= 0.05 else "middle"
        )
        say(
            f"  {shot.id:4} {_settings(shot.settings, made.plan)}: {landing[1]:.1f} m past the net "
            f"(± {2 * doubt[law.DEPTH]:.1f}), {side} (± {2 * doubt[law.SIDE]:.1f})"
        )
    whose = "these scripts' balls" if wanted else "balls all over the court"
    say(f"expected doubt about {whose}: {chosen.before:.2f} m now, {chosen.after:.2f} m after these test balls")
    for file in files:
        say(f"wrote {file}")
    return CLEAN


def machine(name: str, folder: Path) -> "Feeder":
    """The profile of a machine; Refusal if there is none."""
    found = profile(name, folder)
    if found.kind != "machine":
        raise Refusal(f"{name} is a person; a profile of settings is for a machine")
    return found


def profile(name: str, folder: Path) -> "Feeder":
    """The profile of that name; Refusal if there is none."""
    from ...compiler.model.feeder import ProfileProblem
    from ..machine.feeders import ProfileShelf
    from . import meant

    shelf = ProfileShelf(folder)
    try:
        feeder = shelf.load(name)
    except ProfileProblem as problem:
        raise Refusal(f"the feeder profile {name} cannot be used: {problem}") from problem
    if feeder is None:
        raise Refusal(f"there is no feeder profile {name}{meant(name, shelf.names())}")
    return feeder


def _settings(settings: "Mapping[str, float]", plan: "Plan") -> str:
    units = plan.feeder.setting_units
    return ", ".join(
        f"{name} {value:g} {units[name]}" for name, value in settings.items() if value or name in ("speed", "elevation")
    )


def _plan(name: str) -> "Plan":
    from ..document import LIMIT, PlanRefused, read

    try:
        return read(read_bytes(name, LIMIT))
    except PlanRefused as refused:
        raise Refusal(f"{name}: {refused}") from refused


def _type(options: argparse.Namespace) -> int:
    from .typing_in import run

    return run(options, *_checked(options.plan))


def _fit(options: argparse.Namespace) -> int:
    from ...compiler.calibration import law
    from ...compiler.calibration.choice import doubt_of
    from ...compiler.calibration.outcome import judge

    plan, feeder = _checked(options.plan)
    shots, day = {shot.id: shot for shot in plan.shots}, _day(options.when)
    read = _readings(options.readings, plan)
    balls = law.balls_of(feeder, [dict(shots[ball].settings) for ball in read.balls], list(read.lines))
    verdict = judge(balls, read.readings, law.stand_of(plan, feeder), feeder, plan.court.half_length_m)
    _tell(verdict, read)
    if not verdict.refused:
        _, by, _ = law.slopes(balls, verdict.learnt.unknowns, law.stand_of(plan, feeder), False)
        aims = by[[law.SIDE, law.DEPTH]].transpose(1, 0, 2).reshape(len(by[0]), -1)
        doubts = [doubt_of(covariance, aims) for covariance in (verdict.learnt.before, verdict.learnt.covariance)]
        say(f"on average over many balls these settings are now known to {doubts[1]:.2f} m; it was {doubts[0]:.2f} m")
        _tell_scripts(options, verdict.profile, feeder)
    if verdict.refused:
        say(f"No profile is written: {verdict.refused}.", sys.stderr)
        return ERRORS
    if options.output:
        _write(options, verdict, read, plan, feeder, day)
    return CLEAN


def _tell_scripts(options: argparse.Namespace, profile: "Feeder", before: "Feeder") -> None:
    """How near the balls of each script land, once it is built with the new profile."""
    if not options.scripts:
        return
    from ...compiler.calibration import law
    from ...compiler.calibration.scripts import doubts_of, within
    from .scripts import balls_of

    given = {name: profile for name in (before.name, Path(options.output or before.name).stem)}
    sources = [read_script(name) for name in options.scripts]
    with Waiting() as waiting:
        found = balls_of(sources, given, waiting)
    for source, balls in zip(sources, found, strict=True):
        now, was = (doubts_of(profile, [balls], law.prior(one.doubt)) for one in (profile, before))
        say(f"{source.name}, built with this profile: nine of ten balls land within {within(now[1]):.2f} m of where "
            f"the plan says; it was {within(was[1]):.2f} m")  # fmt: skip
        say(f"    without the machine's scatter within {within(now[0]):.2f} m; it was {within(was[0]):.2f} m")


def _checked(name: str) -> "tuple[Plan, Feeder]":
    """A plan for a machine that may be played, and its profile."""
    from ...compiler.verify import verify

    plan = _plan(name)
    feeder = machine(plan.feeder.name, Path(name).parent)
    if feeder.fingerprint != plan.feeder.fingerprint:
        raise Refusal(f"the plan was made for another profile {feeder.name} than the one that is there now")
    if wrong := verify(plan, feeder):
        raise Refusal(f"the plan is refused: {wrong[0]}")
    if plan.feeder.elsewhere:
        raise Refusal("the plan is fed from several places; readings take balls that come from one")
    return plan, feeder


def _today(options: argparse.Namespace) -> int:
    from .today import run

    plan, feeder = _checked(options.plan)
    return run(options, plan, feeder, _readings(options.readings, plan), _day(options.when))


def _readings(name: str, plan: "Plan") -> "Read":
    from ...compiler.calibration.readings import CourtLines, ReadingsRefused, parsed

    text = read_bytes(name).decode("utf-8-sig", "replace")
    try:
        lines = CourtLines(plan.court.half_length_m, plan.court.service_m)
        return parsed(text, [shot.id for shot in plan.shots], lines)
    except ReadingsRefused as refused:
        raise Refusal(f"{name}: {refused}") from refused


def _person(options: argparse.Namespace) -> int:
    from .person import run

    plan = _plan(options.plan)
    if plan.feeder.kind != "person":
        raise Refusal("the plan is for a machine; feedwright measure fit works out its profile")
    return run(options, plan, _readings(options.readings, plan), _day(options.when))


def _day(text: str) -> str:
    try:
        return (date.fromisoformat(text) if text else date.today()).isoformat()
    except ValueError as error:
        raise Refusal(f"--when takes a day such as 2026-05-31, not {text}") from error


def _tell(verdict: "Calibration", read: "Read") -> None:
    import numpy as np

    learnt = verdict.learnt
    say("ball   missed by, before  after  by all others")
    for i, ball in enumerate(read.balls):
        figures = (verdict.before[i], verdict.after[i], verdict.left_out[i])
        cells = ["-" if np.isnan(m) else f"{m:.2f} m" for m in figures]
        odd = "  far off what the others say: netcord, misfeed, slip of the pen?" if i in verdict.odd else ""
        say(f"{ball:6} {cells[0]:>17} {cells[1]:>7} {cells[2]:>10}{odd}")
    before, after, left_out = verdict.misses
    say(f"{'all':6} {before:>15.2f} m {after:>5.2f} m {left_out:>8.2f} m")
    say("")
    deviation = np.sqrt(np.diag(learnt.covariance))
    for i, (name, told) in enumerate(verdict.told()):
        unit, factor = _UNITS[i]
        say(f"  {name:26} {learnt.unknowns[i] * factor:+7.2f} ± {deviation[i] * factor:.2f} {unit:8} learnt: {told}")
    along, aside = learnt.scatter
    say(f"  scatter                    {along:.2f} times the profile's along the court, {aside:.2f} times to the sides")
    if max(along, aside) > 1:
        say("  what is more than the profile's may be what no correction explains: the doubt below counts it as such")
    say("")


_UNITS = (
    ("%", 100.0), ("m/s", 1.0), ("deg", 57.29578), ("deg", 57.29578), ("%", 100.0), ("deg", 57.29578), ("", 1.0),
    ("", 1.0), ("%", 100.0), ("%", 100.0),
)  # fmt: skip


def _write(
    options: argparse.Namespace, verdict: "Calibration", read: "Read", plan: "Plan", feeder: "Feeder", day: str
) -> None:
    from ...compiler.calibration import law
    from ...compiler.model.feeder import Feeder
    from ..machine.feeders import read as read_profile
    from ..machine.feeders.writing import written
    from ..outputs import landings

    place = Path(options.output)
    if place.suffix != ".toml":
        raise Refusal("a profile's file is called NAME.toml")
    before, _, left_out = verdict.misses
    who = f" by {options.who}" if options.who else ""
    basis = (
        f"measured{who} on {day}: {plural(len(read.balls), 'test ball')} of {Path(options.plan).name}; "
        f"from {feeder.name}; "
        f"missed by {before:.2f} m before, by {left_out:.2f} m after, each ball by all others"
    )[:300]
    given = {name: getattr(verdict.profile, name) for name in verdict.profile._fields}
    profile = Feeder(**{**given, "basis": basis, "name": place.stem})
    text = written(
        profile, "A measured profile. What the machine is told and what leaves differ; see true_scale and true_offset."
    )
    assert read_profile(text.encode(), place.stem) == profile
    picture = place.with_suffix(".svg")
    if picture.exists():
        raise Refusal(f"{picture} already exists and stays unchanged; choose another name")
    learnt = verdict.learnt
    rows = [law.SIDE, law.DEPTH]
    drawn = landings.render(
        plan, read.balls, *(values[rows].T.tolist() for values in (read.readings.value, learnt.first, learnt.now))
    )
    write_new(str(place), text)
    write_new(str(picture), drawn)
    say(f"wrote {picture}: measured, expected before and expected now")
    say(f"wrote {place}; scripts use it as machine {place.stem}. Build them again: a plan holds for one profile only")
