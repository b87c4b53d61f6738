"""Sequence + Shots -> Schedule: which balls fit, and at which second each leaves. No other module decides times."""

from collections.abc import Mapping
from math import isfinite
from typing import NamedTuple

import numpy as np

from ..grammar.facts import Seconds
from ..grammar.finding import Finding, Message
from ..grammar.frozen import Changing, own, replace
from .draw import Draw, Lot
from .even import climb_of, evenly
from .findings.session import BlockTooShort, PointTooLong
from .kept import Kept, latest
from .model.program import COLLECT_S, PART_REST_S, Feed, Pause, Play, Program
from .model.schedule import BlockTimes, Climb, DrawnPoint, Entry, PartTimes, RoundNumber, Schedule, Sequence
from .model.shots import Shots
from .scores import with_scores

ROOM_S = 1e-4
"""A ball fits if at least this is left of its block: the plan gives seconds to 0.1 ms, and in the plan too the ball has
to leave before its block ends."""


def schedule(program: Program, sequence: Sequence, shots: Shots) -> tuple[Schedule, list[Finding]]:
    """All launches in order. A ball leaves its interval after the launch before it, also across a change of blocks and
    across rests, and not before its block starts. A block of balls lasts until its last ball's interval is over.

    If the interval runs between contacts, the player meets a ball that long after the ball before. The ball leaves
    later than its interval if it flies for a shorter time, and earlier if it flies longer. Where the next player's turn
    begins, it leaves no earlier than the changeover after the launch before it: of players with names also where a
    block is for another player than the ball before it, of players in line wherever a block begins. A timed block
    takes a ball only if both the end of the bare interval and the launch come before the block ends: the rhythm decides
    how many balls a block has, and no shift moves a ball out of its block.

    A point comes whole or not at all. If the player serves, the interval of its first ball is that of the serve, and
    the ball leaves the given time later. If a point of the block begins again after a missed ball, any ball may come
    next, so all balls of the block come evenly, with the longest interval.

    A rest inside a block, or between two sets of a ladder, comes on top of the interval. Where the rungs of a ladder
    have intervals of their own, its balls come with the longest.
    A block that runs out of balls goes on after a collect, as another block; a rest right before it that is long enough
    is the collect. A block in which marks decide what comes stays whole, with the collect before it. How long this
    collect takes, the session may say.
    """
    feeds = list(program.feeds.values())
    shifts = any(feed.between_contacts for feed in feeds)  # else flights decide nothing
    flight, same = [_flight(shots, feed) if shifts else 0.0 for feed in feeds], _same(shots, feeds)
    refill = program.session.refill if program.session else None

    def work() -> _Timed:
        index = {feed.name: i for i, feed in enumerate(feeds)}
        clock = _Clock(program, feeds, index, flight, Draw(program), same)
        for entry in sequence.entries:
            clock.play(entry)
            clock.entry += 1
        return _Timed(sequence, refill, clock.told(), clock.findings)

    of_feeds = [(feed.name, feed.family, feed.interval, feed.between_contacts, feed.player) for feed in feeds]
    places = [program.place_of(feed).there for feed in feeds]
    of_names = program.points, program.families, program.versions, tuple(program.players)
    of_all = program.seed, program.feeder.kind, program.feeder.hopper, program.player, program.rotation
    decides = sequence, refill, flight, same, of_feeds, places, *of_names, *of_all
    times, findings = latest(_TIMES, program.source.name, decides, work).here(sequence, refill)
    return with_scores(times, program), findings


class _Timed(NamedTuple):
    """A schedule, and the sequence and the collect in whose places of the script it speaks."""

    sequence: Sequence
    refill: Pause | None
    schedule: Schedule
    findings: list[Finding]

    def here(self, sequence: Sequence, refill: Pause | None) -> tuple[Schedule, list[Finding]]:
        """The same of an equal sequence in other places."""
        places = {
            id(old.item.span): new.item.span
            for old, new in zip(self.sequence.entries, sequence.entries, strict=True)
        }  # fmt: skip
        if self.refill and refill:
            places[id(self.refill.span)] = refill.span
        return self.schedule.at_places(places), [replace(f, span=places[id(f.span)]) for f in self.findings]


_TIMES: Kept[tuple[object, _Timed]] = Kept(20)
"""By the script."""


def _same(shots: Shots, feeds: list[Feed]) -> tuple[int, ...]:
    """For each feed the first that has the same launch, to be met at the same line by the same player."""
    first: dict[object, int] = {}
    found = []
    for i, feed in enumerate(feeds):
        shot = shots.shots.get(feed.name)
        alike = (shot.launch, feed.stance, feed.player) if shot else feed.name
        found.append(first.setdefault(alike, i))
    return tuple(found)


def _flight(shots: Shots, feed: Feed) -> float:
    """From launch to contact. A ball without a launch or without a contact is not thrown, so any time will do."""
    shot = shots.shots.get(feed.name)
    return shot.predicted.contact_time if shot and isfinite(shot.predicted.contact_time) else 0.0


class _Clock(Changing):
    program: Program
    feeds: list[Feed]
    index: Mapping[str, int]
    """The place of each among them."""
    flight: list[float]
    draw: Draw
    same: tuple[int, ...]
    now: float = 0.0
    turn: str = ""
    """Who plays what is being planned; "" of a player without a name."""
    launched: list[tuple[int, float, int]] = own(factory=list)
    """For each launch its feed, its second and its block."""
    climb: Climb | None = None
    """Of the ladder that is being played."""
    drawn: list[DrawnPoint] = own(factory=list)
    """What was drawn for the block that is being played, if it has points."""
    blocks: list[BlockTimes] = own(factory=list)
    parts: list[PartTimes] = own(factory=list)
    findings: list[Finding] = own(factory=list)
    entry: int = 0
    """How many entries were played before."""
    first: int = 0
    """How many balls were launched before the block that is being played."""
    filled: int = 0
    """How many were launched before the last collect."""

    def play(self, entry: Entry) -> None:
        if isinstance(entry.item, Pause):
            self._pause(entry.item, entry.round)
        else:
            self._serve(entry.item, entry.round)

    def _pause(self, item: Pause, turn: RoundNumber | None) -> None:
        self._open()
        self._close(item, turn, self.now + item.seconds)
        if item.kind == "collect":
            self.filled = len(self.launched)

    def _collect(self, refill: Pause, turn: RoundNumber | None) -> None:
        """The hopper is filled, in a rest that has just been as long as that takes, or now."""
        last = self.blocks[-1]
        if last.kind == "rest" and not last.serves and last.end - last.start >= refill.seconds - 1e-6:
            self.blocks[-1] = replace(last, kind="collect", rested=True)
            self.filled = len(self.launched)
        else:
            self._pause(refill, turn)

    def _open(self, moved: bool = False) -> None:
        """A block begins now, for which a machine may have been `moved`."""
        if not self.parts or moved or self._part_is_over():
            self.parts.append(PartTimes(self.now, self.now))
        self.first = len(self.launched)
        self.drawn.clear()

    def _close(self, item: Play | Pause, turn: RoundNumber | None, end: float) -> None:
        """The block that began last ends."""
        self._add(item, turn, end, len(self.launched) - self.first)
        self.parts[-1] = PartTimes(self.parts[-1].start, end)
        self.now = end

    def _moved(self, item: Play) -> bool:
        """Whether this part has fed balls from another place than where a machine stands for this block."""
        if self.program.feeder.kind == "person" or not self.launched:
            return False
        ball, _, block = self.launched[-1]
        two = self.program.feeds[self.program.members_of(item.shares[0][1])[0]]
        one, there = (self.program.place_of(feed).there for feed in (self.feeds[ball], two))
        return one != there and self.blocks[block].part == len(self.parts) - 1

    def _part_is_over(self) -> bool:
        """After a collect or a long rest, once the part has a ball."""
        last = self.blocks[-1]
        lasted = round(last.end - last.start, 4)  # the difference of two floats; a plan gives it so too
        closed = last.kind == "collect" or (last.kind == "rest" and lasted > PART_REST_S)
        begun = len(self.parts) - 1 > last.part  # the rest became a collect since
        return closed and not begun and bool(self.launched) and self.blocks[self.launched[-1][2]].part == last.part

    def _serve(self, item: Play, turn: RoundNumber | None) -> None:
        """Launches what fits."""
        order = self.draw.climbed(item, len(self.blocks)) if item.ladder else ()
        self.climb = climb_of(self.program, item, self._flown, order)
        even, beat = self._even(item), 0.0
        if refill := self._refill(item, self._whole(item, even)):
            self._collect(refill, turn)
        self._open(self._moved(item))
        end = None if item.seconds is None else self.now + item.seconds
        counted = any(name in self.program.points for _, name in item.shares)
        for drawn, lot in enumerate(self.draw.lots(item, len(self.blocks), self._many(item))):
            if drawn == item.count:
                break
            self.turn = lot.player or self._whose(item, drawn)
            before = len(self.drawn) if counted else len(self.launched) - self.first
            pause = item.rest.before(before) if item.rest else 0.0
            planned = self._planned(lot, before, beat, even, pause)
            if end is not None and max(planned[-1][1:]) > end - ROOM_S:
                break
            refill = None if self._whole(item, even) else self._refill(item, len(planned))
            if refill:
                over = self._over(even) if len(self.launched) > self.first else self.now
                if end is not None and end - over <= self._first_wait(lot) + ROOM_S:
                    break
                left = None if end is None else end - over
                if len(self.launched) > self.first:
                    self._close(item, turn, over)
                    item = item if item.continued else replace(item, continued=True)
                self._collect(refill, turn)
                self._open()
                end = None if left is None else self.now + left
                planned = self._planned(lot, 0, 0.0, even)
            for (ball, at, beat), walk in zip(planned, lot.walks, strict=True):  # noqa: B007 - the last beat stays
                walk.step()
                self.launched.append((ball, at, len(self.blocks)))
            if counted:
                self.drawn.append(self._drawn(lot, tuple(ball for ball, _, _ in planned)))
        if end is None:
            self._close(item, turn, self._over(even))
            return
        # Once for a block that rounds repeat.
        if len(self.launched) == self.first and all(f.span is not item.span for f in self.findings):
            message: Message
            if lot.point:
                message = PointTooLong(lot.point.name, Seconds(end - self.now), Seconds(planned[-1][1] - self.now))
            else:
                message = BlockTooShort(Seconds(end - self.now), Seconds(planned[0][1] - self.launched[-1][1]))
            self.findings.append(Finding(message, item.span))
        self._close(item, turn, end)

    def _many(self, item: Play) -> int | None:
        """How many balls or points a block comes to, give or take one; None where their intervals differ."""
        if item.seconds is None:
            return item.count
        names = [ball for _, name in item.shares for ball in self.program.members_of(name)]
        apart = {self.program.feeds[name].interval for name in names}
        single = all(name not in self.program.points for _, name in item.shares)
        if not single or len(apart) > 1:
            return None
        step, rest = min(apart), item.rest
        if rest is None:
            return round(item.seconds / step)
        rests, left = divmod(item.seconds, rest.every * step + rest.seconds)
        return int(rests) * rest.every + min(rest.every, round(left / step))

    def _over(self, even: float | None) -> float:
        """When the interval of the last ball is over."""
        ball, at, _ = self.launched[-1]
        return at + (even or self.feeds[ball].interval)

    def _refill(self, item: Play, balls: int) -> Pause | None:
        """The collect that has to come before so many balls of a block are thrown, or None."""
        held, session, used = self.program.feeder.hopper, self.program.session, len(self.launched) - self.filled
        if session is None or held is None or not used or used + balls <= held:
            return None
        return session.refill or Pause("collect", COLLECT_S, "collect", item.span, added=True)

    def _whole(self, item: Play, even: float | None) -> int:
        """The most balls of a block that stays whole, because marks decide what comes; 0 for another."""
        if item.order == "ladder":
            return item.count or 0
        if even is None and not item.ends_early:
            return 0
        if item.count is not None:
            return item.count * max(len(self.program.balls(name)) for _, name in item.shares)
        apart = even or min(
            self.program.feeds[ball].interval
            for name, players in item.shared
            for ball in self.program.members_of(name, players)
        )
        return int((item.seconds or 0.0) / apart) + 1

    def _first_wait(self, lot: Lot) -> float:
        """The most that the first ball of a block waits after its beginning."""
        change = max(self.program.rotation.changeover, self.program.player.changeover)
        return change + (self.program.served(lot.point.name) if lot.point else 0.0)

    def _flown(self, name: str) -> float:
        return self.flight[self.index[name]]

    def _even(self, item: Play) -> float | None:
        """The time between two balls of a block in which marks decide which comes next; None for other blocks."""
        if self.climb and item.ladder:
            return None if item.ladder.quantity else max(self.climb.intervals)
        return evenly(self.program, item, self._flown)

    def _whose(self, item: Play, drawn: int) -> str:
        """Whose turn it is after so many balls or points of a block."""
        if len(item.players) < 2:
            return item.players[0] if item.players else ""
        return item.players[drawn // (self.program.rotation.every or 1) % len(item.players)]

    def _gets(self, ball: int) -> int:
        """The ball that whoever plays gets as this one."""
        return self.index[self.program.version(self.feeds[ball].name, self.turn)] if self.turn else ball

    def _changeover(self, step: float, number: int | None, before: int) -> float:
        """How much longer than its interval a ball of a block waits, because the next player comes: before it so many
        balls or points were drawn, None inside a point. Without names each block begins with another player's turn."""
        if self.turn:
            changes = self.feeds[before].player != self.turn
            return max(0.0, self.program.rotation.changeover - step) if changes else 0.0
        player = self.program.player
        if player.in_line < 2 or not player.rotate_every or number is None or number % player.rotate_every:
            return 0.0
        return max(0.0, player.changeover - step)

    def _planned(
        self, lot: Lot, number: int, beat: float, even: float | None, pause: float = 0.0
    ) -> list[tuple[int, float, float]]:
        """For each ball of a lot when it would leave, and the second to which the bare intervals add up. `number`
        balls, or points, of the block were drawn before, and `beat` is that of the last ball of them. A lot waits for
        the `pause` before it."""
        planned: list[tuple[int, float, float]] = []
        before = self.launched[-1][:2] if self.launched else None
        for drawn in lot.balls:
            if lot.point and lot.point.whose:
                self.turn = lot.point.whose[len(planned)]
            ball = self._gets(drawn)
            served = self.program.served(lot.point.name) if lot.point and not planned else 0.0
            step = self.feeds[ball].interval + served if even is None else even
            due = self.now + served if before is None else before[1] + step + self._shift(before[0], ball, even)
            wait = self._changeover(step, None if planned else number, before[0]) if before else 0.0
            if not number and not planned:
                late = before[1] + step + wait if before and (wait or self.turn) else 0.0
                due = beat = max(self.now + served, due, late)
            else:
                wait += 0.0 if planned else pause
                due, beat = due + wait, beat + step + wait
            planned.append((ball, due, beat))
            before = ball, due
        return planned

    def _shift(self, before: int, ball: int, even: float | None) -> float:
        """By how much a ball leaves later so that the player meets it in the rhythm of the contacts."""
        if even is not None or not self.feeds[ball].between_contacts:
            return 0.0
        return self.flight[before] - self.flight[ball]

    def _drawn(self, lot: Lot, balls: tuple[int, ...]) -> DrawnPoint:
        names, point = tuple(self.feeds[ball].name for ball in balls), lot.point
        return DrawnPoint(
            point.name if point else self.feeds[balls[0]].family, names, point.serve if point else None,
            point.after_miss if point else "goes on", point.won_with if point else None,
        )  # fmt: skip

    def _add(self, item: Play | Pause, turn: RoundNumber | None, end: float, balls: int) -> None:
        play = item if isinstance(item, Play) else None
        shared = dict.fromkeys(play.shared) if play else ()
        self.blocks.append(
            BlockTimes(
                kind=item.kind if isinstance(item, Pause) else "balls",
                words=f"{item.words}, continued" if play and play.continued else item.words,
                span=item.span,
                round=turn,
                order=play.order if play else None,
                feeds=tuple(dict.fromkeys(member for share in shared for member in self.program.members_of(*share))),
                ladder=play.ladder if play else None,
                notes=item.notes + (self._notes(play) if play else ()),
                part=len(self.parts) - 1,
                start=self.now,
                end=end,
                balls=balls,
                added=isinstance(item, Pause) and item.added,
                points=tuple(self.drawn),
                first_to=play.first_to if play else None,
                until=play.until if play else (),
                even=self._even(play) if play and play.ladder is None else None,
                rest=play.rest if play else None,
                serves=item.serves if isinstance(item, Pause) else None,
                record=play.record if play else None,
                hit_if=tuple(one.words for one in play.hit_if) if play else (),
                entry=self.entry,
                climb=self.climb if play else None,
            )
        )

    def _notes(self, play: Play) -> tuple[str, ...]:
        """Those of its points."""
        points = (self.program.points.get(name) for _, name in play.shares)
        return tuple(note for point in points if point for note in point.notes)

    def told(self) -> Schedule:
        return Schedule(
            feeds=tuple(self.program.feeds),
            players=tuple(feed.player for feed in self.feeds),
            called=tuple(self.program.players),
            same=self.same,
            blocks=tuple(self.blocks),
            parts=tuple(self.parts),
            feed=np.array([ball for ball, _, _ in self.launched], dtype=np.intp),
            at=np.array([at for _, at, _ in self.launched]),
            block=np.array([block for _, _, block in self.launched], dtype=np.intp),
        )
