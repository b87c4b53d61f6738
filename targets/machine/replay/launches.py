"""Live play: aim the next ball, write it into the record, announce it at its time; and what prevents that."""

from collections.abc import Callable

from . import words
from .flow import RECORD_S, Halt
from .machine import Machine
from .places import Place
from .state import State

AIM_S = 0.3
"""Room for the order to aim and its answer."""
POLL_S = 0.005
"""Seconds between checks whether the record is on the disk."""


class Launches:
    def __init__(self, state: State, machine: Machine, say: Callable[[str], None]) -> None:
        self._state, self._machine, self._say = state, machine, say
        self.walk_over = 0.0
        """When the walk time ends by the host's own clock; no ball is announced before."""

    def to_go(self, place: Place, now: float) -> float:
        return self._machine.until(now, self._state.offset(place))

    def due_in(self, now: float) -> float:
        """Seconds until `step` next has something to do."""
        s, machine, place = self._state, self._machine, self._state.place
        if s.held or s.wish:
            return 0.0
        if s.in_doubt:
            return self.to_go(s.in_doubt.place, now) + machine.overdue_s
        if place is None:
            return 0.0
        to_go = self.to_go(place, now)
        if not s.aimed:
            return max(0.0, to_go - self._aimed_by(place)) if s.may_be_marked(place) else 0.0
        if s.noted is None:
            return to_go - machine.lead_s - RECORD_S
        written = s.run.record.written()
        return max(to_go - machine.lead_s, self.walk_over - now, 0.0 if written else POLL_S)

    def step(self, now: float) -> tuple[Halt, str] | None:
        """Call this when the machine is not busy. Returns why play now waits for a person, or None while it goes on."""
        s, machine, place = self._state, self._machine, self._state.place
        if s.held and s.in_doubt is None:
            return s.held
        if s.held and s.in_doubt:
            machine.ask_fate(now, s.in_doubt.number)
        elif s.wish:
            machine.hold(now)
        elif s.in_doubt:
            if -self.to_go(s.in_doubt.place, now) > machine.overdue_s:
                machine.ask_fate(now, s.in_doubt.number)
        elif place is None or s.next >= s.last:
            return Halt.PART_PLAYED, words.PART_PLAYED
        elif self.to_go(place, now) < machine.late_s:
            self._too_late(place)
        elif machine.resting(now):
            pass
        elif not s.aimed and s.may_be_marked(place) and self.to_go(place, now) > self._aimed_by(place):
            pass  # the player may still mark the ball before
        elif not s.aimed:
            s.shot = s.choose(place)
            machine.aim(now, place.number, s.shot, s.shelf.settings[s.shot])
        else:
            self._launch(now, place)
        return None

    def _aimed_by(self, place: Place) -> float:
        """Seconds before its moment at which the ball of a place has to be chosen."""
        return self._state.shelf.settling[place.block] + self._machine.lead_s + RECORD_S + AIM_S

    def _too_late(self, place: Place) -> None:
        s = self._state
        unwritten = s.noted is not None and not s.run.record.written()
        late = words.RECORD_LATE if unwritten else "it was too late"
        why = f"ball {place.number} was not sent: {late}. No later ball makes up for it"
        s.wish = Halt.HELD, why
        self._say(why[:1].upper() + why[1:] + ".")

    def _launch(self, now: float, place: Place) -> None:
        """Write the ball into the record, early enough for a slow disk; announce it once it is written."""
        s, machine, to_go = self._state, self._machine, self.to_go(place, now)
        if s.noted is None and to_go <= machine.lead_s + RECORD_S:
            s.note(place)
        if s.noted and to_go <= machine.lead_s and now >= self.walk_over and s.run.record.written():
            ball = s.announce(s.noted)
            machine.go(now, ball.number, ball.shot, s.shelf.settings[ball.shot], s.offset(place))
