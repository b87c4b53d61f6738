"""Where a replay stands, why it waits for a person, and the times that every machine is held to."""

from enum import Enum

RECORD_S = 0.3
"""A ball is handed to the record so long before it is announced to the machine."""
BEGIN_S = 2.0
"""The longest that an arming waits for the record on the disk."""
AWAY_S = 1.0
"""A gap in the clock, from sleep or a stopped process, after which nothing goes on by itself."""
EARLY_S = 0.1
"""A launch that is told of so long before its moment was not the one that was agreed: 30 ms are allowed on the line,
the rest is what one message may travel quicker than another."""
LISTEN_S = 0.3
"""So long after a confirmed stop the line is still listened to: a machine that throws then is told of."""
JUDGE_S, CORRECT_S = 5.0, 1.0
"""After the last ball was met: time to mark it, and once it is marked time to correct that."""


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
    RunPhase.WATCHING: set[RunPhase](),
    RunPhase.STOPPING: {RunPhase.ENDED},
    RunPhase.ENDED: set[RunPhase](),
}
"""What may follow what; from each but the last two, stopping may follow too. One way leads into live: a person's."""


class Halt(Enum):
    """Why it is ready to arm and does not go on by itself."""

    START = "nothing was armed yet"
    PAUSED = "paused"
    PART_PLAYED = "this part is played"
    SKIPPED = "skipped to the next block"
    HELD = "held"


class LinkLost(Exception):
    """The line is gone, in one sentence."""
