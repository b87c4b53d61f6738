"""The `replay` and `device` commands: what was asked for is judged, and nothing is opened before it is found good."""

import hashlib
import io
import os
import secrets
import stat
import sys
import traceback
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from random import Random

from ...compiler.model.feeder import Feeder, ProfileProblem
from ...compiler.model.plan import Plan
from .. import document
from ..feeders import ProfileShelf
from ..log.record import Recorder
from ..printable import visible
from . import words
from .brake import brake
from .commanded import Commanded
from .dry import dry_run
from .host import Host
from .journal import Journal, latest
from .keyboard import NoKeyboard, keyboard
from .link import BAUD, Link, PortRefused, open_link, ports
from .loop import Host as Playable
from .loop import Loop
from .picture import farewell
from .places import Place, Shelf, places, shelf, sighters
from .run import Ending, Identity, Run
from .screen import screen
from .stand_in import FaultWords, VirtualLink, faults_of, serve
from .writer import DRAIN_S, Log, RunRecord, Writer

SIGHTERS = "Sighters, nobody in front"
CLEAN, ERRORS, USAGE, DEVICE = 0, 1, 2, 3
Verify = Callable[[Plan, Feeder], list[str]]


class Refused(Exception):
    """In one sentence, with the exit code."""

    def __init__(self, sentence: str, code: int = USAGE) -> None:
        super().__init__(sentence)
        self.code = code


@dataclass(frozen=True, slots=True)
class Wanted:
    """What the command line asks for; see its help."""

    plan: str
    port: str | None = None
    first: int = 1
    last: int | None = None
    loops: int = 1
    sighters: bool = False
    go_on: bool = False
    dry: bool = False
    plain: bool = False
    quiet: bool = False
    warning_s: float = 10.0
    marks: bool = False
    faults: str = ""
    seed: int | None = None
    records: str | None = None
    db: str | None = None
    no_log: bool = False


def list_ports() -> int:
    found = ports()
    for name, about in found:
        print(f"{name}  {visible(about)}")
    if not found:
        print("no port was found; --port virtual plays with a device in this program", file=sys.stderr)
    return CLEAN


def replay(wanted: Wanted, verify: Verify) -> int:
    """Exit code 0 played or stopped and confirmed, 1 the plan is refused, 2 usage or files, 3 port or device."""
    try:
        return _replay(wanted, verify)
    except (Refused, PortRefused, NoKeyboard) as refused:
        print(f"feedwright: {visible(str(refused))}", file=sys.stderr)
        return refused.code if isinstance(refused, Refused) else DEVICE if isinstance(refused, PortRefused) else USAGE


def _replay(wanted: Wanted, verify: Verify) -> int:
    path = Path(wanted.plan)
    data = _read(path)
    try:
        plan = document.read(data)
    except document.PlanRefused as refused:
        if path.suffix == ".feed":
            raise Refused(f"{path} is a script; feedwright build writes the plan that is played") from refused
        raise Refused(str(refused), ERRORS) from refused
    feeder = _profile(plan, path.parent)
    if wrong := verify(plan, feeder):
        more = f" ({len(wrong) - 1} more of this kind)" if len(wrong) > 1 else ""
        raise Refused(f"The plan is refused: {wrong[0]}{more}", ERRORS)
    chosen = places(plan, wanted.first, wanted.last, feeder)
    if not chosen:
        raise Refused(
            f"there is no ball {wanted.first} to {wanted.last or 'the end'}; the plan has {len(plan.launches)}"
        )
    if not 1 <= wanted.loops <= 100:
        raise Refused("a loop is 1 to 100 times")
    if not 3 <= wanted.warning_s <= 120:
        raise Refused("the warning time is 3 to 120 s")
    try:
        faults_of(wanted.faults)
    except FaultWords as error:
        raise Refused(str(error)) from error
    if wanted.faults and wanted.port != "virtual":
        raise Refused("faults are for the virtual device")
    if feeder.template and wanted.port == "virtual":
        raise Refused("the virtual device speaks the line protocol; this machine has commands of its own (--dry-run)")
    if wanted.dry:
        parts = [(SIGHTERS, sighters(plan, feeder))] * wanted.sighters + [("", chosen)]
        for line in dry_run(shelf(plan), parts, wanted.warning_s, feeder):
            print(line)
        return CLEAN
    if wanted.port is None:
        raise Refused("which port? --port NAME, or --port virtual; --list shows those there are")
    if not (sys.stdin.isatty() and os.isatty(sys.stdin.fileno())):
        raise Refused("a person has to answer at a terminal before anything is armed; standard input is none")
    return _play(wanted, plan, feeder, chosen, lambda: _digest(path) == hashlib.sha256(data).digest())


def _play(wanted: Wanted, plan: Plan, feeder: Feeder, chosen: tuple[Place, ...], unchanged: Callable[[], bool]) -> int:
    folder, fp = _records(wanted), plan.digest[:16]
    out, keys, writer = sys.stdout, keyboard(), Writer("record")
    if isinstance(out, io.TextIOWrapper):
        out.reconfigure(errors="backslashreplace")  # a sign that the terminal has not is no reason to fail
    notes, first = _continued(wanted, folder, fp, plan, chosen)
    log = _log(wanted, plan)
    runs = _runs(wanted, plan, feeder, folder, fp, chosen, first, writer, log)
    link: Link
    if wanted.port == "virtual":
        assert feeder.limits is not None
        link = VirtualLink(feeder.limits, wanted.faults, wanted.seed)
    else:
        link = open_link(wanted.port or "", feeder.template.baud if feeder.template else BAUD)
    host = _host(wanted, plan, feeder, shelf(plan, log.rungs()), runs, link, unchanged)
    if log.trouble:
        notes.append(f"The practice log is not kept: {log.trouble}.")
    for note in notes:
        print(visible(note), flush=True)
    loud = not wanted.quiet and out.isatty()
    loop = Loop(host, link, brake(feeder), keys, lambda: screen(out, wanted.plain), bells=loud, marks=wanted.marks)
    try:
        ending = loop.play()
    finally:
        link.close()
        kept = writer.close(DRAIN_S)
        log.close()
    if not kept:
        print("The record was not written to its end: the disk does not answer", file=sys.stderr, flush=True)
    if log.trouble:
        print(f"The practice log was not kept: {visible(log.trouble)}", file=sys.stderr, flush=True)
    if loop.fault is not None:
        _report(loop.fault)
    return _farewell(ending)


def _report(fault: BaseException) -> None:
    """One sentence for the player, the whole story for who asks for it."""
    if "FEEDWRIGHT_TRACE" in os.environ:
        traceback.print_exception(fault)
    else:
        what = f"a fault in the program itself ({type(fault).__name__})"
        print(f"feedwright: {what}. FEEDWRIGHT_TRACE=1 shows where, for a report", file=sys.stderr, flush=True)


def _log(wanted: Wanted, plan: Plan) -> Log:
    """The player's own log; a replay is played without one where it can't be opened."""
    return Log(plan, None if wanted.no_log else lambda: Recorder(plan, Path(wanted.db) if wanted.db else None))


def _host(
    wanted: Wanted,
    plan: Plan,
    feeder: Feeder,
    held: Shelf,
    runs: Iterator[Run],
    link: Link,
    unchanged: Callable[[], bool],
) -> Playable:
    if feeder.template is not None:
        random = Random(secrets.randbits(64))
        return Commanded(link.write, feeder, held, runs, random, warning_s=wanted.warning_s, unchanged=unchanged)
    device = plan.feeder.device
    assert device is not None
    return Host(
        link.write, Identity(device.id, device.cap, device.gap, device.fit), plan.digest[:16], held, runs,
        nonce=secrets.token_hex(4), warning_ms=round(wanted.warning_s * 1000), unchanged=unchanged,
    )  # fmt: skip


def _farewell(ending: Ending) -> int:
    try:
        for line in farewell(ending, words.NOT_CONFIRMED):
            print(visible(line), flush=True)
    except OSError:  # whoever read it has gone; the code still tells
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    return ending.code


# ---- files


def _read(path: Path) -> bytes:
    """The bytes that are checked, armed and played; read once."""
    try:
        mode = path.stat().st_mode
        if stat.S_ISDIR(mode):
            raise Refused(f"{path} is a folder, not a plan")
        if not stat.S_ISREG(mode):
            raise Refused(f"{path} is no ordinary file")
        with path.open("rb") as file:
            return file.read(document.LIMIT + 1)
    except OSError as error:
        raise Refused(f"cannot read {path}: {error.strerror or error}") from error
    except ValueError as error:
        raise Refused(f"cannot read {visible(str(path))}: {error}") from error


def _digest(path: Path) -> bytes | None:
    try:
        with path.open("rb") as file:
            return hashlib.sha256(file.read(document.LIMIT + 1)).digest()
    except OSError:
        return None


def _profile(plan: Plan, folder: Path) -> Feeder:
    if plan.feeder.kind != "machine":
        raise Refused("the plan is for a person who feeds; its sheet is what is played", ERRORS)
    feeder = _made_for(plan, folder)
    if feeder.template is None and plan.feeder.device is None:
        raise Refused(
            f"the profile {plan.feeder.name} names no device and no commands; nothing can be replayed", ERRORS
        )
    return feeder


def _made_for(plan: Plan, beside: Path) -> Feeder:
    """The profile that the plan's fingerprint fits: beside the plan, in the current folder or one that comes along."""
    name, broken, other = plan.feeder.name, None, False
    for folder in (beside, Path.cwd(), None):
        try:
            feeder = ProfileShelf(folder).load(name)
        except ProfileProblem as problem:
            broken = broken or problem
            continue
        if feeder and feeder.fingerprint == plan.feeder.fingerprint:
            return feeder
        other = other or feeder is not None
    if broken:
        raise Refused(f"the feeder profile {name} cannot be used: {broken}", ERRORS) from broken
    where = f"beside the plan ({beside.resolve()}), in the current folder ({Path.cwd()}) or among those that come along"
    if other:
        raise Refused(f"the plan was made for another profile of {name} than lies {where}; build it anew", ERRORS)
    raise Refused(f"there is no feeder profile {name} {where}; the plan was made for it", ERRORS)


def _records(wanted: Wanted) -> Path:
    if wanted.records:
        return Path(wanted.records)
    state = os.environ.get("XDG_STATE_HOME") or str(Path.home() / ".local" / "state")
    return Path(state) / "feedwright" / "runs"


def _continued(
    wanted: Wanted, folder: Path, fp: str, plan: Plan, chosen: tuple[Place, ...]
) -> tuple[list[str], "tuple[str, tuple[Place, ...]] | None"]:
    """What is known of an earlier run, in words, and what of it is left if it is to go on."""
    before = latest(folder, fp, plan.program)
    if before is None:
        if wanted.go_on:
            raise Refused("there is no record of an earlier run of this program: it can only start anew, as a new run")
        return [], None
    told = f"Last run of this program: last ball surely thrown {before.gone or 'none'}"
    told += "".join(f"; ball {ball} unknown, counts as thrown" for ball in before.unknown) + "."
    if not wanted.go_on:
        more = "" if before.over else f" --continue goes on from ball {before.next}."
        return [f"{told}{more} This is a new run."], None
    left = tuple(place for place in chosen if before.next <= place.number <= before.last)
    if not left:
        raise Refused("nothing is left of the last run; without --continue a new one starts")
    return [f"{told} It goes on from ball {left[0].number}."], (before.run, left)


def _runs(
    wanted: Wanted,
    plan: Plan,
    feeder: Feeder,
    folder: Path,
    fp: str,
    chosen: tuple[Place, ...],
    first: "tuple[str, tuple[Place, ...]] | None",
    writer: Writer,
    log: Log,
) -> Iterator[Run]:
    """Sighters, then the program, each loop a run of its own; a record is opened when its run begins."""
    if wanted.sighters:
        word = secrets.token_hex(8)
        balls = sighters(plan, feeder)
        yield Run(word, SIGHTERS, balls, RunRecord(Journal(folder, fp, word), word, writer, None, balls))
    for loop in range(wanted.loops):
        word, left = first if first and loop == 0 else (secrets.token_hex(8), chosen)
        yield Run(word, plan.program, left, RunRecord(Journal(folder, fp, word), word, writer, log, left))


# ---- the device behind a pseudo-terminal


def device(name: str, faults: str, seed: int | None, log: str | None) -> int:
    """Serve a profile's virtual device until interrupted."""
    try:
        feeder = ProfileShelf(Path.cwd()).load(name)
        if feeder is None or feeder.limits is None:
            raise Refused(f"there is no profile {name}" if feeder is None else f"the profile {name} names no device")
        faults_of(faults)
        out = open(log, "a", encoding="ascii") if log else None  # noqa: SIM115
    except (ProfileProblem, FaultWords, OSError, Refused) as error:
        print(f"feedwright: {visible(str(error))}", file=sys.stderr)
        return USAGE
    try:
        serve(feeder.limits, faults, seed, sys.stdout, out)
    finally:
        if out:
            out.close()
    return CLEAN
