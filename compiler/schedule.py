"""Sequence + Shots -> Schedule: which balls fit, and at which second each leaves. No other module decides times."""

from dataclasses import dataclass, field
from math import isfinite

import numpy as np

from ..grammar.facts import Seconds
from ..grammar.finding import Finding
from .draw import Draw
from .findings.session import BlockTooShort
from .model.program import Feed, Pause, Play, Program
from .model.schedule import BlockTimes, Entry, PartTimes, Schedule, Sequence
from .model.shots import Shots

PART_REST_S = 120.0
"""A rest longer than this ends a part, like a collect: a machine does not stay ready to launch for longer."""
ROOM_S = 1e-4
"""A ball fits if at least this is left of its block: the plan gives seconds to 0.1 ms, and in the plan too the ball has
to leave before its block ends."""


def schedule(program: Program, sequence: Sequence, shots: Shots) -> tuple[Schedule, list[Finding]]:
    """All launches in order. A ball leaves its interval after the launch before it, also across a change of blocks and
    across rests, and not before its block starts. A block of balls lasts until its last ball's interval is over.

    If the interval runs between contacts, the player meets a ball that long after the ball before. The ball leaves
    later than its interval if it flies for a shorter time, and earlier if it flies longer. Where the next player's turn
    begins, it leaves no earlier than the changeover after the launch before it. A timed block takes a ball
    only if both the end of the bare interval and the launch come before the block ends: the rhythm decides how many
    balls a block has, and no shift moves a ball out of its block.
    """
    feeds = list(program.feeds.values())
    clock = _Clock(program, feeds, [_flight(shots, feed) for feed in feeds], Draw(program))
    for entry in sequence.entries:
        clock.play(entry)
    return clock.told(), clock.findings


def _flight(shots: Shots, feed: Feed) -> float:
    """From launch to contact. A ball without a launch or without a contact is not thrown, so any time will do."""
    shot = shots.shots.get(feed.name)
    return shot.predicted.contact_time if shot and isfinite(shot.predicted.contact_time) else 0.0


@dataclass(slots=True)
class _Clock:
    program: Program
    feeds: list[Feed]
    flight: list[float]
    draw: Draw
    now: float = 0.0
    launched: list[tuple[int, float, int]] = field(default_factory=list)
    """For each launch its feed, its second and its block."""
    blocks: list[BlockTimes] = field(default_factory=list)
    parts: list[PartTimes] = field(default_factory=list)
    findings: list[Finding] = field(default_factory=list)

    def play(self, entry: Entry) -> None:
        if not self.parts or self._part_is_over():
            self.parts.append(PartTimes(self.now, self.now))
        before = len(self.launched)
        end = self.now + entry.item.seconds if isinstance(entry.item, Pause) else self._serve(entry.item)
        self._add(entry, end, len(self.launched) - before)
        self.parts[-1] = PartTimes(self.parts[-1].start, end)
        self.now = end

    def _part_is_over(self) -> bool:
        """After a collect or a long rest, once the part has a ball."""
        last = self.blocks[-1]
        closed = last.kind == "collect" or (last.kind == "rest" and last.end - last.start > PART_REST_S)
        return closed and bool(self.launched) and self.blocks[self.launched[-1][2]].part == last.part

    def _serve(self, item: Play) -> float:
        """Launches what fits; returns the second at which the block ends."""
        end = None if item.seconds is None else self.now + item.seconds
        first = len(self.launched)
        for walk in self.draw.walks(item, len(self.blocks)):
            if len(self.launched) - first == item.count:
                break
            ball = walk.next
            due = self._due(ball)
            if len(self.launched) == first:
                at = beat = max(self.now, due)
            else:
                wait = self._changeover(ball, len(self.launched) - first)
                at, beat = due + wait, beat + self.feeds[ball].interval + wait
            if end is not None and max(at, beat) > end - ROOM_S:
                break
            walk.step()
            self.launched.append((ball, at, len(self.blocks)))
        if end is None:
            ball, at, _ = self.launched[-1]
            return at + self.feeds[ball].interval
        # Once for a block that rounds repeat.
        if len(self.launched) == first and all(f.span is not item.span for f in self.findings):
            message = BlockTooShort(Seconds(end - self.now), Seconds(due - self.launched[-1][1]))
            self.findings.append(Finding(message, item.span))
        return end

    def _changeover(self, ball: int, number: int) -> float:
        """How much longer than its interval a ball of a block waits, because the next player comes. Each block begins
        with another player's turn."""
        player = self.program.player
        if player.in_line < 2 or not player.rotate_every or number % player.rotate_every:
            return 0.0
        return max(0.0, player.changeover - self.feeds[ball].interval)

    def _due(self, ball: int) -> float:
        """When a ball's interval is over."""
        if not self.launched:
            return self.now
        before, at, _ = self.launched[-1]
        shift = self.flight[before] - self.flight[ball] if self.feeds[ball].between_contacts else 0.0
        return at + self.feeds[ball].interval + shift

    def _add(self, entry: Entry, end: float, balls: int) -> None:
        item = entry.item
        play = item if isinstance(item, Play) else None
        names = dict.fromkeys(name for _, name in play.shares) if play else ()
        self.blocks.append(
            BlockTimes(
                kind=item.kind if isinstance(item, Pause) else "balls",
                words=item.words,
                span=item.span,
                round=entry.round,
                order=play.order if play else None,
                feeds=tuple(member for name in names for member in self.program.members(name)),
                ladder=play.ladder if play else None,
                notes=play.notes if play else (),
                part=len(self.parts) - 1,
                start=self.now,
                end=end,
                balls=balls,
            )
        )

    def told(self) -> Schedule:
        return Schedule(
            feeds=tuple(self.program.feeds),
            blocks=tuple(self.blocks),
            parts=tuple(self.parts),
            feed=np.array([ball for ball, _, _ in self.launched], dtype=np.intp),
            at=np.array([at for _, at, _ in self.launched]),
            block=np.array([block for _, _, block in self.launched], dtype=np.intp),
        )
