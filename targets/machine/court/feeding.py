"""The sheet on a phone for a person who feeds: the page goes on by itself, also without a link, and its marks come into
the log as one practice, whenever they come and however often.

The phone names its practice and numbers its marks. A mark that was done is never done again. After a new start of this
program the phone says all of them again, and the log knows by the practice and the number of the launch what it has.
"""

import contextlib
import signal
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime
from html import escape
from queue import Empty

from ....compiler.model.plan import Plan
from ....compiler.printable import plural, say, visible
from ...log import LogRefused
from ...log.advice import against_plan, of_program
from ...log.progress import Verdict
from ...log.record import Recorder
from ...outputs.sheet import phone as cards
from ..replay.keyboard import keyboard
from ..replay.screen import CODE_STYLE
from . import words
from .asks import SheetMark, SheetNews, sheet
from .door import Door, Phone
from .invitation import address, code
from .page import SHARED, Files, joining
from .server import Served, Told, bound

TURN_S = 0.02
ADVISE_S = 5.0
"""How long nothing is marked until the log is asked for advice."""
AHEAD_S = 60
"""By how much a phone's clock may be ahead; a later mark counts as made now."""


def pages(plan: Plan, date: str) -> Files:
    """The page that `sheet --phone` writes, with its way in, and in pieces, because a served page runs no script that
    stands in it."""
    form = joining(words.SHEET_MAY, words.SHEET_STOPS_NOTHING)
    document = (
        '<!doctype html>\n<html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f'<title>{escape(visible(plan.program))}</title><link rel="icon" href="/icon.svg">'
        '<link rel="stylesheet" href="/phone.css"></head><body>'
        f"{form}{cards.body(plan, date)}"
        '<script src="/link.js"></script><script src="/phone.js"></script></body></html>\n'
    )
    return {
        **SHARED,
        "/": (document.encode(), "text/html"),
        "/phone.css": (cards.part("phone.css").encode(), "text/css"),
        "/phone.js": (cards.part("phone.js").encode(), "text/javascript"),
    }


@dataclass(slots=True)
class Counted:
    """A practice as far as it is in the log: its last mark that was done; shots and verdicts by launch."""

    done: int = 0
    shots: dict[int, str] = field(default_factory=dict)
    verdicts: dict[int, Verdict] = field(default_factory=dict)
    advice: tuple[str, ...] = ()


class Ledger:
    """Marks into the log, each once and in order. LogRefused where it cannot be written: the phone keeps the mark then,
    and says it again."""

    def __init__(self, plan: Plan, log: Recorder) -> None:
        self._plan, self._log = plan, log
        self.practices: dict[str, Counted] = {}
        self._current = ""

    def heard(self, news: SheetNews) -> Counted:
        found = self.practices.setdefault(news.practice, Counted())
        for mark in news.marks:
            if mark.number == found.done + 1:
                self._keep(news.practice, found, mark)
                found.done = mark.number
        return found

    def _keep(self, practice: str, found: Counted, mark: SheetMark) -> None:
        if practice != self._current:
            self._log.begin(practice)
            self._current = practice
        if mark.ball > len(self._plan.launches) or mark.shot >= len(self._plan.shots):
            return  # of another plan
        block = self._plan.blocks[self._plan.launches[mark.ball - 1].block]
        shot = found.shots.get(mark.ball, self._plan.shots[mark.shot].id)
        if shot not in block.shots:
            return
        if self._log.has(mark.ball):
            self._log.judge(mark.ball, mark.verdict)
        else:
            rung = block.ladder.at(shot) if block.ladder else None
            self._log.ball(block.index, shot, rung, _moment(mark.at_s), mark.verdict, mark.ball, keyed=True)
        found.shots[mark.ball], found.verdicts[mark.ball] = shot, mark.verdict


def _moment(at_s: int) -> datetime:
    return datetime.fromtimestamp(min(at_s, int(time.time()) + AHEAD_S), UTC)


class Feeding:
    """The turns of the server beside a sheet: who joined, what was marked, what the phones are told."""

    def __init__(self, plan: Plan, ledger: Ledger, served: Served[SheetNews], clock: Callable[[], float]) -> None:
        self._plan, self._ledger, self._clock = plan, ledger, clock
        self._server, self._door = served.server, served.door
        self._of: dict[Phone, str] = {}
        """The practice of each phone."""
        self.trouble = ""
        self._marked_s: float | None = None

    def turn(self, advised: Callable[[], tuple[str, ...]], tell: Callable[[str], None]) -> None:
        now = self._clock()
        self._server.stops.clear()  # nothing here can be stopped, and the page has no such button
        while True:
            try:
                arrived = self._server.inbox.get_nowait()
            except Empty:
                break
            if arrived.asks is None:
                tell(words.feeds(arrived.phone))
            else:
                self._heard(now, arrived.phone, arrived.asks)
        if self._marked_s is not None and now - self._marked_s >= ADVISE_S:
            self._marked_s = None
            for found in self._ledger.practices.values():
                found.advice = self._judged(found) + advised()
        told = {phone: self._told(practice) for phone, practice in self._of.items()}
        self._server.told = Told(now, {}, told)
        self._server.turned_s = now

    def _heard(self, now: float, phone: Phone, news: SheetNews) -> None:
        self._of[phone] = news.practice
        try:
            self._ledger.heard(news)
            self.trouble = ""
        except LogRefused as refused:
            self.trouble = str(refused)
        if news.marks:
            self._marked_s = now

    def _judged(self, found: Counted) -> tuple[str, ...]:
        """How the hits compare with what the plan expects."""
        return tuple(against_plan(self._plan, ((found.shots[ball], one) for ball, one in found.verdicts.items())))

    def _told(self, practice: str) -> dict[str, object]:
        found = self._ledger.practices.get(practice, Counted())
        return {"practice": practice, "done": found.done, "trouble": self.trouble, "advice": found.advice}


PHONES_KEY, END_KEYS = "j", ("q", "escape")


def feed(plan: Plan, where: str, pem: str | None, log: Recorder, date: str) -> None:
    """Serve the sheet until a person ends it. AddressRefused."""
    served = bound(where, pem, Door(), time.monotonic, pages(plan, date), sheet)
    ledger = Ledger(plan, log)
    feeding = Feeding(plan, ledger, served, time.monotonic)
    for note in (words.SHEET_STOPS_NOTHING, *served.notes):
        say(note)
    served.server.start()
    _invite(served)
    fault = False
    with _until_told() as ended, keyboard() if sys.stdin.isatty() else contextlib.nullcontext() as keys:
        while not ended:
            feeding.turn(lambda: tuple(of_program(log.path, plan.program)), say)
            for key in keys.read(TURN_S) if keys else ():
                if key == PHONES_KEY:
                    served.door.renew()
                    _invite(served)
                elif key in END_KEYS:
                    ended.append(0)
            if keys is None:
                time.sleep(TURN_S)
            elif keys.gone:
                break
            if served.server.fault and not fault:
                fault = True
                say(f"{served.server.fault}.")
    served.server.close()
    for found in ledger.practices.values():
        marks = list(found.verdicts.values())
        hits, misses = marks.count(Verdict.HIT), marks.count(Verdict.MISS)
        say(f"In the log: {plural(hits, 'hit')}, {plural(misses, 'miss', 'misses')}, in {log.path}")


@contextlib.contextmanager
def _until_told() -> Iterator[list[int]]:
    """A list that has something in it once a signal asks for the end."""
    told: list[int] = []
    names = (signal.SIGINT, signal.SIGTERM)
    before = [signal.signal(name, lambda number, frame: told.append(number)) for name in names]
    try:
        yield told
    finally:
        for name, handler in zip(names, before, strict=True):
            signal.signal(name, handler)


def _invite(served: Served[SheetNews]) -> None:
    where = address(served.server.origin, served.door.word)
    say(words.invited(where, watch=False))
    if sys.stdout.isatty() and (sys.stdout.encoding or "").lower().startswith("utf"):
        from rich.console import Console
        from rich.text import Text

        drawn = code(where)
        for line in drawn or ():
            Console(highlight=False).print(Text(line, style=CODE_STYLE), no_wrap=True, overflow="crop")
        if drawn is None:
            say(words.NO_CODE)
    say(words.SHEET_KEYS)
    sys.stdout.flush()
