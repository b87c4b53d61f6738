"""The phases of a replay, why it waits for a person, and the times that hold for every machine."""

from enum import Enum

RECORD_S = 0.3
"""Seconds from the write of a ball to the record until the machine gets its go."""
BEGIN_S = 2.0
"""Longest wait of an arming for the record on the disk."""
AWAY_S = 1.0
"""A gap in the clock, from sleep or a stopped process, after which the replay stops."""
EARLY_S = 0.1
"""A launch reported earlier than this before its moment was not the agreed one. The protocol allows 30 ms; the rest is
the difference between the travel times of two messages."""
LISTEN_S = 0.3
"""How long the host listens after a confirmed stop, to report a machine that still throws."""
JUDGE_S, CORRECT_S = 5.0, 1.0
"""After the player hits the last ball: time to mark it, and then time to correct the mark."""


class RunPhase(Enum):
    GREETING = "greeting"
    PROVING = "proving that stop is heard"
    SILENCE_TEST = "going quiet on purpose"
    READY = "ready to arm"
    ASKING = "asking to arm"
    ANSWERING = "waiting for the answer"
    LIVE = "live"
    WATCHING = "after the last ball"
    STOPPING = "stopping"
    ENDED = "ended"


MOVES = {
    RunPhase.GREETING: {RunPhase.PROVING, RunPhase.READY},
    RunPhase.PROVING: {RunPhase.SILENCE_TEST},
    RunPhase.SILENCE_TEST: {RunPhase.READY},
    RunPhase.READY: {RunPhase.ASKING, RunPhase.WATCHING},
    RunPhase.ASKING: {RunPhase.ANSWERING, RunPhase.READY},
    RunPhase.ANSWERING: {RunPhase.LIVE, RunPhase.READY},
    RunPhase.LIVE: {RunPhase.READY, RunPhase.WATCHING},
    RunPhase.WATCHING: {RunPhase.READY},
    RunPhase.STOPPING: {RunPhase.ENDED},
    RunPhase.ENDED: set[RunPhase](),
}
"""The phases that may follow each phase. Ready follows watching where a mark is taken back that
ended the last block. Stopping may also follow any but the last two. Only a person's answer leads
to live."""


class Halt(Enum):
    """Why it waits for a person to arm."""

    START = "nothing was armed yet"
    PAUSED = "paused"
    PART_PLAYED = "this part is played"
    SKIPPED = "skipped to the next block"
    HELD = "held"


class LinkLost(Exception):
    """The line is gone; the message is one sentence."""
