"""Phones beside a replay, as its loop sees them: `turn` often, `pressed` for keys, `finish` at the end. Nothing here
waits: the server has a thread of its own."""

import time
from collections.abc import Callable, Mapping
from dataclasses import asdict, replace
from queue import Empty

from ....compiler.model.plan import GoalRecord
from ..replay.flow import RunPhase
from ..replay.host import Host
from ..replay.picture import Picture
from . import words
from .asks import PhoneAsk, exchange
from .board import Board
from .door import Door
from .invitation import address, card, code
from .page import FILES
from .server import CourtServer, Served, Told, bound
from .shown import shown

MOST_IN_A_TURN = 32
"""Most exchanges taken in one turn of the loop, so that phones never keep it from a key or the line."""
SHOW_S = 0.05
PARTING_S = 1.5
"""How long the end waits for phones to be told how it ended."""
BEFORE = {RunPhase.GREETING, RunPhase.PROVING, RunPhase.SILENCE_TEST, RunPhase.READY}
"""Phases in which the code may stay on the screen; any other needs the screen for itself."""
PHONES_KEY, AWAY_KEY = "j", "x"


class Phones:
    keys = (f"{PHONES_KEY}  phones",)

    def __init__(
        self, host: Host, server: CourtServer[tuple[PhoneAsk, ...]], door: Door, *, guard: bool,
        goals: Mapping[str, GoalRecord], draws: bool = True, clock: Callable[[], float],
    ) -> None:  # fmt: skip
        """`draws`: whether the terminal can show a QR code."""
        self._host, self._server, self._door = host, server, door
        self._guard, self._goals, self._draws, self._clock = guard, goals, draws, clock
        self._board = Board(host, guard)
        self._phase: RunPhase | None = None
        self._since = self._told_s = 0.0
        self._sending = False
        self._fault_said = False
        self._afterwards: tuple[str, ...] | None = None
        self._cards: list[Picture] = []

    def begin(self) -> None:
        self._server.start()
        self._invite()

    @property
    def card(self) -> Picture | None:
        """What the screen shows in place of the replay: the code of the way in."""
        return self._cards[0] if self._cards else None

    def took(self, key: str) -> bool:
        """Whether a key was meant for this: any closes the card on the screen, or says which phone to send away."""
        if self._cards:
            self._cards.pop(0)
        elif self._sending:
            self._sending = False
            self._send_away(key)
        else:
            return False
        return True

    def turn(self, now: float) -> None:
        """Stops first; then what else phones asked, in order."""
        while self._server.stops:
            self._board.stop(now, self._server.stops.popleft())
        took = 0
        while took < MOST_IN_A_TURN:
            try:
                arrived = self._server.inbox.get_nowait()
            except Empty:
                break
            took += 1
            if arrived.asks is None:
                self._board.joined(arrived.at_s, arrived.phone)
                self._host.say(words.joined(arrived.phone, self._guard))
                self._cards = []
            else:
                self._board.heard(arrived.at_s, arrived.phone, arrived.asks)
        self._board.watch(now)
        if self._server.fault and not self._fault_said:
            self._fault_said = True
            self._host.say(f"{self._server.fault}.")
        if self._host.phase is not self._phase:
            self._phase, self._since, self._told_s = self._host.phase, now, 0.0
            self._cards = self._cards if self._phase in BEFORE else []
        if took or now - self._told_s >= SHOW_S:
            self._tell(now)
        self._server.turned_s = now

    def pressed(self, now: float, key: str) -> None:
        """A key beside the machine that nothing else wants."""
        if key == PHONES_KEY:
            self._door.renew()
            self._invite()
            silent = {phone.number for phone in self._board.silent(now)}
            self._host.say(words.listed(self._door.phones(), silent))
        elif key == AWAY_KEY:
            self._sending = True
            self._host.say(words.SEND_WHICH)

    def finish(self, lines: tuple[str, ...]) -> None:
        """Tell phones how it ended, with these lines; then the page is gone."""
        self._afterwards = lines
        until = time.monotonic() + PARTING_S
        # Since the last turn, the last bells and the log may have taken seconds, in which nobody looked.
        since = self._server.turned_s - PARTING_S
        here = {number for number, desk in self._board.desks.items() if desk.seen_s >= since}
        while time.monotonic() < until and not here <= self._server.finished:
            self._tell(self._clock())
            self.turn(self._clock())
            time.sleep(0.02)
        self.close()

    def close(self) -> None:
        self._server.close()

    def _tell(self, now: float) -> None:
        self._told_s = now
        if not self._board.desks:
            return
        state = shown(self._host, now, self._since, self._goals)
        if self._afterwards is not None:
            state = replace(state, afterwards=self._afterwards)
        phones = {desk.phone: desk.told() for desk in self._board.desks.values()}
        self._server.told = Told(now, asdict(state), phones, state.over, final=self._afterwards is not None)

    def _invite(self) -> None:
        """Say the way in, and show its code until a key is pressed or a phone comes in."""
        self._cards = []
        for word, watch in ((self._door.word, False), (self._door.watch_word, True)):
            if not word:
                continue
            where = address(self._server.origin, word)
            self._host.say(words.invited(where, watch))
            if not self._draws:
                continue
            if drawn := code(where):
                self._cards.append(card(words.invited(where, watch), drawn))
            elif not watch:
                self._host.say(words.NO_CODE)

    def _send_away(self, key: str) -> None:
        if key == "w":
            gone = self._door.send_watchers_away()
        elif key.isascii() and key.isdigit():
            phone = self._door.send_away(int(key) or 10)
            gone = (phone,) if phone else ()
        else:
            return
        for phone in gone:
            self._board.sent_away(phone.number)
            self._host.say(words.sent_away(phone))
        if not gone:
            self._host.say(words.NOBODY)


def served(where: str, pem: str | None, watching: bool, clock: Callable[[], float]) -> Served[tuple[PhoneAsk, ...]]:
    """The page beside a replay, at its address; AddressRefused."""
    made = bound(where, pem, Door(watching), clock, FILES, exchange)
    return made._replace(notes=(words.OWN_SWITCH, *made.notes))
