"""`replay` and `device`: play a plan on a machine, and a simulated machine to try it on."""

import argparse
from collections.abc import Callable
from typing import TYPE_CHECKING

from ...compiler.scripts import Refusal
from . import Commands, command

if TYPE_CHECKING:
    from ...compiler.model.feeder import Feeder
    from ..machine.replay.stand_in import Lands

CODES = (
    "exit codes: 0 played, or stopped and confirmed, by ^C too; 1 the plan is refused; 2 wrong usage or files; 3 port "
    "or machine; 4 a stop that was not confirmed, or a machine that threw on its own; 5 a fault in the program itself, "
    "stopped and confirmed; 130 ended by a signal. Nothing is armed without a person at the keyboard."
)


def add(commands: Commands) -> None:
    replay = command(
        commands,
        "replay",
        "play a built plan on a machine, armed by a person",
        (
            ("feedwright replay mine.plan.json --dry-run", "list what would be sent, second by second"),
            ("feedwright replay mine.plan.json --port simulated", "on the simulated machine"),
            ("feedwright replay --list", "the ports of this computer"),
        ),
    )
    replay.epilog = CODES
    replay.add_argument("plan", metavar="PLAN", nargs="?", help="NAME.plan.json, as build writes it")
    replay.add_argument("--port", metavar="NAME", help="serial port of the machine; simulated needs none")
    replay.add_argument("--list", action="store_true", help="list the ports of this computer")
    replay.add_argument("--from", dest="first", type=int, default=1, metavar="BALL", help="first ball")
    replay.add_argument("--to", dest="last", type=int, metavar="BALL", help="last ball")
    replay.add_argument("--loop", dest="loops", type=int, default=1, metavar="TIMES", help="number of runs; arm each")
    replay.add_argument(
        "--continue", dest="go_on", nargs="?", const="", metavar="RUN",
        help="go on with an interrupted run, by number or name; without --port, or if there are several, it lists them",
    )  # fmt: skip
    replay.add_argument(
        "--test-balls",
        dest="first_balls",
        action="store_true",
        help="throw the first three balls first, with nobody in front",
    )
    replay.add_argument("--dry-run", dest="dry", action="store_true", help="list what would be sent, second by second")
    replay.add_argument(
        "--walk-time", dest="walk_s", type=float, default=10.0, metavar="SECONDS", help="time to walk (10 s)"
    )
    replay.add_argument("--clicker", choices=("stop", "marks"), default="stop", help="what a presenter's clicker does")
    replay.add_argument(
        "--court", nargs="?", const="", metavar="ADDRESS",
        help="serve a page on which phones can stop, pause and mark, at this address of this computer",
    )  # fmt: skip
    replay.add_argument(
        "--court-view", dest="court_view", action="store_true", help="with --court: also let players in who only watch"
    )
    replay.add_argument("--guard", action="store_true", help="with --court: pause if a phone that joined is not heard")
    replay.add_argument("--certificate", metavar="FILE", help="with --court: PEM file for TLS, certificate and key")
    replay.add_argument("--plain", action="store_true", help="plain lines, for pipes and screen readers")
    replay.add_argument("--quiet", action="store_true", help="no bells")
    replay.add_argument("--records", metavar="DIR", help="folder for the record of each run")
    replay.add_argument("--db", metavar="FILE", help="the practice log (default: FEEDWRIGHT_DB or your own)")
    replay.add_argument("--no-log", dest="no_log", action="store_true", help="do not use the practice log")
    replay.add_argument(
        "--faults", default="", metavar="LIST", help="faults of the simulated machine, such as jam_at=3"
    )
    replay.set_defaults(run=_replay)
    device = command(
        commands,
        "device",
        "run a simulated machine behind a pseudo-terminal",
        (
            ("feedwright device club", "prints the port that replay can use"),
            ("feedwright device club --faults lost=0.1,jam_at=3", "one that misbehaves"),
        ),
    )
    device.add_argument("profile", metavar="PROFILE", help="feeder profile, such as club")
    device.add_argument(
        "--faults", default="", metavar="LIST", help="faults, such as lost=0.1,flipped=0.05,jam_at=3,mute"
    )
    device.add_argument(
        "--seed",
        type=int,
        help="seed for the faults and for every code it draws, to repeat a trial; without it each start draws new "
        "codes, so that nobody can guess them",
    )
    device.add_argument(
        "--differs", metavar="NUMBER[,LAW]", default="",
        help="throw as a machine that differs from its profile, and tell where each ball lands; another number is "
        "another machine; laws: slip, coupled, tilted, gyro, worn",
    )  # fmt: skip
    device.add_argument("--log", metavar="FILE", help="file for every launch, one line of JSON each")
    device.set_defaults(run=_device)


def _replay(options: argparse.Namespace) -> int:
    from ...compiler.verify import verify
    from ..machine.replay.command import Request, list_ports, replay

    if options.list:
        return list_ports()
    if options.plan is None and options.go_on and options.go_on.endswith(".json"):
        options.plan, options.go_on = options.go_on, ""
    if options.plan is None and options.court and options.court.endswith(".json"):
        options.plan, options.court = options.court, ""
    if options.plan is None and (options.go_on is None or options.port or options.dry):
        raise Refusal("which plan? see feedwright replay --help")
    options.plan = options.plan or ""
    given = {name: value for name, value in vars(options).items() if name in Request.__slots__}
    return replay(Request(**given, marks=options.clicker == "marks"), verify)


def _device(options: argparse.Namespace) -> int:
    from ..machine.replay.command import device

    differs = _differs(options.differs) if options.differs else None
    return device(options.profile, options.faults, options.seed, options.log, differs)


def _differs(text: str) -> "Callable[[Feeder], Lands]":
    """What makes the simulated machine another one: `7`, or `7,slip,worn`."""
    from ...compiler.calibration.invented import OTHER_LAWS, ThrownReports
    from ...compiler.calibration.law import usual_stand

    number, *laws = text.split(",")
    if not number.isdecimal() or set(laws) - set(OTHER_LAWS):
        raise Refusal(f"--differs takes a number, and after commas any of {', '.join(OTHER_LAWS)}")
    return lambda feeder: ThrownReports(feeder, usual_stand(feeder), int(number), tuple(laws))
