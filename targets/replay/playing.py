"""A plan played: record and log opened, the line joined to host, keys and screen, and what is said after the end."""

import os
import secrets
import sys
from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from pathlib import Path
from random import Random

from ...compiler.model.feeder import Feeder
from ...compiler.model.plan import Plan
from ..log import LogRefused
from ..log.progress import Standing
from ..log.record import Recorder
from ..printable import visible
from . import words
from .afterwards import afterwards, next_steps
from .checked import Checked
from .commanded import Commanded
from .continuing import Going, chosen, counts, going, known, must_keep_its_balls, told, unfinished
from .diagnosis import left, no_text, unlike_text, unspoken
from .host import Host
from .journal import SIGHTERS, Journal, Past, past, records, unwritable
from .keeping import Kept, Log
from .keys import Keys
from .link import BAUD, Link, Listened, open_link
from .picture import farewell
from .places import Place, Shelf, shelf, sighters
from .request import CLEAN, INTERRUPTED, USAGE, Refused, Storage, Wanted, storage
from .run import Ending, Identity, Run
from .screen import Bells, Live, Plain, Screen
from .sitting import Host as Playable
from .sitting import Sitting
from .stand_in import VirtualLink


def play(wanted: Wanted, checked: Checked, places: tuple[Place, ...]) -> int:
    """The exit code."""
    plan, feeder = checked.plan, checked.feeder
    kept = storage(wanted, wanted.rehearsal)
    if trouble := unwritable(kept.runs):
        raise Refused(f"no record can be kept in {kept.runs}, and without one nothing is armed: {trouble}")
    begun = Begun(wanted, kept.runs, plan)
    notes, goes_on = _earlier(wanted, begun, kept.runs, checked, places)
    log = _log(wanted, plan, kept.log)
    held = shelf(plan, log.rungs(), goes_on.standings if goes_on else None)
    first = sighters(plan, feeder) if wanted.sighters else ()
    link = Listened(_link(wanted, feeder))
    runs = begun.runs(first, places, wanted.loops, goes_on, log, held.standings)
    host = _host(wanted, checked, held, runs, link)
    if goes_on:
        host.counts.update(counts(goes_on.past))
    trouble = log.trouble
    untold = [f"{_sentence(trouble)} This run is not kept in it."] * bool(trouble)
    for note in (*_kept_where(wanted, kept), *notes, *untold):
        print(visible(note), flush=True)
    ending = _sit(wanted, host, link, log, begun)
    if log.trouble and not trouble:
        print(f"The practice log was not kept: {visible(log.trouble)}", file=sys.stderr, flush=True)
    if checked.changed:
        ending = replace(ending, why=checked.changed)
    played = begun.read_back()
    shown = None if wanted.no_log or log.trouble else str(kept.log) if wanted.db or wanted.rehearsal else ""
    return _say(ending, [
        *farewell(ending, words.NOT_CONFIRMED), *_likely(ending, feeder, link),
        *afterwards(plan, played), *next_steps(wanted, plan.program, played, shown),
    ])  # fmt: skip


def _sit(wanted: Wanted, host: Playable, link: Link, log: Log, begun: "Begun") -> Ending:
    out = sys.stdout
    ring = None if wanted.quiet or not out.isatty() else _ring
    plain = wanted.plain or not out.isatty()
    try:
        screen: Callable[[], Screen] = (lambda: Plain(out)) if plain else (lambda: Live(out))
        return Sitting(host, link, Keys(), screen, Bells(ring), wanted.marks).play()
    finally:
        link.close()
        log.close()
        begun.close()


class Begun:
    """The runs of this sitting and their records; each record is opened when its run begins."""

    def __init__(self, wanted: Wanted, folder: Path, plan: Plan) -> None:
        self._folder, self._plan = folder, plan
        self._about = {"port": wanted.port, "plan": str(Path(wanted.plan).absolute())}
        self._journals = list[Journal]()

    def journal(self, word: str, **about: object) -> Journal:
        made = Journal(self._folder, self._plan.digest[:16], word, {"sighters": False, **self._about, **about})
        self._journals.append(made)
        return made

    def runs(
        self, first: tuple[Place, ...], places: tuple[Place, ...], loops: int, goes_on: Going | None, log: Log,
        rungs: Mapping[int, Standing],
    ) -> Iterator[Run]:  # fmt: skip
        """Sighters, then the run that goes on, or the program, each loop a run of its own."""
        if first:
            word = secrets.token_hex(8)
            yield Run(word, SIGHTERS, first, self.journal(word, sighters=True))
        if goes_on:
            left = goes_on.places
            yield Run(goes_on.past.run, self._plan.program, left, Kept(goes_on.journal, log, left))
            return
        began = {str(block.index): 0 for block in self._plan.blocks if block.ladder}
        began |= {str(block): standing.rung for block, standing in rungs.items()}
        for _ in range(loops):
            word = secrets.token_hex(8)
            yield Run(word, self._plan.program, places, Kept(self.journal(word, rungs=began), log, places))

    def close(self) -> None:
        for journal in self._journals:
            journal.close()

    def read_back(self) -> list[Past]:
        """What the records say now of the program's runs."""
        return [run for journal in self._journals if (run := past(journal.path)) and not run.sighters]


def _earlier(
    wanted: Wanted, begun: Begun, folder: Path, checked: Checked, places: tuple[Place, ...]
) -> tuple[list[str], Going | None]:
    """What is known of earlier runs, in words, and the one that goes on."""
    plan, fp = checked.plan, checked.plan.digest[:16]
    left_open = unfinished(folder, fp)
    if wanted.go_on is None:
        return told(records(folder, fp), left_open), None
    older = any(run.title == plan.program for run in unfinished(folder)) and not left_open
    run = chosen(wanted.go_on, left_open, wanted.rehearsal, input, older)
    must_keep_its_balls(run, wanted.first, places[-1].number if wanted.last is not None else None)
    goes_on = going(run, begun.journal(run.run), plan, checked.feeder)
    return [f"Run {run.name}: {known(goes_on.past)} It goes on from ball {goes_on.places[0].number}."], goes_on


def _kept_where(wanted: Wanted, kept: Storage) -> list[str]:
    if not wanted.rehearsal:
        return []
    log = "" if wanted.no_log else f" and its balls in {kept.log}"
    return [f"A rehearsal, on a machine that is not there: its record is in {kept.runs}{log}, apart from real runs."]


def _log(wanted: Wanted, plan: Plan, path: Path) -> Log:
    """The player's own log; a replay is played without one where it cannot be kept."""
    if wanted.no_log:
        return Log(plan, None)
    try:
        recorder = Recorder(plan, path)
    except (LogRefused, OSError, ValueError) as refused:
        return Log(plan, None, str(refused))
    try:
        recorder.ready()
    except LogRefused as refused:
        recorder.close()
        return Log(plan, None, str(refused))
    return Log(plan, recorder)


def _link(wanted: Wanted, feeder: Feeder) -> Link:
    if wanted.rehearsal:
        assert feeder.limits is not None
        return VirtualLink(feeder.limits, wanted.faults, wanted.seed)
    return open_link(wanted.port or "", feeder.template.baud if feeder.template else BAUD)


def _host(wanted: Wanted, checked: Checked, held: Shelf, runs: Iterator[Run], link: Link) -> Playable:
    plan, feeder, unchanged = checked.plan, checked.feeder, checked.unchanged
    if feeder.template is not None:
        random = Random(secrets.randbits(64))
        return Commanded(link.write, feeder, held, runs, random, warning_s=wanted.warning_s, unchanged=unchanged)
    device = plan.feeder.device
    assert device is not None
    return Host(
        link.write, Identity(device.id, device.cap, device.gap, device.fit), plan.digest[:16], held, runs,
        nonce=secrets.token_hex(4), warning_ms=round(wanted.warning_s * 1000), unchanged=unchanged,
    )  # fmt: skip


def _likely(ending: Ending, feeder: Feeder, link: Listened) -> list[str]:
    """What the bytes that came say of a bad end."""
    if ending.code in (CLEAN, USAGE, INTERRUPTED):
        return []
    if feeder.template:
        return [f"{unlike_text(feeder.template.baud)}."] if no_text(link.first) else []
    said = unspoken(link.first, BAUD) or (left(link.last) if "was reset" in ending.why else "")
    return [f"{said}."] if said else []


def _say(ending: Ending, lines: list[str]) -> int:
    try:
        for line in lines:
            print(visible(line), flush=True)
    except OSError:  # whoever read it has gone; the code still tells
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    return ending.code


def _sentence(text: str) -> str:
    return f"{text[:1].upper()}{text[1:].rstrip('.')}."


def _ring(bells: str) -> None:
    sys.stdout.write(bells)
    sys.stdout.flush()
