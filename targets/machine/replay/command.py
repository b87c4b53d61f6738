"""The `replay` and `device` commands: they check the request, and open nothing before it passes."""

import os
import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from ....compiler.model.feeder import Feeder, ProfileProblem
from ....compiler.printable import say, visible
from ..feeders import ProfileShelf
from .checked import Checked, Verify
from .continuing import listed, unfinished
from .dry import dry_run
from .journal import TEST_BALLS
from .keyboard import NoKeyboard
from .link import PortRefused, ports
from .places import first_balls, places, shelf
from .playing import play
from .request import CLEAN, DEVICE, SIMULATED, USAGE, Request, RequestRefused, storage
from .stand_in import FaultWords, Lands, NoPseudoTerminals, faults_of, open_ends, serve


def list_ports() -> int:
    try:
        found = ports()
    except PortRefused as refused:
        say(f"feedwright: {refused}", sys.stderr)
        return DEVICE
    for name, about in found:
        say(f"{name}  {about}")
    if not found:
        say("no port was found; --port simulated plays with a simulated machine", sys.stderr)
    return CLEAN


def replay(wanted: Request, verify: Verify) -> int:
    """Exit codes: 0 played, or stopped and confirmed; 1 the plan is refused; 2 usage or files; 3 port or machine; 4 a
    stop that was not confirmed, or a machine that threw on its own; 130 ended by a signal."""
    try:
        return _replay(wanted, verify)
    except (RequestRefused, PortRefused, NoKeyboard) as refused:
        say(f"feedwright: {refused}", sys.stderr)
        return (
            refused.code
            if isinstance(refused, RequestRefused)
            else DEVICE
            if isinstance(refused, PortRefused)
            else USAGE
        )


def _replay(wanted: Request, verify: Verify) -> int:
    if wanted.go_on is not None and wanted.port is None and not wanted.dry:  # no port to play on: only list
        return list_runs(wanted, Checked(wanted.plan, verify).plan.digest[:16] if wanted.plan else "")
    checked = Checked(wanted.plan, verify)
    plan, feeder = checked.plan, checked.feeder
    chosen = places(plan, wanted.first, wanted.last, feeder)
    if not chosen:
        raise RequestRefused(
            f"there is no ball {wanted.first} to {wanted.last or 'the end'}; the plan has {len(plan.launches)}"
        )
    if wanted.go_on is not None and wanted.dry:
        raise RequestRefused("--dry-run shows a new run, and --continue goes on with an old one: one of the two")
    if wanted.go_on is not None and wanted.loops != 1:
        raise RequestRefused("--continue goes on with one run, and --loop begins new ones: one of the two")
    if not 1 <= wanted.loops <= 100:
        raise RequestRefused("a loop is 1 to 100 times")
    if wanted.court is None and (wanted.court_view or wanted.guard or wanted.certificate):
        raise RequestRefused("--court-view, --guard and --certificate belong to --court")
    if not 3 <= wanted.walk_s <= 120:
        raise RequestRefused("the walk time is 3 to 120 s")
    try:
        faults_of(wanted.faults)
    except FaultWords as error:
        raise RequestRefused(str(error)) from error
    if wanted.faults and not wanted.rehearsal:
        raise RequestRefused("faults are for the simulated machine")
    if feeder.template and wanted.rehearsal:
        raise RequestRefused(
            "the simulated machine speaks the line protocol; this machine has commands of its own (--dry-run)"
        )
    if wanted.dry:
        parts = [(TEST_BALLS, first_balls(plan, feeder, first=chosen[0].number))] * wanted.first_balls + [("", chosen)]
        for line in dry_run(shelf(plan), parts, wanted.walk_s, feeder):
            print(line)
        return CLEAN
    if wanted.port is None:
        raise RequestRefused("which port? --port NAME, or --port simulated; --list shows the ports")
    if not (sys.stdin.isatty() and os.isatty(sys.stdin.fileno())):
        raise RequestRefused("standard input is not a terminal, and only a person at one can arm a machine")
    return play(wanted, checked, chosen)


def list_runs(wanted: Request, fp: str) -> int:
    """The runs that can go on, of a plan or of all, each with the line to type."""
    found = False
    for rehearsal in (False, True):
        runs = unfinished(storage(wanted, rehearsal).runs, fp)
        for run, line in zip(runs, listed(runs, rehearsal), strict=True):
            found = True
            port = SIMULATED if rehearsal else run.port
            again = replace(wanted, plan=run.plan or wanted.plan or "PLAN", port=port).again(run.name)
            print(line, f"     {visible(again)}", sep="\n")
    if not found:
        print("no run can go on", file=sys.stderr)
    return CLEAN


# ---- the device behind a pseudo-terminal


def device(
    name: str, faults: str, seed: int | None, log: str | None, differs: Callable[[Feeder], Lands] | None = None
) -> int:
    """Serve a profile's simulated machine until interrupted; `differs` makes it another one than its profile says."""
    try:
        feeder = ProfileShelf(Path.cwd()).load(name)
        if feeder is None or feeder.limits is None:
            raise RequestRefused(
                f"there is no profile {name}" if feeder is None else f"the profile {name} names no device"
            )
        faults_of(faults)
        lands = differs(feeder) if differs else None
        ends = open_ends()
        out = open(log, "a", encoding="ascii") if log else None  # noqa: SIM115
    except (ProfileProblem, FaultWords, NoPseudoTerminals, OSError, RequestRefused) as error:
        say(f"feedwright: {error}", sys.stderr)
        return USAGE
    try:
        serve(ends, feeder.limits, faults, seed, sys.stdout, out, lands)
    finally:
        if out:
            out.close()
    return CLEAN
