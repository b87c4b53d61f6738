"""Whole messages that may mean anything, from the machine to the host in every phase: no fault of the program, ever.

2,000 in the ordinary suite; FEEDWRIGHT_EVENTS=100000 for the long one.
"""

import os
from collections import Counter
from random import Random

from feedwright.targets.machine.replay.flow import RunPhase
from feedwright.targets.machine.wire import rules

from .stranger import checksum
from .street import Street, device

EVENTS = int(os.environ.get("FEEDWRIGHT_EVENTS", "2000"))
PHASES = [phase for phase in RunPhase if phase is not RunPhase.ENDED]
KEYS = ("b", "t", "ev", "why", "k", "st", "q", "c", "fp", "not-before", "fate", "n", "v", "id", "cap", "gap", "last")
WORDS = (*rules.EVENTS, "tock", "hi", "ok", "no", "dancing", "go")
VALUES = ("0", "1", "2", "3", "9", "-1", "x", "jam", "gone", "pending", "live", "held", "stopped", "state", "late",
          "999999999", "9999999999", "1.5", "+1", "0badf00d", "w7xy", "not-fresh", "quiet", "asleep")  # fmt: skip


def message(street: Street, random: Random) -> bytes:
    """A frame of the machine's own session, its checksum right; its number is often the one that is waited for."""
    stranger = street.device
    values = {key: random.choice(VALUES) for key in random.sample(KEYS, random.randint(0, 6))}
    if random.random() < 0.6:
        stranger.events += 1
        values["ev"] = str(stranger.events)
    if random.random() < 0.3:
        values["t"] = str(int(street.ms) + random.choice((0, 1, -400, 5000)))
    if random.random() < 0.2:
        values.pop("why", None)
    if random.random() < 0.5:  # let it pass, so that what comes after meets the same phase
        return random.choice((harmless(street, random), b"\n", b":0badf00d 0 gone ev=99 b=1 t=5 ~00000000\n"))
    number = random.choice((0, 0, 0, stranger.number, stranger.number + 1, stranger.number - 1, 7))
    session = random.choice((stranger.session, stranger.session, stranger.session, "00000000", "0badf00d"))
    pairs = "".join(f" {key}={value}" for key, value in values.items())
    body = f":{session or '00000000'} {max(number, 0)} {random.choice(WORDS)}{pairs} ".encode()
    return body + b"~" + checksum(body).encode() + b"\n"


def harmless(street: Street, random: Random) -> bytes:
    """What the host may not mind: a message of another session, and an event that it has heard."""
    session = random.choice(("0badf00d", street.device.session or "00000000"))
    body = f":{session} 0 gone ev=0 b=1 t=5 ".encode()
    return body + b"~" + checksum(body).encode() + b"\n"


def to(phase: RunPhase, random: Random) -> Street:
    street = Street(device(feed_ms=random.choice((0, 0, 350))))
    street.arms = 3 * (phase is not RunPhase.READY)
    if phase is RunPhase.STOPPING:
        return street.to(random.choice((RunPhase.ANSWERING, RunPhase.LIVE))).stop()
    if phase is not RunPhase.GREETING:
        street.to(phase)
    if phase is RunPhase.LIVE and random.random() < 0.5:
        street.sent(random.choice((1, 2)))
    return street


def test_no_message_in_any_phase_is_a_fault_of_the_program() -> None:
    said, phases, codes, trial = 0, Counter[RunPhase](), Counter[int | None](), 0
    while said < EVENTS:
        random = Random(trial)
        street = to(PHASES[trial % len(PHASES)], random)
        trial += 1
        host, late = street.host, 0
        while host.phase is not RunPhase.ENDED and late < 12:
            for _ in range(random.randint(1, 3)):
                phases[host.phase] += 1
                said += 1
                late += host.phase is RunPhase.STOPPING
                host.received(street.now, message(street, random))
            street.turn()
        host.stop(street.now, "enough", 0)
        stops = street.now
        street.end()
        codes[street.code] += 1
        sent = [ball for _, what, ball, _ in street.disk.entries if what == "sent"]
        assert len(set(sent)) == len(sent), "a ball was sent twice"
        assert all(data.strip(b"\x07") == b"" or b" go " not in data for at, data in street.wrote if at > stops)
        assert {ball for ball, _ in street.device.thrown} <= set(sent)
    print(
        f"{said:,} messages in {trial:,} courses; by phase { ({p.name: n for p, n in phases.items()}) }; codes {codes}"
    )
    assert set(phases) >= set(PHASES)
    assert set(codes) <= {0, 3, 4}
