"""The agreed numbers and words of the line protocol, for both ends. PROTOCOL.md explains each; a test compares."""

VERSION = 1

FRESH_MS = 500
"""Greatest age of the word a tick carries, counted from when the device issued it."""
QUIET_MS = 5_000
"""So long without a fresh tick, and a session that throws nothing ends."""
ANSWER_MS = (300, 10_000)
"""How long after its question an answer is taken: no sooner than a person reads, no later than they stand by."""
WARNING_MS = (3_000, 120_000)
"""From the answer to the first ball, as the player chooses."""
WALK_MORE_MS = 1_000
"""So much longer than it was asked a device may make the walk time, to bring its wheels up; no more."""
ARMED_MS = 120_000
"""So long without a launch, after the warning, and nothing stays armed."""
AHEAD_MS = (20, 2_000)
"""How far ahead of its moment a launch may be agreed."""
OFF_MS = 30
"""Greatest distance of a launch from its agreed moment; later than that it is dropped."""

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
"""What a go is held against, in this order; the first that fails is the refusal."""
CODE_ALPHABET = "acdefhjkmnprtuvwxy3479"
"""Signs of a question: none that is easily taken for another."""
