"""The agreed numbers and words of the line protocol, for both ends. PROTOCOL.md explains each; a test compares them."""

VERSION = 1

FRESH_MS = 500
"""Greatest age of the word a tick carries, counted from when the device issued it."""
QUIET_MS = 5_000
"""Without a fresh tick for this long, a session that is not live ends."""
ANSWER_MS = (300, 10_000)
"""When an answer is accepted after its question: no sooner than a person can read it, no later than they stay there."""
WARNING_MS = (3_000, 120_000)
"""The walk time from the answer to the first ball, which the player chooses."""
WALK_MORE_MS = 1_000
"""How much a device may add to the walk time, to bring its wheels up."""
ARMED_MS = 120_000
"""After this long without a launch, counted from the end of the walk time, the device disarms itself."""
AHEAD_MS = (20, 2_000)
"""How far ahead of its moment a launch may be agreed."""
OFF_MS = 30
"""Largest difference of a launch from its agreed moment; a later ball is dropped."""

VERBS = ("hello", "tick", "clear", "arm", "yes", "ready", "go", "hold", "fate", "bye")
EVENTS = ("gone", "miss", "held", "stopped", "fault")
STATES = ("asleep", "connected", "live", "held", "stopped", "faulted")
FATES = ("gone", "missed", "pending", "never")
REFUSALS = (
    "garbled", "asleep", "old-session", "number", "verb", "words", "version", "state", "stop-unproven", "not-fresh",
    "range", "done-already", "no-question", "wrong-answer", "answer-time", "cap", "ball", "busy", "late", "early",
    "walk-time", "gap", "not-ready", "fault",
)  # fmt: skip
GATES = ("state", "not-fresh", "range", "cap", "ball", "busy", "late", "early", "walk-time", "gap", "not-ready")
"""The checks of a go, in this order; the first that fails is the refusal."""
CODE_ALPHABET = "acdefhjkmnprtuvwxy3479"
"""Characters of a code: none is easily taken for another."""
