"""Play a plan: open record and log, join the line to host, keys and screen, and print the lines after the end."""

import io
import os
import secrets
import sys
import traceback
from collections.abc import Iterator, Mapping
from dataclasses import replace
from pathlib import Path
from random import Random
from typing import TYPE_CHECKING

from ....compiler.model.feeder import Feeder
from ....compiler.model.plan import Plan
from ....compiler.printable import say
from ...log.advice import of_program
from ...log.progress import Standing
from ...log.record import Recorder
from . import words
from .afterwards import afterwards, next_steps
from .brake import brake
from .checked import Checked
from .continuing import Going, chosen, counts, going, known, loads, must_keep_its_balls, passed, told, unfinished
from .diagnosis import left, no_text, unlike_text, unspoken
from .host import Host
from .journal import TEST_BALLS, Journal, Past, past, records, unwritable
from .keyboard import keyboard
from .link import BAUD, Link, Listened, open_link
from .loop import Loop, clock
from .machine import Machine
from .own_commands import OwnCommands
from .picture import farewell
from .places import Place, RunShelf, first_balls, shelf
from .protocol import ProtocolMachine
from .request import CLEAN, ERRORS, INTERRUPTED, USAGE, Request, RequestRefused, Storage, storage
from .run import Ending, Identity, Run
from .screen import screen
from .stand_in import SimulatedLink
from .writer import DRAIN_S, Log, RunRecord, Writer

if TYPE_CHECKING:
    from ..court.asks import PhoneAsk
    from ..court.phones import Phones, Served


def play(wanted: Request, checked: Checked, places: tuple[Place, ...]) -> int:
    """Play the plan. Returns the exit code."""
    plan, feeder = checked.plan, checked.feeder
    keys, kept = keyboard(), storage(wanted, wanted.rehearsal)
    if trouble := unwritable(kept.runs):
        raise RequestRefused(f"no record can be kept in {kept.runs}, and without one nothing is armed: {trouble}")
    if isinstance(sys.stdout, io.TextIOWrapper):
        sys.stdout.reconfigure(errors="backslashreplace")  # a character that the terminal lacks must not stop play
    page = _page(wanted)
    begun = Begun(wanted, kept.runs, plan, Writer("record"))
    notes, goes_on = _earlier(wanted, begun, kept.runs, checked, places)
    log = Log(plan, (lambda: Recorder(plan, kept.log)) if kept.log else None)
    held = shelf(
        plan,
        log.rungs(),
        goes_on.standings if goes_on else None,
        feeder,
        {(goes_on.past.run, block): balls for block, balls in goes_on.points.items()} if goes_on else None,
        loads(plan, goes_on.past) if goes_on else None,
    )
    first = first_balls(plan, feeder, first=places[0].number) if wanted.first_balls else ()
    link = Listened(_link(wanted, feeder))
    runs = begun.runs(first, places, wanted.loops, goes_on, log, held.standings)
    host = _host(wanted, checked, held, runs, link, counts(goes_on.past) if goes_on else None)
    untold = [f"{_sentence(log.trouble)} Until that changes, this run is not kept in it."] * bool(log.trouble)
    for note in (*_kept_where(wanted, kept), *notes, *untold):
        say(note)
    loud = not wanted.quiet and sys.stdout.isatty()
    phones = _phones(wanted, plan, host, page) if page else None
    loop = Loop(
        host, link, brake(feeder), keys, lambda: screen(sys.stdout, wanted.plain), bells=loud, marks=wanted.marks,
        phones=phones,
    )  # fmt: skip
    try:
        ending = loop.play()
    finally:
        link.close()
        whole = begun.close()
        log.close()
    if not whole:
        say("The record was not written to its end: the disk does not answer", sys.stderr)
    if log.trouble:
        say(f"The practice log was not kept: {log.trouble}", sys.stderr)
    if loop.fault is not None:
        _report(loop.fault)
    if checked.changed:
        ending = replace(ending, why=checked.changed)
    played = begun.read_back()
    shown = None if kept.log is None or log.trouble else str(kept.log) if wanted.db or wanted.rehearsal else ""
    bye, reached = farewell(ending, words.NOT_CONFIRMED), afterwards(plan, played)
    code = _say(ending, [
        *bye, *_likely(ending, feeder, link), *reached, *next_steps(wanted, plan.program, played, shown),
    ])  # fmt: skip
    if phones is not None and loop.fault is None:  # after a fault nothing of the host can be trusted
        advised = of_program(kept.log, plan.program) if kept.log and played and not log.trouble else []
        phones.finish((*bye, *reached, *advised))
    return code


def _page(wanted: Request) -> "Served[tuple[PhoneAsk, ...]] | None":
    """The place of the page on court; None if none was asked for."""
    if wanted.court is None:
        return None
    from ..court.address import AddressRefused
    from ..court.phones import served

    try:
        return served(wanted.court, wanted.certificate, wanted.court_view, clock)
    except AddressRefused as refused:
        raise RequestRefused(str(refused)) from refused


def _phones(wanted: Request, plan: Plan, host: Host, page: "Served[tuple[PhoneAsk, ...]]") -> "Phones":
    """The page on court, served from here on."""
    from ..court.phones import Phones

    for note in page.notes:
        say(note)
    goals = {one.id: one.goal for one in plan.variations if one.goal}
    draws = not wanted.plain and sys.stdout.isatty() and (sys.stdout.encoding or "").lower().startswith("utf")
    made = Phones(host, page.server, page.door, guard=wanted.guard, goals=goals, draws=draws, clock=clock)
    made.begin()
    return made


def _report(fault: BaseException) -> None:
    """One sentence for the player; the full traceback for anyone who asks for it."""
    if "FEEDWRIGHT_TRACE" in os.environ:
        traceback.print_exception(fault)
    else:
        what = f"a fault in the program itself ({type(fault).__name__})"
        say(f"feedwright: {what}. FEEDWRIGHT_TRACE=1 shows where, for a report", sys.stderr)


class Begun:
    """The runs of this start and their records; each record opens when its run begins."""

    def __init__(self, wanted: Request, folder: Path, plan: Plan, writer: Writer) -> None:
        self._folder, self._plan, self._writer = folder, plan, writer
        self._about = {"port": wanted.port, "plan": str(Path(wanted.plan).absolute())}
        self._journals = list[Journal]()

    def journal(self, word: str, **about: object) -> Journal:
        made = Journal(self._folder, self._plan.digest[:16], word, {"first_balls": False, **self._about, **about})
        self._journals.append(made)
        return made

    def runs(
        self, first: tuple[Place, ...], places: tuple[Place, ...], loops: int, goes_on: Going | None, log: Log,
        rungs: Mapping[int, Standing],
    ) -> Iterator[Run]:  # fmt: skip
        """Test balls; then the continued run, or the program, with one run for each loop."""
        if first:
            word = secrets.token_hex(8)
            yield self._run(TEST_BALLS, first, word, self.journal(word, first_balls=True), None)
        if goes_on:
            left = goes_on.places
            yield self._run(self._plan.program, left, goes_on.past.run, goes_on.journal, log)
            return
        began = {str(block.index): 0 for block in self._plan.blocks if block.ladder}
        began |= {str(block): standing.rung for block, standing in rungs.items()}
        for _ in range(loops):
            word = secrets.token_hex(8)
            yield self._run(self._plan.program, places, word, self.journal(word, rungs=began), log)

    def _run(self, title: str, places: tuple[Place, ...], word: str, journal: Journal, log: Log | None) -> Run:
        return Run(word, title, places, RunRecord(journal, word, self._writer, log, places))

    def close(self) -> bool:
        """Close the records. Returns whether every entry is on the disk."""
        for journal in self._journals:
            self._writer.hand(journal.close)
        return self._writer.close(DRAIN_S)

    def read_back(self) -> list[Past]:
        """The program's runs as the records now show them."""
        found = (past(journal.path) for journal in self._journals)
        return [passed(self._plan, run) for run in found if run and not run.first_balls]


def _earlier(
    wanted: Request, begun: Begun, folder: Path, checked: Checked, places: tuple[Place, ...]
) -> tuple[list[str], Going | None]:
    """What is known of earlier runs, in words, and the run to continue."""
    plan, fp = checked.plan, checked.plan.digest[:16]
    left_open = [run for run in (passed(plan, one) for one in unfinished(folder, fp)) if not run.over]
    if wanted.go_on is None:
        return told(records(folder, fp), left_open), None
    older = any(run.title == plan.program for run in unfinished(folder)) and not left_open
    run = chosen(wanted.go_on, left_open, wanted.rehearsal, input, older)
    must_keep_its_balls(run, wanted.first, places[-1].number if wanted.last is not None else None)
    goes_on = going(run, begun.journal(run.run), plan, checked.feeder)
    return [f"Run {run.name}: {known(goes_on.past)} It goes on from ball {goes_on.places[0].number}."], goes_on


def _kept_where(wanted: Request, kept: Storage) -> list[str]:
    if not wanted.rehearsal:
        return []
    log = "" if wanted.no_log else f" and its balls in {kept.log}"
    return [f"A rehearsal on the simulated machine: its record is in {kept.runs}{log}, apart from real runs."]


def _link(wanted: Request, feeder: Feeder) -> Link:
    if wanted.rehearsal:
        assert feeder.limits is not None
        return SimulatedLink(feeder.limits, wanted.faults, wanted.seed)
    return open_link(wanted.port or "", feeder.template.baud if feeder.template else BAUD)


def _host(
    wanted: Request,
    checked: Checked,
    held: RunShelf,
    runs: Iterator[Run],
    link: Link,
    earlier: Mapping[str, int] | None,
) -> Host:
    plan, feeder = checked.plan, checked.feeder
    machine: Machine
    if feeder.template is not None:
        machine = OwnCommands(link.write, feeder, held, Random(secrets.randbits(64)))
    else:
        device = plan.feeder.device
        if device is None:  # Checked refuses such a plan before
            raise RequestRefused(f"the profile {plan.feeder.name} names no device", ERRORS)
        machine = ProtocolMachine(
            link.write, Identity(device.id, device.cap, device.gap, device.limits), plan.digest[:16],
            nonce=secrets.token_hex(4), feed_delay_s=feeder.feed_delay_s,
        )  # fmt: skip
    return Host(machine, held, runs, walk_s=wanted.walk_s, unchanged=checked.unchanged, earlier=earlier or {})


def _likely(ending: Ending, feeder: Feeder, link: Listened) -> list[str]:
    """The likely cause of a bad end, from the bytes that arrived."""
    if ending.code in (CLEAN, USAGE, INTERRUPTED):
        return []
    if feeder.template:
        return [f"{unlike_text(feeder.template.baud)}."] if no_text(link.first) else []
    said = unspoken(link.first, BAUD) or (left(link.last) if "was reset" in ending.why else "")
    return [f"{said}."] if said else []


def _say(ending: Ending, lines: list[str]) -> int:
    try:
        for line in lines:
            say(line)
        sys.stdout.flush()
    except OSError:  # the reader has gone; the exit code still tells
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    return ending.code


def _sentence(text: str) -> str:
    return f"{text[:1].upper()}{text[1:].rstrip('.')}."
